/* Entries of the pad: what each means, that every value can be keyed in, that a bad one says which
 * keys there are. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "keypad/keypad.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static void check_words(const char *grammar, const char *entry, const char *expected)
{
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    if (keypad_entry(grammar, entry, words, why) != KEYPAD_WORDS)
        fail_msg("%s: '%s' is bad: %s", grammar, entry, why);
    assert_string_equal(words, expected);
    assert_string_equal(why, "");
}

static void check_bad(const char *grammar, const char *entry, const char *says)
{
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    if (keypad_entry(grammar, entry, words, why) != KEYPAD_BAD)
        fail_msg("%s: '%s' is taken as '%s'", grammar, entry, words);
    if (strstr(why, says) == NULL || why[strlen(why) - 1] != '.')
        fail_msg("%s: '%s' says '%s'", grammar, entry, why);
}

static void check_value(const char *grammar, const char *entry, struct language_value expected)
{
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    struct language_value value;
    if (keypad_entry(grammar, entry, words, why) != KEYPAD_WORDS)
        fail_msg("%s: '%s' is bad: %s", grammar, entry, why);
    assert_int_equal(language_parse(grammar, words, &value, NULL), LANGUAGE_OK);
    if (!language_equal(&value, &expected))
        fail_msg("%s: '%s' is taken as '%s'", grammar, entry, words);
}

static void the_header_s_table(void **state)
{
    (void)state;
    check_words("distance", "5/16", "five sixteenths of an inch");
    check_words("distance", "1+5/16", "one and five sixteenths inches");
    check_words("distance", ".31", "point three one inch");
    check_words("distance", "1.0", "one inch");
    check_words("distance", "310-", "three hundred ten thousandths");
    check_words("distance", "7.9*", "seven point nine millimetres");
    check_words("distance", "0", "zero inches");
    check_words("distance", "0*", "zero millimetres");
    check_words("turn", "1", "turned as told");
    check_words("turn", "0", "not turned");
    check_words("turn", "1/16+", "one sixteenth of a turn clockwise");
    check_words("turn", "1/16-", "one sixteenth of a turn counter clockwise");
    check_words("turn", "1+", "one turn clockwise");
    check_words("turns", "1/2", "half a turn");
    check_words("turns", "1+1/2", "one and a half turns");
    check_words("turns", "2", "two turns");
    check_words("volume", "950*", "nine hundred fifty millilitres");
    check_words("volume", "32-", "thirty two fluid ounces");
    check_words("ratio", "1.5", "one point five");
    check_words("ratio", "2", "two");
    check_words("torque", "24*", "twenty four newton metres");
    check_words("torque", "18.5-", "eighteen point five foot pounds");
    check_words("torque", "160+", "one hundred sixty inch pounds");
    check_words("rpm", "950", "nine hundred fifty");
    check_words("yesno", "1", "yes");
    check_words("yesno", "2", "no");
    check_words("complaint", "3", "both of them");
    check_words("service", "13", "fluid and linkage");
    check_words("service", "31", "fluid and linkage");
    check_words("service", "0", "nothing at all");
    check_words("order", "4712", "four seven one two");
    check_words("order", "0047", "zero zero four seven");
    check_words("order", "47-12", "47-12");
    check_words("odometer", "23412", "twenty three thousand four hundred twelve");
    check_words("item", "7", "seven");
    check_words("caution", "12", "the bike is upright and strapped");
    check_words("caution", "0", "not yet");
}

static void the_same_keys_work_at_every_question(void **state)
{
    (void)state;
    static const struct {
        const char *entry;
        struct language_value value;
    } keys[] = {
        {"-", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_GO_BACK}},
        {"+", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_SAY_AGAIN}},
        {"*", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_HELP}},
        {"/", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_WHERE_ARE_WE}},
        {"**", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_KEYPAD}},
        {"--", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_STOP}},
        {"++", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_EXPLAIN}},
        {"/+", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_LOUDER}},
        {"/-", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_QUIETER}},
        {".+", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_FASTER}},
        {".-", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_SLOWER}},
        {"*+", {.type = LANGUAGE_COMMAND, .as.command = LANGUAGE_LISTEN}},
        {".", {.type = LANGUAGE_DONT_KNOW}},
        {"..", {.type = LANGUAGE_SKIP}},
    };
    for (size_t g = 0; g < language_grammar_count(); g++) {
        for (size_t i = 0; i < COUNT(keys); i++)
            check_value(language_grammar_name(g), keys[i].entry, keys[i].value);
    }
}

static void slashes_clear_what_stands_before_them(void **state)
{
    (void)state;
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    assert_int_equal(keypad_entry("yesno", "", words, why), KEYPAD_EMPTY);
    assert_int_equal(keypad_entry("yesno", "//", words, why), KEYPAD_EMPTY);
    assert_int_equal(keypad_entry("distance", "5/16//", words, why), KEYPAD_EMPTY);
    check_words("distance", "5/16//3/8", "three eighths of an inch");
    check_words("distance", "1//2//3/8", "three eighths of an inch");
    check_words("distance", "5///", "where are we");
}

/* ---- every value can be keyed in ---------------------------------------------------------- */

