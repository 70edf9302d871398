/* A shop's own judgement from its file: what it changes, and everything that is refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../base/scratch.h"
#include "profile/shop.h"

static char directory[SCRATCH_PATH];

static int make_directory(void **state)
{
    (void)state;
    scratch_make(directory);
    return 0;
}

static int remove_directory(void **state)
{
    (void)state;
    scratch_remove(directory);
    return 0;
}

static bool load(const char *content, struct profile_shop *shop, struct fault *fault)
{
    char path[SCRATCH_PATH];
    scratch_write(directory, "reason.ini", content, strlen(content), path);
    return profile_shop_load(path, shop, fault);
}

static void assert_loads(const char *content, struct profile_shop *shop)
{
    struct fault fault = {0};
    if (!load(content, shop, &fault))
        fail_msg("%s", fault.sentence);
}

static void assert_refuses(const char *content, const char *why)
{
    struct profile_shop shop;
    struct fault fault = {0};
    memset(&shop, 0x5A, sizeof shop);
    struct profile_shop before = shop;
    assert_false(load(content, &shop, &fault));
    assert_memory_equal(&shop, &before, sizeof shop);
    if (strstr(fault.sentence, why) == NULL)
        fail_msg("'%s' does not say '%s'", fault.sentence, why);
}

static double probability(const struct reason *reason, enum reason_cause cause)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(reason, rank);
    for (int i = 0; i < REASON_CAUSE_COUNT; i++)
        if (rank[i].cause == cause)
            return rank[i].probability;
    return -1;
}

static void an_empty_file_changes_nothing(void **state)
{
    (void)state;
    struct profile_shop shop;
    assert_loads("; nothing yet\n[prior]\n", &shop);
    assert_false(shop.has_priors);
    assert_int_equal(shop.rows.rows, 0);
}

static void priors_not_named_keep_the_table_s(void **state)
{
    (void)state;
    struct profile_shop shop;
    struct reason reason;
    assert_loads("[prior]\npawl = 40\nidle = 1/2\n", &shop);
    assert_true(shop.has_priors);
    assert_true(reason_init_with(&reason, shop.priors));
    double sum = 100 - reason_cause_weight(REASON_PAWL) - reason_cause_weight(REASON_IDLE) + 40.5;
    assert_true(fabs(probability(&reason, REASON_PAWL) - 40 / sum) < 1e-12);
    assert_true(fabs(probability(&reason, REASON_HOOK) - reason_cause_weight(REASON_HOOK) / sum) <
                1e-12);
}

/* Bayes' theorem by hand: even priors, all causes but two sharing the row for the rest. */
static void a_cause_s_own_row_goes_before_the_rest_s(void **state)
{
    (void)state;
    struct profile_shop shop;
    struct reason reason;
    double even[REASON_CAUSE_COUNT];
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        even[c] = 1;
    assert_loads("[temperature]\nrest = .2 .2 .6\npawl = .5, .25, .25\nidle = 0.1 0.1 0.8\n",
                 &shop);
    assert_int_equal(shop.rows.rows, 3);
    assert_true(reason_init_with(&reason, even));
    assert_true(reason_use(&reason, &shop.rows));
    assert_true(reason_observe(&reason, REASON_TEMPERATURE, REASON_HOT));
    double all = .5 + .1 + (REASON_CAUSE_COUNT - 2) * .2;
    assert_true(fabs(probability(&reason, REASON_PAWL) - .5 / all) < 1e-12);
    assert_true(fabs(probability(&reason, REASON_IDLE) - .1 / all) < 1e-12);
    assert_true(fabs(probability(&reason, REASON_HOOK) - .2 / all) < 1e-12);
}

static void likelihoods_rounded_by_people_are_made_to_sum_to_1(void **state)
{
    (void)state;
    struct profile_shop shop;
    struct reason reason;
    assert_loads("[temperature]\npawl = .33 .33 .33\n", &shop);
    reason_init(&reason);
    assert_true(reason_use(&reason, &shop.rows));
    double sum = 0;
    for (int v = 0; v < 3; v++)
        sum += reason.shop.row[0].likelihood[v];
    assert_true(fabs(sum - 1) < 1e-15);
}

static void what_makes_no_sense_is_refused_with_its_line(void **state)
{
    (void)state;
    assert_refuses("[prior]\npowl = 3\n",
                   "line 2: 'powl' in [prior] is no cause: did you mean 'pawl'?");
    assert_refuses("[prior]\npawl = 0\n", "line 2: 'pawl' in [prior] must be one number above 0");
    assert_refuses("[prior]\npawl = nan\n", "must be one number");
    assert_refuses("[prior]\npawl = 3 4\n", "must be one number");
    assert_refuses("[prior]\npawl = -3\n", "must be one number");
    assert_refuses("[prior]\npawl = 3\npawl = 4\n", "lines 2 and 3 both give 'pawl' in [prior]");
    assert_refuses("[prior]\nrest = 3\n", "is no cause");
    assert_refuses("pawl = 3\n", "there is no section []");
    assert_refuses("[temprature]\npawl = .1 .1 .8\n", "did you mean [temperature]?");
    assert_refuses("[temperature]\npawl = .1 .9\n", "needs 3 numbers, for hot, cold, both.");
    assert_refuses("[temperature]\npawl = .1 .1 .1 .1 .6\n", "needs 3 numbers");
    assert_refuses("[temperature]\npawl = .1 x .8\n", "needs 3 numbers");
    assert_refuses("[temperature]\npawl = 0 .2 .8\n", "holds a 0");
    assert_refuses("[temperature]\npawl = .1 .1 .6\n", "sums to 0.8: make it 1.");
    assert_refuses("[creep]\npawl = .1 .9\nhook = .1 .9\npawl = .2 .8\n",
                   "lines 2 and 4 both give 'pawl' in [creep]");
}

