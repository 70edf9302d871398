/* The second promise: every value the tool can say is a sentence of the grammar file, and parses
 * back to an equal value in the same unit. The values are counted out here, not taken from the
 * files, and their usual wordings are spelled here a second time, so that the parser is checked
 * against something that is not the parser. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "jsgf.h"
#include "language/language.h"

static const char directory[] = MIDTHROW_SOURCE_DIR "/grammars";

static struct jsgf *load(const char *name)
{
    char why[JSGF_WHY];
    struct jsgf *jsgf = jsgf_load(directory, name, why);
    if (jsgf == NULL)
        fail_msg("%s", why);
    return jsgf;
}

static void check_value(const char *name, const struct jsgf *jsgf, struct language_value value)
{
    char words[LANGUAGE_WORDS], read_back[LANGUAGE_WORDS];
    struct language_value back;
    if (!language_say(name, &value, words, sizeof words))
        fail_msg("%s: a value has no words", name);
    if (!jsgf_accepts(jsgf, words))
        fail_msg("%s: '%s' is no sentence of the file", name, words);
    assert_int_equal(language_parse(name, words, &back, NULL), LANGUAGE_OK);
    if (!language_equal(&value, &back))
        fail_msg("%s: '%s' parses to another value", name, words);
    if (value.type == LANGUAGE_DISTANCE) {
        assert_int_equal(value.as.length.unit, back.as.length.unit);
        assert_int_equal(value.as.length.num, back.as.length.num);
        assert_int_equal(value.as.length.den, back.as.length.den);
    }
    assert_true(language_read_back(name, &value, read_back, sizeof read_back));
    assert_true(read_back[0] != '\0');
}

static void check_parses(const char *name, const struct jsgf *jsgf, const char *sentence,
                         struct language_value expected)
{
    struct language_value value;
    char why[LANGUAGE_WHY];
    if (jsgf != NULL && !jsgf_accepts(jsgf, sentence))
        fail_msg("%s: '%s' is no sentence of the file", name, sentence);
    if (language_parse(name, sentence, &value, why) != LANGUAGE_OK)
        fail_msg("%s: '%s': %s", name, sentence, why);
    if (!language_equal(&value, &expected))
        fail_msg("%s: '%s' parses to a wrong value", name, sentence);
}

/* ---- numbers, spelled once more ----------------------------------------------------------- */

static void spell(int number, const char *and_word, char *out, size_t size)
{
    static const char *const small[] = {"zero",    "one",     "two",       "three",    "four",
                                        "five",    "six",     "seven",     "eight",    "nine",
                                        "ten",     "eleven",  "twelve",    "thirteen", "fourteen",
                                        "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"};
    static const char *const ten[] = {"",      "",      "twenty",  "thirty", "forty",
                                      "fifty", "sixty", "seventy", "eighty", "ninety"};
    char rest[64];
    if (number < 20) {
        snprintf(out, size, "%s", small[number]);
    } else if (number < 100) {
        snprintf(out, size, "%s%s%s", ten[number / 10], number % 10 ? " " : "",
                 number % 10 ? small[number % 10] : "");
    } else if (number % 100 == 0) {
        snprintf(out, size, "%s hundred", small[number / 100]);
    } else {
        spell(number % 100, and_word, rest, sizeof rest);
        snprintf(out, size, "%s hundred %s%s", small[number / 100], and_word, rest);
    }
}

static void spell_digits(int number, const char *zero, char *out, size_t size)
{
    char figures[16], word[16];
    snprintf(figures, sizeof figures, "%d", number);
    out[0] = '\0';
    for (const char *at = figures; *at != '\0'; at++) {
        spell(*at - '0', "", word, sizeof word);
        size_t used = strlen(out);
        snprintf(out + used, size - used, "%s%s", used > 0 ? " " : "", *at == '0' ? zero : word);
    }
}

static struct language_value number_of(int64_t number)
{
    return (struct language_value){.type = LANGUAGE_NUMBER, .as.number = number};
}

