/*
 * Is a measured value within the manual's limits? JCGM 106:2012 section 7: the probability that the
 * true value lies in [low, high], given the reading and its standard uncertainty. Deciding at 95 %
 * is guarded acceptance (8.3.2) one way and guarded rejection (8.3.3) the other (clause numbers
 * from memory); what lies between the two guard bands is not told but measured again.
 */
#ifndef MIDTHROW_MEASURE_LIMIT_H
#define MIDTHROW_MEASURE_LIMIT_H

#include <stdbool.h>

enum measure_limit_verdict {
    MEASURE_IN,        /* probability >= 0.95 */
    MEASURE_OUT,       /* probability <= 0.05 */
    MEASURE_IN_OR_OUT, /* cannot tell */
};

struct measure_limit {
    double probability_in;
    enum measure_limit_verdict verdict;
    int side; /* -1 the value lies below the middle of the limits, +1 above, 0 on it; with one limit
                 only, that limit's side: +1 when there is no `low`, -1 when there is no `high` */
};

/* value, u, low and high in one unit, any; low may be -HUGE_VAL, high HUGE_VAL; low <= high;
 * u >= 0 (0: a plain comparison, limits included); dof >= 1, HUGE_VAL for a normal distribution. An
 * argument that makes no sense (NaN, u negative, dof below 1) is never in nor out. */
struct measure_limit measure_limit_check(double value, double u, double dof, double low,
                                         double high);

const char *measure_limit_name(enum measure_limit_verdict verdict); /* "in", "out", "cannot tell" */

#endif
