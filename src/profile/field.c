/* The keys of a profile: see field.h. The ranges are judgement, no source: wide enough for any
 * bike, narrow enough to catch a slipped point. */
#include "profile/field.h"

#include <float.h>
#include <stddef.h>
#include <string.h>

static int stem(const struct profile *profile)
{
    return (int)profile->stem;
}

static void set_stem(struct profile *profile, int word)
{
    profile->stem = (enum profile_stem)word;
}

static int sense(const struct profile *profile)
{
    return (int)profile->sense;
}

static void set_sense(struct profile *profile, int word)
{
    profile->sense = (enum measure_sense)word;
}

static int clutch(const struct profile *profile)
{
    return (int)profile->clutch;
}

static void set_clutch(struct profile *profile, int word)
{
    profile->clutch = (enum profile_clutch)word;
}

#define TEXT(member) .kind = PROFILE_FIELD_TEXT, .offset = offsetof(struct profile, member)
#define LENGTH(member) .kind = PROFILE_FIELD_LENGTH, .offset = offsetof(struct profile, member)
#define NUMBER(member) .kind = PROFILE_FIELD_NUMBER, .offset = offsetof(struct profile, member)
#define WORD(function) .kind = PROFILE_FIELD_WORD, .word = (function), .set_word = set_##function
#define ABOVE_ZERO DBL_MIN
#define INCH_MM 25.4

/* clang-format off */
const struct profile_field profile_fields[] = {
    {"bike", "title", TEXT(title)},
    {"bike", "source", TEXT(source)},

    {"stem", "kind", WORD(stem), .words = {"unknown", "screw", "eccentric"}},
    {"stem", "pitch", LENGTH(stem_pitch), .low = 0.01, .high = INCH_MM,
     .range = "0.01 mm to 1 in"},
    {"stem", "throw", LENGTH(stem_pitch), .low = 0.01, .high = INCH_MM,
     .range = "0.01 mm to 1 in"},
    {"stem", "lever_ratio", NUMBER(lever_ratio), .low = 0.01, .high = 100, .range = "0.01 to 100"},
    {"stem", "sense", WORD(sense), .words = {"unknown", "clockwise forward", "clockwise back"}},
    {"stem", "across_flats", LENGTH(stem_size), .low = ABOVE_ZERO, .high = 4 * INCH_MM,
     .range = "above 0 and at most 4 in"},
    {"stem", "step", NUMBER(step_turns), .low = 1e-3, .high = 0.5 - DBL_EPSILON,
     .range = "1/1000 of a turn or more and below half a turn"},
    {"stem", "increment", NUMBER(increment_turns), .low = 1e-3, .high = 0.5 - DBL_EPSILON,
     .range = "1/1000 of a turn or more and below half a turn"},
    {"stem", "total", NUMBER(total_turns), .low = 1e-3, .high = 20,
     .range = "1/1000 of a turn to 20 turns"},

    {"lock_nut", "across_flats", LENGTH(lock_nut_size), .low = ABOVE_ZERO, .high = 4 * INCH_MM,
     .range = "above 0 and at most 4 in"},
    {"lock_nut", "torque_nm", NUMBER(lock_nut_nm), .low = ABOVE_ZERO, .high = 500,
     .range = "above 0 and at most 500"},
    {"lock_nut", "shift", LENGTH(lock_nut_shift), .low = 0, .high = INCH_MM,
     .range = "at most 1 in"},

    {"pawl", "tolerance", LENGTH(tolerance), .low = ABOVE_ZERO, .high = INCH_MM,
     .range = "above 0 and at most 1 in"},
    {"pawl", "resolution", LENGTH(resolution), .low = ABOVE_ZERO, .high = INCH_MM,
     .range = "above 0 and at most 1 in"},
    {"pawl", "gear", NUMBER(gear), .low = 1, .high = 6, .whole = true,
     .range = "a whole number from 1 to 6"},
    {"pawl", "rounds", NUMBER(rounds), .low = 1, .high = 23, .whole = true,
     .range = "a whole number from 1 to 23"},

    {"clutch", "kind", WORD(clutch), .words = {"unknown", "cable", "hydraulic"}},
    {"clutch", "free_play_low", LENGTH(free_play_low), .low = 0, .high = 4 * INCH_MM,
     .range = "at most 4 in"},
    {"clutch", "free_play_high", LENGTH(free_play_high), .low = ABOVE_ZERO, .high = 4 * INCH_MM,
     .range = "above 0 and at most 4 in"},
    {"clutch", "travel_low", LENGTH(travel_low), .low = 0, .high = 4 * INCH_MM,
     .range = "at most 4 in"},
    {"clutch", "travel_high", LENGTH(travel_high), .low = ABOVE_ZERO, .high = 4 * INCH_MM,
     .range = "above 0 and at most 4 in"},
    {"clutch", "adjuster_low", NUMBER(adjuster_low), .low = 0, .high = 10 - 1e-9,
     .range = "below ten turns"},
    {"clutch", "adjuster_high", NUMBER(adjuster_high), .low = ABOVE_ZERO, .high = 10 - 1e-9,
     .range = "above 0 and below ten turns"},
    {"idle", "low_rpm", NUMBER(idle_low), .low = 300, .high = 4000, .whole = true,
     .range = "a whole number from 300 to 4000"},
    {"idle", "high_rpm", NUMBER(idle_high), .low = 300, .high = 4000, .whole = true,
     .range = "a whole number from 300 to 4000"},
    {"linkage", "play_high", LENGTH(linkage_play_high), .low = ABOVE_ZERO, .high = 4 * INCH_MM,
     .range = "above 0 and at most 4 in"},
    {"primary", "fluid", TEXT(fluid)},
    {"primary", "low_ml", NUMBER(fluid_low), .low = 0, .high = 4999, .range = "at most 4999"},
    {"primary", "high_ml", NUMBER(fluid_high), .low = ABOVE_ZERO, .high = 4999,
     .range = "above 0 and at most 4999"},
    {"pack", "plates", NUMBER(plates), .low = 2, .high = 32, .whole = true,
     .range = "a whole number from 2 to 32"},
    {"pack", "plate_low", LENGTH(plate_low), .low = ABOVE_ZERO, .high = INCH_MM,
     .range = "above 0 and at most 1 in"},
    {"pack", "plate_high", LENGTH(plate_high), .low = ABOVE_ZERO, .high = INCH_MM,
     .range = "above 0 and at most 1 in"},
    {"pack", "stack_low", LENGTH(stack_low), .low = ABOVE_ZERO, .high = 6 * INCH_MM,
     .range = "above 0 and at most 6 in"},
    {"pack", "stack_high", LENGTH(stack_high), .low = ABOVE_ZERO, .high = 6 * INCH_MM,
     .range = "above 0 and at most 6 in"},
    {"pack", "warp_high", LENGTH(warp_high), .low = ABOVE_ZERO, .high = INCH_MM / 8,
     .range = "above 0 and at most 1/8 in"},
};
/* clang-format on */
const size_t profile_fields_n = sizeof profile_fields / sizeof profile_fields[0];

