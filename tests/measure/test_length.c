/* Lengths: exact values, conversions, comparisons, and the sentence for every bad input. */
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inch_table.h"
#include "measure/length.h"

static struct measure_length parsed(const char *text)
{
    struct measure_length length = {0};
    struct fault fault = {0};
    if (!measure_length_parse(text, &length, &fault))
        fail_msg("'%s': %s", text, fault.sentence);
    return length;
}

static void assert_length(struct measure_length length, int64_t num, int64_t den,
                          enum measure_unit unit)
{
    assert_int_equal(length.num, num);
    assert_int_equal(length.den, den);
    assert_int_equal(length.unit, unit);
}

/* NIST SP 811 (2008), appendix B.6: 1 in = 25.4 mm exactly; 1 mil (thou) = 0.0254 mm exactly. */
static void test_inch_is_25_4_mm_exactly(void **state)
{
    (void)state;
    assert_true(measure_length_mm(parsed("1in")) == 25.4);
    assert_true(measure_length_mm(parsed("1thou")) == 0.0254);
    assert_length(measure_length_in(parsed("1in"), MEASURE_MM), 127, 5, MEASURE_MM);
    assert_length(measure_length_in(parsed("25.4mm"), MEASURE_INCH), 1, 1, MEASURE_INCH);
    assert_length(measure_length_in(parsed("1in"), MEASURE_THOU), 1000, 1, MEASURE_THOU);
    assert_int_equal(measure_length_compare(parsed("1in"), parsed("25.4mm")), 0);
    assert_true(measure_length_compare(parsed("1in"), parsed("25.400001mm")) < 0);
    assert_true(measure_length_compare(parsed("1in"), parsed("25.399999mm")) > 0);
}

/* ASME B1.1, 1/4-28 UNF: 28 threads an inch, pitch 0.035714 in printed (from memory). */
static void test_pitch_of_quarter_28(void **state)
{
    (void)state;
    struct measure_length pitch = parsed("1/28in");
    assert_printed(measure_length_mm(pitch) / 25.4, 0.035714, 6);
    assert_true(measure_length_mm(pitch) == 25.4 / 28);
}

static void test_handbook_table_of_64ths(void **state)
{
    (void)state;
    char text[64], printed[64];
    for (size_t i = 0; i < sizeof inch_table / sizeof inch_table[0]; i++) {
        snprintf(text, sizeof text, "%sin", inch_table[i].fraction);
        struct measure_length fraction = parsed(text);
        snprintf(text, sizeof text, "%s in", inch_table[i].decimal);
        struct measure_length decimal = parsed(text);
        snprintf(text, sizeof text, "%smm", inch_table[i].mm);
        struct measure_length mm = parsed(text);
        assert_int_equal(measure_length_compare(fraction, decimal), 0);
        assert_int_equal(measure_length_compare(fraction, mm), 0);
        double expected_mm = strtod(inch_table[i].mm, NULL);
        assert_true(measure_length_mm(fraction) == expected_mm); /* correctly rounded */
        assert_true(measure_length_mm(decimal) == expected_mm);
        assert_length(measure_length_nearest_64th(expected_mm), fraction.num, fraction.den,
                      MEASURE_INCH);
        measure_length_print(fraction, printed, sizeof printed);
        snprintf(text, sizeof text, "%s in", inch_table[i].fraction);
        assert_string_equal(printed, text);
        measure_length_print(mm, printed, sizeof printed);
        snprintf(text, sizeof text, "%s mm", inch_table[i].mm);
        assert_string_equal(printed, text);
    }
}

