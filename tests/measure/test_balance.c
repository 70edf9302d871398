/* Balance of the throws: worked by hand, against closed forms, and the rules that balance.h
 * promises. */
#include "near.h"

#include <float.h>
#include <string.h>

#include "measure/balance.h"
#include "measure/uncertainty.h"

static const double division = 25.4 / 64; /* of a rule in 64ths */

static struct measure_balance_input input_of(const double *forward, size_t forward_n,
                                             const double *back, size_t back_n)
{
    return (struct measure_balance_input){
        .forward_mm = forward,
        .forward_n = forward_n,
        .back_mm = back,
        .back_n = back_n,
        .tolerance_mm = 25.4 / 32,
        .resolution_mm = division,
    };
}

static struct measure_balance balance_of(const struct measure_balance_input *input)
{
    struct measure_balance balance;
    struct fault fault = {0};
    if (!measure_balance_of(input, &balance, &fault))
        fail_msg("%s", fault.sentence);
    return balance;
}

/* JCGM 100, F.2.2.1: resolution dx gives u = 0.29 dx. 4.4.5: bounds 96 and 104 give u = 2.3 (from
 * memory). */
static void test_resolution_is_rectangular(void **state)
{
    (void)state;
    const double once = 100;
    struct measure_estimate estimate;
    assert_true(measure_estimate_of(&once, 1, 1, 0, 0, &estimate, NULL));
    assert_printed(estimate.u_b_mm, 0.29, 2);
    assert_true(measure_estimate_of(&once, 1, 8, 0, 0, &estimate, NULL));
    assert_printed(estimate.u_b_mm, 2.3, 1);
}

/* Two readings of one throw, by hand: s = 0.2/sqrt(2), u_A = 0.1, u_B = 0.1/sqrt(12). */
static void test_one_throw_by_hand(void **state)
{
    (void)state;
    const double readings[] = {7.9, 8.1};
    struct measure_estimate estimate;
    assert_true(measure_estimate_of(readings, 2, 0.1, 0, 0, &estimate, NULL));
    assert_int_equal(estimate.n, 2);
    assert_near(estimate.mean_mm, 8, 1e-12);
    assert_near(estimate.s_mm, 0.2 / sqrt(2), 1e-12);
    assert_near(estimate.u_a_mm, 0.1, 1e-12);
    assert_near(estimate.u_b_mm, 0.1 / sqrt(12), 1e-12);
    assert_near(estimate.u_mm, sqrt(0.01 + 0.01 / 12), 1e-12);
    assert_near(estimate.dof, (13.0 / 12) * (13.0 / 12), 1e-9); /* (u^2/u_A^2)^2 times 1 */
    assert_near(estimate.U_mm, estimate.k * estimate.u_mm, 1e-12);
    assert_true(estimate.k < 12.71 && estimate.k > 4.30); /* between table G.2's 1 and 2 */
}

/* Resolution 0 and two readings each leave the pooled t test: exactly two degrees of freedom, whose
 * distribution has the closed form 1/2 + t/(2 sqrt(2 + t^2)). */
static void test_probability_against_closed_form(void **state)
{
    (void)state;
    const double forward[] = {8.0, 8.4}, back[] = {7.8, 8.0};
    struct measure_balance_input input = input_of(forward, 2, back, 2);
    input.resolution_mm = 0;
    input.tolerance_mm = 0.5;
    struct measure_balance balance = balance_of(&input);
    double s2 = (0.4 * 0.4 / 2 + 0.2 * 0.2 / 2) / 2; /* pooled, one degree of freedom each */
    double u = sqrt(s2 * (0.5 + 0.5));
    assert_near(balance.difference_mm, 0.3, 1e-12);
    assert_near(balance.difference_u_mm, u, 1e-12);
    assert_near(balance.difference_dof, 2, 1e-9);
    double high = (0.5 - 0.3) / u, low = (-0.5 - 0.3) / u;
    double expected = (high / sqrt(2 + high * high) - low / sqrt(2 + low * low)) / 2;
    assert_near(balance.probability_even, expected, 1e-9);
    assert_int_equal(balance.verdict, MEASURE_CANNOT_TELL);
    assert_near(balance.offset_mm, 0.15, 1e-12);
    assert_near(balance.offset_u_mm, u / 2, 1e-12);
    assert_near(balance.sum_mm, 16.1, 1e-12);
    assert_near(balance.sum_u_mm, u, 1e-12);
    assert_near(balance.forward_percent, 100 * 8.2 / 16.1, 1e-9);
    assert_near(balance.back_percent, 100 * 7.9 / 16.1, 1e-9);
    /* Each throw by itself shares the pooled scatter: table G.2 at 2 degrees of freedom. */
    assert_near(balance.forward.u_a_mm, sqrt(s2 / 2), 1e-12);
    assert_printed(balance.forward.k, 4.30, 2);
}

