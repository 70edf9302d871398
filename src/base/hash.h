/* A number that other bytes hardly have: Fowler, Noll and Vo's FNV-1a, 32 bits (RFC 9923, section
 * 2). Against damage and mistakes, not against forgers. */
#ifndef MIDTHROW_BASE_HASH_H
#define MIDTHROW_BASE_HASH_H

#include <stddef.h>
#include <stdint.h>

enum { HASH_DIGITS = 8 }; /* in hexadecimal */

/* Of nothing. */
static inline uint32_t hash_begin(void)
{
    return 2166136261u;
}

/* Of what `hash` is of, and these bytes. */
static inline uint32_t hash_more(uint32_t hash, const void *bytes, size_t count)
{
    const uint8_t *byte = bytes;
    for (size_t b = 0; b < count; b++)
        hash = (hash ^ byte[b]) * 16777619u;
    return hash;
}

#endif
