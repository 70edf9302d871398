/* Within the manual's limits: JCGM 106:2012's own examples, all from memory, and the edges. */
#include "near.h"

#include "measure/limit.h"

/* JCGM 106, 7.3, table 1: probability of conformity against z = (T_U - y)/u for one limit and a
 * normal distribution; printed z to two decimals. */
static void test_table_1(void **state)
{
    (void)state;
    static const double rows[][2] = {
        {0.80, 0.84}, {0.90, 1.28}, {0.95, 1.64}, {0.99, 2.33}, {0.999, 3.09}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        /* Half a digit either side of the printed z must straddle the probability. */
        double below =
            measure_limit_check(0, 1, HUGE_VAL, -HUGE_VAL, rows[i][1] - 0.005).probability_in;
        double above =
            measure_limit_check(0, 1, HUGE_VAL, -HUGE_VAL, rows[i][1] + 0.005).probability_in;
        assert_true(below < rows[i][0] && above > rows[i][0]);
    }
}

/* JCGM 106, 7.3, example 1: breakdown voltage -5.47 V, u 0.05 V, upper limit -5.40 V: z = 1.40,
 * p = 0.92. */
static void test_one_upper_limit(void **state)
{
    (void)state;
    struct measure_limit limit = measure_limit_check(-5.47, 0.05, HUGE_VAL, -HUGE_VAL, -5.40);
    assert_printed(limit.probability_in, 0.92, 2);
    assert_int_equal(limit.verdict, MEASURE_IN_OR_OUT);
    assert_int_equal(limit.side, 1);
}

/* JCGM 106, 7.3, example 2: bursting strength 509.7 kPa, u 8.6 kPa, lower limit 490 kPa: z = 2.3,
 * p = 0.99. */
static void test_one_lower_limit(void **state)
{
    (void)state;
    struct measure_limit limit = measure_limit_check(509.7, 8.6, HUGE_VAL, 490, HUGE_VAL);
    assert_printed(limit.probability_in, 0.99, 2);
    assert_int_equal(limit.verdict, MEASURE_IN);
    assert_int_equal(limit.side, -1);
}

/* JCGM 106, 7.4, example: viscosity 13.6 mm2/s, u 1.8, limits 12.5 and 16.3: p = 0.66. */
static void test_two_limits(void **state)
{
    (void)state;
    struct measure_limit limit = measure_limit_check(13.6, 1.8, HUGE_VAL, 12.5, 16.3);
    assert_printed(limit.probability_in, 0.66, 2);
    assert_int_equal(limit.verdict, MEASURE_IN_OR_OUT);
    assert_int_equal(limit.side, -1);
}

static void test_verdicts_and_sides(void **state)
{
    (void)state;
    struct measure_limit limit = measure_limit_check(1.0, 0.1, HUGE_VAL, 2.0, 3.0);
    assert_int_equal(limit.verdict, MEASURE_OUT);
    assert_int_equal(limit.side, -1);
    limit = measure_limit_check(4.0, 0.1, HUGE_VAL, 2.0, 3.0);
    assert_int_equal(limit.verdict, MEASURE_OUT);
    assert_int_equal(limit.side, 1);
    limit = measure_limit_check(2.5, 0.1, HUGE_VAL, 2.0, 3.0);
    assert_int_equal(limit.verdict, MEASURE_IN);
    assert_int_equal(limit.side, 0);
    assert_int_equal(measure_limit_check(7, 1, 5, -HUGE_VAL, HUGE_VAL).side, 0);
    assert_int_equal(measure_limit_check(1, 0, HUGE_VAL, -1e308, 1e308).side, 1); /* no overflow */
    /* The same reading, few degrees of freedom: told by the normal distribution, not by t(2). */
    assert_int_equal(measure_limit_check(2.2, 0.1, HUGE_VAL, 2, 3).verdict, MEASURE_IN);
    assert_int_equal(measure_limit_check(2.2, 0.1, 2, 2, 3).verdict, MEASURE_IN_OR_OUT);
    assert_string_equal(measure_limit_name(MEASURE_IN), "in");
    assert_string_equal(measure_limit_name(MEASURE_OUT), "out");
    assert_string_equal(measure_limit_name(MEASURE_IN_OR_OUT), "cannot tell");
    assert_string_equal(measure_limit_name((enum measure_limit_verdict)77), "cannot tell");
}

static void test_plain_comparison_includes_the_limits(void **state)
{
    (void)state;
    assert_int_equal(measure_limit_check(2, 0, HUGE_VAL, 2, 3).verdict, MEASURE_IN);
    assert_int_equal(measure_limit_check(3, 0, HUGE_VAL, 2, 3).verdict, MEASURE_IN);
    assert_int_equal(measure_limit_check(3.0000001, 0, HUGE_VAL, 2, 3).verdict, MEASURE_OUT);
    assert_int_equal(measure_limit_check(2, 0, HUGE_VAL, 2, 2).verdict, MEASURE_IN);
}

static void test_nonsense_is_never_in_nor_out(void **state)
{
    (void)state;
    assert_int_equal(measure_limit_check(NAN, 1, 5, 0, 1).verdict, MEASURE_IN_OR_OUT);
    assert_int_equal(measure_limit_check(0, NAN, 5, 0, 1).verdict, MEASURE_IN_OR_OUT);
    assert_int_equal(measure_limit_check(0, 1, 0, 0, 1).verdict, MEASURE_IN_OR_OUT);
    assert_int_equal(measure_limit_check(0, -1, 5, 0, 1).verdict, MEASURE_IN_OR_OUT);
    assert_int_equal(measure_limit_check(0, 1, 5, NAN, NAN).side, 0);
    assert_int_equal(measure_limit_check(0, 1, 5, 1, 0).verdict, MEASURE_IN_OR_OUT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_table_1),
        cmocka_unit_test(test_one_upper_limit),
        cmocka_unit_test(test_one_lower_limit),
        cmocka_unit_test(test_two_limits),
        cmocka_unit_test(test_verdicts_and_sides),
        cmocka_unit_test(test_plain_comparison_includes_the_limits),
        cmocka_unit_test(test_nonsense_is_never_in_nor_out),
    };
    return cmocka_run_group_tests_name("measure: limit", tests, NULL, NULL);
}
