/*
 * The transcript file made whole again after a kill or a power cut. Its lines are written after
 * their event is committed and nobody waits for the disk, so that its end may be missing or torn;
 * the journal has all that belongs there.
 *
 *     mend_transcript(journal, number, prompts, &fault);     // before transcript_open, on resuming
 */
#ifndef MIDTHROW_RECORD_MEND_H
#define MIDTHROW_RECORD_MEND_H

#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "prompt/prompt.h"
#include "record/journal.h"

/* Cuts off half a line, or what is no text, at the end of directory/job-N.txt and appends the lines
 * of the journal's events that are not in it. What is there stays, whatever words the sentences had
 * then. */
bool mend_transcript(struct journal *journal, int64_t number,
                     const struct prompt_catalogue *prompts, struct fault *fault);

#endif
