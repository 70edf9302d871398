/* Combined uncertainty, degrees of freedom, coverage factors, probability of conformity: see
 * uncertainty.h. */
#include "measure/uncertainty.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

/* Relative to the first reading, so that equal readings give exactly zero scatter. */
struct measure_sample measure_sample_of(const double *values, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += values[i] - values[0];
    double mean = sum / (double)n, squares = 0;
    for (size_t i = 0; i < n; i++)
        squares += (values[i] - values[0] - mean) * (values[i] - values[0] - mean);
    double s = n > 1 ? sqrt(squares / (double)(n - 1)) : 0;
    return (struct measure_sample){.n = n, .mean = values[0] + mean, .s = s};
}

double measure_combined(const struct measure_component *component, size_t n)
{
    double u = 0;
    for (size_t i = 0; i < n; i++)
        u = hypot(u, component[i].u);
    return u;
}

double measure_effective_dof(const struct measure_component *component, size_t n)
{
    double u = measure_combined(component, n);
    if (!(u > 0))
        return HUGE_VAL;
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        /* As shares of u, so that neither huge nor tiny uncertainties leave double's range. */
        double share = component[i].u / u;
        if (share > 0)
            sum += share * share * share * share / component[i].dof;
    }
    return 1 / sum; /* dof 0 gives 0; only infinite ones give HUGE_VAL */
}

double measure_coverage_factor(double level, double dof)
{
    if (!(level > 0 && level < 1) || !(dof >= 1))
        return HUGE_VAL;
    double below = (1 + level) / 2; /* two tails */
    return isinf(dof) ? gsl_cdf_ugaussian_Pinv(below) : gsl_cdf_tdist_Pinv(below, dof);
}

static double lower_tail(double t, double dof)
{
    if (isinf(t))
        return t > 0 ? 1 : 0;
    return isinf(dof) ? gsl_cdf_ugaussian_P(t) : gsl_cdf_tdist_P(t, dof);
}

double measure_probability_within(double value, double u, double dof, double low, double high)
{
    if (!isfinite(value) || !(low <= high) || !(u >= 0) || !(dof >= 1))
        return 0.5;
    if (!(u > 0))
        return low <= value && value <= high ? 1 : 0;
    /* A limit that is infinite stays so even when u is. */
    double a = isinf(low) ? low : (low - value) / u;
    double b = isinf(high) ? high : (high - value) / u;
    if (a > 0) /* both in the upper tail: mirrored, so that nothing cancels */
        return lower_tail(-a, dof) - lower_tail(-b, dof);
    return lower_tail(b, dof) - lower_tail(a, dof);
}
