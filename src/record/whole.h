/*
 * A file written whole or not at all: under a name of its own beside the place, then put in place
 * in one step. What was there before stays until then.
 *
 *     struct whole whole;
 *     if (!whole_begin(&whole, "write-up.html", &fault))
 *         return false;
 *     fputs(page, whole.file);
 *     return whole_end(&whole, &fault);          // or whole_drop(&whole)
 */
#ifndef MIDTHROW_RECORD_WHOLE_H
#define MIDTHROW_RECORD_WHOLE_H

#include <stdbool.h>
#include <stdio.h>

#include "base/fault.h"

enum { WHOLE_PATH = 4096 };

struct whole {
    FILE *file;
    char path[WHOLE_PATH];
    char beside[WHOLE_PATH + 8];
};

/* For this user alone, 0600. Refuses a place that is taken by anything but a plain file. */
bool whole_begin(struct whole *whole, const char *path, struct fault *fault);

/* On disk and in place when it returns true; otherwise nothing is left behind. */
bool whole_end(struct whole *whole, struct fault *fault);

void whole_drop(struct whole *whole);

/* Has the folder that `path` is in written to disk: a new name is there only then. A file system
 * that cannot is no fault. */
void whole_settle_folder(const char *path);

#endif
