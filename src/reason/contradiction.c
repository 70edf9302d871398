/*
 * Pairs of observations that cannot well both be true. A pair is listed only when one leaves no way
 * for the other, by how the parts work or by what the words mean; that two answers are merely
 * unusual together is what the likelihoods are for.
 */
#include "reason/reason.h"

/* `first` and `second` hold, and `given` too where there is one (`given_value` -1: none). */
struct pair {
    const char *id;
    enum reason_evidence first;
    int first_value;
    enum reason_evidence second;
    int second_value;
    enum reason_evidence given;
    int given_value;
};

#define ALWAYS REASON_COMPLAINT, -1
#define ENGINE_OFF REASON_ENGINE, REASON_ENGINE_OFF

/* A reason, its row. */
/* clang-format off */
static const struct pair pairs[] = {
    /* Only a running engine can drive the wheel; a clutch that creeps is worse running. */
    {"off_only_creep", ENGINE_OFF, REASON_CREEP, REASON_YES, ALWAYS},
    /* A bike rolling to a stop is being ridden: its engine runs. */
    {"off_only_rolling", ENGINE_OFF, REASON_MOTION, REASON_ROLLING, ALWAYS},
    /* With the engine off the clutch carries no torque and there is no idle: curing either cannot
     * cure what shows only then. */
    {"off_only_clutch_cure", ENGINE_OFF, REASON_CURED_BY_FREE_PLAY, REASON_YES, ALWAYS},
    {"off_only_clutch_cure", ENGINE_OFF, REASON_CURED_BY_HYDRAULIC, REASON_YES, ALWAYS},
    {"off_only_clutch_cure", ENGINE_OFF, REASON_CURED_BY_CABLE, REASON_YES, ALWAYS},
    {"off_only_clutch_cure", ENGINE_OFF, REASON_CURED_BY_ADJUSTER, REASON_YES, ALWAYS},
    {"off_only_clutch_cure", ENGINE_OFF, REASON_CURED_BY_PACK, REASON_YES, ALWAYS},
    {"off_only_idle_cure", ENGINE_OFF, REASON_CURED_BY_IDLE, REASON_YES, ALWAYS},
    /* A clutch that drags enough to creep makes neutral hardest standing, so "only while rolling"
     * cannot be the whole truth where neutral is hard to find. (A false neutral under way can go
     * with a creep: two troubles.) */
    {"rolling_only_creep", REASON_MOTION, REASON_ROLLING, REASON_CREEP, REASON_YES,
     REASON_COMPLAINT, REASON_HARD_TO_FIND},
    /* What was found in order cannot have been put right. */
    {"nothing_to_set", REASON_FREE_PLAY_IS, REASON_WITHIN, REASON_CURED_BY_FREE_PLAY, REASON_YES,
     ALWAYS},
    {"nothing_to_fill", REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT, REASON_CURED_BY_FLUID, REASON_YES,
     REASON_FLUID_CONDITION, REASON_CLEAN},
    {"nothing_to_tighten", REASON_LINKAGE_PLAY, REASON_PLAY_IN, REASON_CURED_BY_LINKAGE, REASON_YES,
     REASON_FASTENERS, REASON_TIGHT},
    {"nothing_to_centre", REASON_THROWS, REASON_EVEN, REASON_CURED_BY_CENTRING, REASON_YES, ALWAYS},
    {"nothing_to_slow", REASON_IDLE_SPEED, REASON_WITHIN, REASON_CURED_BY_IDLE, REASON_YES, ALWAYS},
    /* There is no cable on a hydraulic clutch, and no line on a cable clutch. */
    {"no_such_cable", REASON_CLUTCH_KIND, REASON_CLUTCH_BY_HYDRAULICS, REASON_CURED_BY_CABLE,
     REASON_YES, ALWAYS},
    {"no_such_hydraulics", REASON_CLUTCH_KIND, REASON_CLUTCH_BY_CABLE, REASON_CURED_BY_HYDRAULIC,
     REASON_YES, ALWAYS},
};
/* clang-format on */

/* Cured is cured: with two of these at yes, one of the cures did not last or was none. */
static const enum reason_evidence cures[] = {
    REASON_CURED_BY_FREE_PLAY, REASON_CURED_BY_FLUID,    REASON_CURED_BY_LINKAGE,
    REASON_CURED_BY_CENTRING,  REASON_CURED_BY_IDLE,     REASON_CURED_BY_HYDRAULIC,
    REASON_CURED_BY_CABLE,     REASON_CURED_BY_ADJUSTER, REASON_CURED_BY_FLUID_CHANGE,
    REASON_CURED_BY_PACK,      REASON_CURED_BY_GEARBOX,
};

struct list {
    struct reason_contradiction *out;
    size_t max;
    size_t n;
};

static void add(struct list *list, const char *id, enum reason_evidence first,
                enum reason_evidence second)
{
    if (list->n < list->max)
        list->out[list->n] = (struct reason_contradiction){first, second, id};
    list->n++;
}

static bool holds(const struct reason *reason, const struct pair *pair)
{
    return reason->seen[pair->first] == pair->first_value &&
           reason->seen[pair->second] == pair->second_value &&
           (pair->given_value < 0 || reason->seen[pair->given] == pair->given_value);
}

size_t reason_contradictions(const struct reason *reason, struct reason_contradiction out[],
                             size_t max)
{
    struct list list = {out, max, 0};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (holds(reason, &pairs[i]))
            add(&list, pairs[i].id, pairs[i].first, pairs[i].second);
    const size_t n = sizeof cures / sizeof cures[0];
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++)
            if (reason->seen[cures[i]] == REASON_YES && reason->seen[cures[j]] == REASON_YES)
                add(&list, "cured_twice", cures[i], cures[j]);
    return list.n;
}
