/*
 * Are the two throws equal? Readings in, verdict out.
 *
 * Every input quantity is evaluated as JCGM 100:2008 (GUM) says: the mean of repeated readings with
 * its type A standard uncertainty (4.2), the instrument's resolution as a rectangular distribution,
 * type B, u = resolution/sqrt(12) (4.3.7, F.2.2.1), combined (5.1.2), effective degrees of freedom
 * by Welch-Satterthwaite (G.4.1), expanded uncertainty U = k u with k from Student's t at 95 %
 * (G.3, table G.2). The verdict is a probability of conformity, JCGM 106:2012 section 7.
 *
 * What a metrologist would ask, and what is done:
 *
 * - Few readings. Both throws of one round are read by the same hand with the same rule, so their
 *   scatter is pooled, with that of earlier rounds when given (4.2.4 note, H.3.6 note): s_p, and
 *   u_A = s_p/sqrt(n) with the degrees of freedom of s_p. One s_p serves both throws, so in the
 *   difference and the sum it is one component, s_p sqrt(1/n_f + 1/n_b), not two independent ones.
 * - Readings that all agree. A scale of division d shows no scatter much finer than d, so equal
 *   readings prove little: s_p is never taken below d/sqrt(12), the scatter of rounding alone
 *   (F.2.2.1: were all indications identical, the uncertainty from repeatability would still not be
 *   zero). Simulated, two readings each (tests/measure/test_coverage.c): the 95 % interval of the
 *   difference then holds 97.6 % at a scatter of half a division (95.3 % without), but 92 % from
 * one and a half divisions up; at the very edge of the tolerance "even" is wrong in 6 % at most.
 * With three readings it is 95 % and 3 %.
 * - Rounding counted twice. Readings that do scatter carry their rounding in s as well; adding the
 *   type B part again is on the safe side, by at most d/sqrt(12), and is left so.
 * - More readings do not average rounding away: when scatter is small every reading is rounded
 * alike. The type B part is therefore not divided by n.
 * - Correlation. A rule's zero error, a steady habit of reading low, or cutting to the division
 * below instead of rounding shifts both throws alike: it cancels in the difference, and in the
 * change of the sum from round to round. What is left of rounding differs from place to place and
 * is taken as independent, which is on the safe side for the difference (5.2.2: positive
 * correlation would lessen it).
 * - One reading. With n = 1 there is no type A estimate. If neither throw was read twice and
 * nothing is pooled, repeatability is unknown: dof is 0, k and U are HUGE_VAL, u holds type B only,
 *   probability_even is 0.5. A throw read once, with nothing pooled from earlier rounds, is never
 *   MEASURE_EVEN nor MEASURE_UNEVEN: a second reading also catches the misread and the misheard.
 */
#ifndef MIDTHROW_MEASURE_BALANCE_H
#define MIDTHROW_MEASURE_BALANCE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

enum { MEASURE_READINGS_MAX = 16 }; /* of one throw in one round */

/* One quantity estimated from repeated readings. All lengths in millimetres. */
struct measure_estimate {
    size_t n; /* readings, >= 1 */
    double mean_mm;
    double s_mm;   /* experimental standard deviation of these readings alone; 0 for n == 1 */
    double u_a_mm; /* type A standard uncertainty of the mean, from the pooled s; 0 if unknown */
    double u_b_mm; /* type B, from the resolution */
    double u_mm;   /* combined standard uncertainty */
    double dof;    /* effective degrees of freedom; HUGE_VAL when only type B counts; 0 when the
                      repeatability is unknown */
    double k;      /* coverage factor for 95 %; HUGE_VAL for dof 0 */
    double U_mm;   /* expanded uncertainty, k u; HUGE_VAL for dof 0 */
};

enum measure_verdict {
    MEASURE_EVEN,        /* probability >= 0.95 that the throws agree within the tolerance */
    MEASURE_UNEVEN,      /* probability <= 0.05 that they do */
    MEASURE_CANNOT_TELL, /* in between: measure again */
};

struct measure_balance_input {
    const double *forward_mm; /* readings of the forward throw, each >= 0 */
    size_t forward_n;         /* 1 .. MEASURE_READINGS_MAX */
    const double *back_mm;
    size_t back_n;
    double tolerance_mm;  /* > 0: the largest |forward - back| that counts as even */
    double resolution_mm; /* >= 0: smallest division that can be read */
    double pooled_s_mm;   /* repeatability known from earlier rounds, see pooled_dof */
    double pooled_dof;    /* its degrees of freedom, >= 1; 0: none known (JCGM 100, 4.2.4 note,
                             H.3.6 note); measure_balance_pool keeps both */
};

struct measure_balance {
    struct measure_estimate forward;
    struct measure_estimate back;
    double difference_mm; /* forward - back */
    double difference_u_mm;
    double difference_dof; /* 0 when the repeatability is unknown; so sum_dof */
    double offset_mm;      /* (forward - back)/2: positive when rest sits too far back */
    double offset_u_mm;
    double sum_mm; /* forward + back: must not change from round to round */
    double sum_u_mm;
    double sum_dof;
    double forward_percent;  /* split: 100 forward/(forward + back); 50 when even */
    double back_percent;     /* 100 - forward_percent */
    double probability_even; /* P(|forward - back| <= tolerance) */
    enum measure_verdict verdict;
    int readings_needed; /* more of each throw that should settle it; 0 when settled; -1 when
                            no reasonable number will: read with a finer instrument. Should:
                            if means and scatter stay as they are. At most 10, and no more
                            than MEASURE_READINGS_MAX in all. */
};

/* Mean, type A, type B, combined, degrees of freedom, coverage factor of one throw by itself: only
 * these readings and the pooled scatter given count. */
bool measure_estimate_of(const double *readings_mm, size_t n, double resolution_mm,
                         double pooled_s_mm, double pooled_dof, struct measure_estimate *out,
                         struct fault *fault);

/* False with a sentence when a reading is negative, not finite or longer than MEASURE_MM_MAX, when
 * both throws are zero, when there are too few or too many readings, or the tolerance is not
 * positive. */
bool measure_balance_of(const struct measure_balance_input *input, struct measure_balance *out,
                        struct fault *fault);

/* Has forward + back changed by more than the expanded uncertainty of that change between two
 * rounds? Then a reading or a part is suspect: turning the stem moves rest, not the pins. By its
 * level it cries wolf once in twenty. False when the repeatability of either round is unknown. */
bool measure_sum_suspect(const struct measure_balance *before, const struct measure_balance *now);

/* Do repeated readings of one throw scatter more than a hand and a rule do? s_mm with its degrees
 * of freedom, of one throw, over all rounds (pooled as below); a chi-square test of its square
 * against the most that a hand does, 0.25 mm (judgement, no source), and rounding to the
 * resolution, at one in a thousand. Then the hook meets its pin elsewhere each time: worn, or loose
 * on its shaft. False below three degrees of freedom: that few may be a slip. */
bool measure_scatter_suspect(double s_mm, double dof, double resolution_mm);

/* Adds the scatter of a round's two throws to what is known of the repeatability (JCGM 100, H.3.6
 * note): pass the two numbers as pooled_s_mm and pooled_dof of the next round. Both start at 0. */
void measure_balance_pool(const struct measure_balance *round, double *pooled_s_mm,
                          double *pooled_dof);

const char *
measure_verdict_name(enum measure_verdict verdict); /* "even", "uneven", "cannot tell" */

#endif
