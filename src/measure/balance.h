/*
 * Are the two throws equal? Readings in, verdict out.
 *
 * Every input quantity is evaluated as JCGM 100:2008 (GUM) says: the mean of repeated readings with
 * its type A standard uncertainty (4.2), the instrument's resolution as a rectangular distribution,
 * type B, u = resolution/sqrt(12) (4.3.7, F.2.2.1), combined (5.1.2), effective degrees of freedom
 * by Welch-Satterthwaite (G.4.1), expanded uncertainty U = k u with k from Student's t at 95 %
 * (G.3, table G.2). The verdict is a probability of conformity, JCGM 106:2012 section 7.
 */
#ifndef MIDTHROW_MEASURE_BALANCE_H
#define MIDTHROW_MEASURE_BALANCE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

enum { MEASURE_READINGS_MAX = 16 }; /* of one throw in one round */

/* One quantity estimated from repeated readings. All lengths in millimetres. */
struct measure_estimate {
    size_t n;         /* readings, >= 1 */
    double mean_mm;
    double s_mm;      /* experimental standard deviation of a single reading; 0 for n == 1 */
    double u_a_mm;    /* type A standard uncertainty of the mean */
    double u_b_mm;    /* type B, from the resolution */
    double u_mm;      /* combined standard uncertainty */
    double dof;       /* effective degrees of freedom; HUGE_VAL when only type B counts */
    double k;         /* coverage factor for 95 % */
    double U_mm;      /* expanded uncertainty, k u */
};

enum measure_verdict {
    MEASURE_EVEN,        /* probability >= 0.95 that the throws agree within the tolerance */
    MEASURE_UNEVEN,      /* probability <= 0.05 */
    MEASURE_CANNOT_TELL, /* in between: measure again */
};

struct measure_balance_input {
    const double *forward_mm; /* readings of the forward throw, each >= 0 */
    size_t forward_n;         /* 1 .. MEASURE_READINGS_MAX */
    const double *back_mm;
    size_t back_n;
    double tolerance_mm;      /* > 0: the largest |forward - back| that counts as even */
    double resolution_mm;     /* >= 0: smallest division that can be read */
    double pooled_s_mm;       /* repeatability known from earlier rounds, see pooled_dof */
    double pooled_dof;        /* its degrees of freedom; 0: none known (JCGM 100, 4.2.4 note, H.3.6) */
};

struct measure_balance {
    struct measure_estimate forward;
    struct measure_estimate back;
    double difference_mm;      /* forward - back */
    double difference_u_mm;
    double difference_dof;
    double offset_mm;          /* (forward - back)/2: positive when rest sits too far back */
    double offset_u_mm;
    double sum_mm;             /* forward + back: must not change from round to round */
    double sum_u_mm;
    double sum_dof;
    double forward_percent;    /* split: 100 forward/(forward + back); 50 when even */
    double back_percent;       /* 100 - forward_percent */
    double probability_even;   /* P(|forward - back| <= tolerance) */
    enum measure_verdict verdict;
    int readings_needed;       /* more of each throw that should settle it; 0 when settled; -1 when
                                  no reasonable number will: read with a finer instrument */
};

/* Mean, type A, type B, combined, degrees of freedom, coverage factor of one throw. */
bool measure_estimate_of(const double *readings_mm, size_t n, double resolution_mm,
                         double pooled_s_mm, double pooled_dof, struct measure_estimate *out,
                         struct fault *fault);

/* False with a sentence when a reading is negative or not finite, when both throws are zero, when
 * there are too few or too many readings, or the tolerance is not positive. */
bool measure_balance_of(const struct measure_balance_input *input, struct measure_balance *out,
                        struct fault *fault);

/* Has forward + back changed by more than its expanded uncertainty between two rounds? Then a
 * reading or a part is suspect: turning the stem moves rest, not the pins. */
bool measure_sum_suspect(const struct measure_balance *before, const struct measure_balance *now);

const char *measure_verdict_name(enum measure_verdict verdict); /* "even", "uneven", "cannot tell" */

#endif