static void numbers_from_0_to_999(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("number");
    char words[128];
    for (int n = 0; n <= 999; n++) {
        check_value("number", jsgf, number_of(n));
        spell(n, "", words, sizeof words);
        check_parses("number", jsgf, words, number_of(n));
        spell(n, "and ", words, sizeof words);
        check_parses("number", jsgf, words, number_of(n));
        snprintf(words, sizeof words, "%d", n);
        check_parses("number", NULL, words, number_of(n));
        if (n < 10)
            continue;
        spell_digits(n, "zero", words, sizeof words);
        check_parses("number", jsgf, words, number_of(n));
        spell_digits(n, "oh", words, sizeof words);
        check_parses("number", jsgf, words, number_of(n));
    }
    jsgf_free(jsgf);
}

static void odometers_to_999999(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("odometer");
    char thousands[64], rest[64], words[192];
    for (int n = 0; n <= 999999; n += n < 1100 || n > 999000 ? 1 : 97) {
        check_value("odometer", jsgf, number_of(n));
        spell(n / 1000, "and ", thousands, sizeof thousands);
        spell(n % 1000, "", rest, sizeof rest);
        snprintf(words, sizeof words, "%s%s%s", n < 1000 ? "" : thousands,
                 n < 1000 ? "" : " thousand ", n >= 1000 && n % 1000 == 0 ? "" : rest);
        check_parses("odometer", jsgf, words, number_of(n));
        snprintf(words, sizeof words, "%d", n);
        check_parses("odometer", NULL, words, number_of(n));
        if (n >= 10)
            spell_digits(n, "zero", words, sizeof words);
        check_parses("odometer", n >= 10 ? jsgf : NULL, words, number_of(n));
    }
    jsgf_free(jsgf);
}

static void items_of_a_list(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("item");
    char words[32], with[64];
    for (int n = 1; n <= 9; n++) {
        check_value("item", jsgf, number_of(n));
        spell(n, "", words, sizeof words);
        snprintf(with, sizeof with, "number %s", words);
        check_parses("item", jsgf, with, number_of(n));
    }
    jsgf_free(jsgf);
}

static void work_orders(void **state)
{
    (void)state;
    static const struct {
        const char *words, *digits;
    } said[] = {
        {"four seven one two", "4712"},
        {"forty seven twelve", "4712"},
        {"forty seven oh five", "4705"},
        {"oh oh seven", "007"},
        {"zero", "0"},
        {"ten twenty thirty forty fifty", "1020304050"},
        {"one two three four five six seven eight nine zero", "1234567890"},
        {"niner oh niner five", "9095"}, /* as radiotelephony has it */
        {"ninety niner twenty", "9920"},
    };
    struct jsgf *jsgf = load("order");
    struct language_value value = {.type = LANGUAGE_DIGITS};
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        snprintf(value.as.digits, sizeof value.as.digits, "%s", said[i].digits);
        check_parses("order", jsgf, said[i].words, value);
        check_parses("order", NULL, said[i].digits, value);
        check_value("order", jsgf, value);
    }
    for (int n = 0; n < 20000; n += 7) {
        snprintf(value.as.digits, sizeof value.as.digits, "%0*d", n % 5 + 1, n);
        check_value("order", jsgf, value);
    }
    jsgf_free(jsgf);
}

/* ---- lengths ------------------------------------------------------------------------------ */

static struct language_value length_of(int64_t num, int64_t den, enum measure_unit unit)
{
    struct language_value value = {.type = LANGUAGE_DISTANCE};
    value.as.length = measure_length_of(num, den, unit);
    return value;
}

static const struct {
    int den;
    const char *one, *many, *article;
} parts[] = {
    {2, "half", "halves", "a"},
    {4, "quarter", "quarters", "a"},
    {4, "fourth", "fourths", "a"},
    {8, "eighth", "eighths", "an"},
    {16, "sixteenth", "sixteenths", "a"},
    {32, "thirty second", "thirty seconds", "a"},
    {64, "sixty fourth", "sixty fourths", "a"},
};

static void every_64th_to_six_inches(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("distance");
    for (int n = 0; n <= 6 * 64; n++)
        check_value("distance", jsgf, length_of(n, 64, MEASURE_INCH));
    jsgf_free(jsgf);
}

