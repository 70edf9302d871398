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

/* The standard normal distribution, as printed to five digits: NIST/SEMATECH e-Handbook, 1.3.6.7.1
 * (area from zero plus a half; from memory). */
static void test_normal_table(void **state)
{
    (void)state;
    static const double rows[][2] = {{0.00, 0.50000}, {0.25, 0.59871}, {0.50, 0.69146},
                                     {1.00, 0.84134}, {1.28, 0.89973}, {1.64, 0.94950},
                                     {1.65, 0.95053}, {1.96, 0.97500}, {2.00, 0.97725},
                                     {2.33, 0.99010}, {2.58, 0.99506}, {3.00, 0.99865}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double z = rows[i][0];
        assert_printed(measure_limit_check(0, 1, HUGE_VAL, -HUGE_VAL, z).probability_in, rows[i][1],
                       5);
        assert_printed(measure_limit_check(0, 1, HUGE_VAL, z, HUGE_VAL).probability_in,
                       1 - rows[i][1], 5);
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

/* JCGM 106, 8.2: simple acceptance; a value on the limit conforms with 50 % at worst. 8.3.2:
 * accepting with a guard band of U = 2 u, it conforms with 97.7 % (its one-sided z of 2). */
static void test_guard_band_for_acceptance(void **state)
{
    (void)state;
    assert_near(measure_limit_check(3, 0.1, HUGE_VAL, -HUGE_VAL, 3).probability_in, 0.5, 1e-12);
    assert_printed(measure_limit_check(3 - 0.2, 0.1, HUGE_VAL, -HUGE_VAL, 3).probability_in, 0.977,
                   3);
    /* Ours at 95 %: w = 1.645 u from one limit (7.3, table 1, as 1.64). */
    assert_int_equal(measure_limit_check(3 - 0.1646, 0.1, HUGE_VAL, -HUGE_VAL, 3).verdict,
                     MEASURE_IN);
    assert_int_equal(measure_limit_check(3 - 0.1644, 0.1, HUGE_VAL, -HUGE_VAL, 3).verdict,
                     MEASURE_IN_OR_OUT);
    assert_int_equal(measure_limit_check(3 + 0.1644, 0.1, HUGE_VAL, -HUGE_VAL, 3).verdict,
                     MEASURE_IN_OR_OUT);
    assert_int_equal(measure_limit_check(3 + 0.1646, 0.1, HUGE_VAL, -HUGE_VAL, 3).verdict,
                     MEASURE_OUT);
}

/* JCGM 106, 8.3.3, example: speeding at 100 km/h is fined when exceeded with at least 99.9 %,
 * relative u 2 %: v_max = 100/(1 - 0.02 * 3.09), printed 107 km/h, guard band 7 km/h. */
static void test_guarded_rejection_of_speed(void **state)
{
    (void)state;
    double fined = 100; /* the least speed read that is fined */
    while (measure_limit_check(fined, 0.02 * fined, HUGE_VAL, -HUGE_VAL, 100).probability_in >
           0.001)
        fined += 0.001;
    assert_printed(fined, 107, 0);
    assert_near(fined, 100 / (1 - 0.02 * 3.09), 0.002);
    assert_printed(fined - 100, 7, 0);
}

/* JCGM 106, 9.5, the example of resistors: 1500 Ohm within 0.2 Ohm, made with a standard deviation
 * of 0.12 Ohm, inspected with u 0.04 Ohm, accepted from 1499.82 to 1500.18: 90 % conform, the
 * consumer's risk is 1 %, the producer's 7 % (its numbers were looked up in a public program that
 * does it, the results are from memory). Integrated here over the values produced. */
static void test_risks_of_consumer_and_producer(void **state)
{
    (void)state;
    const double made_u = 0.12, read_u = 0.04, step = 1e-4;
    double conform = measure_limit_check(1500, made_u, HUGE_VAL, 1499.8, 1500.2).probability_in;
    assert_printed(conform, 0.90, 2);
    double consumer = 0, producer = 0;
    for (double off = step / 2; off < 1; off += step) { /* both sides alike */
        double share = 2 * measure_limit_check(1500, made_u, HUGE_VAL, 1500 + off - step / 2,
                                               1500 + off + step / 2)
                               .probability_in;
        double accepted =
            measure_limit_check(1500 + off, read_u, HUGE_VAL, 1499.82, 1500.18).probability_in;
        if (off > 0.2)
            consumer += share * accepted;
        else
            producer += share * (1 - accepted);
    }
    assert_printed(consumer, 0.01, 2);
    assert_printed(producer, 0.07, 2);
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
        cmocka_unit_test(test_normal_table),
        cmocka_unit_test(test_one_upper_limit),
        cmocka_unit_test(test_one_lower_limit),
        cmocka_unit_test(test_two_limits),
        cmocka_unit_test(test_guard_band_for_acceptance),
        cmocka_unit_test(test_guarded_rejection_of_speed),
        cmocka_unit_test(test_risks_of_consumer_and_producer),
        cmocka_unit_test(test_verdicts_and_sides),
        cmocka_unit_test(test_plain_comparison_includes_the_limits),
        cmocka_unit_test(test_nonsense_is_never_in_nor_out),
    };
    return cmocka_run_group_tests_name("measure: limit", tests, NULL, NULL);
}
