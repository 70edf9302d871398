/*
 * UTF-8 from outside, one code point at a time: is it well formed, and may a terminal see it?
 *
 *     for (size_t i = 0, n; i < length; i += n)
 *         if ((n = utf8_next(text + i, length - i, &point)) == 0 || utf8_is_control(point))
 *             return refuse(i);
 */
#ifndef MIDTHROW_BASE_UTF8_H
#define MIDTHROW_BASE_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Bytes of the code point that `at` begins with (1 to 4); 0 when `length` is 0 or the bytes are not
 * UTF-8 as RFC 3629, section 4, defines it: no overlong forms, no surrogates, nothing over 10FFFF.
 */
size_t utf8_next(const char *at, size_t length, uint32_t *point);

bool utf8_is_valid(const char *text, size_t length);

/* Code points that steer a terminal or the order of what is read on it rather than print: C0, DEL,
 * C1, line and paragraph separators, and the bidirectional overrides and isolates (Unicode 15, UAX
 * #9). */
bool utf8_is_control(uint32_t point);

#endif