/* Every numerator below the denominator, alone and after a whole number, with each unit wording. */
static void fractions_as_they_are_said(void **state)
{
    (void)state;
    static const char *const units[] = {"", " inch", " inches", " of an inch"};
    struct jsgf *jsgf = load("distance");
    char number[64], whole[64], words[192];
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        int den = parts[i].den;
        for (int n = 0; n < 6 * den; n++) {
            if (n % den == 0)
                continue;
            spell(n % den, "", number, sizeof number);
            spell(n / den, "", whole, sizeof whole);
            for (size_t u = 0; u < 4; u++) {
                snprintf(words, sizeof words, "%s%s%s %s%s", n < den ? "" : whole,
                         n < den ? "" : " and ", number,
                         n % den == 1 ? parts[i].one : parts[i].many, units[u]);
                check_parses("distance", jsgf, words, length_of(n, den, MEASURE_INCH));
            }
            if (n % den != 1)
                continue;
            snprintf(words, sizeof words, "%s%s%s %s", n < den ? "" : whole, n < den ? "" : " and ",
                     parts[i].article, parts[i].one);
            check_parses("distance", jsgf, words, length_of(n, den, MEASURE_INCH));
        }
    }
    jsgf_free(jsgf);
}

static void thousandths_to_999(void **state)
{
    (void)state;
    static const char *const units[] = {"thou", "thousandths", "thousandths of an inch"};
    struct jsgf *jsgf = load("distance");
    char number[64], words[192];
    for (int n = 0; n <= 999; n++) {
        struct language_value value = length_of(n, 1, MEASURE_THOU);
        check_value("distance", jsgf, value);
        for (size_t u = 0; u < 3; u++) {
            spell(n, u == 1 ? "and " : "", number, sizeof number);
            snprintf(words, sizeof words, "%s %s", number, units[u]);
            check_parses("distance", jsgf, words, value);
            spell_digits(n, u == 1 ? "oh" : "zero", number, sizeof number);
            snprintf(words, sizeof words, "%s %s", number, units[u]);
            check_parses("distance", n == 0 ? NULL : jsgf, words, value);
        }
        snprintf(words, sizeof words, "%d thou", n);
        check_parses("distance", NULL, words, value);
    }
    jsgf_free(jsgf);
}

static void millimetres_to_150(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("distance");
    char number[64], words[192];
    for (int tenths = 0; tenths <= 1500; tenths++) {
        struct language_value value = length_of(tenths, 10, MEASURE_MM);
        check_value("distance", jsgf, value);
        spell(tenths / 10, "and ", number, sizeof number);
        char decimal[16];
        spell(tenths % 10, "", decimal, sizeof decimal);
        if (tenths < 1500) {
            snprintf(words, sizeof words, "%s point %s millimetres", number, decimal);
            check_parses("distance", jsgf, words, value);
        }
        if (tenths % 10 == 0) {
            snprintf(words, sizeof words, "%s millimetre%s", number, tenths == 10 ? "" : "s");
            check_parses("distance", jsgf, words, value);
        }
        if (tenths % 10 == 5) {
            snprintf(words, sizeof words, "%s and a half millimetres", number);
            check_parses("distance", tenths > 5 ? jsgf : NULL, words, value);
        }
        snprintf(words, sizeof words, "%d.%d mm", tenths / 10, tenths % 10);
        check_parses("distance", NULL, words, value);
    }
    for (int hundredths = 0; hundredths <= 15000; hundredths += 3)
        check_value("distance", jsgf, length_of(hundredths, 100, MEASURE_MM));
    check_parses("distance", jsgf, "half a millimetre", length_of(1, 2, MEASURE_MM));
    jsgf_free(jsgf);
}