static struct language_value length_of(int64_t num, int64_t den, enum measure_unit unit)
{
    struct language_value value = {.type = LANGUAGE_DISTANCE};
    value.as.length = measure_length_of(num, den, unit);
    return value;
}

static void every_length(void **state)
{
    (void)state;
    char entry[KEYPAD_ENTRY];
    static const int dens[] = {2, 4, 8, 16, 32, 64};
    for (size_t i = 0; i < COUNT(dens); i++) {
        for (int n = 0; n <= 6 * dens[i]; n++) {
            int whole = n / dens[i], part = n % dens[i];
            if (part == 0)
                snprintf(entry, sizeof entry, "%d.0", whole);
            else if (whole == 0)
                snprintf(entry, sizeof entry, "%d/%d", part, dens[i]);
            else
                snprintf(entry, sizeof entry, "%d+%d/%d", whole, part, dens[i]);
            check_value("distance", entry, length_of(n, dens[i], MEASURE_INCH));
        }
    }
    for (int n = 0; n <= 6000; n++) {
        snprintf(entry, sizeof entry, "%d.%03d", n / 1000, n % 1000);
        check_value("distance", entry + (n < 1000), length_of(n, 1000, MEASURE_INCH));
        check_value("distance", entry, length_of(n, 1000, MEASURE_INCH));
    }
    for (int n = 0; n <= 999; n++) {
        snprintf(entry, sizeof entry, "%d-", n);
        check_value("distance", entry, length_of(n, 1, MEASURE_THOU));
    }
    for (int n = 0; n <= 15000; n++) {
        snprintf(entry, sizeof entry, "%d.%02d*", n / 100, n % 100);
        check_value("distance", entry, length_of(n, 100, MEASURE_MM));
    }
}

static void every_turn(void **state)
{
    (void)state;
    static const int dens[] = {1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 64};
    char entry[KEYPAD_ENTRY];
    for (size_t i = 0; i < COUNT(dens); i++) {
        for (int n = 1; n <= dens[i]; n++) {
            for (int way = 0; way < 2; way++) {
                struct language_value value = {.type = LANGUAGE_TURN};
                value.as.turn = (struct language_turn){
                    .numerator = n, .denominator = dens[i], .clockwise = way == 1};
                snprintf(entry, sizeof entry, "%d/%d%c", n, dens[i], way == 1 ? '+' : '-');
                check_value("turn", entry, value);
            }
        }
    }
}

static void every_number(void **state)
{
    (void)state;
    static const struct {
        const char *grammar;
        int low, high, step;
    } ranges[] = {{"item", 1, 9, 1}, {"number", 0, 999, 1}, {"odometer", 0, 999999, 61}};
    char entry[KEYPAD_ENTRY];
    for (size_t i = 0; i < COUNT(ranges); i++) {
        for (int n = ranges[i].low; n <= ranges[i].high; n += ranges[i].step) {
            snprintf(entry, sizeof entry, "%d", n);
            check_value(ranges[i].grammar, entry,
                        (struct language_value){.type = LANGUAGE_NUMBER, .as.number = n});
        }
    }
    for (int n = 0; n < 100000; n += 37) {
        struct language_value value = {.type = LANGUAGE_DIGITS};
        snprintf(value.as.digits, sizeof value.as.digits, "%0*d", n % 10 + 1, n);
        check_value("order", value.as.digits, value);
    }
}

static void check_bits(const char *grammar, unsigned bits, size_t n)
{
    struct language_value value = {.type = LANGUAGE_CHOICES, .as.choices = bits};
    char entry[KEYPAD_ENTRY] = "";
    for (size_t i = 0; i < n; i++) {
        size_t used = strlen(entry);
        if ((bits & 1u << i) != 0)
            snprintf(entry + used, sizeof entry - used, "%zu", i + 1);
    }
    check_value(grammar, bits == 0 ? "0" : entry, value);
}

static void every_choice(void **state)
{
    (void)state;
    char entry[KEYPAD_ENTRY], above[KEYPAD_ENTRY];
    for (size_t g = 0; g < language_grammar_count(); g++) {
        const char *grammar = language_grammar_name(g);
        enum language_type type;
        size_t n = language_choice_count(grammar);
        assert_true(language_grammar_type(grammar, &type));
        for (size_t i = 0; i < n && type == LANGUAGE_CHOICE; i++) {
            snprintf(entry, sizeof entry, "%zu", i + 1);
            check_value(grammar, entry,
                        (struct language_value){.type = LANGUAGE_CHOICE, .as.choice = (int)i});
        }
        for (unsigned bits = 0; bits < 1u << n && type == LANGUAGE_CHOICES; bits++)
            check_bits(grammar, bits, n);
        if (n == 0)
            continue;
        snprintf(above, sizeof above, "%zu", n + 1);
        check_bad(grammar, above, language_choice_words(grammar, 0));
    }
}

