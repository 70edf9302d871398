/*
 * What to look at next: chance of ending the search per minute, cheap before dear.
 *
 * The ratio rule: to search places one after the other until something is found, at the least
 * expected cost, take them by falling chance / cost. H. A. Simon and J. B. Kadane, Optimal
 * problem-solving search: all-or-none solutions, Artificial Intelligence 6 (1975) 235-247; with one
 * group bound to come before another, J. B. Kadane and H. A. Simon, Optimal strategies for a class
 * of constrained sequential problems, Annals of Statistics 5 (1977) 237-255 (both from memory). It
 * is exact for independent checks. Ours overlap (the adjuster's procedure ends with setting free
 * play), so the chances are taken anew from the posterior after every result, and the rule is a
 * good one instead of the best one.
 */
#include <math.h>

#include "reason/table.h"

static bool is_check(enum reason_check check)
{
    return (int)check >= 0 && (int)check < REASON_CHECK_COUNT;
}

static double chance_of(const double log_p[REASON_CAUSE_COUNT], int check)
{
    double chance = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        chance += exp(log_p[c]) * reason_check_table[check].finds[c];
    return chance;
}

double reason_check_chance(const struct reason *reason, enum reason_check check)
{
    if (!is_check(check))
        return 0;
    double log_p[REASON_CAUSE_COUNT];
    reason_log_posterior(reason, log_p);
    return chance_of(log_p, (int)check);
}

/* Does a check of this kind and ratio go before the best so far? */
static bool goes_first(int check, double ratio, int best, double best_ratio)
{
    if (best < 0)
        return true;
    bool cheap = reason_check_table[check].cheap;
    if (cheap != reason_check_table[best].cheap)
        return cheap;
    return ratio > best_ratio;
}

int reason_next_check(const struct reason *reason, unsigned done)
{
    double log_p[REASON_CAUSE_COUNT];
    reason_log_posterior(reason, log_p);
    int best = -1;
    double best_ratio = 0;
    for (int k = 0; k < REASON_CHECK_COUNT; k++) {
        double chance = chance_of(log_p, k);
        if ((done >> k & 1u) != 0 || chance < REASON_HOPELESS)
            continue;
        double ratio = chance / reason_check_table[k].minutes;
        if (goes_first(k, ratio, best, best_ratio)) {
            best = k;
            best_ratio = ratio;
        }
    }
    return best;
}

double reason_check_minutes(enum reason_check check)
{
    return is_check(check) ? reason_check_table[check].minutes : 0;
}

bool reason_check_is_cheap(enum reason_check check)
{
    return is_check(check) && reason_check_table[check].cheap;
}

const char *reason_check_name(enum reason_check check)
{
    return is_check(check) ? reason_check_table[check].name : "";
}

const char *reason_check_id(enum reason_check check)
{
    return is_check(check) ? reason_check_table[check].id : "";
}

double reason_check_finds(enum reason_check check, enum reason_cause cause)
{
    if (!is_check(check) || (int)cause < 0 || (int)cause >= REASON_CAUSE_COUNT)
        return 0;
    return reason_check_table[check].finds[cause];
}