/* "Oh" for zero is understood anywhere; listened for only around the point and in "one oh five". */
static void millimetres_digit_by_digit(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("distance");
    char whole[64], decimals[64], words[192];
    for (int hundredths = 1000; hundredths < 15000; hundredths += 7) {
        bool heard = hundredths % 2 == 0;
        const char *zero = heard ? "zero" : "oh";
        spell_digits(hundredths / 100, zero, whole, sizeof whole);
        spell_digits(100 + hundredths % 100, zero, decimals, sizeof decimals);
        snprintf(words, sizeof words, "%s %s %s millimetres", whole,
                 hundredths % 3 == 0 ? "decimal" : "point", decimals + strlen("one "));
        check_parses("distance", heard ? jsgf : NULL, words,
                     length_of(hundredths, 100, MEASURE_MM));
    }
    for (int mm = 10; mm <= 150; mm++) {
        bool heard = mm % 2 == 0;
        spell_digits(mm, heard ? "zero" : "oh", whole, sizeof whole);
        snprintf(words, sizeof words, "%s millimetres", whole);
        check_parses("distance", heard ? jsgf : NULL, words, length_of(mm, 1, MEASURE_MM));
    }
    check_parses("distance", jsgf, "oh point five millimetres", length_of(1, 2, MEASURE_MM));
    check_parses("distance", jsgf, "one oh five point oh seven millimetres",
                 length_of(10507, 100, MEASURE_MM));
    check_parses("distance", jsgf, "seven point oh millimetres", length_of(7, 1, MEASURE_MM));
    jsgf_free(jsgf);
}

static void decimal_inches(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("distance");
    char whole[32], digits[96], figures[16], words[192];
    for (int n = 0; n < 60000; n += 7) {
        struct language_value value = length_of(n, 10000, MEASURE_INCH);
        check_value("distance", jsgf, value);
        spell(n / 10000, "", whole, sizeof whole);
        snprintf(figures, sizeof figures, "1%04d", n % 10000);
        spell_digits((int)strtol(figures, NULL, 10), "oh", digits, sizeof digits);
        snprintf(words, sizeof words, "%s point %s inches", whole, digits + strlen("one "));
        check_parses("distance", jsgf, words, value);
        snprintf(words, sizeof words, "%d.%04d", n / 10000, n % 10000);
        check_parses("distance", NULL, words, value);
    }
    jsgf_free(jsgf);
}

/* ---- turns -------------------------------------------------------------------------------- */

static void turns_in_every_part(void **state)
{
    (void)state;
    static const int dens[] = {2, 3, 4, 6, 8, 12, 16, 24, 32, 64};
    struct jsgf *jsgf = load("turn");
    struct language_value value = {.type = LANGUAGE_TURN};
    for (size_t i = 0; i < sizeof dens / sizeof dens[0]; i++) {
        for (int n = 1; n <= dens[i]; n++) {
            for (int clockwise = 0; clockwise < 2; clockwise++) {
                int divisor = 1;
                for (int d = 1; d <= n; d++)
                    divisor = n % d == 0 && dens[i] % d == 0 ? d : divisor;
                value.as.turn = (struct language_turn){.numerator = n / divisor,
                                                       .denominator = dens[i] / divisor,
                                                       .clockwise = clockwise};
                check_value("turn", jsgf, value);
                char words[96];
                snprintf(words, sizeof words, "%d/%d of a turn %s", n, dens[i],
                         clockwise ? "clockwise" : "counter-clockwise");
                check_parses("turn", NULL, words, value);
            }
        }
    }
    value.as.turn = (struct language_turn){.as_told = true};
    check_value("turn", jsgf, value);
    value.as.turn = (struct language_turn){.not_turned = true};
    check_value("turn", jsgf, value);
    jsgf_free(jsgf);
}

/* ---- amounts ------------------------------------------------------------------------------ */

static struct language_value amount_of(int64_t num, int64_t den, enum language_unit unit)
{
    int64_t divisor = 1;
    for (int64_t d = 2; d <= den; d++)
        divisor = num % d == 0 && den % d == 0 ? d : divisor;
    return (struct language_value){
        .type = LANGUAGE_AMOUNT,
        .as.amount = {.num = num / divisor, .den = den / divisor, .unit = unit}};
}