/* Equal readings: the scale shows no scatter, d/sqrt(12) is taken. With d the division: u_A^2 =
 * d^2/24, u^2 = d^2/8, so dof = 2 (3)^2 = 18; of the difference u^2 = d^2/4, dof 18; t95(18)
 * = 2.10, G.2. */
static void test_equal_readings_are_not_perfect(void **state)
{
    (void)state;
    const double forward[] = {20 * division, 20 * division};
    const double back[] = {19 * division, 19 * division};
    struct measure_balance_input input = input_of(forward, 2, back, 2);
    struct measure_balance balance = balance_of(&input);
    assert_true(balance.forward.s_mm == 0);
    assert_near(balance.forward.u_a_mm, division / sqrt(24), 1e-12);
    assert_near(balance.forward.u_mm, division / sqrt(8), 1e-12);
    assert_near(balance.forward.dof, 18, 1e-9);
    assert_printed(balance.forward.k, 2.10, 2);
    assert_near(balance.difference_u_mm, division / 2, 1e-12);
    assert_near(balance.difference_dof, 18, 1e-9);
    /* One division apart, tolerance two: t = 2 with 18 degrees of freedom, 0.970 one-sided. */
    assert_near(balance.probability_even, 0.97, 0.001);
    assert_int_equal(balance.verdict, MEASURE_EVEN);
    assert_int_equal(balance.readings_needed, 0);
}

static void test_verdicts(void **state)
{
    (void)state;
    const double forward[] = {8.0, 8.1}, even[] = {8.1, 8.0}, uneven[] = {6.0, 6.1};
    const double near[] = {7.2, 7.3};
    struct measure_balance_input input = input_of(forward, 2, even, 2);
    input.resolution_mm = 0.1;
    struct measure_balance balance = balance_of(&input);
    assert_int_equal(balance.verdict, MEASURE_EVEN);
    assert_near(balance.forward_percent, 50, 1e-9);
    input.back_mm = uneven;
    balance = balance_of(&input);
    assert_int_equal(balance.verdict, MEASURE_UNEVEN);
    assert_int_equal(balance.readings_needed, 0);
    assert_true(balance.offset_mm > 0); /* forward is longer: rest sits too far back */
    input.back_mm = near;               /* 0.8 against a tolerance of 0.794 */
    balance = balance_of(&input);
    assert_int_equal(balance.verdict, MEASURE_CANNOT_TELL);
    assert_int_equal(balance.readings_needed, -1); /* the scale is too coarse for that */
    assert_string_equal(measure_verdict_name(MEASURE_EVEN), "even");
    assert_string_equal(measure_verdict_name(MEASURE_UNEVEN), "uneven");
    assert_string_equal(measure_verdict_name(MEASURE_CANNOT_TELL), "cannot tell");
    assert_string_equal(measure_verdict_name((enum measure_verdict)9), "cannot tell");
}

static void test_one_reading_never_settles(void **state)
{
    (void)state;
    const double forward[] = {8.0, 8.0, 8.0}, back[] = {8.0, 8.0, 8.0}, far[] = {2.0, 2.0};
    struct measure_balance_input input = input_of(forward, 1, back, 1);
    struct measure_balance balance = balance_of(&input);
    assert_int_equal(balance.verdict, MEASURE_CANNOT_TELL);
    assert_true(balance.probability_even == 0.5);
    assert_true(balance.forward.dof == 0 && balance.difference_dof == 0);
    assert_true(isinf(balance.forward.k) && isinf(balance.forward.U_mm));
    assert_near(balance.forward.u_mm, division / sqrt(12), 1e-12);
    assert_int_equal(balance.readings_needed, 1);
    input.back_mm = far;
    assert_int_equal(balance_of(&input).verdict, MEASURE_CANNOT_TELL);
    for (size_t n = 2; n <= 3; n++) { /* the other throw's readings do not replace a second one */
        input = input_of(forward, 1, back, n);
        assert_int_equal(balance_of(&input).verdict, MEASURE_CANNOT_TELL);
        assert_true(balance_of(&input).readings_needed >= 1);
        input = input_of(forward, n, back, 1);
        assert_int_equal(balance_of(&input).verdict, MEASURE_CANNOT_TELL);
        input = input_of(forward, 1, far, 2);
        assert_int_equal(balance_of(&input).verdict, MEASURE_CANNOT_TELL);
    }
    input = input_of(forward, 1, back, 1);
    input.resolution_mm = 0; /* nothing is known at all */
    assert_int_equal(balance_of(&input).verdict, MEASURE_CANNOT_TELL);
}

