/*
 * The write-up: concern, cause, correction, in the shop's words, from the job's state alone.
 */
#ifndef MIDTHROW_RECORD_WRITEUP_H
#define MIDTHROW_RECORD_WRITEUP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "job/job.h"

enum { WRITEUP_SIZE = 32768 };

/* Plain text, at most 80 columns. False when it had to be cut. */
bool writeup_text(const struct job *job, int64_t number, char *out, size_t size);

#endif