static void turns_out_from_contact(void **state)
{
    (void)state;
    static const int dens[] = {1, 2, 3, 4, 6, 8, 12, 16};
    struct jsgf *jsgf = load("turns");
    char words[96];
    for (size_t i = 0; i < sizeof dens / sizeof dens[0]; i++) {
        for (int n = 0; n < 10 * dens[i]; n++) {
            struct language_value value = amount_of(n, dens[i], LANGUAGE_TURNS);
            check_value("turns", jsgf, value);
            snprintf(words, sizeof words, "%d/%d turns", n, dens[i]);
            check_parses("turns", NULL, words, value);
            if (dens[i] == 8) {
                snprintf(words, sizeof words, "%d.%03d", n / 8, n % 8 * 125);
                check_parses("turns", NULL, words, value);
            }
        }
    }
    check_parses("turns", jsgf, "half a turn", amount_of(1, 2, LANGUAGE_TURNS));
    check_parses("turns", jsgf, "one and a half turns", amount_of(3, 2, LANGUAGE_TURNS));
    check_parses("turns", jsgf, "three quarters of a turn", amount_of(3, 4, LANGUAGE_TURNS));
    check_parses("turns", jsgf, "two full turns", amount_of(2, 1, LANGUAGE_TURNS));
    jsgf_free(jsgf);
}

static void volumes(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("volume");
    char number[96], words[192];
    for (int n = 0; n <= 4999; n++) {
        struct language_value value = amount_of(n, 1, LANGUAGE_MILLILITRES);
        check_value("volume", jsgf, value);
        snprintf(words, sizeof words, "%d ml", n);
        check_parses("volume", NULL, words, value);
    }
    for (int tenths = 0; tenths < 1000; tenths++) {
        struct language_value value = amount_of(tenths, 10, LANGUAGE_FLUID_OUNCES);
        check_value("volume", jsgf, value);
        spell(tenths / 10, "", number, sizeof number);
        if (tenths % 10 == 5 && tenths > 10) {
            snprintf(words, sizeof words, "%s and a half fluid ounces", number);
            check_parses("volume", jsgf, words, value);
        }
    }
    check_parses("volume", jsgf, "nine five zero millilitres",
                 amount_of(950, 1, LANGUAGE_MILLILITRES));
    check_parses("volume", jsgf, "one two oh oh millilitres",
                 amount_of(1200, 1, LANGUAGE_MILLILITRES));
    check_parses("volume", jsgf, "three two point five fluid ounces",
                 amount_of(65, 2, LANGUAGE_FLUID_OUNCES));
    check_parses("volume", jsgf, "one thousand and fifty millilitres",
                 amount_of(1050, 1, LANGUAGE_MILLILITRES));
    /* 231 cubic inches of 25.4 mm to the gallon, 128 ounces to the gallon (NIST Handbook 44,
     * appendix C) */
    struct language_amount ounces = {.num = 32, .den = 1, .unit = LANGUAGE_FLUID_OUNCES};
    double ml = language_amount_value(ounces);
    double expected = 32 * 231 * 25.4 * 25.4 * 25.4 / 128 / 1000;
    assert_true(ml - expected < 1e-9 && expected - ml < 1e-9);
    language_amount_words(32.04, LANGUAGE_FLUID_OUNCES, words, sizeof words);
    assert_string_equal(words, "thirty two fluid ounces");
    language_amount_words(1.49, LANGUAGE_TURNS, words, sizeof words);
    assert_string_equal(words, "one and a half turns");
    language_amount_words(946.35, LANGUAGE_MILLILITRES, words, sizeof words);
    assert_string_equal(words, "nine hundred forty six millilitres");
    jsgf_free(jsgf);
}

