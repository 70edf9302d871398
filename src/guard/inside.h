/* The guard's two halves; nothing outside the room includes this. */
#ifndef MIDTHROW_GUARD_INSIDE_H
#define MIDTHROW_GUARD_INSIDE_H

#include "guard/guard.h"

/* calls.c: is the filter in place? */
bool guard_calls(void);

/* files.c: the version of Landlock in use, 0 when it could not be. */
int guard_landlock(const struct guard_place *places, size_t n);

#endif
