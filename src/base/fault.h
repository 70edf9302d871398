/*
 * A fault is an error as its reader meets it: one sentence that says what is wrong and what to do,
 * and the exit code that belongs to it.
 *
 *     if (n == 0)
 *         return fault_set(fault, FAULT_FAILED, "'%s' holds no sound: record it again.", path);
 */
#ifndef MIDTHROW_BASE_FAULT_H
#define MIDTHROW_BASE_FAULT_H

#include <stdbool.h>

enum fault_code {
    FAULT_NONE = 0,    /* nothing wrong */
    FAULT_FAILED = 1,  /* the work failed */
    FAULT_USAGE = 2,   /* the command was used wrongly */
    FAULT_MISSING = 3, /* a device, model or file that is needed is not there */
};

struct fault {
    enum fault_code code;
    char sentence[512];
};

/* Fills `fault` (which may be NULL) and always returns false, so that a caller can return it. A
 * sentence too long for the buffer is cut. */
bool fault_set(struct fault *fault, enum fault_code code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