static void ratios(void **state)
{
    (void)state;
    struct jsgf *jsgf = load("ratio");
    char words[96];
    for (int n = 0; n < 10000; n++) {
        struct language_value value = amount_of(n, 100, LANGUAGE_RATIO);
        check_value("ratio", jsgf, value);
        snprintf(words, sizeof words, "%d.%02d", n / 100, n % 100);
        check_parses("ratio", NULL, words, value);
    }
    check_parses("ratio", jsgf, "one point five", amount_of(3, 2, LANGUAGE_RATIO));
    check_parses("ratio", jsgf, "one point oh five", amount_of(105, 100, LANGUAGE_RATIO));
    check_parses("ratio", jsgf, "one decimal five", amount_of(3, 2, LANGUAGE_RATIO));
    check_parses("ratio", jsgf, "one one point five", amount_of(23, 2, LANGUAGE_RATIO));
    assert_false(jsgf_accepts(jsgf, "one five")); /* a point not heard: one point five */
    check_parses("ratio", jsgf, "point eight", amount_of(4, 5, LANGUAGE_RATIO));
    check_parses("ratio", jsgf, "two", amount_of(2, 1, LANGUAGE_RATIO));
    jsgf_free(jsgf);
}

static void torques(void **state)
{
    (void)state;
    static const struct {
        const char *typed;
        enum language_unit unit;
        double nm; /* of ten of them */
    } units[] = {
        {"Nm", LANGUAGE_NEWTON_METRES, 10},
        /* NIST SP 811, appendix B.8: 1 lbf ft is 1.355 818 N m, 1 lbf in 0.112 984 8 N m */
        {"ft-lb", LANGUAGE_FOOT_POUNDS, 13.55818},
        {"in-lb", LANGUAGE_INCH_POUNDS, 1.129848},
    };
    struct jsgf *jsgf = load("torque");
    char words[96];
    for (size_t u = 0; u < sizeof units / sizeof units[0]; u++) {
        for (int n = 0; n < 10000; n += n < 1200 ? 1 : 7) {
            struct language_value value = amount_of(n, 10, units[u].unit);
            check_value("torque", jsgf, value);
            snprintf(words, sizeof words, "%d.%d %s", n / 10, n % 10, units[u].typed);
            check_parses("torque", NULL, words, value);
        }
        struct language_amount ten = {.num = 10, .den = 1, .unit = units[u].unit};
        double off = language_amount_value(ten) / units[u].nm - 1;
        assert_true(off < 1e-6 && off > -1e-6);
    }
    check_parses("torque", jsgf, "two four point five newton metres",
                 amount_of(49, 2, LANGUAGE_NEWTON_METRES));
    check_parses("torque", jsgf, "one oh eight inch pounds",
                 amount_of(108, 1, LANGUAGE_INCH_POUNDS));
    check_parses("torque", jsgf, "a hundred and sixty inch pounds",
                 amount_of(160, 1, LANGUAGE_INCH_POUNDS));
    check_parses("torque", jsgf, "sixteen point three newton metres",
                 amount_of(163, 10, LANGUAGE_NEWTON_METRES));
    jsgf_free(jsgf);
}

static void speeds_and_counts(void **state)
{
    (void)state;
    struct jsgf *rpm = load("rpm"), *count = load("count");
    for (int n = 0; n <= 9999; n++)
        check_value("rpm", rpm, number_of(n));
    for (int n = 1; n <= 32; n++)
        check_value("count", count, number_of(n));
    check_parses("rpm", rpm, "nine five oh", number_of(950));
    check_parses("rpm", rpm, "one thousand and fifty", number_of(1050));
    jsgf_free(rpm);
    jsgf_free(count);
}

