/*
 * The transcript: a plain-text file a job, who said what, live, flushed a line at a time.
 *
 *     2026-11-25T09:14:03.120Z  tool   Forward throw, please.
 *     2026-11-25T09:14:05.480Z  ear    "five sixteenths"  accepted 0.97  = 5/16 in (7.938 mm)
 */
#ifndef MIDTHROW_RECORD_TRANSCRIPT_H
#define MIDTHROW_RECORD_TRANSCRIPT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "job/job.h"

struct transcript;

/* Opens (appends to) directory/job-N.txt. */
struct transcript *transcript_open(const char *directory, int64_t number, struct fault *fault);
void transcript_close(struct transcript *transcript);

/* What the tool said: `caution` marks it so. */
bool transcript_said(struct transcript *transcript, int64_t at_ms, const char *sentence,
                     bool caution, struct fault *fault);

/* An event as it was heard and judged; `grammar` and `question` are those it answered. Cautions'
 * confirmations are marked. */
bool transcript_heard(struct transcript *transcript, const struct job_event *event,
                      const char *question, const char *grammar, struct fault *fault);

/* Milliseconds since 1970 as ISO 8601 in UTC, "2026-11-25T09:14:03.120Z"; 25 bytes. */
void transcript_time(int64_t at_ms, char out[32]);

#endif