static void test_reads_what_a_technician_writes(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t num, den;
        enum measure_unit unit;
        const char *printed;
    } rows[] = {
        {"5/16in", 5, 16, MEASURE_INCH, "5/16 in"},
        {"1-5/16in", 21, 16, MEASURE_INCH, "1-5/16 in"},
        {"1+5/16in", 21, 16, MEASURE_INCH, "1-5/16 in"},
        {"1 5/16 in", 21, 16, MEASURE_INCH, "1-5/16 in"},
        {" 1 - 5 / 16 inch ", 21, 16, MEASURE_INCH, "1-5/16 in"},
        {"5/16\"", 5, 16, MEASURE_INCH, "5/16 in"},
        {"10/32 Inches", 5, 16, MEASURE_INCH, "5/16 in"},
        {"21/16in", 21, 16, MEASURE_INCH, "1-5/16 in"},
        {"0.31in", 31, 100, MEASURE_INCH, "0.31 in"},
        {".31in", 31, 100, MEASURE_INCH, "0.31 in"},
        {"0.25in", 1, 4, MEASURE_INCH, "1/4 in"},
        {"1/128in", 1, 128, MEASURE_INCH, "0.0078125 in"},
        {"1/3in", 1, 3, MEASURE_INCH, "1/3 in"},
        {"1/1024in", 1, 1024, MEASURE_INCH, "1/1024 in"},
        {"310thou", 310, 1, MEASURE_THOU, "310 thou"},
        {"2.5 THOU", 5, 2, MEASURE_THOU, "2.5 thou"},
        {"7.9mm", 79, 10, MEASURE_MM, "7.9 mm"},
        {"7 1/2 mm", 15, 2, MEASURE_MM, "7.5 mm"},
        {"2/3mm", 2, 3, MEASURE_MM, "2/3 mm"},
        {"0mm", 0, 1, MEASURE_MM, "0 mm"},
        {"0/16in", 0, 1, MEASURE_INCH, "0 in"},
        {"1-0/16in", 1, 1, MEASURE_INCH, "1 in"},
        {"000000012mm", 12, 1, MEASURE_MM, "12 mm"},
        {"0.000000001mm", 1, 1000000000, MEASURE_MM, "0.000000001 mm"},
        {"999999999in", 999999999, 1, MEASURE_INCH, "999999999 in"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct measure_length length = parsed(rows[i].text);
        assert_length(length, rows[i].num, rows[i].den, rows[i].unit);
        char printed[64];
        measure_length_print(length, printed, sizeof printed);
        assert_string_equal(printed, rows[i].printed);
        struct measure_length again = parsed(printed);
        assert_length(again, rows[i].num, rows[i].den, rows[i].unit);
    }
}

