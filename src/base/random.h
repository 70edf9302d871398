/* Random numbers that are the same every time: xorshift32 (Marsaglia 2003, "Xorshift RNGs", Journal
 * of Statistical Software 8). */
#ifndef MIDTHROW_BASE_RANDOM_H
#define MIDTHROW_BASE_RANDOM_H

#include <stdint.h>

/* The next of 1 .. 2^32 - 1; `state` is any of them at first, never 0. */
static inline uint32_t random_next(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

#endif