size_t profile_field_find(const char *section, const char *key)
{
    size_t i = 0;
    while (i < profile_fields_n && (strcmp(profile_fields[i].section, section) != 0 ||
                                    strcmp(profile_fields[i].key, key) != 0))
        i++;
    return i;
}

/* Letters to insert, delete or replace to get from one word to the other (Levenshtein, by Wagner
 * and Fischer, 1974, one row at a time); words over 63 letters count as cut there. */
size_t profile_letters_apart(const char *a, const char *b)
{
    size_t row[64];
    size_t b_length = strnlen(b, 63);
    for (size_t j = 0; j <= b_length; j++)
        row[j] = j;
    for (size_t i = 0; i < 63 && a[i] != '\0'; i++) {
        size_t diagonal = row[0];
        row[0] = i + 1;
        for (size_t j = 0; j < b_length; j++) {
            size_t replaced = diagonal + (a[i] != b[j]);
            size_t shorter = (row[j] < row[j + 1] ? row[j] : row[j + 1]) + 1;
            diagonal = row[j + 1];
            row[j + 1] = replaced < shorter ? replaced : shorter;
        }
    }
    return row[b_length];
}

size_t profile_field_nearest(const char *section, const char *key)
{
    size_t best = 0;
    size_t best_distance = (size_t)-1;
    for (size_t i = 0; i < profile_fields_n; i++) {
        size_t letters = profile_letters_apart(profile_fields[i].section, section) +
                         profile_letters_apart(profile_fields[i].key, key);
        if (letters < best_distance) {
            best_distance = letters;
            best = i;
        }
    }
    return best;
}

static void *member(struct profile *profile, const struct profile_field *field)
{
    return (char *)profile + field->offset;
}

char *profile_field_text(struct profile *profile, const struct profile_field *field)
{
    return member(profile, field);
}

struct profile_length *profile_field_length(struct profile *profile,
                                            const struct profile_field *field)
{
    return member(profile, field);
}

struct profile_number *profile_field_number(struct profile *profile,
                                            const struct profile_field *field)
{
    return member(profile, field);
}

int profile_field_word(const struct profile_field *field, const char *word)
{
    for (int i = 0; i < PROFILE_WORDS_MAX; i++)
        if (strcmp(field->words[i], word) == 0)
            return i;
    return -1;
}
