/* What sentences mean, typed figures, what is refused and why, read-back, comparing. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "language/language.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static struct language_value parsed(const char *grammar, const char *words)
{
    struct language_value value;
    char why[LANGUAGE_WHY] = "";
    if (language_parse(grammar, words, &value, why) != LANGUAGE_OK)
        fail_msg("%s: '%s': %s", grammar, words, why);
    return value;
}

/* The sentence for the person must be one: it is spoken. */
static void check_refused(const char *grammar, const char *words, enum language_outcome expected,
                          const char *says)
{
    struct language_value value;
    char why[LANGUAGE_WHY] = "";
    enum language_outcome outcome = language_parse(grammar, words, &value, why);
    if (outcome != expected)
        fail_msg("%s: '%s' is %d: %s", grammar, words, outcome, why);
    if (strstr(why, says) == NULL)
        fail_msg("%s: '%s' says '%s'", grammar, words, why);
    assert_true(why[strlen(why) - 1] == '.');
}

/* ---- lengths ------------------------------------------------------------------------------ */

/* Decimal equivalents from the handbooks' table of inch fractions; 1 in = 25.4 mm exactly (NIST
 * SP 811, B.6), so 1/64 in is 0.396875 mm. */
static void typed_and_spoken_lengths(void **state)
{
    (void)state;
    static const struct {
        const char *words;
        int64_t num, den;
        enum measure_unit unit;
        double mm;
    } cases[] = {
        {"5/16", 5, 16, MEASURE_INCH, 7.9375},
        {"5/16 in", 5, 16, MEASURE_INCH, 7.9375},
        {"5/16\"", 5, 16, MEASURE_INCH, 7.9375},
        {"5 / 16 inch", 5, 16, MEASURE_INCH, 7.9375},
        {"1-5/16", 21, 16, MEASURE_INCH, 33.3375},
        {"1+5/16", 21, 16, MEASURE_INCH, 33.3375},
        {"1 5/16 in.", 21, 16, MEASURE_INCH, 33.3375},
        {"1 - 5/16", 21, 16, MEASURE_INCH, 33.3375},
        {"1 and 5/16 inches", 21, 16, MEASURE_INCH, 33.3375},
        {"21/16", 21, 16, MEASURE_INCH, 33.3375},
        {"One and five-sixteenths of an inch", 21, 16, MEASURE_INCH, 33.3375},
        {"5 sixteenths", 5, 16, MEASURE_INCH, 7.9375},
        {"1/64", 1, 64, MEASURE_INCH, 0.396875},
        {"a sixty-fourth of an inch", 1, 64, MEASURE_INCH, 0.396875},
        {"half an inch", 1, 2, MEASURE_INCH, 12.7},
        {"a half inch", 1, 2, MEASURE_INCH, 12.7},
        {"three fourths", 3, 4, MEASURE_INCH, 19.05},
        {".31", 31, 100, MEASURE_INCH, 7.874},
        {"0.31 in", 31, 100, MEASURE_INCH, 7.874},
        {"0.3125in", 5, 16, MEASURE_INCH, 7.9375},
        {"point one eight seven", 187, 1000, MEASURE_INCH, 4.7498},
        {"zero point three one inches", 31, 100, MEASURE_INCH, 7.874},
        {"oh point oh oh five", 1, 200, MEASURE_INCH, 0.127},
        {"310 thou", 310, 1, MEASURE_THOU, 7.874},
        {"310thou", 310, 1, MEASURE_THOU, 7.874},
        {"three hundred and ten thousandths", 310, 1, MEASURE_THOU, 7.874},
        {"three one zero thou", 310, 1, MEASURE_THOU, 7.874},
        {"ninety thousandths of an inch", 90, 1, MEASURE_THOU, 2.286},
        {"7.9 mm", 79, 10, MEASURE_MM, 7.9},
        {"7.9MM", 79, 10, MEASURE_MM, 7.9},
        {"7.90 millimeters", 79, 10, MEASURE_MM, 7.9},
        {"seven and a half millimetres", 15, 2, MEASURE_MM, 7.5},
        {"half a millimetre", 1, 2, MEASURE_MM, 0.5},
        {"a hundred and fifty millimetres", 150, 1, MEASURE_MM, 150},
        {"one hundred and a half millimetres", 201, 2, MEASURE_MM, 100.5},
        {"one one point four millimetres", 57, 5, MEASURE_MM, 11.4},
        {"one one decimal four millimetres", 57, 5, MEASURE_MM, 11.4},
        {"one niner point niner millimetres", 199, 10, MEASURE_MM, 19.9},
        {"niner millimetres", 9, 1, MEASURE_MM, 9},
        {"point three niner inches", 39, 100, MEASURE_INCH, 9.906},
        {"one eight millimetres", 18, 1, MEASURE_MM, 18},
        {"two oh point two five millimetres", 81, 4, MEASURE_MM, 20.25},
        {"oh point five millimetres", 1, 2, MEASURE_MM, 0.5},
        {"zero point five millimetres", 1, 2, MEASURE_MM, 0.5},
        {"decimal five millimetres", 1, 2, MEASURE_MM, 0.5},
        {"one two seven point five millimetres", 255, 2, MEASURE_MM, 127.5},
        {"one five zero millimetres", 150, 1, MEASURE_MM, 150},
        {"decimal three one", 31, 100, MEASURE_INCH, 7.874},
        {"6 inches", 6, 1, MEASURE_INCH, 152.4},
        {"zero millimetres", 0, 1, MEASURE_MM, 0},
        {"0", 0, 1, MEASURE_INCH, 0},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct language_value value = parsed("distance", cases[i].words);
        assert_int_equal(value.type, LANGUAGE_DISTANCE);
        if (value.as.length.num != cases[i].num || value.as.length.den != cases[i].den ||
            value.as.length.unit != cases[i].unit)
            fail_msg("'%s' is %lld/%lld in unit %d", cases[i].words, (long long)value.as.length.num,
                     (long long)value.as.length.den, (int)value.as.length.unit);
        assert_true(fabs(measure_length_mm(value.as.length) - cases[i].mm) < 1e-12);
    }
}

