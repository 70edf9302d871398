/*
 * What every measured quantity here shares: standard uncertainties combined, effective degrees of
 * freedom, coverage factors, and the probability that the true value lies between two limits.
 *
 *     const struct measure_component parts[] = {{0.12, 3}, {0.11, HUGE_VAL}};
 *     double u = measure_combined(parts, 2);
 *     double U = measure_coverage_factor(0.95, measure_effective_dof(parts, 2)) * u;
 *
 * Sources: JCGM 100:2008 (GUM) and JCGM 106:2012; the distributions are GSL's.
 */
#ifndef MIDTHROW_MEASURE_UNCERTAINTY_H
#define MIDTHROW_MEASURE_UNCERTAINTY_H

#include <stddef.h>

/* The level of every expanded uncertainty, and the probability at which a verdict is given: 95 %
 * (JCGM 100, 6.3.3 and G.1.2; the choice is ours, and usual). */
#define MEASURE_LEVEL 0.95

/* Longest length in millimetres that is taken seriously: keeps every sum and square finite. */
#define MEASURE_MM_MAX 1e6

/* A standard uncertainty with its degrees of freedom: n - 1 for type A, HUGE_VAL for type B taken
 * as exactly known (G.4.3), 0 when nothing is known of it. */
struct measure_component {
    double u;
    double dof;
};

/* Repeated readings of one quantity: mean and experimental standard deviation of a single reading,
 * JCGM 100, formulas (3) and (4); s is 0 for one reading. The standard uncertainty of the mean is
 * s/sqrt(n), (5). n >= 1, values finite and not above MEASURE_MM_MAX in size. */
struct measure_sample {
    size_t n;
    double mean;
    double s;
};
struct measure_sample measure_sample_of(const double *values, size_t n);

/* sqrt of the sum of squares, JCGM 100, 5.1.2 (uncorrelated, sensitivity 1). */
double measure_combined(const struct measure_component *component, size_t n);

/* Welch-Satterthwaite, JCGM 100, formula (G.2b). HUGE_VAL when no finite component counts; 0 when a
 * component that counts has none. Not cut to a whole number: G.4.1 note 1 allows interpolation. */
double measure_effective_dof(const struct measure_component *component, size_t n);

/* t_p(dof) of JCGM 100, table G.2: the half width, in standard uncertainties, of the interval that
 * holds the fraction `level` (0 < level < 1). HUGE_VAL for dof below 1, where no interval can be
 * given; the normal distribution's for HUGE_VAL. */
double measure_coverage_factor(double level, double dof);

/* Probability that a quantity estimated as `value` with standard uncertainty `u` lies in [low,
 * high]: JCGM 106, 7.1 and 7.2, with a scaled and shifted t distribution (dof HUGE_VAL: normal). u
 * 0 is a plain comparison. 0.5, "nothing is known", when an argument makes no sense: NaN, low above
 * high, u negative, dof below 1. */
double measure_probability_within(double value, double u, double dof, double low, double high);

#endif