/* JCGM 100, 4.2.4 note: with repeatability known from before, one reading is enough. */
static void test_one_reading_with_repeatability_known(void **state)
{
    (void)state;
    const double forward[] = {8.0}, back[] = {8.1};
    struct measure_balance_input input = input_of(forward, 1, back, 1);
    input.resolution_mm = 0.1;
    input.pooled_s_mm = 0.05;
    input.pooled_dof = 8;
    struct measure_balance balance = balance_of(&input);
    assert_int_equal(balance.verdict, MEASURE_EVEN);
    assert_near(balance.difference_u_mm, sqrt(2 * 0.0025 + 2 * 0.01 / 12), 1e-12);
    input.pooled_dof = HUGE_VAL; /* well characterised */
    balance = balance_of(&input);
    assert_true(isinf(balance.difference_dof));
    assert_printed(balance.forward.k, 1.96, 2);
    const double scattered[] = {7.0, 9.0}; /* what is exactly known is not unlearned */
    input.forward_mm = scattered;
    input.forward_n = 2;
    balance = balance_of(&input);
    assert_true(isinf(balance.difference_dof));
    assert_near(balance.forward.u_a_mm, 0.05 / sqrt(2), 1e-12);
}

/* NIST/SEMATECH e-Handbook, 1.3.5.3 (from memory): s 6.41470 of 249 and 6.10771 of 79 pool
 * to 6.34260 with 326 degrees of freedom. */
static void test_pooling_weighs_by_degrees_of_freedom(void **state)
{
    (void)state;
    const struct measure_balance round = {.forward = {.n = 249, .s_mm = 6.41470},
                                          .back = {.n = 79, .s_mm = 6.10771}};
    double s = 0, dof = 0;
    measure_balance_pool(&round, &s, &dof);
    assert_printed(s, 6.34260, 5);
    assert_true(dof == 326);
    /* In two steps it is the same; single readings add nothing. */
    const struct measure_balance first = {.forward = round.forward, .back = {.n = 1}};
    const struct measure_balance second = {.forward = {.n = 1}, .back = round.back};
    double s2 = 0, dof2 = 0;
    measure_balance_pool(&first, &s2, &dof2);
    assert_true(dof2 == 248);
    measure_balance_pool(&second, &s2, &dof2);
    assert_near(s2, s, 1e-12);
    assert_true(dof2 == 326);
}

/* JCGM 100, H.5.2, table H.9 (from memory): ten days of five readings each, standard deviations in
 * microvolts; printed pooled 85 uV with 40 degrees of freedom, and F = 5 (57 uV)^2/(85 uV)^2
 * = 2.25. */
static void test_pooling_ten_days(void **state)
{
    (void)state;
    static const double s_day[] = {60, 77, 111, 101, 67, 93, 80, 73, 88, 86};
    double s = 0, dof = 0;
    for (size_t i = 0; i < 10; i += 2) {
        const struct measure_balance two = {.forward = {.n = 5, .s_mm = s_day[i]},
                                            .back = {.n = 5, .s_mm = s_day[i + 1]}};
        measure_balance_pool(&two, &s, &dof);
    }
    assert_true(dof == 40);
    assert_printed(s, 85, 0);
    assert_near(5 * 57.0 * 57.0 / (s * s), 2.25, 0.01); /* the document's F, from 57 rounded */
}

/* n readings of the given mean and standard deviation: evenly spaced, then set right. */
static void readings_with(double *out, size_t n, double mean, double s)
{
    double middle = ((double)n - 1) / 2, squares = 0;
    for (size_t i = 0; i < n; i++)
        squares += ((double)i - middle) * ((double)i - middle);
    double scale = s / sqrt(squares / ((double)n - 1));
    for (size_t i = 0; i < n; i++)
        out[i] = mean + ((double)i - middle) * scale;
}

