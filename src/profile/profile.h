/*
 * The bike's numbers, from its service manual: read from an INI file, checked, never invented. A
 * number the file does not give is *unknown* and is asked for when first needed.
 *
 * The file, NAME.ini, is UTF-8 of at most 64 KiB with lines of at most 196 bytes; a comment is a
 * line that begins with # or ;, or what follows a ; after a space. Every key may be left out or be
 * "unknown", but for the two of [bike].
 *
 *     [bike]
 *     title = Generic big twin      how it is shown and said
 *     source = manual, page 6-42    where the numbers come from
 *     [stem]
 *     kind = screw                  or eccentric
 *     pitch = 1/28 in               of a screw: its travel per turn; 0.01 mm to 1 in
 *     throw = 1/16 in               of an eccentric instead: how far out of centre; the same
 *     lever_ratio = 1.5             how far the arm moves per travel of the stem; 0.01 to 100
 *     sense = clockwise forward     or clockwise back: where clockwise, facing the stem, moves rest
 *     across_flats = 1/4 in         up to 4 in
 *     step = 1/32                   the finest turn a hand makes
 *     increment = 1/8               the most one adjustment may turn; below half a turn
 *     total = 1                     the most all adjustments may turn; up to 20
 *     [lock_nut]
 *     across_flats = 11/16 in       up to 4 in
 *     torque_nm = 24                up to 500
 *     shift = 0.1 mm                how far tightening it moves rest, one sigma; up to 1 in
 *     [pawl]
 *     tolerance = 1/32 in           the largest difference of the throws that is even; up to 1 in
 *     resolution = 1/64 in          the finest division of the rule or caliper; up to 1 in
 *     gear = 3                      the gear to measure in; 1 to 6
 *     rounds = 6                    adjusting rounds before handing over; 1 to 23
 *     [clutch]
 *     kind = cable                  or hydraulic
 *     free_play_low = 1/16 in       up to 4 in
 *     free_play_high = 1/8 in
 *     travel_low = 0.4 in          hydraulic: lever travel until it releases; up to 4 in
 *     travel_high = 0.7 in
 *     adjuster_low = 1/2            turns of the internal adjuster out from contact; below ten
 *     adjuster_high = 1
 *     [idle]
 *     low_rpm = 950                 from 300 to 4000
 *     high_rpm = 1050
 *     [linkage]
 *     play_high = 1/16 in           up to 4 in
 *     [primary]
 *     fluid = as the manual names it
 *     low_ml = 900                  how much comes out and goes in; up to 4999
 *     high_ml = 1000
 *     [pack]
 *     plates = 16                   friction and steel plates together; 2 to 32
 *     plate_low = 0.08 in           the thinnest and thickest a plate may be, where friction and
 *     plate_high = 0.1 in             steel differ the wider of both; up to 1 in
 *     stack_low = 1.3 in            all plates pressed together; up to 6 in
 *     stack_high = 1.4 in
 *     warp_high = 0.006 in          by feeler gauge on a flat plate; up to 1/8 in
 *
 * Lengths are written as measure_length_parse takes them; other numbers as 3, 0.125 or 1/8.
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
    char name[PROFILE_NAME];   /* the file's name without .ini */
    char title[PROFILE_TEXT];  /* how it is shown and said */
    char source[PROFILE_TEXT]; /* where the numbers come from: manual and page */

    enum profile_stem stem;
    struct profile_length stem_pitch; /* screw: travel per turn; eccentric: throw (centre offset) */
    struct profile_number lever_ratio; /* offset of the arm per travel of the stem */
    enum measure_sense sense;
    struct profile_length stem_size;      /* across flats */
    struct profile_length lock_nut_size;  /* across flats */
    struct profile_number lock_nut_nm;    /* torque, newton metres */
    struct profile_length lock_nut_shift; /* how far tightening it moves rest, one sigma */
    struct profile_number step_turns;     /* finest turn a hand makes */
    struct profile_number increment_turns;
    struct profile_number total_turns;
    struct profile_number rounds; /* adjusting rounds before handing over */

    struct profile_length tolerance;  /* largest difference of the throws that is even */
    struct profile_length resolution; /* finest division of the rule or caliper */
    struct profile_number gear;       /* the gear to measure in, 1..6 */

    enum profile_clutch clutch;
    struct profile_length free_play_low, free_play_high;
    struct profile_length travel_low, travel_high;     /* hydraulic: until it releases */
    struct profile_number adjuster_low, adjuster_high; /* turns out from contact */
    struct profile_number idle_low, idle_high;         /* revolutions a minute */
    struct profile_length linkage_play_high;
    struct profile_number fluid_low, fluid_high; /* millilitres */
    struct profile_number plates;
    struct profile_length plate_low, plate_high, stack_low, stack_high, warp_high;
    char fluid[PROFILE_TEXT]; /* the primary fluid the manual names; "" unknown */
};

