/* Rules between numbers: see agree.h. */
#include "profile/agree.h"

#include <string.h>

#include "base/text.h"
#include "profile/default.h"
#include "profile/field.h"

static bool say(char why[PROFILE_WHY], const char *sentence)
{
    text_copy(why, PROFILE_WHY, sentence);
    return true;
}

/* ---- turns -------------------------------------------------------------------------------- */

static double number_or(struct profile_number number, double otherwise)
{
    return number.known ? number.value : otherwise;
}

static bool step_over_increment(const struct profile_rule *rule, struct profile *profile,
                                char why[PROFILE_WHY])
{
    (void)rule;
    return number_or(profile->step_turns, PROFILE_DEFAULT_STEP) >
               number_or(profile->increment_turns, PROFILE_DEFAULT_INCREMENT) &&
           say(why, "the step is more than the increment (1/32 and 1/8 unless given): make it "
                    "smaller.");
}

static bool increment_over_total(const struct profile_rule *rule, struct profile *profile,
                                 char why[PROFILE_WHY])
{
    (void)rule;
    return number_or(profile->increment_turns, PROFILE_DEFAULT_INCREMENT) >
               number_or(profile->total_turns, PROFILE_DEFAULT_TOTAL) &&
           say(why, "the increment is more than the total (1/8 and 1 unless given): make it "
                    "smaller.");
}

/* ---- the least and the most of one thing -------------------------------------------------- */

static bool upside_down(const struct profile_rule *rule, struct profile *profile,
                        char why[PROFILE_WHY])
{
    const struct profile_field *low =
        &profile_fields[profile_field_find(rule->section, rule->key[0])];
    const struct profile_field *high =
        &profile_fields[profile_field_find(rule->section, rule->key[1])];
    bool broken;
    if (low->kind == PROFILE_FIELD_NUMBER) {
        const struct profile_number *least = profile_field_number(profile, low);
        const struct profile_number *most = profile_field_number(profile, high);
        broken = least->known && most->known && least->value > most->value;
    } else {
        const struct profile_length *least = profile_field_length(profile, low);
        const struct profile_length *most = profile_field_length(profile, high);
        broken =
            least->known && most->known && measure_length_compare(least->value, most->value) > 0;
    }
    struct text text = text_into(why, PROFILE_WHY);
    if (broken)
        text_addf(&text, "%s is more than %s: exchange or mend them.", rule->key[0], rule->key[1]);
    return broken;
}

/* ---- threads and nuts --------------------------------------------------------------------- */

/* Metric screw threads from 1 to 64 mm have pitches from 0.2 to 6 mm (ISO 261, from memory);
 * unified ones lie within. */
static bool no_such_pitch(const struct profile_rule *rule, struct profile *profile,
                          char why[PROFILE_WHY])
{
    (void)rule;
    if (profile->stem != PROFILE_STEM_SCREW || !profile->stem_pitch.known)
        return false;
    double mm = measure_length_mm(profile->stem_pitch.value);
    return (mm < 0.2 || mm > 6) &&
           say(why,
               "the pitch is none that a screw has, 0.2 to 6 mm: it is the travel of one turn, "
               "one inch by the threads to the inch; look it up in the manual.");
}

/* What the strongest bolt that fits the nut bears, generously. T = 0.2 d F, with F the proof load
 * of strength class 12.9, 970 N/mm2 (ISO 898-1, from memory) over a core of 0.75 of the bolt's
 * area, and d no more than the nut's flats divided by 1.3. The tightening formula with its nut
 * factor of 0.2 is common practice, no source. */
static bool nut_would_strip(const struct profile_rule *rule, struct profile *profile,
                            char why[PROFILE_WHY])
{
    (void)rule;
    if (!profile->lock_nut_size.known || !profile->lock_nut_nm.known)
        return false;
    double d_mm = measure_length_mm(profile->lock_nut_size.value) / 1.3;
    double core_mm2 = 0.75 * 0.785 * d_mm * d_mm;
    double most_nm = 0.2 * d_mm / 1000 * 970 * core_mm2;
    struct text text = text_into(why, PROFILE_WHY);
    if (profile->lock_nut_nm.value > most_nm)
        text_addf(&text,
                  "no nut of that size bears %g newton metres (%.0f at the very most): look up the "
                  "torque, its unit and the size.",
                  profile->lock_nut_nm.value, most_nm);
    return profile->lock_nut_nm.value > most_nm;
}

/* ---- the pack ----------------------------------------------------------------------------- */

/* The plates, all at their thinnest and at their thickest, against the stack of the manual: one of
 * the two ranges must reach into the other. */
static bool stack_cannot_be(const struct profile_rule *rule, struct profile *profile,
                            char why[PROFILE_WHY])
{
    double n = profile->plates.value;
    struct text text = text_into(why, PROFILE_WHY);
    (void)rule;
    if (!profile->plates.known)
        return false;
    if (profile->plate_low.known && profile->stack_high.known) {
        double least = n * measure_length_mm(profile->plate_low.value);
        double high = measure_length_mm(profile->stack_high.value);
        if (least > high * (1 + 1e-9)) {
            text_addf(&text,
                      "%g plates of plate_low make %.2f mm, more than stack_high: mend the count, "
                      "the plates or the stack.",
                      n, least);
            return true;
        }
    }
    if (!profile->plate_high.known || !profile->stack_low.known)
        return false;
    double most = n * measure_length_mm(profile->plate_high.value);
    if (most >= measure_length_mm(profile->stack_low.value) * (1 - 1e-9))
        return false;
    text_addf(
        &text,
        "%g plates of plate_high make %.2f mm, less than stack_low: mend the count, the plates "
        "or the stack.",
        n, most);
    return true;
}

const struct profile_rule profile_rules[] = {
    {"stem", {"step", "increment"}, step_over_increment},
    {"stem", {"increment", "total"}, increment_over_total},
    {"stem", {"pitch"}, no_such_pitch},
    {"lock_nut", {"across_flats", "torque_nm"}, nut_would_strip},
    {"clutch", {"free_play_low", "free_play_high"}, upside_down},
    {"clutch", {"travel_low", "travel_high"}, upside_down},
    {"clutch", {"adjuster_low", "adjuster_high"}, upside_down},
    {"idle", {"low_rpm", "high_rpm"}, upside_down},
    {"primary", {"low_ml", "high_ml"}, upside_down},
    {"pack", {"plate_low", "plate_high"}, upside_down},
    {"pack", {"stack_low", "stack_high"}, upside_down},
    {"pack", {"plates", "plate_low", "stack_high"}, stack_cannot_be},
};
const size_t profile_rules_n = sizeof profile_rules / sizeof profile_rules[0];

size_t profile_rule_broken(const struct profile *profile, char why[PROFILE_WHY])
{
    struct profile copy = *profile; /* the table's accessors are for writing too */
    size_t i = 0;
    while (i < profile_rules_n && !profile_rules[i].broken(&profile_rules[i], &copy, why))
        i++;
    return i;
}
