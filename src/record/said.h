/*
 * What the tool says of one effect, as a sentence: the prompt of its key, filled. The station says
 * it, the transcript is rebuilt from it.
 */
#ifndef MIDTHROW_RECORD_SAID_H
#define MIDTHROW_RECORD_SAID_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "job/job.h"
#include "prompt/prompt.h"

/* `job` is the job after the step that gave the effect: {keys} are those of the question it now
 * asks. False when the catalogue lacks the key or one of its placeholders. */
bool said_effect(const struct prompt_catalogue *prompts, const struct job *job,
                 const struct job_effect *effect, char *out, size_t size, struct fault *fault);

/* A prompt outside the job. A value may begin a sentence: its first letter is made a capital. */
bool said_prompt(const struct prompt_catalogue *prompts, const char *key,
                 const struct prompt_argument *arguments, size_t n, char *out, size_t size,
                 struct fault *fault);

#endif
