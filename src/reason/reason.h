/*
 * What it may be, and what to look at next.
 *
 * One table of judgement holds the causes with their prior odds and, for every answer of the intake
 * and every result of a check, how likely that answer is under each cause (reason/table.c; each row
 * says why). The causes are taken as exclusive and the answers as independent given the cause
 * (naive Bayes), so the posterior is a sum of log odds; "don't know" and "skip" carry nothing.
 *
 * Observe what was *found*, before it was put right: free play as first measured, the throws of the
 * first round. What putting it right did is an observation of its own (REASON_CURED_BY_...).
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
    REASON_PAWL,             /* shifter pawl out of centre */
    REASON_FREE_PLAY,        /* clutch free play wrong: lever, cable, or hydraulic travel */
    REASON_CLUTCH_ADJUST,    /* internal adjuster wrong */
    REASON_CLUTCH_CABLE,     /* cable frayed, sticking or badly routed */
    REASON_CLUTCH_HYDRAULIC, /* air or a tired seal */
    REASON_PLATES,           /* worn, warped or sticking plates */
    REASON_SPRING_PLATE,     /* spring plate come loose: the pack is too thick */
    REASON_FLUID_LOW,        /* too little primary fluid */
    REASON_FLUID_HIGH,       /* too much: the clutch drags */
    REASON_FLUID_OLD,
    REASON_FLUID_WRONG,
    REASON_LINKAGE, /* shift linkage worn, loose or misadjusted */
    REASON_HOOK,    /* pawl hook or drum pin worn, arm bent */
    REASON_IDLE,    /* idle too high */
    REASON_GEARBOX, /* detent or fork trouble inside the box */
    REASON_CAUSE_COUNT,
};

/* What can be observed. The values of each are the enum below it, in the order in which the choice
 * grammars list them. */
