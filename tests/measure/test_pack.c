/* The clutch pack: its sum and uncertainty, its verdict, what it points at. */
#include "near.h"

#include <string.h>

#include "measure/pack.h"

enum { PLATES = 8 };

static void alike(struct measure_plate *plate, size_t n, double thickness_mm)
{
    for (size_t i = 0; i < n; i++)
        plate[i] = (struct measure_plate){thickness_mm, 2.2, 2.4};
}

static struct measure_pack_input input_of(const struct measure_plate *plate, size_t n)
{
    return (struct measure_pack_input){
        .plate = plate,
        .n = n,
        .low_mm = 18.0,
        .high_mm = 18.8,
        .resolution_mm = 0.01,
        .scatter_mm = 0.01,
        .scatter_dof = HUGE_VAL,
    };
}

static struct measure_pack pack_of(const struct measure_pack_input *input)
{
    struct measure_pack pack;
    struct fault fault = {0};
    if (!measure_pack_of(input, &pack, &fault))
        fail_msg("%s", fault.sentence);
    return pack;
}

/* JCGM 100, 5.2.2, example (from memory): ten resistors in series, each compared with the same
 * standard of u = 100 milliohm: the sum's u is 10 x 100 milliohm = 1 ohm, not sqrt(10) of it, 0.32.
 */
static void test_common_error_adds_in_full(void **state)
{
    (void)state;
    struct measure_plate ten[10];
    for (size_t i = 0; i < 10; i++)
        ten[i] = (struct measure_plate){1000, -HUGE_VAL, HUGE_VAL};
    struct measure_pack_input input = input_of(ten, 10);
    input.resolution_mm = input.scatter_mm = 0;
    input.zero_u_mm = 0.1;
    struct measure_pack pack = pack_of(&input);
    assert_near(pack.sum_mm, 10000, 1e-9);
    assert_near(pack.sum_u_mm, 1, 1e-12);
    input.zero_u_mm = 0;
    input.scatter_mm = 0.1;
    assert_printed(pack_of(&input).sum_u_mm, 0.32, 2);
}

static void test_sum_by_hand(void **state)
{
    (void)state;
    struct measure_plate plate[PLATES];
    alike(plate, PLATES, 2.3);
    struct measure_pack_input input = input_of(plate, PLATES);
    input.scatter_dof = 9;
    input.zero_u_mm = 0.005;
    struct measure_pack pack = pack_of(&input);
    assert_near(pack.sum_mm, 18.4, 1e-9);
    double scatter2 = 8 * 1e-4, rounding2 = 8 * 1e-4 / 12, zero2 = 64 * 25e-6;
    double u2 = scatter2 + rounding2 + zero2;
    assert_near(pack.sum_u_mm, sqrt(u2), 1e-12);
    assert_near(pack.sum_dof, u2 * u2 / (scatter2 * scatter2 / 9), 1e-6);
    assert_true(pack.sum_U_mm > 1.96 * pack.sum_u_mm);
    assert_int_equal(pack.stack.verdict, MEASURE_IN);
    assert_int_equal(pack.sign, MEASURE_PACK_RIGHT);
    assert_int_equal(pack.plate[3].verdict, MEASURE_IN);
    assert_true(pack.gap_mm == 0 && pack.gap_probability == 0.5); /* no whole was measured */
}

static void test_loose_spring_plate(void **state)
{
    (void)state;
    struct measure_plate plate[PLATES];
    alike(plate, PLATES, 2.375); /* each within its range, 19.0 together: over 18.8 */
    struct measure_pack_input input = input_of(plate, PLATES);
    struct measure_pack pack = pack_of(&input);
    assert_int_equal(pack.stack.verdict, MEASURE_OUT);
    assert_int_equal(pack.stack.side, 1);
    assert_int_equal(pack.sign, MEASURE_PACK_SPRING_PLATE);

    plate[2].thickness_mm = 2.5; /* now one plate explains it */
    assert_int_equal(pack_of(&input).sign, MEASURE_PACK_PLATES);
    plate[2].thickness_mm = 2.4; /* or may: on its limit */
    assert_int_equal(pack_of(&input).sign, MEASURE_PACK_CANNOT_TELL);

    plate[2] = (struct measure_plate){2.375, -HUGE_VAL, HUGE_VAL}; /* in what range? */
    assert_int_equal(pack_of(&input).sign, MEASURE_PACK_CANNOT_TELL);

    /* The plates sum up right but stand apart: the whole shows it. */
    alike(plate, PLATES, 2.3);
    input.whole_mm = 19.1;
    pack = pack_of(&input);
    assert_int_equal(pack.sign, MEASURE_PACK_SPRING_PLATE);
    assert_near(pack.gap_mm, 0.7, 1e-9);
    assert_true(pack.gap_probability > 0.999);
    input.whole_mm = 18.4;
    pack = pack_of(&input);
    assert_int_equal(pack.sign, MEASURE_PACK_RIGHT);
    assert_near(pack.gap_probability, 0.5, 1e-6);
}

