/*
 * How far to turn the stem, and which way: learned from each round's readings.
 *
 * Model of one round: offset_after = offset_before + gain * turns + d, where `turns` is positive
 * clockwise as seen facing the stem, `gain` is in millimetres of offset per turn with a sign that
 * may not be known, and d ~ N(0, lock nut disturbance). The gain's prior comes from the profile
 * (screw pitch or eccentric throw times lever ratio) or is wide when nothing is known; each sense
 * of rotation keeps its own Gaussian over the gain's size and its own weight (a two-component
 * mixture), updated by the linear Bayesian (Kalman) formula.
 *
 *     struct measure_turn turn;
 *     measure_turn_init(&turn, &prior, &fault);
 *     measure_turn_advise(&turn, offset_mm, offset_u_mm, &advice);
 *     ... the technician turns; both throws are read again ...
 *     measure_turn_learn(&turn, turns_made, before_mm, before_u_mm, after_mm, after_u_mm);
 *
 * What the update adds to that model, because stems are what they are:
 * - a size is never negative: each Gaussian is cut at zero and replaced by one with the cut one's
 * mean and variance, and the mass that was cut off counts against that sense;
 * - a turn is made by eye: a quarter of a step, one sigma, besides what was said (judgement, no
 * source);
 * - lash: the first turn and every reversed one loses half a step before the arm follows, give or
 * take half a step (judgement, no source);
 * - an eccentric's gain changes with its angle: a tenth of itself is added to the gain's
 * uncertainty in every round, so that it goes on learning (judgement, no source);
 * - an arm may not follow at all (bent, hook or shaft worn, clamp loose): one in ten, to begin with
 *   (judgement, no source). By all rounds together, the slope of offset against turns is estimated
 * with no prior (a two-state Kalman filter, so that a reading that ends one round and begins the
 * next is counted once); how likely that estimate is with slope zero and with the gain's prior, cut
 * below the least gain that counts as following, gives the probability of a dead arm. At 95 % it is
 * said;
 * - one misread must not settle anything: in one round in a hundred the readings are taken to say
 *   nothing about the sense (judgement, no source).
 *
 * The advice is the turn t, in steps, that makes E[r^2] + 2 E[min(r, 0)^2] smallest, r being what
 * is left of the offset after it, towards even from its own side, over both senses, with lash,
 * hand, lock nut and the uncertainty of the reading in it. Without the second term and those it
 * would be t = -offset E[gain] / E[gain^2]: with the gain well known that brings the offset to
 * zero; the less it is known the shorter the turn. The second term makes a square past even count
 * three times, as turning back costs a round and its lash (judgement; of 1, 2, 3, 4 and 6, two and
 * three were best in tests/measure/bench_turn.c). It is cut to the increment and to what is left of
 * the total.
 */
#ifndef MIDTHROW_MEASURE_TURN_H
#define MIDTHROW_MEASURE_TURN_H

#include <stdbool.h>
#include <stddef.h>

#include "measure/length.h"

enum measure_sense {
    MEASURE_SENSE_UNKNOWN,
    MEASURE_CLOCKWISE_FORWARD, /* clockwise moves rest forward: the offset falls */
    MEASURE_CLOCKWISE_BACK,    /* clockwise moves rest back: the offset grows */
};

/* What is known before the first turn. Turns are exact fractions of one turn. */
struct measure_turn_prior {
    bool gain_known;        /* false: the two numbers below are taken as a mere hint */
    double gain_mm;         /* > 0: millimetres of offset per whole turn, size only; 0 when not
                               known stands for 3 mm (judgement, no source) */
    double gain_relative_u; /* relative standard uncertainty of gain_mm, > 0; at least 1 is used
                               when the gain is not known */
    enum measure_sense sense;
    double sense_trust;     /* 0.5 .. 1: how far the stated sense is believed; 0.95 is usual; at
                               most 0.999 is used, any statement may be wrong; not read for
                               MEASURE_SENSE_UNKNOWN */
    double lock_nut_mm;     /* >= 0: how much tightening the lock nut shifts rest, 1 sigma */
    double step_turns;      /* the finest turn a hand can make, e.g. 1.0/32; taken as one over a
                               whole number, the next finer if it is not; at least 1/1000 */
    double increment_turns; /* the most one adjustment may turn; < 0.5 */
    double total_turns;     /* the most all adjustments may sum to, sizes added */
    int rounds_max;         /* adjusting rounds before handing over */
};

