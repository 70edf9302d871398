/* A profile with any of its members known, and any bytes in its texts: for the tests that bring one
 * through a text and back. */
#ifndef MIDTHROW_TESTS_SEEDED_PROFILE_H
#define MIDTHROW_TESTS_SEEDED_PROFILE_H

#include <math.h>

#include "../base/scratch.h"
#include "profile/field.h"

static inline void seeded_bytes(uint64_t *seed, char *out, size_t size)
{
    static const char *const piece[] = {"a",    "Z",    " ",        "=",  ".",    "\n",
                                        "\r",   "\\",   "\\x0a",    "\"", "\x01", "\x7F",
                                        "\x80", "\xFF", "\xC3\xA9", "{",  "'",    "\t"};
    size_t length = seeded_below(seed, size);
    size_t used = 0;
    memset(out, 0, size);
    while (used < length) {
        const char *bytes = piece[seeded_below(seed, sizeof piece / sizeof piece[0])];
        size_t n = strlen(bytes);
        if (used + n > length)
            break;
        memcpy(out + used, bytes, n);
        used += n;
    }
}

/* Any finite double: all exponents, all fractions. */
static inline double seeded_double(uint64_t *seed)
{
    double number;
    do {
        uint64_t bits = seeded(seed);
        memcpy(&number, &bits, sizeof number);
    } while (!isfinite(number));
    return number;
}

static inline int64_t seeded_part(uint64_t *seed)
{
    return (int64_t)(seeded(seed) >> (1 + seeded_below(seed, 62)));
}

static inline void seeded_profile(uint64_t *seed, struct profile *profile)
{
    profile_init(profile);
    seeded_bytes(seed, profile->name, sizeof profile->name);
    for (size_t i = 0; i < profile_fields_n; i++) {
        const struct profile_field *field = &profile_fields[i];
        bool known = seeded_below(seed, 2) == 0;
        if (field->kind == PROFILE_FIELD_TEXT)
            seeded_bytes(seed, profile_field_text(profile, field), PROFILE_TEXT);
        if (field->kind == PROFILE_FIELD_WORD)
            field->set_word(profile, (int)seeded_below(seed, PROFILE_WORDS_MAX));
        if (field->kind == PROFILE_FIELD_LENGTH && known)
            *profile_field_length(profile, field) = (struct profile_length){
                .known = true,
                .value = {seeded_part(seed), 1 + seeded_part(seed) % 1000000,
                          (enum measure_unit)seeded_below(seed, 3)}};
        if (field->kind == PROFILE_FIELD_NUMBER && known)
            *profile_field_number(profile, field) =
                (struct profile_number){.known = true, .value = seeded_double(seed)};
    }
}

static inline bool same_length(const struct profile_length *a, const struct profile_length *b)
{
    return a->known == b->known && a->value.num == b->value.num && a->value.den == b->value.den &&
           a->value.unit == b->value.unit;
}

/* Member by member, doubles bit by bit. */
static inline bool same_profile(struct profile *a, struct profile *b)
{
    bool same = strcmp(a->name, b->name) == 0;
    for (size_t i = 0; i < profile_fields_n; i++) {
        const struct profile_field *field = &profile_fields[i];
        if (field->kind == PROFILE_FIELD_TEXT)
            same = same && strcmp(profile_field_text(a, field), profile_field_text(b, field)) == 0;
        if (field->kind == PROFILE_FIELD_WORD)
            same = same && field->word(a) == field->word(b);
        if (field->kind == PROFILE_FIELD_LENGTH)
            same =
                same && same_length(profile_field_length(a, field), profile_field_length(b, field));
        if (field->kind == PROFILE_FIELD_NUMBER)
            same = same &&
                   profile_field_number(a, field)->known == profile_field_number(b, field)->known &&
                   memcmp(&profile_field_number(a, field)->value,
                          &profile_field_number(b, field)->value, sizeof(double)) == 0;
    }
    return same;
}

#endif
