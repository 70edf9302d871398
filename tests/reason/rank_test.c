/*
 * The ranking against Bayes' theorem itself: posterior = prior x likelihoods / their sum,
 * multiplied out in long double straight from the table, with no logarithm anywhere.
 *
 * Sources: Bayes' theorem; weight of evidence W(H : E) = log P(E|H) - log P(E|not H), I. J. Good,
 * Probability and the Weighing of Evidence (1950), chapter 6 (chapter from memory).
 */
#include <float.h>
#include <limits.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "reason/table.h"
#include "seeded.h"

static long double brute_likelihood(int evidence, int cause, int value)
{
    const struct reason_evidence_row *row = &reason_evidence_table[evidence];
    long double own = 0;
    for (int v = 0; v < row->values; v++)
        own += row->of[cause][v];
    return own > 0.5L ? row->of[cause][value] : row->rest[value];
}

static void brute_posterior(const int seen[REASON_EVIDENCE_COUNT],
                            const double weight[REASON_CAUSE_COUNT],
                            long double p[REASON_CAUSE_COUNT])
{
    long double sum = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        p[c] = weight[c];
        for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
            if (seen[e] >= 0)
                p[c] *= brute_likelihood(e, c, seen[e]);
        sum += p[c];
    }
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        p[c] /= sum;
}

static void table_weights(double weight[REASON_CAUSE_COUNT])
{
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        weight[c] = reason_cause_weight((enum reason_cause)c);
}

static bool close_to(double got, long double wanted)
{
    return fabsl((long double)got - wanted) <= 1e-12L * (fabsl(wanted) + 1e-300L);
}

static void assert_posterior(const struct reason *reason, const double weight[REASON_CAUSE_COUNT])
{
    long double wanted[REASON_CAUSE_COUNT];
    brute_posterior(reason->seen, weight, wanted);
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(reason, rank);
    bool met[REASON_CAUSE_COUNT] = {false};
    double sum = 0;
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        const int c = (int)rank[i].cause;
        assert_false(met[c]);
        met[c] = true;
        sum += rank[i].probability;
        assert_true(close_to(rank[i].probability, wanted[c]));
        if (i > 0) {
            assert_true(rank[i].probability <= rank[i - 1].probability);
            assert_true(rank[i].log_odds <= rank[i - 1].log_odds);
        }
        long double others = 0;
        for (int k = 0; k < REASON_CAUSE_COUNT; k++)
            others += k == c ? 0 : wanted[k];
        assert_true(fabsl((long double)rank[i].log_odds - logl(wanted[c] / others)) < 1e-10L);
    }
    assert_true(fabs(sum - 1) < 1e-12);
}

static void with_nothing_seen_the_posterior_is_the_prior(void **state)
{
    (void)state;
    struct reason reason;
    reason_init(&reason);
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&reason, rank);
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        assert_true(close_to(rank[i].probability, reason_cause_weight(rank[i].cause) / 100));
        assert_int_equal(rank[i].because[0], -1);
        assert_int_equal(rank[i].because[1], -1);
        assert_int_equal(rank[i].favour[0], -1);
        assert_int_equal(rank[i].favour[1], -1);
    }
}

/* Every pair of values of every pair of observations. */
static void the_posterior_is_bayes_for_all_pairs_of_observations(void **state)
{
    (void)state;
    double weight[REASON_CAUSE_COUNT];
    table_weights(weight);
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        for (int f = 0; f <= e; f++)
            for (int v = 0; v < reason_values((enum reason_evidence)e); v++)
                for (int w = 0; w < reason_values((enum reason_evidence)f); w++) {
                    struct reason reason;
                    reason_init(&reason);
                    assert_true(reason_observe(&reason, (enum reason_evidence)e, v));
                    assert_true(reason_observe(&reason, (enum reason_evidence)f, w));
                    assert_posterior(&reason, weight);
                }
}

/* Any number of observations, with the shop's own priors of any scale. */
static void the_posterior_is_bayes_for_whole_jobs_and_own_priors(void **state)
{
    (void)state;
    uint64_t seed = 1;
    for (int job = 0; job < 2000; job++) {
        double weight[REASON_CAUSE_COUNT];
        const double scale = pow(10, seeded_below(&seed, 13) - 6);
        for (int c = 0; c < REASON_CAUSE_COUNT; c++)
            weight[c] = (seeded_unit(&seed) + 1e-6) * scale;
        struct reason reason;
        assert_true(reason_init_with(&reason, weight));
        const double share = seeded_unit(&seed);
        for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
            if (seeded_unit(&seed) < share)
                reason_observe(&reason, (enum reason_evidence)e,
                               seeded_below(&seed, reason_values((enum reason_evidence)e)));
        assert_posterior(&reason, weight);
    }
}