static void more_rows_than_there_is_room_for_are_refused(void **state)
{
    (void)state;
    static const char *const sections[] = {"creep", "gears", "onset", "fasteners", "throws"};
    char content[8192];
    size_t used = 0;
    for (size_t s = 0; s < 5; s++) {
        used += (size_t)snprintf(content + used, sizeof content - used, "[%s]\n", sections[s]);
        for (int c = 0; c < REASON_CAUSE_COUNT; c++)
            used += (size_t)snprintf(content + used, sizeof content - used, "%s = .5 .5\n",
                                     reason_cause_id((enum reason_cause)c));
    }
    assert_refuses(content, "64 lines of likelihoods at most");
}

static void rows_that_are_none_are_never_used(void **state)
{
    (void)state;
    struct reason fresh, reason;
    struct reason_shop shop = {.rows = 1};
    const struct reason_row wrong[] = {
        {-1, 0, {.5, .5}},
        {REASON_EVIDENCE_COUNT, 0, {.5, .5}},
        {REASON_CREEP, -1, {.5, .5}},
        {REASON_CREEP, REASON_REST + 1, {.5, .5}},
        {REASON_CREEP, 0, {0, 1}},
        {REASON_CREEP, 0, {.5, .4}},
        {REASON_CREEP, 0, {.5, .5, .1}},
        {REASON_CREEP, 0, {(double)NAN, .5}},
        {REASON_CREEP, 0, {-.5, 1.5}},
    };
    reason_init(&fresh);
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char text[REASON_FLAT];
        shop.row[0] = wrong[i];
        reason_init(&reason);
        assert_false(reason_use(&reason, &shop));
        assert_memory_equal(&reason, &fresh, sizeof reason);
        assert_false(reason_shop_to_text(&shop, text, sizeof text));
    }
    shop.rows = REASON_ROWS_MAX + 1;
    assert_false(reason_use(&reason, &shop));
}

static void the_text_is_exact_and_hostile_ones_are_refused(void **state)
{
    (void)state;
    static const char *const hostile[] = {
        "creep pawl .5 .5",      "creep pawl\n",        "creep powl .5 .5\n",  "crep pawl .5 .5\n",
        "creep pawl .5 .5 .5\n", "creep pawl .5 .5 \n", "creep pawl nan .5\n", "\n",
        "creep pawl 1e400 .5\n", "creep  pawl .5 .5\n", "creep pawl .5 .5x\n",
    };
    struct profile_shop shop;
    struct reason_shop back;
    char text[REASON_FLAT];
    assert_loads("[temperature]\nrest = 1/3 1/3 1/3\n[creep]\nhook = .123456789 .876543211\n",
                 &shop);
    assert_true(reason_shop_to_text(&shop.rows, text, sizeof text));
    assert_true(reason_shop_from_text(text, &back));
    assert_memory_equal(&shop.rows, &back, sizeof back);
    for (size_t i = 0; i < sizeof hostile / sizeof hostile[0]; i++) {
        if (reason_shop_from_text(hostile[i], &back))
            fail_msg("'%s' is taken", hostile[i]);
        assert_int_equal(back.rows, 0);
    }
    uint64_t seed = 1;
    for (int i = 0; i < 20000; i++) { /* a byte of a good text changed */
        char changed[REASON_FLAT];
        snprintf(changed, sizeof changed, "%s", text);
        changed[seeded_below(&seed, strlen(text))] = (char)(1 + seeded_below(&seed, 255));
        if (reason_shop_from_text(changed, &back))
            for (int r = 0; r < back.rows; r++)
                assert_true(reason_row_is_good(&back.row[r]));
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directory, remove_directory)
    const struct CMUnitTest tests[] = {
        TEST(an_empty_file_changes_nothing),
        TEST(priors_not_named_keep_the_table_s),
        TEST(a_cause_s_own_row_goes_before_the_rest_s),
        TEST(likelihoods_rounded_by_people_are_made_to_sum_to_1),
        TEST(what_makes_no_sense_is_refused_with_its_line),
        TEST(more_rows_than_there_is_room_for_are_refused),
        TEST(rows_that_are_none_are_never_used),
        TEST(the_text_is_exact_and_hostile_ones_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
