/*
 * From observations to a ranking: naive Bayes in logarithms, and the weight of evidence of each
 * observation for each cause (I. J. Good, Probability and the Weighing of Evidence, 1950; from
 * memory).
 *
 * Everything stays a logarithm until the last line, so that thirty strong observations neither
 * underflow nor round a cause to nothing.
 */
#include "reason/table.h"

#include <math.h>

static bool was_seen(const struct reason *reason, int evidence)
{
    int value = reason->seen[evidence];
    return value >= 0 && value < reason_evidence_table[evidence].values;
}

/* A cause's own row of the shop's before its row for the rest, and both before the table's. */
static double log_likelihood(const struct reason *reason, int evidence, int cause, int value)
{
    const struct reason_row *found = NULL;
    for (int i = 0; i < reason->shop.rows; i++) {
        const struct reason_row *row = &reason->shop.row[i];
        if (row->evidence != evidence)
            continue;
        if (row->cause == cause || (row->cause == REASON_REST && found == NULL))
            found = row;
        if (row->cause == cause)
            break;
    }
    return log(found != NULL ? found->likelihood[value]
                             : reason_likelihood((enum reason_evidence)evidence,
                                                 (enum reason_cause)cause, value));
}

double reason_log_sum(const double term[REASON_CAUSE_COUNT], int but)
{
    double largest = -HUGE_VAL;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (c != but && term[c] > largest)
            largest = term[c];
    double sum = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (c != but)
            sum += exp(term[c] - largest);
    /* cppcheck-suppress invalidFunctionArg ; the largest adds one, and one is always left */
    return largest + log(sum);
}

void reason_log_posterior(const struct reason *reason, double log_p[REASON_CAUSE_COUNT])
{
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        log_p[c] = reason->prior[c];
        for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
            if (was_seen(reason, e))
                log_p[c] += log_likelihood(reason, e, c, reason->seen[e]);
    }
    double all = reason_log_sum(log_p, -1);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        log_p[c] -= all;
}

/* W(cause : e) = log P(e | cause) / P(e | not cause), where "not cause" is the other causes in
 * proportion to their priors. It is the change of log odds that e makes by itself, so it does not
 * depend on the order of the questions; and, unlike a weighing against the causes still in the
 * race, it does not vanish just because the rivals that are left agree on e. */
static double weight_of_evidence(const struct reason *reason, int cause, int evidence)
{
    int value = reason->seen[evidence];
    double joint[REASON_CAUSE_COUNT];
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        joint[c] = reason->prior[c] + log_likelihood(reason, evidence, c, value);
    double under_others = reason_log_sum(joint, cause) - reason_log_sum(reason->prior, cause);
    return log_likelihood(reason, evidence, cause, value) - under_others;
}

double reason_weight(const struct reason *reason, enum reason_cause cause,
                     enum reason_evidence evidence)
{
    bool known = (int)cause >= 0 && (int)cause < REASON_CAUSE_COUNT && (int)evidence >= 0 &&
                 (int)evidence < REASON_EVIDENCE_COUNT;
    return known && was_seen(reason, (int)evidence)
               ? weight_of_evidence(reason, (int)cause, (int)evidence)
               : 0;
}

/* Keeps the two largest by `size`; the first seen wins a tie. */
static void keep_two(int kept[2], double size_kept[2], int evidence, double size)
{
    if (kept[0] < 0 || size > size_kept[0]) {
        kept[1] = kept[0];
        size_kept[1] = size_kept[0];
        kept[0] = evidence;
        size_kept[0] = size;
    } else if (kept[1] < 0 || size > size_kept[1]) {
        kept[1] = evidence;
        size_kept[1] = size;
    }
}

static void explain(const struct reason *reason, struct reason_rank *rank)
{
    double weight[REASON_EVIDENCE_COUNT] = {0};
    double moved[2] = {0, 0}, favoured[2] = {0, 0};
    rank->because[0] = rank->because[1] = -1;
    rank->favour[0] = rank->favour[1] = -1;
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        if (!was_seen(reason, e))
            continue;
        weight[e] = weight_of_evidence(reason, (int)rank->cause, e);
        keep_two(rank->because, moved, e, fabs(weight[e]));
        if (weight[e] >= REASON_PERCEPTIBLE)
            keep_two(rank->favour, favoured, e, weight[e]);
    }
    for (int i = 0; i < 2; i++)
        rank->weight[i] = rank->because[i] < 0 ? 0 : weight[rank->because[i]];
}

void reason_rank(const struct reason *reason, struct reason_rank rank[REASON_CAUSE_COUNT])
{
    double log_p[REASON_CAUSE_COUNT];
    reason_log_posterior(reason, log_p);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        struct reason_rank row = {.cause = (enum reason_cause)c, .probability = exp(log_p[c])};
        row.log_odds = log_p[c] - reason_log_sum(log_p, c);
        explain(reason, &row);
        int at = c; /* insertion keeps equals in the order of the enum */
        for (; at > 0 && rank[at - 1].log_odds < row.log_odds; at--)
            rank[at] = rank[at - 1];
        rank[at] = row;
    }
}