static void test_refuses_bad_input_and_says_what_to_write(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
    } rows[] = {
        {NULL, "no distance given"},
        {"", "no distance given"},
        {"   ", "no distance given"},
        {"5/16", "has no unit"},
        {"0.31 ", "has no unit"},
        {"7", "has no unit"},
        {"7furlong", "'furlong' is not a unit"},
        {"7m", "'m' is not a unit"},
        {"7mmm", "'mmm' is not a unit"},
        {"5/16in extra", "'in extra' is not a unit"},
        {"-5/16in", "is negative"},
        {" -0mm", "is negative"},
        {"5/-16in", "cannot read"},
        {"0/0in", "divides by zero"},
        {"5/0in", "divides by zero"},
        {"1-5/0in", "divides by zero"},
        {"1-16/16in", "not less than one"},
        {"1-21/16in", "not less than one"},
        {"1234567890mm", "more digits"},
        {"1.1234567890mm", "more digits"},
        {"1/1234567890in", "more digits"},
        {"1234567890/2in", "more digits"},
        {"1-1234567890/2in", "more digits"},
        {"12345.123456789mm", "more digits"},
        {"999999999-1/999999999in", "more digits"},
        {"1-5in", "cannot read"},
        {"1 5in", "cannot read"},
        {"5/in", "cannot read"},
        {"5/16/2in", "cannot read"},
        {"1--5/16in", "cannot read"},
        {"1-in", "cannot read"},
        {"1-5/16-1/2in", "cannot read"},
        {"1.5-1/2in", "cannot read"},
        {"5.mm", "cannot read"},
        {".mm", "cannot read"},
        {"mm", "cannot read"},
        {"1.2.3mm", "cannot read"},
        {"+5mm", "cannot read"},
        {"5in/16", "'in/16' is not a unit"},
        {"1e3mm", "'e3mm' is not a unit"},
        {"0x10mm", "'x10mm' is not a unit"},
        {"nan mm", "cannot read"},
        {"inf", "cannot read"},
        {"five in", "cannot read"},
        {"5\xc2\xbdin", "cannot read"},
        {"\x1b[2J5in", "cannot read '?[2J5in'"},
        {"\x7f 5in", "cannot read '? 5in'"},
        {"5{in", "cannot read"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct measure_length length = {-7, 3, MEASURE_THOU};
        struct fault fault = {0};
        if (measure_length_parse(rows[i].text, &length, &fault))
            fail_msg("'%s' was accepted", rows[i].text);
        if (strstr(fault.sentence, rows[i].says) == NULL)
            fail_msg("'%s' is told: %s", rows[i].text, fault.sentence);
        assert_int_equal(fault.code, FAULT_USAGE);
        assert_length(length, -7, 3, MEASURE_THOU); /* untouched */
        assert_false(measure_length_parse(rows[i].text, &length, NULL));
    }
    char endless[4096];
    memset(endless, '1', sizeof endless - 1);
    endless[sizeof endless - 1] = '\0';
    struct measure_length length;
    struct fault fault;
    assert_false(measure_length_parse(endless, &length, &fault));
    assert_true(strlen(fault.sentence) < 160);
}

static void test_any_white_space_counts_as_a_space(void **state)
{
    (void)state;
    assert_length(parsed("\t1\t5/16\tin\r\n"), 21, 16, MEASURE_INCH);
    char nowhere = 'x';
    measure_length_print(parsed("1in"), &nowhere, 0); /* no room: nothing is written */
    assert_int_equal(nowhere, 'x');
    measure_length_print(parsed("1in"), NULL, 10);
}

static void test_lowest_terms_and_signs(void **state)
{
    (void)state;
    assert_length(measure_length_of(10, 32, MEASURE_INCH), 5, 16, MEASURE_INCH);
    assert_length(measure_length_of(-10, 32, MEASURE_INCH), -5, 16, MEASURE_INCH);
    assert_length(measure_length_of(10, -32, MEASURE_INCH), -5, 16, MEASURE_INCH);
    assert_length(measure_length_of(-10, -32, MEASURE_INCH), 5, 16, MEASURE_INCH);
    assert_length(measure_length_of(0, -32, MEASURE_MM), 0, 1, MEASURE_MM);
    assert_length(measure_length_of(3, 0, MEASURE_MM), 0, 1, MEASURE_MM);
}

static void test_compares_exactly_across_units(void **state)
{
    (void)state;
    static const char *const ascending[] = {
        "0in",      "0.000000001mm", "1/999999999in", "1thou",       "0.3968mm",  "1/64in",
        "0.3969mm", "310thou",       "5/16in",        "0.31251in",   "7.93776mm", "7.9378mm",
        "1-5/16in", "33.34mm",       "999999999mm",   "999999999in",
    };
    /* 0.000000001 mm is below 1/999999999 in = 0.0000000254 mm; 0.31251 in = 7.937754 mm. */
    size_t n = sizeof ascending / sizeof ascending[0];
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++) {
            int order = measure_length_compare(parsed(ascending[i]), parsed(ascending[j]));
            assert_int_equal(order, (i > j) - (i < j));
        }
    }
    struct measure_length below = measure_length_of(-5, 16, MEASURE_INCH);
    assert_true(measure_length_compare(below, parsed("0mm")) < 0);
    assert_true(measure_length_compare(below, measure_length_of(-6, 16, MEASURE_INCH)) > 0);
    assert_int_equal(measure_length_compare(below, measure_length_of(-79375, 10000, MEASURE_MM)),
                     0);
    /* The largest a person can give, one apart in the last place. */
    struct measure_length a = {999999999, 1000000000, MEASURE_INCH};
    struct measure_length b = {999999998, 999999999, MEASURE_INCH};
    assert_true(measure_length_compare(a, b) > 0);
    b.unit = MEASURE_MM;
    assert_true(measure_length_compare(a, b) > 0);
}

