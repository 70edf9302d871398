/* Pseudo-counts of the causes, and what learning them can cost: see dirichlet.h. */
#include "reason/dirichlet.h"

#include <math.h>

void dirichlet_init(struct dirichlet *dirichlet, double strength)
{
    double all = 0;
    bool good = isfinite(strength) && strength > 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        all += reason_cause_weight((enum reason_cause)c);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        dirichlet->count[c] = reason_cause_weight((enum reason_cause)c) / all *
                              (good ? strength : DIRICHLET_STRENGTH);
}

void dirichlet_learn(struct dirichlet *dirichlet, const int64_t jobs[REASON_CAUSE_COUNT])
{
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (jobs[c] > 0)
            dirichlet->count[c] += (double)jobs[c];
}

double dirichlet_strength(const struct dirichlet *dirichlet)
{
    double all = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        all += dirichlet->count[c];
    return all;
}

void dirichlet_mean(const struct dirichlet *dirichlet, double share[REASON_CAUSE_COUNT])
{
    double all = dirichlet_strength(dirichlet);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        share[c] = dirichlet->count[c] / all;
}

double dirichlet_cost(const struct dirichlet *start)
{
    static const double most = 0.2163; /* the maximum of g, rounded up */
    return most * (REASON_CAUSE_COUNT - 1) / dirichlet_strength(start);
}

double dirichlet_worst(const struct dirichlet *start, const struct dirichlet *now)
{
    double most = 1;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        most = fmax(most, now->count[c] / start->count[c]);
    return log(most);
}
