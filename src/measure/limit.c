/* Inside the manual's limits, outside, or not to be told: see limit.h. */
#include "measure/limit.h"

#include <math.h>

#include "measure/uncertainty.h"

/* Below or above the middle; with one limit only, that limit's side. */
static int side_of(double value, double low, double high)
{
    bool below = isinf(low), above = isinf(high);
    if (below || above)
        return below && above ? 0 : below ? 1 : -1;
    double middle = low / 2 + high / 2; /* low + high could overflow */
    return (value > middle) - (value < middle);
}

struct measure_limit measure_limit_check(double value, double u, double dof, double low,
                                         double high)
{
    struct measure_limit limit = {
        .probability_in = measure_probability_within(value, u, dof, low, high),
        .verdict = MEASURE_IN_OR_OUT,
        .side = side_of(value, low, high),
    };
    if (limit.probability_in >= MEASURE_LEVEL)
        limit.verdict = MEASURE_IN;
    else if (limit.probability_in <= 1 - MEASURE_LEVEL)
        limit.verdict = MEASURE_OUT;
    return limit;
}

const char *measure_limit_name(enum measure_limit_verdict verdict)
{
    switch (verdict) {
    case MEASURE_IN:
        return "in";
    case MEASURE_OUT:
        return "out";
    case MEASURE_IN_OR_OUT:
        break;
    }
    return "cannot tell";
}