static void amounts_out_of_sense(void **state)
{
    (void)state;
    static const struct {
        const char *grammar, *words;
    } wrong[] = {
        {"turns", "10 turns"},   {"turns", "ten turns"},
        {"turns", "-1"},         {"turns", "1/0"},
        {"turns", "1/5 turns"},  {"turns", "0.7"},
        {"volume", "950"},       {"volume", "5 000 000 ml"},
        {"volume", "5000 ml"},   {"volume", "1.5 ml"},
        {"volume", "100 fl oz"}, {"volume", "1/3 oz"},
        {"rpm", "10000"},        {"rpm", "12.5"},
        {"ratio", "100"},        {"ratio", "1.125"},
        {"ratio", "-2"},         {"torque", "24"},
        {"torque", "1000 nm"},   {"torque", "24.25 nm"},
        {"count", "0"},          {"count", "33"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct language_value value;
        char why[LANGUAGE_WHY];
        enum language_outcome outcome =
            language_parse(wrong[i].grammar, wrong[i].words, &value, why);
        if (outcome == LANGUAGE_OK)
            fail_msg("%s takes '%s'", wrong[i].grammar, wrong[i].words);
        assert_int_equal(why[strlen(why) - 1], '.');
    }
}

/* ---- everything that is picked from a list ------------------------------------------------ */

static void check_commands(const char *name, const struct jsgf *jsgf)
{
    for (int command = 0; command < LANGUAGE_COMMAND_COUNT; command++) {
        struct language_value value = {.type = LANGUAGE_COMMAND,
                                       .as.command = (enum language_command)command};
        if (command != LANGUAGE_LISTEN)
            check_value(name, jsgf, value);
    }
    /* nobody listens when it is wanted */
    struct language_value listen = {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_LISTEN};
    check_parses(name, NULL, "use the microphone", listen);
    assert_false(jsgf_accepts(jsgf, "use the microphone"));
    check_value(name, jsgf, (struct language_value){.type = LANGUAGE_DONT_KNOW});
    check_value(name, jsgf, (struct language_value){.type = LANGUAGE_SKIP});
}

static void check_picks(const char *name, enum language_type type, const struct jsgf *jsgf)
{
    struct language_value value = {.type = type};
    size_t n = language_choice_count(name);
    assert_int_equal(n > 0, type == LANGUAGE_CHOICE || type == LANGUAGE_CHOICES);
    for (size_t i = 0; i < n && type == LANGUAGE_CHOICE; i++) {
        value.as.choice = (int)i;
        check_value(name, jsgf, value);
        check_parses(name, jsgf, language_choice_words(name, (int)i), value);
    }
    for (unsigned bits = 0; bits < 1u << n && type == LANGUAGE_CHOICES; bits++) {
        value.as.choices = bits;
        check_value(name, jsgf, value);
    }
    assert_null(language_choice_words(name, (int)n));
    assert_null(language_choice_words(name, -1));
}

static void choices_phrases_and_commands(void **state)
{
    (void)state;
    for (size_t i = 0; i < language_grammar_count(); i++) {
        const char *name = language_grammar_name(i);
        enum language_type type;
        struct jsgf *jsgf = load(name);
        assert_true(language_grammar_type(name, &type));
        check_commands(name, jsgf);
        check_picks(name, type, jsgf);
        jsgf_free(jsgf);
    }
    struct jsgf *jsgf = load("caution");
    struct language_value value = {.type = LANGUAGE_PHRASE};
    for (int phrase = 0; phrase < LANGUAGE_PHRASE_COUNT; phrase++) {
        value.as.phrase = (enum language_phrase)phrase;
        check_value("caution", jsgf, value);
        check_parses("caution", jsgf, language_phrase_words(value.as.phrase), value);
    }
    jsgf_free(jsgf);
    jsgf = load("yesno");
    for (int yes = 0; yes < 2; yes++)
        check_value("yesno", jsgf,
                    (struct language_value){.type = LANGUAGE_YESNO, .as.yes = yes != 0});
    jsgf_free(jsgf);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_from_0_to_999),
        cmocka_unit_test(odometers_to_999999),
        cmocka_unit_test(items_of_a_list),
        cmocka_unit_test(work_orders),
        cmocka_unit_test(every_64th_to_six_inches),
        cmocka_unit_test(fractions_as_they_are_said),
        cmocka_unit_test(thousandths_to_999),
        cmocka_unit_test(millimetres_to_150),
        cmocka_unit_test(millimetres_digit_by_digit),
        cmocka_unit_test(decimal_inches),
        cmocka_unit_test(turns_in_every_part),
        cmocka_unit_test(turns_out_from_contact),
        cmocka_unit_test(volumes),
        cmocka_unit_test(ratios),
        cmocka_unit_test(torques),
        cmocka_unit_test(speeds_and_counts),
        cmocka_unit_test(amounts_out_of_sense),
        cmocka_unit_test(choices_phrases_and_commands),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