static enum measure_verdict verdict_with(size_t n, double difference, double s, double resolution)
{
    double forward[MEASURE_READINGS_MAX], back[MEASURE_READINGS_MAX];
    readings_with(forward, n, 8 + difference, s);
    readings_with(back, n, 8, s);
    struct measure_balance_input input = input_of(forward, n, back, n);
    input.resolution_mm = resolution;
    return balance_of(&input).verdict;
}

/* What readings_needed promises is carried out: with that many more readings of the same mean and
 * scatter the verdict is settled, with one fewer it is not. */
static void test_readings_needed_is_kept(void **state)
{
    (void)state;
    int seen[12] = {0};
    for (double difference = 0; difference < 1.6; difference += 0.05) {
        for (double s = 0.02; s < 0.9; s *= 1.3) {
            for (size_t n = 2; n <= 8; n += 3) {
                double forward[MEASURE_READINGS_MAX], back[MEASURE_READINGS_MAX];
                readings_with(forward, n, 8 + difference, s);
                readings_with(back, n, 8, s);
                struct measure_balance_input input = input_of(forward, n, back, n);
                input.resolution_mm = 0.1;
                struct measure_balance balance = balance_of(&input);
                int needed = balance.readings_needed;
                assert_true(needed >= -1 && needed <= 10);
                assert_true((needed == 0) == (balance.verdict != MEASURE_CANNOT_TELL));
                size_t most = needed > 0 ? (size_t)needed : n + 10 <= 16 ? 10 : 16 - n;
                for (size_t more = 1; needed != 0 && more <= most; more++) {
                    bool settled =
                        verdict_with(n + more, difference, s, 0.1) != MEASURE_CANNOT_TELL;
                    assert_true(settled == ((int)more == needed));
                }
                seen[needed + 1]++;
            }
        }
    }
    assert_true(seen[0] > 0 && seen[1] > 0 && seen[2] > 0 &&
                seen[5] > 0); /* -1, 0, 1 and 4 occur */
}

static void test_symmetries(void **state)
{
    (void)state;
    const double forward[] = {8.1, 8.3, 8.0}, back[] = {7.4, 7.5};
    const double shuffled[] = {8.0, 8.1, 8.3};
    struct measure_balance_input input = input_of(forward, 3, back, 2);
    struct measure_balance balance = balance_of(&input);
    struct measure_balance_input swapped = input_of(back, 2, forward, 3);
    struct measure_balance mirror = balance_of(&swapped);
    assert_near(mirror.offset_mm, -balance.offset_mm, 1e-12);
    assert_near(mirror.probability_even, balance.probability_even, 1e-12);
    assert_near(mirror.forward_percent, balance.back_percent, 1e-12);
    input.forward_mm = shuffled;
    assert_near(balance_of(&input).probability_even, balance.probability_even, 1e-12);
    /* In another unit: everything times 1/25.4. */
    double forward_in[3], back_in[2];
    for (size_t i = 0; i < 3; i++)
        forward_in[i] = forward[i] / 25.4;
    for (size_t i = 0; i < 2; i++)
        back_in[i] = back[i] / 25.4;
    struct measure_balance_input inches = input_of(forward_in, 3, back_in, 2);
    inches.tolerance_mm /= 25.4;
    inches.resolution_mm /= 25.4;
    struct measure_balance same = balance_of(&inches);
    assert_near(same.probability_even, balance.probability_even, 1e-9);
    assert_near(same.difference_dof, balance.difference_dof, 1e-6);
    assert_int_equal(same.readings_needed, balance.readings_needed);
}

static void test_sum_that_changed_is_suspect(void **state)
{
    (void)state;
    const double forward[] = {8.0, 8.1}, back[] = {6.0, 6.1};
    const double moved_f[] = {7.0, 7.1}, moved_b[] = {7.0, 7.1}, wrong_b[] = {9.0, 9.1};
    struct measure_balance_input input = input_of(forward, 2, back, 2);
    input.resolution_mm = 0.1;
    struct measure_balance before = balance_of(&input);
    input.forward_mm = moved_f;
    input.back_mm = moved_b;
    struct measure_balance turned = balance_of(&input);
    assert_false(measure_sum_suspect(&before, &turned));
    input.back_mm = wrong_b;
    struct measure_balance misread = balance_of(&input);
    assert_true(measure_sum_suspect(&before, &misread));
    assert_true(measure_sum_suspect(&misread, &before));
    input.forward_n = input.back_n = 1; /* repeatability unknown: no cause to suspect anything */
    struct measure_balance once = balance_of(&input);
    assert_false(measure_sum_suspect(&before, &once));
    assert_false(measure_sum_suspect(&once, &before));
}