static void test_nearest_64th(void **state)
{
    (void)state;
    assert_length(measure_length_nearest_64th(7.9), 5, 16, MEASURE_INCH); /* 19.906 64ths */
    assert_length(measure_length_nearest_64th(0.19), 0, 1, MEASURE_INCH);
    assert_length(measure_length_nearest_64th(0.2), 1, 64, MEASURE_INCH);
    assert_length(measure_length_nearest_64th(33.3375), 21, 16, MEASURE_INCH);
    /* 127/128 mm is exactly two and a half 64ths: a tie goes away from zero. */
    assert_length(measure_length_nearest_64th(127.0 / 128), 3, 64, MEASURE_INCH);
    assert_length(measure_length_nearest_64th(-127.0 / 128), -3, 64, MEASURE_INCH);
    assert_length(measure_length_nearest_64th(NAN), 0, 1, MEASURE_INCH);
    assert_length(measure_length_nearest_64th(HUGE_VAL), MEASURE_LENGTH_MAX, 1, MEASURE_INCH);
    assert_length(measure_length_nearest_64th(-1e308), -MEASURE_LENGTH_MAX, 1, MEASURE_INCH);
}

/* What no person gives must still be defined: extremes of the type, a unit that is none. */
static void test_extremes_are_defined(void **state)
{
    (void)state;
    static const int64_t edges[] = {INT64_MIN, INT64_MIN + 1, -1,       0, 1,
                                    127,       INT64_MAX - 1, INT64_MAX};
    enum { EDGES = sizeof edges / sizeof edges[0] };
    char printed[96];
    for (size_t i = 0; i < EDGES; i++) {
        for (size_t j = 0; j < EDGES; j++) {
            for (int unit = -1; unit < 5; unit++) {
                struct measure_length raw = {edges[i], edges[j], (enum measure_unit)unit};
                struct measure_length of = measure_length_of(edges[i], edges[j], raw.unit);
                assert_true(of.den > 0);
                assert_true(isfinite(measure_length_mm(raw)));
                assert_int_equal(measure_length_compare(of, of), 0);
                assert_true(measure_length_in(raw, MEASURE_THOU).den > 0);
                measure_length_print(raw, printed, sizeof printed);
                assert_true(strlen(printed) > 3);
            }
        }
    }
    assert_near(measure_length_mm((struct measure_length){INT64_MAX, INT64_MAX - 1, MEASURE_INCH}),
                25.4, 1e-9);
    char small[5];
    measure_length_print(parsed("1-5/16in"), small, sizeof small);
    assert_string_equal(small, "1-5/");
    measure_length_print(parsed("1-5/16in"), small, 0);
    assert_string_equal(small, "1-5/");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_inch_is_25_4_mm_exactly),
        cmocka_unit_test(test_pitch_of_quarter_28),
        cmocka_unit_test(test_handbook_table_of_64ths),
        cmocka_unit_test(test_reads_what_a_technician_writes),
        cmocka_unit_test(test_refuses_bad_input_and_says_what_to_write),
        cmocka_unit_test(test_any_white_space_counts_as_a_space),
        cmocka_unit_test(test_lowest_terms_and_signs),
        cmocka_unit_test(test_compares_exactly_across_units),
        cmocka_unit_test(test_nearest_64th),
        cmocka_unit_test(test_extremes_are_defined),
    };
    return cmocka_run_group_tests_name("measure: length", tests, NULL, NULL);
}
