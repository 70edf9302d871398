/*
 * A whole file from outside, read into memory without being taken in: only a plain file (a pipe or
 * a device would be waited for, or never end), and no more of it than can be meant.
 */
#ifndef MIDTHROW_BASE_FILE_H
#define MIDTHROW_BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

/* The bytes with a 0 behind them, the caller's to free(); NULL with a sentence: FAULT_MISSING when
 * there is no such file, else FAULT_FAILED. */
char *file_read(const char *path, size_t most, size_t *length, struct fault *fault);

#endif