/* The weight of an observation: what it alone adds to the log odds that the priors give. */
static long double brute_weight(const double prior[REASON_CAUSE_COUNT], int cause, int evidence,
                                int value)
{
    int seen[REASON_EVIDENCE_COUNT];
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        seen[e] = -1;
    long double before[REASON_CAUSE_COUNT], after[REASON_CAUSE_COUNT];
    brute_posterior(seen, prior, before);
    seen[evidence] = value;
    brute_posterior(seen, prior, after);
    return logl(after[cause] / (1 - after[cause])) - logl(before[cause] / (1 - before[cause]));
}

static void assert_reasons(const struct reason *reason, const struct reason_rank *rank,
                           const double prior[REASON_CAUSE_COUNT])
{
    long double weight[REASON_EVIDENCE_COUNT];
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        weight[e] =
            reason->seen[e] < 0 ? 0 : brute_weight(prior, (int)rank->cause, e, reason->seen[e]);
    for (int i = 0; i < 2; i++)
        if (rank->because[i] >= 0)
            assert_true(fabsl((long double)rank->weight[i] - weight[rank->because[i]]) < 1e-10L);
    int seen = 0, telling = 0;
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        if (reason->seen[e] < 0)
            continue;
        seen++;
        telling += weight[e] >= (long double)REASON_PERCEPTIBLE;
        if (e != rank->because[0] && e != rank->because[1]) /* nothing left out moved it more */
            assert_true(fabsl(weight[e]) <= fabsl((long double)rank->weight[1]) + 1e-10L);
        if (e != rank->favour[0] && e != rank->favour[1] && weight[e] >= 0.1152L)
            assert_true(weight[e] <= weight[rank->favour[1]] + 1e-10L);
    }
    assert_true(fabs(rank->weight[0]) >= fabs(rank->weight[1]));
    for (int i = 0; i < 2; i++) {
        assert_int_equal(rank->because[i] >= 0, seen > i);
        assert_int_equal(rank->favour[i] >= 0, telling > i);
        if (rank->favour[i] >= 0)
            assert_true(weight[rank->favour[i]] >= (long double)REASON_PERCEPTIBLE - 1e-12L);
    }
}

static void the_reasons_are_the_two_largest_weights_of_evidence(void **state)
{
    (void)state;
    double weight[REASON_CAUSE_COUNT];
    table_weights(weight);
    uint64_t seed = 2;
    for (int job = 0; job < 300; job++) {
        struct reason reason;
        reason_init(&reason);
        const double share = seeded_unit(&seed);
        for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
            if (seeded_unit(&seed) < share)
                reason_observe(&reason, (enum reason_evidence)e,
                               seeded_below(&seed, reason_values((enum reason_evidence)e)));
        struct reason_rank rank[REASON_CAUSE_COUNT];
        reason_rank(&reason, rank);
        for (int i = 0; i < REASON_CAUSE_COUNT; i++)
            assert_reasons(&reason, &rank[i], weight);
    }
}

static void the_order_of_the_questions_does_not_matter(void **state)
{
    (void)state;
    struct reason forward, back;
    reason_init(&forward);
    reason_init(&back);
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        reason_observe(&forward, (enum reason_evidence)e, 1);
    for (int e = REASON_EVIDENCE_COUNT - 1; e >= 0; e--) {
        reason_observe(&back, (enum reason_evidence)e, 0);
        reason_observe(&back, (enum reason_evidence)e, 1); /* the last word counts */
    }
    assert_memory_equal(&forward, &back, sizeof forward);
}

static void taking_an_answer_back_leaves_no_trace(void **state)
{
    (void)state;
    struct reason reason, fresh;
    reason_init(&reason);
    reason_init(&fresh);
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        assert_true(reason_observe(&reason, (enum reason_evidence)e, 0));
        assert_true(reason_observe(&reason, (enum reason_evidence)e, -1));
    }
    assert_memory_equal(&reason, &fresh, sizeof reason);
}

static void a_value_that_is_none_is_refused_and_changes_nothing(void **state)
{
    (void)state;
    struct reason reason, before;
    reason_init(&reason);
    before = reason;
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        const enum reason_evidence evidence = (enum reason_evidence)e;
        assert_false(reason_observe(&reason, evidence, reason_values(evidence)));
        assert_false(reason_observe(&reason, evidence, -2));
        assert_false(reason_observe(&reason, evidence, INT_MAX));
        assert_false(reason_observe(&reason, evidence, INT_MIN));
    }
    assert_false(reason_observe(&reason, (enum reason_evidence)REASON_EVIDENCE_COUNT, 0));
    assert_false(reason_observe(&reason, (enum reason_evidence)REASON_EVIDENCE_COUNT, -1));
    assert_false(reason_observe(&reason, (enum reason_evidence) - 1, 0));
    assert_memory_equal(&reason, &before, sizeof reason);
}

static void a_state_damaged_from_outside_is_read_as_not_seen(void **state)
{
    (void)state;
    struct reason reason, fresh;
    reason_init(&reason);
    reason_init(&fresh);
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        reason.seen[e] = e % 2 ? INT_MAX : INT_MIN;
    struct reason_rank got[REASON_CAUSE_COUNT], wanted[REASON_CAUSE_COUNT];
    reason_rank(&reason, got);
    reason_rank(&fresh, wanted);
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        assert_int_equal(got[i].cause, wanted[i].cause);
        assert_int_equal(got[i].because[0], -1);
        assert_true(close_to(got[i].probability, wanted[i].probability));
    }
    assert_int_equal(reason_contradictions(&reason, NULL, 0), 0);
}

