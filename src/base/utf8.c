/* UTF-8 from outside: see utf8.h. */
#include "base/utf8.h"

/* RFC 3629, section 4: the first byte says how long, and which second bytes would be overlong, a
 * surrogate or beyond 10FFFF. */
static const struct lead {
    unsigned char low, high;               /* the first byte */
    unsigned char bytes;                   /* of the whole code point */
    unsigned char second_low, second_high; /* what the second byte may be */
    unsigned char mask;                    /* of the first byte's payload */
} LEADS[] = {
    {0xC2, 0xDF, 2, 0x80, 0xBF, 0x1F}, {0xE0, 0xE0, 3, 0xA0, 0xBF, 0x0F},
    {0xE1, 0xEC, 3, 0x80, 0xBF, 0x0F}, {0xED, 0xED, 3, 0x80, 0x9F, 0x0F},
    {0xEE, 0xEF, 3, 0x80, 0xBF, 0x0F}, {0xF0, 0xF0, 4, 0x90, 0xBF, 0x07},
    {0xF1, 0xF3, 4, 0x80, 0xBF, 0x07}, {0xF4, 0xF4, 4, 0x80, 0x8F, 0x07},
};

static size_t next_of_several(const struct lead *lead, const unsigned char *at, size_t length,
                              uint32_t *point)
{
    if (length < lead->bytes || at[1] < lead->second_low || at[1] > lead->second_high)
        return 0;
    uint32_t value = at[0] & lead->mask;
    for (size_t i = 1; i < lead->bytes; i++) {
        if ((at[i] & 0xC0) != 0x80)
            return 0;
        value = value << 6 | (at[i] & 0x3F);
    }
    *point = value;
    return lead->bytes;
}

size_t utf8_next(const char *at, size_t length, uint32_t *point)
{
    const unsigned char *bytes = (const unsigned char *)at;
    if (length == 0)
        return 0;
    if (bytes[0] < 0x80) {
        *point = bytes[0];
        return 1;
    }
    for (size_t i = 0; i < sizeof LEADS / sizeof LEADS[0]; i++)
        if (bytes[0] >= LEADS[i].low && bytes[0] <= LEADS[i].high)
            return next_of_several(&LEADS[i], bytes, length, point);
    return 0;
}

bool utf8_is_valid(const char *text, size_t length)
{
    uint32_t point;
    for (size_t i = 0, n; i < length; i += n)
        if ((n = utf8_next(text + i, length - i, &point)) == 0)
            return false;
    return true;
}

bool utf8_is_control(uint32_t point)
{
    return point < 0x20 || (point >= 0x7F && point <= 0x9F) || point == 0x061C || point == 0x200E ||
           point == 0x200F || (point >= 0x2028 && point <= 0x202E) ||
           (point >= 0x2066 && point <= 0x2069);
}