/* Upper 0.1 % points of chi-square, NIST/SEMATECH e-Handbook, 1.3.6.7.4 (from memory): 16.266 at 3
 * degrees of freedom, 29.588 at 10. With resolution 0 the most a hand does is 0.25 mm. */
static void test_scatter_beyond_hand_and_rule_is_suspect(void **state)
{
    (void)state;
    double edge3 = 0.25 * sqrt(16.266 / 3), edge10 = 0.25 * sqrt(29.588 / 10);
    assert_true(measure_scatter_suspect(edge3 * 1.0001, 3, 0));
    assert_false(measure_scatter_suspect(edge3 * 0.9999, 3, 0));
    assert_true(measure_scatter_suspect(edge10 * 1.0001, 10, 0));
    assert_false(measure_scatter_suspect(edge10 * 0.9999, 10, 0));
    /* A coarse rule excuses more: sigma^2 = 0.25^2 + d^2/12. */
    assert_false(measure_scatter_suspect(edge10 * 1.0001, 10, division));
    double scale = hypot(0.25, division / sqrt(12)) / 0.25;
    assert_true(measure_scatter_suspect(edge10 * 1.0001 * scale, 10, division));
    assert_false(measure_scatter_suspect(50, 2, 0)); /* too few to accuse anything */
    assert_true(measure_scatter_suspect(0.26, HUGE_VAL, 0));
    assert_false(measure_scatter_suspect(0.24, HUGE_VAL, 0));
    static const double never[] = {NAN, -1, HUGE_VAL};
    for (size_t i = 0; i < 3; i++) {
        assert_false(measure_scatter_suspect(never[i], 5, 0));
        assert_false(measure_scatter_suspect(5, 5, never[i]));
    }
    assert_false(measure_scatter_suspect(5, NAN, 0));
}