static void lengths_out_of_sense(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"40 inches", "40 inches is longer than anything measured here"},
        {"forty inches", "longer"},
        {"7.9", "longer"},
        {"six and one sixty fourth", "longer"},
        {"150.01 mm", "longer"},
        {"one five one millimetres", "longer"},
        {"one five zero point five millimetres", "longer"},
        {"one two three four millimetres", "longer"},
        {"one one inches", "longer"},
        {"1000 thou", "longer"},
        {"999999999/1", "longer"},
        {"999999999 999999998/999999999 in", "longer"},
        {"0/0", "zero parts"},
        {"5/0 inch", "zero parts"},
        {"1-5/0", "zero parts"},
        {"1 5/0", "zero parts"},
        {"-5 mm", "less than nothing"},
        {"- 5 mm", "less than nothing"},
        {"minus five millimetres", "less than nothing"},
        {"negative one half", "less than nothing"},
        {"-1/2", "less than nothing"},
        {"7", "Say inches, thousandths or millimetres"},
        {"seven", "Say inches, thousandths or millimetres"},
        {"seven nine", "Say inches, thousandths or millimetres"},
        {"one one point four thou", "finer than a thousandth"},
        {"one one point four zero one millimetres", "finer than a hundredth"},
        {"minus one eight millimetres", "less than nothing"},
        {"twenty fourths", "whole inch or more"},
        {"two halves", "whole inch or more"},
        {"1/3", "on no rule"},
        {"1/128", "on no rule"},
        {".00001", "on no rule"},
        {"1.5 thou", "finer than a thousandth"},
        {"7.905 mm", "finer than a hundredth"},
        {"5 mils", "Mils are thousandths to some"},
        {"five mil", "Mils are thousandths to some"},
        {"0.8 cm", "millimetres, thousandths or inches"},
    };
    for (size_t i = 0; i < COUNT(cases); i++)
        check_refused("distance", cases[i][0], LANGUAGE_OUT_OF_SENSE, cases[i][1]);
}