/* ---- cautions ----------------------------------------------------------------------------- */

static void phrase_codes_are_two_different_keys_and_unique(void **state)
{
    (void)state;
    assert_string_equal(keypad_phrase_code(LANGUAGE_NOT_YET), "0");
    assert_string_equal(keypad_phrase_code(LANGUAGE_PHRASE_COUNT), "");
    for (int a = 1; a < LANGUAGE_PHRASE_COUNT; a++) {
        enum language_phrase phrase = (enum language_phrase)a;
        const char *code = keypad_phrase_code(phrase);
        check_value("caution", code,
                    (struct language_value){.type = LANGUAGE_PHRASE, .as.phrase = phrase});
        assert_int_equal(strspn(code, "123456789"), 2);
        assert_int_equal(strlen(code), 2);
        assert_int_not_equal(code[0], code[1]);
        for (int b = 1; b < a; b++) {
            const char *other = keypad_phrase_code((enum language_phrase)b);
            assert_false(code[0] == other[0] && code[1] == other[1]);
            assert_false(code[0] == other[1] && code[1] == other[0]);
            if (b == a - 1)
                assert_null(strpbrk(code, other)); /* a habit from the step before is no code */
        }
    }
}

static void one_key_confirms_no_caution(void **state)
{
    (void)state;
    for (char key = '1'; key <= '9'; key++) {
        const char once[] = {key, '\0'}, twice[] = {key, key, '\0'};
        check_bad("caution", once, "the two shown");
        check_bad("caution", twice, "the two shown");
    }
    check_bad("caution", "00", "the two shown");
    check_bad("caution", "123", "the two shown");
}

/* ---- bad entries, and the text of the keys ------------------------------------------------ */

static void bad_entries_say_the_keys(void **state)
{
    (void)state;
    check_bad("yesno", "3", "1 yes, 2 no");
    check_bad("yesno", "11", "1 yes, 2 no");
    check_bad("distance", "7", "7.9 star millimetres");
    check_bad("distance", "5*3", "7.9 star millimetres");
    check_bad("distance", "5//16/", "millimetres");
    check_bad("distance", "5/16+", "inches");
    check_bad("distance", "40.0", "longer than anything");
    check_bad("distance", "151*", "longer than anything");
    check_bad("distance", "0/0", "zero parts");
    check_bad("distance", "-5*", "less than nothing");
    check_bad("distance", "1.5-", "finer than a thousandth");
    check_bad("turn", "1/16", "1/16 plus clockwise");
    check_bad("turn", "2", "1 turned as told");
    check_bad("turn", "2+", "more than a whole turn");
    check_bad("turn", "1/0+", "zero parts");
    check_bad("service", "11", "1 fluid, 2 clutch, 3 linkage");
    check_bad("service", "01", "1 fluid, 2 clutch, 3 linkage");
    check_bad("number", "1000", "zero to 999");
    check_bad("number", "1.5", "the number");
    check_bad("order", "-12", "the digits");
    check_bad("order", "1234567890123456789012345678901234567890", "31 characters");
    check_bad("command", "1", "minus go back");
    check_bad("no such question", "1", "not known");
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    assert_int_equal(keypad_entry("yesno", "1\x1b[31m", words, why), KEYPAD_BAD);
    assert_string_equal(words, "1??31?");
}

static void the_keys_fit_a_line(void **state)
{
    (void)state;
    char text[512], expected[] = "1 hard to find, 2 false neutral, 3 both of them";
    for (size_t g = 0; g < language_grammar_count(); g++) {
        for (int phrase = 0; phrase < LANGUAGE_PHRASE_COUNT; phrase++) {
            keypad_keys(language_grammar_name(g), (enum language_phrase)phrase, text, sizeof text);
            assert_in_range(strlen(text), 5, 120);
        }
    }
    keypad_keys("complaint", LANGUAGE_NOT_YET, text, sizeof text);
    assert_string_equal(text, expected);
    keypad_keys("caution", LANGUAGE_LOCK_NUT_TIGHT, text, sizeof text);
    assert_string_equal(text, "58 the lock nut is tight, 0 not yet");
    keypad_keys("complaint", LANGUAGE_NOT_YET, text, 8);
    assert_string_equal(text, "1 hard ");
    keypad_keys("no such question", LANGUAGE_NOT_YET, text, sizeof text);
    assert_string_equal(text, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_header_s_table),
        cmocka_unit_test(the_same_keys_work_at_every_question),
        cmocka_unit_test(slashes_clear_what_stands_before_them),
        cmocka_unit_test(every_length),
        cmocka_unit_test(every_turn),
        cmocka_unit_test(every_number),
        cmocka_unit_test(every_choice),
        cmocka_unit_test(phrase_codes_are_two_different_keys_and_unique),
        cmocka_unit_test(one_key_confirms_no_caution),
        cmocka_unit_test(bad_entries_say_the_keys),
        cmocka_unit_test(the_keys_fit_a_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