static void test_refuses_what_cannot_be(void **state)
{
    (void)state;
    const double good[] = {8.0, 8.1}, negative[] = {8.0, -0.1}, zeros[] = {0, 0};
    const double nan[] = {8.0, NAN}, endless[] = {HUGE_VAL, 8.0}, long_ones[] = {8.0, 2e6};
    double many[MEASURE_READINGS_MAX + 1] = {0};
    const struct {
        const double *forward, *back;
        size_t forward_n, back_n;
        double tolerance, resolution, pooled_s, pooled_dof;
        const char *says;
    } rows[] = {
        {negative, good, 2, 2, 1, 0.1, 0, 0, "reading 2 of the forward throw"},
        {good, nan, 2, 2, 1, 0.1, 0, 0, "reading 2 of the back throw"},
        {endless, good, 2, 2, 1, 0.1, 0, 0, "reading 1 of the forward throw"},
        {long_ones, good, 2, 2, 1, 0.1, 0, 0, "reading 2 of the forward throw"},
        {NULL, good, 2, 2, 1, 0.1, 0, 0, "no reading of the forward throw"},
        {good, good, 0, 2, 1, 0.1, 0, 0, "no reading of the forward throw"},
        {good, good, 2, 0, 1, 0.1, 0, 0, "no reading of the back throw"},
        {many, good, MEASURE_READINGS_MAX + 1, 2, 1, 0.1, 0, 0, "too many"},
        {zeros, zeros, 2, 2, 1, 0.1, 0, 0, "both throws are zero"},
        {good, good, 2, 2, 0, 0.1, 0, 0, "tolerance"},
        {good, good, 2, 2, -1, 0.1, 0, 0, "tolerance"},
        {good, good, 2, 2, NAN, 0.1, 0, 0, "tolerance"},
        {good, good, 2, 2, HUGE_VAL, 0.1, 0, 0, "tolerance"},
        {good, good, 2, 2, 1, -0.1, 0, 0, "resolution"},
        {good, good, 2, 2, 1, NAN, 0, 0, "resolution"},
        {good, good, 2, 2, 1, 0.1, -1, 5, "repeatability"},
        {good, good, 2, 2, 1, 0.1, NAN, 5, "repeatability"},
        {good, good, 2, 2, 1, 0.1, 0.1, -5, "repeatability"},
        {good, good, 2, 2, 1, 0.1, 0.1, NAN, "repeatability"},
        {good, good, 2, 2, 1, 0.1, 0.1, 0.5, "repeatability"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct measure_balance_input input = {
            rows[i].forward,   rows[i].forward_n,  rows[i].back,     rows[i].back_n,
            rows[i].tolerance, rows[i].resolution, rows[i].pooled_s, rows[i].pooled_dof};
        struct measure_balance balance;
        struct fault fault = {0};
        assert_false(measure_balance_of(&input, &balance, &fault));
        assert_int_equal(fault.code, FAULT_USAGE);
        if (strstr(fault.sentence, rows[i].says) == NULL)
            fail_msg("row %zu is told: %s", i, fault.sentence);
    }
    struct measure_estimate estimate;
    assert_false(measure_estimate_of(negative, 2, 0.1, 0, 0, &estimate, NULL));
    assert_false(measure_estimate_of(good, 2, -1, 0, 0, &estimate, NULL));
    assert_true(
        measure_estimate_of(zeros, 2, 0.1, 0, 0, &estimate, NULL)); /* a throw may be zero */
}

/* Any bytes as doubles: refused, or every result a sane number. */
static void test_any_input_is_defined(void **state)
{
    (void)state;
    uint64_t bits = 2463534242u;
    static const double edges[] = {0, DBL_MIN, 1e-320, 1e-200, 1e-9, 0.1, 8, 1e6, 2, 3, 0.79375};
    int accepted = 0;
    for (int round = 0; round < 20000; round++) {
        double values[10];
        for (size_t i = 0; i < 10; i++) {
            bits ^= bits << 13;
            bits ^= bits >> 7;
            bits ^= bits << 17;
            if (round % 2 == 0)
                values[i] = edges[bits % (sizeof edges / sizeof edges[0])];
            else
                memcpy(&values[i], &bits, sizeof bits);
        }
        const struct measure_balance_input input = {
            .forward_mm = values,
            .forward_n = 1 + bits % 3,
            .back_mm = values + 3,
            .back_n = 1 + bits / 4 % 3,
            .tolerance_mm = values[6],
            .resolution_mm = values[7],
            .pooled_s_mm = values[8],
            .pooled_dof = round % 3 == 0 ? 0 : values[9],
        };
        struct measure_balance balance;
        if (!measure_balance_of(&input, &balance, NULL))
            continue;
        accepted++;
        assert_true(balance.probability_even >= 0 && balance.probability_even <= 1);
        assert_true(balance.readings_needed >= -1 && balance.readings_needed <= 10);
        assert_true(isfinite(balance.offset_mm) && isfinite(balance.difference_u_mm));
        assert_true(balance.forward_percent >= 0 && balance.forward_percent <= 100);
        assert_true(balance.forward.U_mm >= 0);
        bool read_once = input.forward_n == 1 || input.back_n == 1;
        if (read_once && !(input.pooled_dof > 0))
            assert_int_equal(balance.verdict, MEASURE_CANNOT_TELL);
    }
    assert_true(accepted > 1000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_resolution_is_rectangular),
        cmocka_unit_test(test_one_throw_by_hand),
        cmocka_unit_test(test_probability_against_closed_form),
        cmocka_unit_test(test_equal_readings_are_not_perfect),
        cmocka_unit_test(test_verdicts),
        cmocka_unit_test(test_one_reading_never_settles),
        cmocka_unit_test(test_one_reading_with_repeatability_known),
        cmocka_unit_test(test_pooling_weighs_by_degrees_of_freedom),
        cmocka_unit_test(test_pooling_ten_days),
        cmocka_unit_test(test_readings_needed_is_kept),
        cmocka_unit_test(test_symmetries),
        cmocka_unit_test(test_sum_that_changed_is_suspect),
        cmocka_unit_test(test_scatter_beyond_hand_and_rule_is_suspect),
        cmocka_unit_test(test_refuses_what_cannot_be),
        cmocka_unit_test(test_any_input_is_defined),
    };
    return cmocka_run_group_tests_name("measure: balance", tests, NULL, NULL);
}