enum reason_evidence {
    REASON_COMPLAINT,      /* hard to find, false neutral, both */
    REASON_TEMPERATURE,    /* hot, cold, both */
    REASON_ENGINE,         /* off, running, both */
    REASON_MOTION,         /* rolling to a stop, standing with the clutch in, both */
    REASON_CREEP,          /* no, yes: it creeps with the lever pulled in */
    REASON_GEARS,          /* no, yes: the other gears go in cleanly */
    REASON_ONSET,          /* sudden, gradual */
    REASON_SERVICED_FLUID, /* no, yes: lately */
    REASON_SERVICED_CLUTCH,
    REASON_SERVICED_LINKAGE,
    REASON_FREE_PLAY_IS,       /* below the manual's range, in it, above it */
    REASON_FLUID_LEVEL,        /* low, right, high */
    REASON_FLUID_CONDITION,    /* clean, dark, milky, wrong fluid */
    REASON_LINKAGE_PLAY,       /* in, out */
    REASON_FASTENERS,          /* tight, loose */
    REASON_HOOK_LOOK,          /* good, worn, bent */
    REASON_THROWS,             /* even, uneven */
    REASON_CURED_BY_FREE_PLAY, /* no, yes: neutral was easy after setting it right */
    REASON_CURED_BY_FLUID,
    REASON_CURED_BY_LINKAGE,
    REASON_CURED_BY_CENTRING,
    REASON_CLUTCH_KIND,    /* worked by cable, hydraulic: the profile knows */
    REASON_IDLE_SPEED,     /* below the manual's range, in it, above it */
    REASON_CABLE_LOOK,     /* good, frayed or stiff, badly routed */
    REASON_HYDRAULIC_FEEL, /* firm, spongy, sinks while held */
    REASON_ADJUSTER_IS,    /* turns out from contact: too few, right, too many */
    REASON_PACK_IS,        /* stack and plates in range; plates bad; stack over, plates in range */
    REASON_GEARBOX_LOOK,   /* good, worn: detent, forks, dogs */
    REASON_CURED_BY_IDLE,  /* no, yes, as above */
    REASON_CURED_BY_HYDRAULIC,
    REASON_CURED_BY_CABLE,
    REASON_CURED_BY_ADJUSTER,
    REASON_CURED_BY_FLUID_CHANGE,
    REASON_CURED_BY_PACK,
    REASON_CURED_BY_GEARBOX,
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
enum { REASON_CLUTCH_BY_CABLE, REASON_CLUTCH_BY_HYDRAULICS };
enum { REASON_CABLE_GOOD, REASON_CABLE_FRAYED, REASON_CABLE_ROUTED_BADLY };
enum { REASON_FIRM, REASON_SPONGY, REASON_SINKS };
enum { REASON_TURNS_TOO_FEW, REASON_TURNS_RIGHT, REASON_TURNS_TOO_MANY };
enum { REASON_PACK_GOOD, REASON_PACK_PLATES_BAD, REASON_PACK_STACK_OVER };
enum { REASON_BOX_GOOD, REASON_BOX_WORN };

/* Checks, cheap to dear. The job walks the first four before it offers the others. */
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

/* A shop's own rows in place of the table's: how likely each value of an evidence is under a cause
 * (or, REASON_REST, under all causes without a row of their own in the file). */
enum { REASON_VALUES_MAX = 4, REASON_ROWS_MAX = 64, REASON_REST = REASON_CAUSE_COUNT };
struct reason_row {
    int evidence, cause;
    double likelihood[REASON_VALUES_MAX];
};
struct reason_shop {
    struct reason_row row[REASON_ROWS_MAX];
    int rows;
};

struct reason {
    double prior[REASON_CAUSE_COUNT]; /* natural log of each cause's share; the shares sum to 1 */
    int seen[REASON_EVIDENCE_COUNT];  /* the value observed; -1: nothing */
    struct reason_shop shop;          /* empty: the table alone */
};

struct reason_rank {
    enum reason_cause cause;
    double probability;
    double log_odds; /* natural log of p / (1 - p), exact where the probability rounds to 0 or 1 */
    /* The two observations that moved this cause most, largest first; -1: none. `weight` is the
     * change of log odds that the observation makes by itself, natural log, signed: Good's weight
     * of evidence, log P(e | cause) / P(e | another cause), the others averaged by their priors. A
     * negative one speaks against the cause: "although", not "because". */
    int because[2];
    double weight[2];
    /* The same, of those that speak for it by at least REASON_PERCEPTIBLE: what to say in "most
     * likely {cause}, because {observation} and {observation}". */
    int favour[2];
};

/* Half a deciban, in natural log: about the smallest weight of evidence that a person notices
 * (I. J. Good, after A. M. Turing; from memory). */
#define REASON_PERCEPTIBLE 0.1151292546497023

/* Starts with the table's priors and nothing observed. */
void reason_init(struct reason *reason);

/* Starts with these weights (any scale) in place of the table's: a shop's own. Each must be finite
 * and above 0, for a cause of no weight could never be believed again, whatever was found (Lindley:
 * Cromwell's rule). Otherwise returns false, and the table's priors stand. */
bool reason_init_with(struct reason *reason, const double weight[REASON_CAUSE_COUNT]);

/* Uses these rows from now on. Each must be believable (reason_row_is_good); otherwise returns
 * false, and none of them is used. */
bool reason_use(struct reason *reason, const struct reason_shop *shop);

/* Evidence and cause in range; every likelihood above 0 (Cromwell's rule again) and at most 1; they
 * sum to 1 to within a hundredth, for people round (reason_use makes it exact); nothing behind the
 * last value. */
bool reason_row_is_good(const struct reason_row *row);

/* The shop's rows as one text and back, exact, for the journal: "temperature pawl 0.1 0.2 0.7" a
 * line, by ids, so that a cause that a later midthrow adds does not move the others. REASON_FLAT
 * bytes hold any. From text refuses what is no good row. */
enum { REASON_FLAT = 16384 };
bool reason_shop_to_text(const struct reason_shop *shop, char *out, size_t size);
bool reason_shop_from_text(const char *text, struct reason_shop *shop);

/* The table's prior weights, in hundredths. */
double reason_cause_weight(enum reason_cause cause);

/* False when the value is none of that evidence's. Observing again replaces; -1 takes it back. */
bool reason_observe(struct reason *reason, enum reason_evidence evidence, int value);

/* All causes, likeliest first; probabilities sum to 1. Equal ones stay in the order of the enum. */
void reason_rank(const struct reason *reason, struct reason_rank rank[REASON_CAUSE_COUNT]);

/* The weight of evidence of what was observed for a cause, as `weight` above; 0 for what was not
 * observed. */
double reason_weight(const struct reason *reason, enum reason_cause cause,
                     enum reason_evidence evidence);

/* ---- what to look at next ------------------------------------------------------------------- */

/* A check that ends the search with less than this chance cannot change what is done next: it is
 * not asked for. */
#define REASON_HOPELESS 0.005

/* Which of the checks not yet in `done` (a bit each, 1u << check) comes next; -1 when none is left.
 *
 * - A hopeless check (reason_check_chance below REASON_HOPELESS) is left out.
 * - Cheap before dear: as long as a cheap one is left, the dear ones wait. A technician does not
 *   open a cover before the lever and the dipstick were looked at.
 * - Among equals, the one with the largest chance per minute: for independent checks this order has
 *   the least expected time (Simon and Kadane 1975; under the constraint that the cheap ones come
 *   first, Kadane and Simon 1977).
 *
 * To choose among some checks only, set the bits of the others in `done`. */
int reason_next_check(const struct reason *reason, unsigned done);

/* The chance, given what was observed, that this check ends the search: that it shows the cause and
 * putting right what it shows cures it, or it names the part to hand over. */
double reason_check_chance(const struct reason *reason, enum reason_check check);

double reason_check_minutes(enum reason_check check);
bool reason_check_is_cheap(enum reason_check check);    /* nothing opened or drained, ten minutes */
const char *reason_check_name(enum reason_check check); /* "lever free play" */
const char *reason_check_id(enum reason_check check);   /* "free_play" */
/* If it is this cause, the chance that this check ends the search; 0: it cannot find it. */
double reason_check_finds(enum reason_check check, enum reason_cause cause);
/* The check that speaks most for or against a cause: what to do next about it. */
enum reason_check reason_check_for(enum reason_cause cause);

/* ---- contradictions ------------------------------------------------------------------------- */

/* Two observations that cannot well both be true, to be asked about: "{first}, yet {second}:
 * which?" in the words of reason_observation_words. `id` names why, for a prompt of its own:
 * "off_only_creep". Nothing is dropped from the ranking: the technician says which one stands. */
struct reason_contradiction {
    enum reason_evidence first, second;
    const char *id; /* static */
};

/* Fills at most `max` of them, in the order of the table; returns how many there are, which may be
 * more. `out` may be NULL when max is 0. */
size_t reason_contradictions(const struct reason *reason, struct reason_contradiction out[],
                             size_t max);

/* ---- words ---------------------------------------------------------------------------------- */

/* Words outside the tables' range are "", numbers 0; no argument is unsafe. The words fit "Most
 * likely {cause}, because {observation} and {observation}.", in at most 20 words. */
const char *reason_cause_name(enum reason_cause cause); /* "shifter pawl out of centre" */
const char *reason_cause_id(enum reason_cause cause);   /* "pawl": for files and JSON */
/* "it happens only when hot", "the throws were uneven": to follow "because". */
const char *reason_observation_words(enum reason_evidence evidence, int value);
int reason_values(enum reason_evidence evidence); /* how many values it can take */
const char *reason_evidence_id(enum reason_evidence evidence);
const char *reason_value_id(enum reason_evidence evidence, int value); /* "hot": for JSON */

#endif