/* Nothing is understood by leaving part of it out. */
static void nonsense_is_no_length(void **state)
{
    (void)state;
    static const char *const cases[] = {
        "",
        "   ",
        "banana",
        "inch",
        "of an inch",
        "an inch of rain",
        "five sixteenths or so",
        "about 5/16",
        "5/16/2",
        "5//16",
        "1.2.3 mm",
        "7,9 mm",
        "7 9 mm",
        "1 1.4 mm",
        "1 1 point 4 mm",
        "oh five millimetres",
        "zero five millimetres",
        "oh one one point four millimetres",
        "one two three four five millimetres",
        "one one point millimetres",
        "one one and a half millimetres",
        "one eleven millimetres",
        "one one point point four millimetres",
        "one one point decimal four millimetres",
        "5/16 7.9 mm",
        "7-",
        "5+",
        "3-4 mm",
        "seven of an inch",
        "three millimetres and",
        "one and",
        "and a half",
        "point",
        "point inch",
        "thirty second",
        "fourths",
        "one five sixteenths",
        "point twelve",
        "yes",
        "\x1b[31m5/16",
        "5/16\x01",
        "\xff\xfe",
        "5\xc2\xbd",
        "1234567890 mm",
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        check_refused("distance", cases[i], LANGUAGE_NONSENSE, "five sixteenths");
    }
}

