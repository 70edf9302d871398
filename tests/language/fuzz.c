/* Whatever is typed or misheard: no crash, no undefined behaviour (run under the sanitizers), every
 * refusal has its sentence, and what parses has words that mean the same. Seeded. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "base/text.h"
#include "jsgf.h"
#include "language/language.h"

enum { ROUNDS = 200000 };

static uint64_t seed = 20240229;

static uint32_t random_below(uint32_t limit)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407); /* Knuth's MMIX */
    return (uint32_t)((seed >> 33) % limit);
}

/* Pieces that answers are made of, and some that break them. */
static const char *const pieces[] = {
    "zero",    "oh",       "one",         "two",         "five",        "nine",
    "ten",     "thirteen", "nineteen",    "twenty",      "thirty",      "sixty",
    "hundred", "thousand", "a",           "an",          "and",         "half",
    "halves",  "quarter",  "third",       "eighths",     "sixteenths",  "seconds",
    "second",  "fourths",  "point",       "of",          "inch",        "inches",
    "in",      "thou",     "thousandths", "millimetres", "mm",          "mils",
    "minus",   "negative", "turn",        "clockwise",   "counter",     "anti",
    "ccw",     "number",   "fluid",       "clutch",      "linkage",     "the",
    "nothing", "yes",      "no",          "it",          "is",          "stop",
    "skip",    "5/16",     "1-5/16",      "1+5/16",      "0/0",         "7.9",
    ".31",     "-3",       "999999999",   "1234567890",  "9/999999999", "999999999/3",
    "5/",      "/5",       ".",           "..",          "-",           "+",
    "\"",      "4712",     "A-4712",      "\x01",        "\xff",        "\xe2\x80\x99",
    "'",       "#",        ",",           "6",           "150",         "64",
    "cm",      "feet",
};

static void random_sentence(char *out, size_t size)
{
    struct text text = text_into(out, size);
    for (uint32_t n = random_below(9); n > 0; n--) {
        text_add(&text, pieces[random_below(sizeof pieces / sizeof pieces[0])]);
        if (random_below(8) > 0)
            text_add(&text, " ");
    }
}

/* A sentence of the grammar file with one word left out, doubled or taken from elsewhere. */
static void mutated_sentence(struct jsgf *jsgf, char *out, size_t size)
{
    char sentence[600];
    struct text text = text_into(out, size);
    uint64_t k = (uint64_t)random_below(UINT32_MAX) << 31 | random_below(UINT32_MAX);
    jsgf_sentence(jsgf, k % jsgf_count(jsgf), sentence, sizeof sentence);
    char *rest = NULL;
    for (char *word = strtok_r(sentence, " ", &rest); word; word = strtok_r(NULL, " ", &rest)) {
        uint32_t what = random_below(20);
        if (what == 0)
            continue;
        text_addf(&text, "%s%s", text.used > 0 ? " " : "", word);
        if (what == 1)
            text_addf(&text, " %s", word);
        if (what == 2)
            text_addf(&text, " %s", pieces[random_below(sizeof pieces / sizeof pieces[0])]);
    }
}

static void random_bytes(char *out, size_t size)
{
    size_t length = random_below((uint32_t)size);
    for (size_t i = 0; i < length; i++)
        out[i] = (char)(1 + random_below(255));
    out[length] = '\0';
}

/* True when it parsed. */
static bool check_parse(const char *grammar, const char *words)
{
    struct language_value value, back;
    char why[LANGUAGE_WHY], said[LANGUAGE_WORDS];
    memset(why, 'x', sizeof why);
    if (language_parse(grammar, words, &value, why) != LANGUAGE_OK) {
        assert_non_null(memchr(why, '\0', sizeof why));
        assert_true(strlen(why) > 10 && why[strlen(why) - 1] == '.');
        return false;
    }
    if (!language_say(grammar, &value, said, sizeof said))
        fail_msg("%s: '%s' parses but cannot be said", grammar, words);
    assert_int_equal(language_parse(grammar, said, &back, NULL), LANGUAGE_OK);
    if (!language_equal(&value, &back))
        fail_msg("%s: '%s' is said '%s'", grammar, words, said);
    assert_true(language_read_back(grammar, &value, said, sizeof said));
    return true;
}

static void random_words_and_bytes(void **state)
{
    (void)state;
    struct jsgf *jsgf[64];
    char words[600], why[JSGF_WHY];
    int parsed = 0;
    size_t n = language_grammar_count();
    assert_true(n <= sizeof jsgf / sizeof jsgf[0]);
    for (size_t i = 0; i < n; i++)
        assert_non_null(
            jsgf[i] = jsgf_load(MIDTHROW_SOURCE_DIR "/grammars", language_grammar_name(i), why));
    for (int i = 0; i < ROUNDS; i++) {
        size_t g = random_below((uint32_t)n);
        if (i % 4 == 0)
            random_bytes(words, i % 32 == 0 ? sizeof words : 24);
        else if (i % 4 == 1)
            random_sentence(words, sizeof words);
        else
            mutated_sentence(jsgf[g], words, sizeof words);
        parsed += check_parse(language_grammar_name(g), words);
    }
    print_message("%d of %d parsed\n", parsed, ROUNDS);
    /* else the answers made here no longer reach the depths of the parsers */
    assert_in_range(parsed, ROUNDS / 10, ROUNDS * 9 / 10);
    for (size_t i = 0; i < n; i++)
        jsgf_free(jsgf[i]);
}

/* Values made of garbage have no words or the right ones; either way nothing breaks. */
static void random_values(void **state)
{
    (void)state;
    char said[LANGUAGE_WORDS], small[8];
    for (int i = 0; i < ROUNDS; i++) {
        struct language_value value = {.type = (enum language_type)random_below(12)}, back;
        int64_t a = (int64_t)((uint64_t)random_below(UINT32_MAX) << (random_below(33)));
        int64_t b = (int64_t)((uint64_t)random_below(UINT32_MAX) << (random_below(33)));
        const char *grammar =
            language_grammar_name(random_below((uint32_t)language_grammar_count()));
        if (value.type == LANGUAGE_DISTANCE)
            value.as.length = (struct measure_length){random_below(2) ? a : a % 1000,
                                                      random_below(2) ? b : b % 65,
                                                      (enum measure_unit)random_below(3)};
        else if (value.type == LANGUAGE_TURN)
            value.as.turn =
                (struct language_turn){.numerator = (int)a % 99, .denominator = (int)b % 99};
        else if (value.type == LANGUAGE_AMOUNT)
            value.as.amount = (struct language_amount){
                random_below(2) ? a : a % 1000, random_below(2) ? b : b % 101,
                (enum language_unit)random_below(LANGUAGE_UNIT_COUNT)};
        else if (value.type == LANGUAGE_DIGITS)
            memset(value.as.digits, (int)random_below(256), random_below(LANGUAGE_DIGITS_MAX + 1));
        else if (value.type == LANGUAGE_YESNO)
            value.as.yes = random_below(2) != 0;
        else
            value.as.number = a;
        if (language_say(grammar, &value, said, sizeof said)) {
            assert_int_equal(language_parse(grammar, said, &back, NULL), LANGUAGE_OK);
            assert_true(language_equal(&value, &back));
        }
        language_read_back(grammar, &value, small, sizeof small);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_words_and_bytes),
        cmocka_unit_test(random_values),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
