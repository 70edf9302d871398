/*
 * A simulated stem and technician for the turn advisor: hidden offset, gain, sense, lash, lock-nut
 * shift, a hand that turns by eye and a rule that rounds. Deterministic: same seed, same job.
 */
#ifndef MIDTHROW_TESTS_SIMULATE_H
#define MIDTHROW_TESTS_SIMULATE_H

#include <stdbool.h>
#include <stdint.h>

#include "measure/balance.h"
#include "measure/turn.h"

struct chance {
    uint64_t state;
};

double chance_uniform(struct chance *chance, double low, double high);
double chance_normal(struct chance *chance);

enum stem_kind {
    STEM_SCREW,     /* offset moves in proportion to the turn */
    STEM_ECCENTRIC, /* offset = middle + throw sin(angle), sensible range about the middle */
    STEM_DEAD,      /* the stem turns, the arm does not follow */
    STEM_SHORT,     /* an eccentric whose throw cannot reach even: a bent arm */
    STEM_WORN,      /* a screw, but one hook is worn: it meets its pin elsewhere each time */
};
enum { STEM_KINDS = STEM_WORN + 1 };

struct stem {
    enum stem_kind kind;
    double gain_mm;    /* per turn, size; of an eccentric: at mid range */
    int sense;         /* +1: clockwise moves rest back, the offset grows */
    double angle;      /* of an eccentric, turns from mid range */
    double middle_mm;  /* offset at mid range */
    double offset_mm;  /* true, now */
    double lash_turns; /* lost when the direction changes */
    double slack;      /* where in the lash the stem lies, 0 .. lash */
    double lock_mm;    /* one sigma, each time the lock nut is tightened */
    double hand_turns; /* one sigma of a turn made by eye */
    double read_mm;    /* one sigma of setting the rule */
    double resolution_mm;
    double half_travel_mm; /* half of forward + back */
    double wear_mm;        /* of the forward hook: its throw comes out longer by up to this */
    struct chance chance;
};

struct job_end {
    bool even;       /* ended with MEASURE_EVEN ... */
    bool truly_even; /* ... and so it was */
    int rounds;      /* adjusting rounds */
    int overshoots;  /* turns that carried the true offset past zero, out of tolerance */
    bool scattered;  /* stopped because a throw's readings scattered beyond hand and rule */
    enum measure_turn_kind stop;
    double most_turns; /* largest single turn advised */
    double turned;     /* sum of sizes */
    double first_mm, last_mm;
};

/* Advises a turn; midthrow's own advisor or a rule of thumb (thumb.h). */
typedef void (*advisor)(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                        struct measure_turn_advice *advice);

/* What can be known beforehand goes into `prior`, as a profile would say it: half of the gains,
 * half of the senses, one sense in twenty wrongly. */
struct stem stem_random(uint64_t seed, enum stem_kind kind, struct measure_turn_prior *prior);
struct job_end simulate(struct stem stem, const struct measure_turn_prior *prior,
                        double tolerance_mm, advisor advise);

/* The same, with an eye on the scatter of each throw (measure_scatter_suspect): hands over by it.
 */
struct job_end simulate_watching(struct stem stem, const struct measure_turn_prior *prior,
                                 double tolerance_mm, advisor advise);

#endif
