/* A small seeded generator for the tests of reason/: splitmix64 (from memory), so that every run
 * sees the same bikes. */
#ifndef MIDTHROW_TESTS_REASON_SEEDED_H
#define MIDTHROW_TESTS_REASON_SEEDED_H

#include <stdint.h>

#include "reason/table.h"

static inline uint64_t seeded_next(uint64_t *seed)
{
    *seed += 0x9e3779b97f4a7c15u;
    uint64_t z = *seed;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

/* 0 <= x < 1 */
static inline double seeded_unit(uint64_t *seed)
{
    return (double)(seeded_next(seed) >> 11) * 0x1p-53;
}

static inline int seeded_below(uint64_t *seed, int n)
{
    return (int)(seeded_next(seed) % (uint64_t)n);
}

/* Index drawn in proportion to `weight`, whose sum is `sum`. */
static inline int seeded_draw(uint64_t *seed, const double *weight, int n, double sum)
{
    double x = seeded_unit(seed) * sum;
    for (int i = 0; i < n - 1; i++) {
        if (x < weight[i])
            return i;
        x -= weight[i];
    }
    return n - 1;
}

/* What a bike with this cause would show, drawn from the table. */
static inline int seeded_value(uint64_t *seed, enum reason_cause cause,
                               enum reason_evidence evidence)
{
    double weight[REASON_VALUES_MAX];
    for (int v = 0; v < reason_values(evidence); v++)
        weight[v] = reason_likelihood(evidence, cause, v);
    return seeded_draw(seed, weight, reason_values(evidence), 1);
}

static inline enum reason_cause seeded_cause(uint64_t *seed)
{
    double weight[REASON_CAUSE_COUNT];
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        weight[c] = reason_cause_weight((enum reason_cause)c);
    return (enum reason_cause)seeded_draw(seed, weight, REASON_CAUSE_COUNT, 100);
}

#endif
