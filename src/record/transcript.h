/*
 * The transcript: a plain-text file a job, who said what, live, flushed a line at a time.
 *
 *     2026-11-25T09:14:03.120Z  tool   Forward throw, please.
 *     2026-11-25T09:14:05.480Z  ear    "five sixteenths"  accepted 0.97  = 5/16 in (7.938 mm)
 *     2026-11-25T09:14:09.900Z  ear    "no"  rejected 0.21
 *     2026-11-25T09:14:20.000Z  tool   CAUTION  Engine off and key out.
 *     2026-11-25T09:14:24.710Z  pad    [12] "engine off and key out"  accepted  CONFIRMED a.off
 *     2026-11-25T09:14:40.000Z  note   started again on this job
 *
 * The format, stable from version 1 on: one line an event, of UTF-8; the time in ISO 8601, UTC, to
 * the millisecond; two spaces; who, filled up to five letters (tool: spoken by midthrow; ear,
 * typed, pad: the technician, and how; note: what happened besides); two spaces; what. Of an
 * answer, parted by two spaces:
 *
 *     [keys] "words"     the keys of the pad only; the words as heard
 *     verdict score      accepted, unsure or rejected; the score of the ear only
 *     too loud           of a rejected answer: the noise was as loud as the speech
 *     = meaning          unless rejected or the same as the words; lengths exact and, unless given
 *                        in them, in millimetres
 *     or "words"         of an unsure answer that could be another, followed by its meaning
 *     CONFIRMED id       of a caution or step, or NOT CONFIRMED id
 *
 * What steers a terminal or is no UTF-8 is written as \xNN, so a line can be shown as it is.
 *
 * Nothing in it is the file's alone: a tool line carries the time of the event it answers, not of
 * the sound, so that the journal's events and the sentences make the same file again, byte for byte
 * (rebuild.h).
 */
#ifndef MIDTHROW_RECORD_TRANSCRIPT_H
#define MIDTHROW_RECORD_TRANSCRIPT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "job/job.h"

struct transcript;

enum { TRANSCRIPT_LINE = 16384 }; /* holds the longest event, every byte escaped */

/* Opens (appends to) directory/job-N.txt, 0600. */
struct transcript *transcript_open(const char *directory, int64_t number, struct fault *fault);
void transcript_close(struct transcript *transcript);

/* directory/job-N.txt; false when it does not fit. */
bool transcript_path(const char *directory, int64_t number, char *out, size_t size);

/* What the tool said in answer to the event of that time: `caution` marks it so. A line that cannot
 * be written whole is taken back, so that the file never ends in half a line; the sentence says
 * what to do. */
bool transcript_said(struct transcript *transcript, int64_t at_ms, const char *sentence,
                     bool caution, struct fault *fault);

/* An event as it was heard and judged; `question`, `grammar` and `awaited` are those of the
 * question it answered (job_question_id, and JOB_LISTEN's grammar and phrase; `awaited` counts for
 * the grammar "caution" alone). An accepted caution is marked CONFIRMED when the phrase is the one
 * awaited, else NOT CONFIRMED. Events that are no answer may have NULL for both. */
bool transcript_heard(struct transcript *transcript, const struct job_event *event,
                      const char *question, const char *grammar, enum language_phrase awaited,
                      struct fault *fault);

/* The same lines by themselves, each with its "\n". One that does not fit ends in " ... (cut)". */
void transcript_said_line(int64_t at_ms, const char *sentence, bool caution,
                          char out[TRANSCRIPT_LINE]);
void transcript_heard_line(const struct job_event *event, const char *question, const char *grammar,
                           enum language_phrase awaited, char out[TRANSCRIPT_LINE]);

/* Milliseconds since 1970 as ISO 8601 in UTC, "2026-11-25T09:14:03.120Z"; 25 bytes. */
void transcript_time(int64_t at_ms, char out[32]);

#endif
