/*
 * How far to turn the stem, and which way: learned from each round's readings.
 *
 * Model of one round: offset_after = offset_before + gain * turns + d, where `turns` is positive
 * clockwise as seen facing the stem, `gain` is in millimetres of offset per turn with a sign that
 * may not be known, and d ~ N(0, lock nut disturbance). The gain's prior comes from the profile
 * (screw pitch or eccentric throw times lever ratio) or is wide when nothing is known; each sense of
 * rotation keeps its own Gaussian over the gain's size and its own weight (a two-component mixture),
 * updated by the linear Bayesian (Kalman) formula.
 *
 *     struct measure_turn turn;
 *     measure_turn_init(&turn, &prior);
 *     measure_turn_advise(&turn, offset_mm, offset_u_mm, &advice);
 *     ... the technician turns; both throws are read again ...
 *     measure_turn_learn(&turn, turns_made, before_mm, before_u_mm, after_mm, after_u_mm);
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
    bool gain_known;
    double gain_mm;            /* > 0: millimetres of offset per whole turn, size only */
    double gain_relative_u;    /* relative standard uncertainty of gain_mm, > 0 */
    enum measure_sense sense;
    double sense_trust;        /* 0.5 .. 1: how far the stated sense is believed; 0.95 is usual */
    double lock_nut_mm;        /* >= 0: how much tightening the lock nut shifts rest, 1 sigma */
    double step_turns;         /* the finest turn a hand can make, e.g. 1.0/32 */
    double increment_turns;    /* the most one adjustment may turn; < 0.5 */
    double total_turns;        /* the most all adjustments may sum to, sizes added */
    int rounds_max;            /* adjusting rounds before handing over */
};

enum measure_turn_kind {
    MEASURE_TURN_ADJUST,          /* turn by this much: should bring the throws together */
    MEASURE_TURN_PROBE,           /* sense not known: a small turn to see which way it goes */
    MEASURE_TURN_NONE,            /* nothing a hand can turn would make it better */
    MEASURE_STOP_ROUNDS,          /* rounds ran out */
    MEASURE_STOP_TOTAL,           /* total turn ran out */
    MEASURE_STOP_NO_RESPONSE,     /* the arm does not follow the stem */
    MEASURE_STOP_SIGN_CHANGED,    /* it moved one way, now the other */
};

struct measure_turn_advice {
    enum measure_turn_kind kind;
    int steps;                  /* size of the turn in units of step; 0 when stopping */
    int numerator, denominator; /* the same as a fraction in lowest terms: 1/16 */
    bool clockwise;             /* as seen facing the stem */
    double turns;               /* signed, clockwise positive; |turns| <= increment, always */
    double expected_offset_mm;  /* after the turn; for a probe under the likelier sense */
    double expected_u_mm;
};

struct measure_turn {
    struct measure_turn_prior prior;
    double weight[2];     /* probability that clockwise moves rest forward [0], back [1] */
    double gain_mm[2];    /* mean of the gain's size under each sense */
    double gain_var[2];
    int rounds;           /* learned so far */
    double turned_total;  /* sum of |turns| so far */
    int unresponsive;     /* rounds in a row in which a real turn did nothing that could be seen */
    int sign_changes;     /* confident responses against the confident sense so far */
};

/* Refuses priors that make no sense (increment of half a turn or more, step above the increment,
 * negative gain) by a fault sentence. */
bool measure_turn_init(struct measure_turn *turn, const struct measure_turn_prior *prior,
                       struct fault *fault);

/* `turns` as really made, clockwise positive; offsets and standard uncertainties in millimetres. */
void measure_turn_learn(struct measure_turn *turn, double turns, double before_mm,
                        double before_u_mm, double after_mm, double after_u_mm);

/* What to do at this offset. Never more than the increment, nor than what is left of the total. */
void measure_turn_advise(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                         struct measure_turn_advice *advice);

#endif
