/*
 * A simulated technician at a simulated bike, for the tests: answers every question in words, by
 * looking at the bike. The bike has hidden truths (where its pawl's centre is, how its stem works,
 * what its fluid looks like) that the job can only learn by asking. Everything follows from a seed.
 */
#ifndef MIDTHROW_TESTS_JOB_TECHNICIAN_H
#define MIDTHROW_TESTS_JOB_TECHNICIAN_H

#include <stdbool.h>
#include <stdint.h>

#include "job/job.h"

struct dice {
    uint64_t state;
};
void dice_seed(struct dice *dice, uint64_t seed);
double dice_uniform(struct dice *dice, double low, double high);
double dice_normal(struct dice *dice, double sd);
bool dice_chance(struct dice *dice, double probability);
int dice_below(struct dice *dice, int n);

struct bike {
    double offset_mm;   /* true (forward - back)/2 */
    double half_sum_mm; /* true (forward + back)/2 */
    double gain_mm;     /* offset per turn clockwise, signed */
    double lash_turns;  /* lost when the sense of turning changes */
    double lost_turns;  /* lash still to take up, in the present sense */
    int last_sense;
    double lock_nut_mm; /* shift on tightening, one sigma */
    double scatter_mm;  /* of a reading, one sigma, before it is rounded to the rule */
    double rule_mm;     /* finest division read */
    bool hook_is_bad;
    bool stem_is_stuck; /* the arm does not follow */
    double free_play_mm;
    int level, condition; /* as the choice grammars count */
    double linkage_play_mm;
    bool fasteners_loose;
    bool pawl_is_cause; /* centring cures it */
    bool access_open, lock_nut_loose;

    /* what the dear checks find */
    int idle_rpm, feel, cable_look;
    double travel_mm, adjuster_turns, drained_ml;
    double plate_mm[14], whole_mm, warp_mm;
    bool manual_is_silent; /* the profile gives none of the dear checks' limits: they are asked for
                            */
    enum profile_clutch clutch;

    /* one cause made true: the answers follow it */
    bool has_truth;
    enum reason_cause truth;
    int rider[REASON_EVIDENCE_COUNT]; /* what the intake is told */
    bool cured;

    /* the shop as it stands: a bit for each phrase that was confirmed and is still so */
    unsigned made_safe;
    bool engine_running;
};

/* How the technician talks. Probabilities of each distraction before an answer. */
struct technician {
    struct dice dice;
    struct bike bike;
    double distracted; /* says again, help, where are we, nonsense, a doubtful hearing, ... */
    bool careless;     /* says "wrong" now and then after an answer, and gives it again */
    int answers;
    int hands_on;             /* times hands went to the bike */
    uint64_t hands_on_at;     /* a bit for each step where they did */
    int turns_over_increment; /* counted while obeying the tool's advice */
    int hands_in_unsafe;      /* the tool sent hands to the linkage with a caution not confirmed */
};

void technician_begin(struct technician *technician, uint64_t seed);

/* The same with one cause made true: rider and bike answer as the table of judgement
 * (reason/table.h) says they would, each answer drawn by its likelihood under that cause. */
void technician_begin_with(struct technician *technician, uint64_t seed, enum reason_cause truth);

/* How many steps send hands to the bike. */
int technician_hands_on_steps(void);

/* The next event in answer to what the job just asked. */
void technician_answer(struct technician *technician, const struct job *job,
                       struct job_event *event);

/* The numbers the simulated manual gives; everything known. */
void technician_profile(const struct technician *technician, struct profile *profile);

#endif