enum measure_turn_kind {
    MEASURE_TURN_ADJUST,       /* turn by this much: should bring the throws together */
    MEASURE_TURN_PROBE,        /* sense not known: a small turn to see which way it goes */
    MEASURE_TURN_NONE,         /* nothing a hand can turn would make it better: the best turn is
                                  below half a step. If the throws are not even all the same, the
                                  tolerance is finer than this stem can be set by hand: leave it, or
                                  hand over */
    MEASURE_STOP_ROUNDS,       /* rounds ran out */
    MEASURE_STOP_TOTAL,        /* total turn ran out: not one step is left */
    MEASURE_STOP_NO_RESPONSE,  /* the arm does not follow the stem: by all turns together (95 %), or
                                  by two or more running, the same way, that should have moved rest
                                  plainly and did not */
    MEASURE_STOP_SIGN_CHANGED, /* it moved one way, now the other: past an eccentric's dead
                                  centre, a part slips, or a turn was made the wrong way */
};

struct measure_turn_advice {
    enum measure_turn_kind kind;
    int steps;                  /* size of the turn in units of step; 0 when stopping */
    int numerator, denominator; /* the same as a fraction in lowest terms: 1/16 */
    bool clockwise;             /* as seen facing the stem */
    double turns;               /* signed, clockwise positive; |turns| <= increment, always */
    double expected_offset_mm;  /* after the turn, over both senses; for a probe under the likelier
                                   sense; as it is now when there is no turn */
    double expected_u_mm;
};

struct measure_turn {
    struct measure_turn_prior prior;
    double weight[2];  /* probability that clockwise moves rest forward [0], back [1] */
    double gain_mm[2]; /* mean of the gain's size under each sense */
    double gain_var[2];
    int rounds;          /* so far */
    int taught;          /* of them with a turn and readings to learn from */
    double turned_total; /* sum of |turns| so far */
    int unresponsive;    /* rounds in a row in which a real turn did nothing that could be seen */
    int sign_changes;    /* confident responses against the confident sense so far */

    int steps_per_turn;  /* the step is one over this */
    double last_turns;   /* the turn before; 0: none yet */
    int seen_sense;      /* sense (0, 1) that a plain response has shown; -1: none has */
    double run_turns;    /* turned one way since the last plain response or reversal ... */
    double run_start_mm; /* ... from this offset ... */
    double run_start_u_mm;
    int run_rounds; /* ... in so many rounds */

    double dead;     /* probability that the arm does not follow the stem at all */
    double track_mm; /* offset and slope (signed gain, mm a turn) by all rounds together, nothing */
    double slope_mm; /* assumed of the slope beforehand; their variances and covariance */
    double track_var, slope_var, cross_var;
    double seen_mm; /* the last offset that went into them */
};

/* Refuses priors that make no sense (increment of half a turn or more, step above the increment,
 * negative gain, anything not finite) by a fault sentence. */
bool measure_turn_init(struct measure_turn *turn, const struct measure_turn_prior *prior,
                       struct fault *fault);

/* `turns` as really made, clockwise positive, 0 if the stem was left alone; offsets and standard
 * uncertainties in millimetres. What cannot be (NaN, ten turns at once, a kilometre) counts as a
 * round and teaches nothing. */
void measure_turn_learn(struct measure_turn *turn, double turns, double before_mm,
                        double before_u_mm, double after_mm, double after_u_mm);

/* What to do at this offset. Never more than the increment, nor than what is left of the total. An
 * offset that is not finite gets MEASURE_TURN_NONE: measure again. */
void measure_turn_advise(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                         struct measure_turn_advice *advice);

#endif
