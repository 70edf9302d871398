/*
 * Is a measured value within the manual's limits? JCGM 106:2012 section 7: the probability that the
 * true value lies in [low, high], given the reading and its standard uncertainty.
 */
#ifndef MIDTHROW_MEASURE_LIMIT_H
#define MIDTHROW_MEASURE_LIMIT_H

#include <stdbool.h>

enum measure_limit_verdict {
    MEASURE_IN,          /* probability >= 0.95 */
    MEASURE_OUT,         /* probability <= 0.05 */
    MEASURE_IN_OR_OUT,   /* cannot tell */
};

struct measure_limit {
    double probability_in;
    enum measure_limit_verdict verdict;
    int side; /* -1 the value lies below the middle of the limits, +1 above, 0 on it */
};

/* value, u, low and high in one unit, any; low may be -HUGE_VAL, high HUGE_VAL; low <= high;
 * u >= 0 (0: a plain comparison); dof > 0, HUGE_VAL for a normal distribution. */
struct measure_limit measure_limit_check(double value, double u, double dof, double low,
                                         double high);

const char *measure_limit_name(enum measure_limit_verdict verdict); /* "in", "out", "cannot tell" */

#endif