/* Whole less sum: the zero error counts n - 1 times, rounding and scatter n + 1 times in squares.
 */
static void test_gap_by_hand(void **state)
{
    (void)state;
    struct measure_plate plate[PLATES];
    alike(plate, PLATES, 2.3);
    struct measure_pack_input input = input_of(plate, PLATES);
    input.whole_mm = 18.45;
    input.zero_u_mm = 0.01;
    struct measure_pack pack = pack_of(&input);
    double u = sqrt(9 * 1e-4 + 9 * 1e-4 / 12 + 49 * 1e-4);
    assert_near(pack.gap_u_mm, u, 1e-12);
    assert_near(pack.gap_probability, (1 + erf(0.05 / u / sqrt(2))) / 2, 1e-9);
    input.n = 1; /* one plate is its own pack: its zero error cancels */
    input.whole_mm = 2.3;
    assert_near(pack_of(&input).gap_u_mm, sqrt(2 * 1e-4 + 2 * 1e-4 / 12), 1e-12);
}

static void test_thin_and_doubtful(void **state)
{
    (void)state;
    struct measure_plate plate[PLATES];
    alike(plate, PLATES, 2.22);
    struct measure_pack_input input = input_of(plate, PLATES);
    struct measure_pack pack = pack_of(&input); /* 17.76 */
    assert_int_equal(pack.sign, MEASURE_PACK_THIN);
    assert_int_equal(pack.stack.side, -1);
    alike(plate, PLATES, 2.25); /* 18.0, on the limit */
    assert_int_equal(pack_of(&input).sign, MEASURE_PACK_CANNOT_TELL);
    for (int sign = -1; sign < 7; sign++)
        assert_true(strlen(measure_pack_sign_name((enum measure_pack_sign)sign)) > 3);
}

static void test_refuses_what_cannot_be(void **state)
{
    (void)state;
    struct measure_plate plate[MEASURE_PLATES_MAX + 1];
    alike(plate, MEASURE_PLATES_MAX + 1, 2.3);
    const struct measure_pack_input good = input_of(plate, PLATES);
    struct measure_pack_input bad[12];
    for (size_t i = 0; i < 12; i++)
        bad[i] = good;
    bad[0].n = 0;
    bad[1].n = MEASURE_PLATES_MAX + 1;
    bad[2].plate = NULL;
    bad[3].whole_mm = -1;
    bad[4].whole_mm = NAN;
    bad[5].low_mm = 19;
    bad[6].high_mm = NAN;
    bad[7].resolution_mm = -1;
    bad[8].zero_u_mm = NAN;
    bad[9].scatter_mm = HUGE_VAL;
    bad[10].scatter_dof = 0;
    bad[11].scatter_dof = NAN;
    struct measure_pack pack;
    for (size_t i = 0; i < 12; i++) {
        struct fault fault = {0};
        assert_false(measure_pack_of(&bad[i], &pack, &fault));
        assert_int_equal(fault.code, FAULT_USAGE);
        assert_true(strlen(fault.sentence) > 20);
    }
    static const double never[] = {0, -1, NAN, HUGE_VAL, 2e6};
    for (size_t i = 0; i < 5; i++) {
        plate[4].thickness_mm = never[i];
        struct fault fault = {0};
        assert_false(measure_pack_of(&good, &pack, &fault));
        assert_non_null(strstr(fault.sentence, "plate 5"));
    }
    plate[4] = (struct measure_plate){2.3, 2.4, 2.2};
    assert_false(measure_pack_of(&good, &pack, NULL));
    struct measure_pack_input most = good;
    alike(plate, MEASURE_PLATES_MAX, 2.3);
    most.n = MEASURE_PLATES_MAX;
    assert_true(measure_pack_of(&most, &pack, NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_common_error_adds_in_full),
        cmocka_unit_test(test_sum_by_hand),
        cmocka_unit_test(test_loose_spring_plate),
        cmocka_unit_test(test_gap_by_hand),
        cmocka_unit_test(test_thin_and_doubtful),
        cmocka_unit_test(test_refuses_what_cannot_be),
    };
    return cmocka_run_group_tests_name("measure: pack", tests, NULL, NULL);
}
