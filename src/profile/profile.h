/*
 * The bike's numbers, from its service manual: read from an INI file, checked, never invented. A
 * number the file does not give is *unknown* and is asked for when first needed.
 */
#ifndef MIDTHROW_PROFILE_PROFILE_H
#define MIDTHROW_PROFILE_PROFILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "measure/length.h"
#include "measure/turn.h"

enum { PROFILE_NAME = 48, PROFILE_TEXT = 160, PROFILES_MAX = 9 };

struct profile_length {
    bool known;
    struct measure_length value;
};
struct profile_number {
    bool known;
    double value;
};

enum profile_stem { PROFILE_STEM_UNKNOWN, PROFILE_STEM_SCREW, PROFILE_STEM_ECCENTRIC };
enum profile_clutch { PROFILE_CLUTCH_UNKNOWN, PROFILE_CLUTCH_CABLE, PROFILE_CLUTCH_HYDRAULIC };

struct profile {
    char name[PROFILE_NAME];    /* the file's name without .ini */
    char title[PROFILE_TEXT];   /* how it is shown and said */
    char source[PROFILE_TEXT];  /* where the numbers come from: manual and page */

    enum profile_stem stem;
    struct profile_length stem_pitch;    /* screw: travel per turn; eccentric: throw (centre offset) */
    struct profile_number lever_ratio;   /* offset of the arm per travel of the stem */
    enum measure_sense sense;
    struct profile_length stem_size;     /* across flats */
    struct profile_length lock_nut_size; /* across flats */
    struct profile_number lock_nut_nm;   /* torque, newton metres */
    struct profile_length lock_nut_shift; /* how far tightening it moves rest, one sigma */
    struct profile_number step_turns;    /* finest turn a hand makes */
    struct profile_number increment_turns;
    struct profile_number total_turns;
    struct profile_number rounds;        /* adjusting rounds before handing over */

    struct profile_length tolerance;     /* largest difference of the throws that is even */
    struct profile_length resolution;    /* finest division of the rule or caliper */
    struct profile_number gear;          /* the gear to measure in, 1..6 */

    enum profile_clutch clutch;
    struct profile_length free_play_low, free_play_high;
    struct profile_length linkage_play_high;
    char fluid[PROFILE_TEXT];            /* the primary fluid the manual names; "" unknown */
};

/* Sets every number unknown. */
void profile_init(struct profile *profile);

/* Reads `path`. Refuses, with file, line and what to do: unreadable, unknown section or key, a number
 * that does not parse or is impossible (negative, zero pitch, increment of half a turn or more, low
 * above high, gear outside 1..6). */
bool profile_load(const char *path, struct profile *profile, struct fault *fault);

/* Finds NAME.ini in `own_dir` (the shop's profiles; may be NULL), then `shared_dir`. NAME is a plain
 * name, no slash. Unknown name: exit code 2, and the sentence lists the names there are. */
bool profile_find(const char *name, const char *own_dir, const char *shared_dir,
                  struct profile *profile, struct fault *fault);

/* The names there are, sorted, no name twice, at most PROFILES_MAX. */
size_t profile_names(const char *own_dir, const char *shared_dir,
                     char names[PROFILES_MAX][PROFILE_NAME]);

/* What the stem does to the offset before the first turn (docs in measure/turn.h), with trade defaults
 * (common practice, no source) where the profile is silent. */
struct measure_turn_prior profile_turn_prior(const struct profile *profile);

/* To and from one flat text, for the journal: exact, versioned, one "section.key=value" a line. */
bool profile_to_text(const struct profile *profile, char *out, size_t size);
bool profile_from_text(const char *text, struct profile *profile, struct fault *fault);

#endif