static void lengths_in_words(void **state)
{
    (void)state;
    static const struct {
        struct measure_length length;
        const char *words;
    } cases[] = {
        {{5, 16, MEASURE_INCH}, "five sixteenths of an inch"},
        {{1, 2, MEASURE_INCH}, "half an inch"},
        {{3, 2, MEASURE_INCH}, "one and a half inches"},
        {{21, 16, MEASURE_INCH}, "one and five sixteenths inches"},
        {{1, 1, MEASURE_INCH}, "one inch"},
        {{12, 1, MEASURE_INCH}, "twelve inches"},
        {{31, 100, MEASURE_INCH}, "point three one inch"},
        {{131, 100, MEASURE_INCH}, "one point three one inches"},
        {{310, 1, MEASURE_THOU}, "three hundred ten thousandths"},
        {{1, 1, MEASURE_THOU}, "one thousandth"},
        {{79, 10, MEASURE_MM}, "seven point nine millimetres"},
        {{1, 2, MEASURE_MM}, "zero point five millimetres"},
        {{1, 1, MEASURE_MM}, "one millimetre"},
        /* not among the answers, but the tool may have to say them */
        {{1, 3, MEASURE_INCH}, "about point three three three inch"},
        {{-1, 4, MEASURE_INCH}, "minus one quarter of an inch"},
        {{1, 3, MEASURE_MM}, "about zero point three three millimetres"},
        {{31, 2, MEASURE_THOU}, "fifteen point five thousandths"},
        {{5, 0, MEASURE_MM}, "about 0 millimetres"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        char words[LANGUAGE_WORDS];
        language_length_words(cases[i].length, words, sizeof words);
        assert_string_equal(words, cases[i].words);
    }
    char words[LANGUAGE_WORDS];
    struct measure_length hard[] = {
        {INT64_MAX, 1, MEASURE_MM},
        {INT64_MIN, 1, MEASURE_INCH},
        {INT64_MIN, INT64_MAX, MEASURE_MM},
        {1, INT64_MIN, MEASURE_THOU},
        {INT64_MIN, -1, MEASURE_INCH},
        {INT64_MAX, INT64_MAX - 1, MEASURE_INCH},
        {-7, -3, MEASURE_MM},
        {7, 0, MEASURE_INCH},
    };
    for (size_t i = 0; i < COUNT(hard); i++) {
        struct language_value value = {.type = LANGUAGE_DISTANCE, .as.length = hard[i]};
        language_length_words(hard[i], words, sizeof words);
        assert_true(words[0] != '\0');
        assert_false(language_say("distance", &value, words, sizeof words));
        assert_string_equal(words, "");
    }
}

/* ---- turns -------------------------------------------------------------------------------- */

static void turns(void **state)
{
    (void)state;
    static const struct {
        const char *words;
        int numerator, denominator;
        bool clockwise;
    } cases[] = {
        {"1/16 clockwise", 1, 16, true},
        {"1/16 cw", 1, 16, true},
        {"1/16 turn ccw", 1, 16, false},
        {"2/32 of a turn counterclockwise", 1, 16, false},
        {"3/32 turn counter-clockwise", 3, 32, false},
        {"an eighth of a turn, clockwise.", 1, 8, true},
        {"a quarter turn clockwise", 1, 4, true},
        {"half a turn anticlockwise", 1, 2, false},
        {"one turn clockwise", 1, 1, true},
        {"a full turn clockwise", 1, 1, true},
        {"three thirty seconds of a turn counter clockwise", 3, 32, false},
        {"five twelfths of a turn anti clockwise", 5, 12, false},
        {"one twenty fourth of a turn clockwise", 1, 24, true},
        {".125 turn clockwise", 1, 8, true},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct language_turn turn = parsed("turn", cases[i].words).as.turn;
        assert_int_equal(turn.numerator, cases[i].numerator);
        assert_int_equal(turn.denominator, cases[i].denominator);
        assert_int_equal(turn.clockwise, cases[i].clockwise);
        assert_false(turn.as_told || turn.not_turned);
    }
    assert_true(parsed("turn", "Turned as told.").as.turn.as_told);
    assert_true(parsed("turn", "I did not turn it").as.turn.not_turned);
}

static void turns_out_of_sense(void **state)
{
    (void)state;
    check_refused("turn", "a quarter turn", LANGUAGE_OUT_OF_SENSE, "which way");
    check_refused("turn", "1/16", LANGUAGE_OUT_OF_SENSE, "which way");
    check_refused("turn", "two turns clockwise", LANGUAGE_OUT_OF_SENSE, "more than a whole turn");
    check_refused("turn", "3/2 turn clockwise", LANGUAGE_OUT_OF_SENSE, "more than a whole turn");
    check_refused("turn", "1/0 clockwise", LANGUAGE_OUT_OF_SENSE, "zero parts");
    check_refused("turn", "0/16 clockwise", LANGUAGE_OUT_OF_SENSE, "say not turned");
    check_refused("turn", "-1/16 clockwise", LANGUAGE_OUT_OF_SENSE, "less than nothing");
    check_refused("turn", "1/7 clockwise", LANGUAGE_OUT_OF_SENSE, "no part a hand can turn");
    check_refused("turn", "1 clockwise", LANGUAGE_NONSENSE, "turned as told");
    check_refused("turn", "clockwise", LANGUAGE_NONSENSE, "turned as told");
    check_refused("turn", "of a turn clockwise", LANGUAGE_NONSENSE, "turned as told");
    check_refused("turn", "counter", LANGUAGE_NONSENSE, "turned as told");
}

static void turns_in_words(void **state)
{
    (void)state;
    char words[LANGUAGE_WORDS];
    language_turn_words(1, 16, true, words, sizeof words);
    assert_string_equal(words, "one sixteenth of a turn clockwise");
    language_turn_words(2, 32, false, words, sizeof words);
    assert_string_equal(words, "one sixteenth of a turn counter clockwise");
    language_turn_words(1, 2, true, words, sizeof words);
    assert_string_equal(words, "half a turn clockwise");
    language_turn_words(1, 7, true, words, sizeof words);
    assert_string_equal(words, "1 over 7 of a turn clockwise");
}

/* ---- numbers and work orders -------------------------------------------------------------- */

static void numbers(void **state)
{
    (void)state;
    assert_int_equal(parsed("odometer", "23,412").as.number, 23412);
    assert_int_equal(parsed("odometer", "twenty-three thousand four hundred and twelve").as.number,
                     23412);
    assert_int_equal(parsed("odometer", "a hundred thousand and five").as.number, 100005);
    assert_int_equal(parsed("odometer", "two three four one two").as.number, 23412);
    assert_int_equal(parsed("item", "number seven").as.number, 7);
    assert_int_equal(parsed("item", "3").as.number, 3);
    check_refused("number", "1000", LANGUAGE_OUT_OF_SENSE, "zero to 999");
    check_refused("number", "minus five", LANGUAGE_OUT_OF_SENSE, "zero to 999");
    check_refused("number", "2.5", LANGUAGE_OUT_OF_SENSE, "zero to 999");
    check_refused("item", "ten", LANGUAGE_OUT_OF_SENSE, "one to nine");
    check_refused("item", "0", LANGUAGE_OUT_OF_SENSE, "one to nine");
    check_refused("number", "12 monkeys", LANGUAGE_NONSENSE, "zero to 999");
    check_refused("odometer", "thousand", LANGUAGE_NONSENSE, "999999");
    char words[LANGUAGE_WORDS];
    language_number_words(23412, words, sizeof words);
    assert_string_equal(words, "twenty three thousand four hundred twelve");
    language_number_words(1000000, words, sizeof words);
    assert_string_equal(words, "1000000");
    language_number_words(INT64_MIN, words, sizeof words);
    assert_string_equal(words, "-9223372036854775808");
}

static void typed_work_orders(void **state)
{
    (void)state;
    assert_string_equal(parsed("order", "A-4712").as.digits, "A-4712");
    assert_string_equal(parsed("order", "  4712 \r\n").as.digits, "4712");
    assert_string_equal(parsed("order", "forty seven twelve").as.digits, "4712");
    assert_string_equal(parsed("order", "47 12").as.digits, "4712");
    assert_string_equal(parsed("order", "<b>1</b>").as.digits, "<b>1</b>");
    assert_string_equal(parsed("order", "123456789012345").as.digits, "123456789012345");
    assert_int_equal(parsed("order", "stop").type, LANGUAGE_COMMAND);
    assert_string_equal(parsed("order", "x234567890123456789012345678901").as.digits,
                        "x234567890123456789012345678901");
    check_refused("order", "x2345678901234567890123456789012", LANGUAGE_OUT_OF_SENSE, "31");
    check_refused("order", "one two three four five six seven eight nine zero one",
                  LANGUAGE_OUT_OF_SENSE, "ten digits");
    check_refused("order", "A\x1b[2J4712", LANGUAGE_NONSENSE, "digit by digit");
    check_refused("order", "A-4712\x7f", LANGUAGE_NONSENSE, "digit by digit");
    check_refused("order", "na\xc3\xafve", LANGUAGE_NONSENSE, "digit by digit");
    check_refused("order", "A 4712", LANGUAGE_NONSENSE, "digit by digit");
    check_refused("order", "---", LANGUAGE_NONSENSE, "digit by digit");
    struct language_value value = {.type = LANGUAGE_DIGITS};
    char words[LANGUAGE_WORDS];
    strcpy(value.as.digits, "A-4712");
    assert_true(language_say("order", &value, words, sizeof words));
    assert_string_equal(words, "A-4712");
    strcpy(value.as.digits, "help");
    assert_false(language_say("order", &value, words, sizeof words));
    strcpy(value.as.digits, "");
    assert_false(language_say("order", &value, words, sizeof words));
    memset(value.as.digits, '7', sizeof value.as.digits);
    assert_false(language_say("order", &value, words, sizeof words));
}

/* ---- picks, commands ---------------------------------------------------------------------- */

static void picks(void **state)
{
    (void)state;
    assert_true(parsed("yesno", "Y").as.yes);
    assert_true(parsed("yesno", "Affirmative!").as.yes);
    assert_false(parsed("yesno", "no, it isn't").as.yes);
    assert_int_equal(parsed("complaint", "It's hard to find").as.choice, 0);
    assert_int_equal(parsed("hook", "I can't see it").as.choice, 3);
    assert_int_equal(parsed("service", "nothing").as.choices, 0);
    assert_int_equal(parsed("service", "the clutch and the fluid").as.choices, 3);
    assert_int_equal(parsed("service", "fluid, clutch and linkage").as.choices, 7);
    assert_int_equal(parsed("service", "everything").as.choices, 7);
    assert_int_equal(parsed("service", "linkage").as.choices, 4);
    check_refused("service", "fluid and fluid", LANGUAGE_NONSENSE, "fluid, clutch or linkage");
    check_refused("service", "fluid and", LANGUAGE_NONSENSE, "or nothing");
    check_refused("service", "and", LANGUAGE_NONSENSE, "or nothing");
    check_refused("complaint", "hot", LANGUAGE_NONSENSE, "hard to find, false neutral or both");
    check_refused("caution", "yes", LANGUAGE_NONSENSE, "whole phrase");
    check_refused("caution", "tight", LANGUAGE_NONSENSE, "whole phrase");
    check_refused("caution", "the lock nut", LANGUAGE_NONSENSE, "whole phrase");
    check_refused("yesno", "yes no", LANGUAGE_NONSENSE, "yes or no");
    check_refused("no such grammar", "yes", LANGUAGE_NONSENSE, "no grammar");
    check_refused("yesno", NULL, LANGUAGE_NONSENSE, "yes or no");
}

static void commands_work_in_every_grammar(void **state)
{
    (void)state;
    static const struct {
        const char *words;
        enum language_type type;
        enum language_command command;
    } cases[] = {
        {"Say again.", LANGUAGE_COMMAND, LANGUAGE_SAY_AGAIN},
        {"repeat that", LANGUAGE_COMMAND, LANGUAGE_SAY_AGAIN},
        {"go back", LANGUAGE_COMMAND, LANGUAGE_GO_BACK},
        {"that's wrong", LANGUAGE_COMMAND, LANGUAGE_WRONG},
        {"correction", LANGUAGE_COMMAND, LANGUAGE_WRONG},
        {"STOP!", LANGUAGE_COMMAND, LANGUAGE_STOP},
        {"stop stop", LANGUAGE_COMMAND, LANGUAGE_STOP},
        {"why do you ask?", LANGUAGE_COMMAND, LANGUAGE_HELP},
        {"where are we", LANGUAGE_COMMAND, LANGUAGE_WHERE_ARE_WE},
        {"use the keypad", LANGUAGE_COMMAND, LANGUAGE_KEYPAD},
        {"louder", LANGUAGE_COMMAND, LANGUAGE_LOUDER},
        {"speak quieter", LANGUAGE_COMMAND, LANGUAGE_QUIETER},
        {"softer", LANGUAGE_COMMAND, LANGUAGE_QUIETER},
        {"faster", LANGUAGE_COMMAND, LANGUAGE_FASTER},
        {"speak slower", LANGUAGE_COMMAND, LANGUAGE_SLOWER},
        {"use the microphone", LANGUAGE_COMMAND, LANGUAGE_LISTEN},
        {"microphone", LANGUAGE_COMMAND, LANGUAGE_LISTEN},
        {"I don't know", LANGUAGE_DONT_KNOW, 0},
        {"I don\xe2\x80\x99t know", LANGUAGE_DONT_KNOW, 0},
        {"dont know", LANGUAGE_DONT_KNOW, 0},
        {"skip it", LANGUAGE_SKIP, 0},
    };
    for (size_t g = 0; g < language_grammar_count(); g++) {
        for (size_t i = 0; i < COUNT(cases); i++) {
            struct language_value value = parsed(language_grammar_name(g), cases[i].words);
            assert_int_equal(value.type, cases[i].type);
            if (value.type == LANGUAGE_COMMAND)
                assert_int_equal(value.as.command, cases[i].command);
        }
    }
}

/* ---- read-back, comparing, the registry --------------------------------------------------- */

static void teens_and_tens_are_read_back_digit_by_digit(void **state)
{
    (void)state;
    static const char *const cases[][3] = {
        {"distance", "forty thou", "forty thousandths, four zero"},
        {"distance", "fourteen thou", "fourteen thousandths, one four"},
        {"distance", "42 thou", "forty two thousandths"},
        {"distance", "fifteen point five millimetres",
         "fifteen point five millimetres, one five point five"},
        {"distance", "7.9 mm", "seven point nine millimetres"},
        {"distance", "five sixteenths", "five sixteenths of an inch, five over one six"},
        {"distance", "five sixty fourths", "five sixty fourths of an inch, five over six four"},
        {"distance", "1-13/32",
         "one and thirteen thirty seconds inches, one and one three over three two"},
        {"distance", "7/8", "seven eighths of an inch"},
        {"turn", "1/16 cw", "one sixteenth of a turn clockwise, one over one six"},
        {"turn", "1/8 ccw", "one eighth of a turn counter clockwise"},
        {"number", "30", "thirty, three zero"},
        {"number", "613", "six hundred thirteen, six one three"},
        {"number", "647", "six hundred forty seven"},
        {"odometer", "14200", "fourteen thousand two hundred, one four two zero zero"},
        {"order", "4712", "four seven one two"},
        {"order", "A-4712", "A dash four seven one two"},
        {"yesno", "y", "yes"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        char words[LANGUAGE_WORDS];
        struct language_value value = parsed(cases[i][0], cases[i][1]);
        assert_true(language_read_back(cases[i][0], &value, words, sizeof words));
        assert_string_equal(words, cases[i][2]);
    }
    struct language_value value = parsed("number", "30");
    char words[LANGUAGE_WORDS];
    assert_false(language_read_back("yesno", &value, words, sizeof words));
}

static void meanings_are_compared_by_value(void **state)
{
    (void)state;
    assert_true(language_same_meaning("distance", "five sixteenths", "5/16 of an inch"));
    assert_true(language_same_meaning("distance", "ten thirty seconds", "five sixteenths"));
    assert_true(language_same_meaning("distance", "point three one", "three hundred ten thou"));
    assert_true(language_same_meaning("distance", "one inch", "25.4 mm"));
    assert_false(language_same_meaning("distance", "forty thou", "fourteen thou"));
    assert_false(language_same_meaning("distance", "one inch", "one millimetre"));
    assert_false(language_same_meaning("distance", "banana", "banana"));
    assert_true(language_same_meaning("yesno", "affirmative", "yes it is"));
    assert_true(language_is_command("Go back.") && language_is_command("skip this one"));
    assert_true(language_is_command("i don't know"));
    assert_false(language_is_command("affirmative") || language_is_command(""));
    assert_false(language_same_meaning("yesno", "yes", "no"));
    assert_false(language_same_meaning("yesno", "yes", "stop"));
    assert_true(language_same_meaning("turn", "2/32 cw", "a sixteenth turn clockwise"));
    assert_false(language_same_meaning("turn", "1/16 cw", "1/16 ccw"));
    assert_true(language_same_meaning("order", "oh seven", "zero seven"));
    assert_false(language_same_meaning("order", "seven", "zero seven"));
    assert_true(language_same_meaning("service", "everything", "linkage clutch and fluid"));
}

static void the_registry(void **state)
{
    (void)state;
    enum language_type type;
    for (size_t i = 1; i < language_grammar_count(); i++)
        assert_true(strcmp(language_grammar_name(i - 1), language_grammar_name(i)) < 0);
    assert_null(language_grammar_name(language_grammar_count()));
    assert_false(language_grammar_type("nothing", &type));
    assert_true(language_grammar_type("distance", &type));
    assert_int_equal(type, LANGUAGE_DISTANCE);
    assert_int_equal(language_choice_count("hook"), 4);
    assert_int_equal(language_choice_count("service"), 3);
    assert_int_equal(language_choice_count("distance"), 0);
    assert_string_equal(language_choice_words("complaint", 0), "hard to find");
    assert_string_equal(language_choice_words("service", 2), "linkage");
    assert_string_equal(language_command_words(LANGUAGE_WRONG), "that is wrong");
    assert_string_equal(language_phrase_words(LANGUAGE_NOT_YET), "not yet");
    assert_null(language_phrase_words(LANGUAGE_PHRASE_COUNT));
    assert_null(language_command_words((enum language_command)99));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(typed_and_spoken_lengths),
        cmocka_unit_test(lengths_out_of_sense),
        cmocka_unit_test(nonsense_is_no_length),
        cmocka_unit_test(lengths_in_words),
        cmocka_unit_test(turns),
        cmocka_unit_test(turns_out_of_sense),
        cmocka_unit_test(turns_in_words),
        cmocka_unit_test(numbers),
        cmocka_unit_test(typed_work_orders),
        cmocka_unit_test(picks),
        cmocka_unit_test(commands_work_in_every_grammar),
        cmocka_unit_test(teens_and_tens_are_read_back_digit_by_digit),
        cmocka_unit_test(meanings_are_compared_by_value),
        cmocka_unit_test(the_registry),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
