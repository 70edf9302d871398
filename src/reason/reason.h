/*
 * What it may be, and what to look at next.
 *
 * One table of judgement holds the causes with their prior odds and, for every answer of the intake
 * and every result of a check, how likely that answer is under each cause (reason/table.c; each row
 * says why). The causes are taken as exclusive and the answers as independent given the cause
 * (naive Bayes), so the posterior is a sum of log odds; "don't know" and "skip" carry nothing.
 *
 *     struct reason reason;
 *     reason_init(&reason);
 *     reason_observe(&reason, REASON_TEMPERATURE, REASON_HOT);
 *     struct reason_rank rank[REASON_CAUSE_COUNT];
 *     reason_rank(&reason, rank);            // rank[0] is the likeliest
 */
#ifndef MIDTHROW_REASON_REASON_H
#define MIDTHROW_REASON_REASON_H

#include <stdbool.h>
#include <stddef.h>

enum reason_cause {
    REASON_PAWL,            /* shifter pawl out of centre */
    REASON_FREE_PLAY,       /* clutch free play wrong: lever, cable, or hydraulic travel */
    REASON_CLUTCH_ADJUST,   /* internal adjuster wrong */
    REASON_CLUTCH_CABLE,    /* cable frayed, sticking or badly routed */
    REASON_CLUTCH_HYDRAULIC,/* air or a tired seal */
    REASON_PLATES,          /* worn, warped or sticking plates */
    REASON_SPRING_PLATE,    /* spring plate come loose: the pack is too thick */
    REASON_FLUID_LOW,       /* too little primary fluid */
    REASON_FLUID_HIGH,      /* too much: the clutch drags */
    REASON_FLUID_OLD,
    REASON_FLUID_WRONG,
    REASON_LINKAGE,         /* shift linkage worn, loose or misadjusted */
    REASON_HOOK,            /* pawl hook or drum pin worn, arm bent */
    REASON_IDLE,            /* idle too high */
    REASON_GEARBOX,         /* detent or fork trouble inside the box */
    REASON_CAUSE_COUNT,
};

/* What can be observed. The values of each are the enum below it, in the order in which the choice
 * grammars list them. */
enum reason_evidence {
    REASON_COMPLAINT,       /* hard to find, false neutral, both */
    REASON_TEMPERATURE,     /* hot, cold, both */
    REASON_ENGINE,          /* off, running, both */
    REASON_MOTION,          /* rolling to a stop, standing with the clutch in, both */
    REASON_CREEP,           /* no, yes: it creeps with the lever pulled in */
    REASON_GEARS,           /* no, yes: the other gears go in cleanly */
    REASON_ONSET,           /* sudden, gradual */
    REASON_SERVICED_FLUID,  /* no, yes: lately */
    REASON_SERVICED_CLUTCH,
    REASON_SERVICED_LINKAGE,
    REASON_FREE_PLAY_IS,    /* below the manual's range, in it, above it */
    REASON_FLUID_LEVEL,     /* low, right, high */
    REASON_FLUID_CONDITION, /* clean, dark, milky, wrong fluid */
    REASON_LINKAGE_PLAY,    /* in, out */
    REASON_FASTENERS,       /* tight, loose */
    REASON_HOOK_LOOK,       /* good, worn, bent */
    REASON_THROWS,          /* even, uneven */
    REASON_CURED_BY_FREE_PLAY, /* no, yes: neutral was easy after setting it right */
    REASON_CURED_BY_FLUID,
    REASON_CURED_BY_LINKAGE,
    REASON_CURED_BY_CENTRING,
    REASON_EVIDENCE_COUNT,
};
enum { REASON_NO, REASON_YES };
enum { REASON_HARD_TO_FIND, REASON_FALSE_NEUTRAL, REASON_BOTH_COMPLAINTS };
enum { REASON_HOT, REASON_COLD, REASON_HOT_AND_COLD };
enum { REASON_ENGINE_OFF, REASON_ENGINE_RUNNING, REASON_OFF_AND_RUNNING };
enum { REASON_ROLLING, REASON_STANDING, REASON_ROLLING_AND_STANDING };
enum { REASON_SUDDEN, REASON_GRADUAL };
enum { REASON_BELOW, REASON_WITHIN, REASON_ABOVE };
enum { REASON_LEVEL_LOW, REASON_LEVEL_RIGHT, REASON_LEVEL_HIGH };
enum { REASON_CLEAN, REASON_DARK, REASON_MILKY, REASON_WRONG_FLUID };
enum { REASON_PLAY_IN, REASON_PLAY_OUT };
enum { REASON_TIGHT, REASON_LOOSE };
enum { REASON_HOOK_GOOD, REASON_HOOK_WORN, REASON_HOOK_BENT };
enum { REASON_EVEN, REASON_UNEVEN };

/* Checks, cheap to dear. The job walks the first four by itself; the others are named when it hands
 * over. */
enum reason_check {
    REASON_CHECK_FREE_PLAY,
    REASON_CHECK_FLUID,
    REASON_CHECK_LINKAGE,
    REASON_CHECK_PAWL,
    REASON_CHECK_IDLE,
    REASON_CHECK_HYDRAULIC,
    REASON_CHECK_CABLE,
    REASON_CHECK_INTERNAL_ADJUSTER,
    REASON_CHECK_FLUID_CHANGE,
    REASON_CHECK_PACK,
    REASON_CHECK_GEARBOX,
    REASON_CHECK_COUNT,
};

struct reason {
    int seen[REASON_EVIDENCE_COUNT]; /* the value observed; -1: nothing */
};

struct reason_rank {
    enum reason_cause cause;
    double probability;
    /* The two observations that moved this cause most, largest first; -1: none. `weight` is the
     * change of log odds, natural log, signed. */
    int because[2];
    double weight[2];
};

void reason_init(struct reason *reason);

/* False when the value is none of that evidence's. Observing again replaces; -1 takes it back. */
bool reason_observe(struct reason *reason, enum reason_evidence evidence, int value);

/* All causes, likeliest first; probabilities sum to 1. */
void reason_rank(const struct reason *reason, struct reason_rank rank[REASON_CAUSE_COUNT]);

/* Which of the checks not yet in `done` (a bit each, 1u << check) promises most: the chance that it
 * ends the job, per minute it takes. Returns -1 when none is left. Cheap before dear: a check with no
 * cautions of hands in the linkage comes before the pawl check unless it is hopeless. */
int reason_next_check(const struct reason *reason, unsigned done);

/* Minutes and the plain name of a check; the causes it can find. */
double reason_check_minutes(enum reason_check check);
const char *reason_check_name(enum reason_check check);
const char *reason_cause_name(enum reason_cause cause);   /* "shifter pawl out of centre" */
const char *reason_cause_id(enum reason_cause cause);     /* "pawl": for files and JSON */
/* "only when hot", "the throws were uneven": an observation in words, to follow "because". */
const char *reason_observation_words(enum reason_evidence evidence, int value);
int reason_values(enum reason_evidence evidence);         /* how many values it can take */
const char *reason_evidence_id(enum reason_evidence evidence);
/* The check that speaks most for or against a cause: what to do next about it. */
enum reason_check reason_check_for(enum reason_cause cause);

#endif