/* May this be a profile's name? Letters, figures, - _ and dots, none in front; at most 47. */
bool profile_is_name(const char *name);

/* Where NAME.ini is, looked for as profile_find does; false, with its sentence, when it is not. */
bool profile_path(const char *name, const char *own_dir, const char *shared_dir, char *out,
                  size_t size, struct fault *fault);

/* Sets every number unknown. */
void profile_init(struct profile *profile);

/* Reads `path`. Refuses, with file, line and what to do: unreadable, unknown section or key (naming
 * the nearest there is), a key given twice, a number that does not parse or is impossible
 * (negative, zero pitch, increment of half a turn or more, gear outside 1..6), or numbers that
 * cannot all be right (agree.h: low above high, a stack that the plates cannot make). */
bool profile_load(const char *path, struct profile *profile, struct fault *fault);

/* Reads it as profile_load does, but goes on behind what is wrong and hands each of it over, with
 * its line (0: of the file as a whole). How many there were; `profile` holds what could be read. */
size_t profile_examine(const char *path, struct profile *profile,
                       void (*each)(void *context, int line, const char *sentence), void *context);

/* Finds NAME.ini in `own_dir` (the shop's profiles; may be NULL), then `shared_dir`. NAME is a
 * plain name, no slash. Unknown name: exit code 2, and the sentence lists the names there are. */
bool profile_find(const char *name, const char *own_dir, const char *shared_dir,
                  struct profile *profile, struct fault *fault);

/* The names there are, sorted, no name twice, at most PROFILES_MAX. */
size_t profile_names(const char *own_dir, const char *shared_dir,
                     char names[PROFILES_MAX][PROFILE_NAME]);

/* What the stem does to the offset before the first turn (docs in measure/turn.h), with trade
 * defaults (common practice, no source) where the profile is silent: step 1/32, increment 1/8 and
 * total 1 turn, 6 rounds, sense unknown. The gain is known when kind, pitch or throw, and lever
 * ratio are:
 *
 *     screw      gain = pitch * ratio, give or take 25 %
 *     eccentric  gain = 2 pi throw * ratio, give or take 40 %: where throw * sin(turn) is steepest;
 *                an eighth of a turn from there the slope is down to 71 %
 *
 * The relative uncertainties, a stated sense's trust of 0.95 (a manual may look from the other
 * side) and the lock nut's shift of 0.1 mm where none is given are judgement, no source. Always a
 * prior that measure_turn_init takes, whatever the profile holds. */
struct measure_turn_prior profile_turn_prior(const struct profile *profile);

/* To and from one flat text, for the journal: exact, versioned, one "section.key=value" a line;
 * what is unknown is left out. PROFILE_FLAT bytes hold any profile. To text fails when `size` is
 * too small or a number is not finite; from text refuses another version, an unknown key and a
 * value that is none. */
enum { PROFILE_FLAT = 8192 };
bool profile_to_text(const struct profile *profile, char *out, size_t size);
bool profile_from_text(const char *text, struct profile *profile, struct fault *fault);

#endif