/* All that can be said for one cause said at once, on priors at the edge of the number range. */
static void extremes_stay_numbers(void **state)
{
    (void)state;
    double weight[REASON_CAUSE_COUNT];
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        weight[c] = c == REASON_GEARBOX ? DBL_MAX : DBL_TRUE_MIN;
    struct reason reason;
    assert_true(reason_init_with(&reason, weight));
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        reason_observe(&reason, (enum reason_evidence)e, 1);
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&reason, rank);
    double sum = 0;
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        assert_true(isfinite(rank[i].log_odds));
        assert_true(rank[i].probability >= 0 && rank[i].probability <= 1);
        assert_true(isfinite(rank[i].weight[0]) && isfinite(rank[i].weight[1]));
        sum += rank[i].probability;
    }
    assert_true(fabs(sum - 1) < 1e-12);
    assert_int_equal(rank[0].cause, REASON_GEARBOX);
    assert_true(rank[0].log_odds > 1000); /* the probability rounds to 1, the log odds does not */
    for (int k = 0; k < REASON_CHECK_COUNT; k++)
        assert_true(isfinite(reason_check_chance(&reason, (enum reason_check)k)));
}

/* Cromwell's rule (D. V. Lindley): no prior of 0 or 1. */
static void priors_that_could_never_change_are_refused(void **state)
{
    (void)state;
    const double bad[] = {0, -1, -0.0, NAN, INFINITY, -INFINITY};
    struct reason fresh;
    reason_init(&fresh);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
            double weight[REASON_CAUSE_COUNT];
            table_weights(weight);
            weight[c] = bad[i];
            struct reason reason;
            assert_false(reason_init_with(&reason, weight));
            assert_memory_equal(&reason, &fresh, sizeof reason);
        }
}

static void the_scale_of_the_priors_does_not_matter(void **state)
{
    (void)state;
    double weight[REASON_CAUSE_COUNT];
    table_weights(weight);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        weight[c] *= 1e-200;
    struct reason scaled, fresh;
    reason_init(&fresh);
    assert_true(reason_init_with(&scaled, weight));
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        assert_true(fabs(scaled.prior[c] - fresh.prior[c]) < 1e-12);
}

/* W(H : E) = log P(E|H) - log P(E|not H) is the change of the log odds of H, whatever else was
 * seen: with one thing seen it takes the prior's odds to the posterior's. */
static void a_weight_is_the_change_of_the_log_odds(void **state)
{
    (void)state;
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        struct reason before, after;
        double prior[REASON_CAUSE_COUNT], posterior[REASON_CAUSE_COUNT];
        reason_init(&before);
        after = before;
        after.seen[e] = 0;
        reason_log_posterior(&before, prior);
        reason_log_posterior(&after, posterior);
        for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
            double change =
                posterior[c] - log1p(-exp(posterior[c])) - (prior[c] - log1p(-exp(prior[c])));
            double weight = reason_weight(&after, (enum reason_cause)c, (enum reason_evidence)e);
            assert_true(fabs(weight - change) < 1e-9);
        }
    }
}

static void what_was_not_seen_or_is_not_there_weighs_nothing(void **state)
{
    (void)state;
    struct reason reason;
    reason_init(&reason);
    assert_true(reason_weight(&reason, (enum reason_cause)0, (enum reason_evidence)0) == 0);
    reason.seen[0] = 0;
    const int out[][2] = {{-1, 0}, {REASON_CAUSE_COUNT, 0}, {0, -1}, {0, REASON_EVIDENCE_COUNT}};
    for (size_t i = 0; i < sizeof out / sizeof out[0]; i++)
        assert_true(reason_weight(&reason, (enum reason_cause)out[i][0],
                                  (enum reason_evidence)out[i][1]) == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(with_nothing_seen_the_posterior_is_the_prior),
        cmocka_unit_test(the_posterior_is_bayes_for_all_pairs_of_observations),
        cmocka_unit_test(the_posterior_is_bayes_for_whole_jobs_and_own_priors),
        cmocka_unit_test(the_reasons_are_the_two_largest_weights_of_evidence),
        cmocka_unit_test(the_order_of_the_questions_does_not_matter),
        cmocka_unit_test(taking_an_answer_back_leaves_no_trace),
        cmocka_unit_test(a_value_that_is_none_is_refused_and_changes_nothing),
        cmocka_unit_test(a_state_damaged_from_outside_is_read_as_not_seen),
        cmocka_unit_test(extremes_stay_numbers),
        cmocka_unit_test(priors_that_could_never_change_are_refused),
        cmocka_unit_test(the_scale_of_the_priors_does_not_matter),
        cmocka_unit_test(a_weight_is_the_change_of_the_log_odds),
        cmocka_unit_test(what_was_not_seen_or_is_not_there_weighs_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
