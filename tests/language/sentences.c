/* The first promise: every sentence that a grammar file can produce parses. Also the second one for
 * all values met on the way: what language_say says for a value is a sentence of the same file and
 * parses back to it.
 *
 * Grammars of at most ENUMERATE_MOST sentences are enumerated one by one; the larger ones
 * (odometer, order) by SAMPLES seeded draws, which must between them use every word of the file. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "jsgf.h"
#include "language/language.h"
#include "language/parts.h"

enum { ENUMERATE_MOST = 2000000, SAMPLES = 100000, ENDS = 1000, SAY_EVERY = 8 };

static const char directory[] = MIDTHROW_SOURCE_DIR "/grammars";

static struct jsgf *load(const char *name)
{
    char why[JSGF_WHY];
    struct jsgf *jsgf = jsgf_load(directory, name, why);
    if (jsgf == NULL)
        fail_msg("%s", why);
    return jsgf;
}

/* splitmix64, the public-domain generator that xoshiro's authors give for seeding. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return z ^ z >> 31;
}

static bool right_type(const char *name, enum language_type found)
{
    enum language_type own;
    assert_true(language_grammar_type(name, &own));
    return found == own || found == LANGUAGE_COMMAND || found == LANGUAGE_DONT_KNOW ||
           found == LANGUAGE_SKIP;
}

static struct language_value check_parses(const char *name, const char *sentence)
{
    struct language_value value;
    char why[LANGUAGE_WHY];
    if (strlen(sentence) >= LANGUAGE_WORDS)
        fail_msg("%s: too long: %s", name, sentence);
    if (language_parse(name, sentence, &value, why) != LANGUAGE_OK)
        fail_msg("%s: '%s' does not parse: %s", name, sentence, why);
    if (!right_type(name, value.type))
        fail_msg("%s: '%s' parses as type %d", name, sentence, value.type);
    return value;
}

/* What the tool says for the sentence's value. */
static void check_said(const char *name, const struct jsgf *jsgf, const char *sentence,
                       struct language_value value)
{
    struct language_value back;
    char words[LANGUAGE_WORDS];
    if (!language_say(name, &value, words, sizeof words))
        fail_msg("%s: '%s' has no words", name, sentence);
    if (language_parse(name, words, &back, NULL) != LANGUAGE_OK || !language_equal(&value, &back))
        fail_msg("%s: '%s' is said '%s', which is another value", name, sentence, words);
    if (!jsgf_accepts(jsgf, words))
        fail_msg("%s: '%s' is said '%s', which is no sentence of it", name, sentence, words);
}

static uint64_t pick(uint64_t i, uint64_t count, uint64_t *seed)
{
    if (i < ENDS)
        return i;
    return i < 2 * ENDS ? count - 1 - (i - ENDS) : next_random(seed) % count;
}

static void check_grammar(const char *name)
{
    struct jsgf *jsgf = load(name);
    char sentence[2 * LANGUAGE_WORDS];
    uint64_t count = jsgf_count(jsgf), seed = 1;
    bool all = count <= ENUMERATE_MOST;
    uint64_t steps = all ? count : SAMPLES;
    for (uint64_t i = 0; i < steps; i++) {
        uint64_t k = all ? i : pick(i, count, &seed);
        jsgf_sentence(jsgf, k, sentence, sizeof sentence);
        struct language_value value = check_parses(name, sentence);
        if (i % SAY_EVERY == 0 || steps < 10000)
            check_said(name, jsgf, sentence, value);
    }
    if (jsgf_unused_word(jsgf) != NULL)
        fail_msg("%s: no sentence used '%s'", name, jsgf_unused_word(jsgf));
    print_message("%-12s %llu of %llu sentences\n", name, (unsigned long long)steps,
                  (unsigned long long)count);
    jsgf_free(jsgf);
}

static void every_sentence_of_every_grammar_parses(void **state)
{
    (void)state;
    for (size_t i = 0; i < language_grammar_count(); i++)
        check_grammar(language_grammar_name(i));
}

/* What the reader itself must get right for the above to mean anything. */
static void the_reader_tells_sentences_from_others(void **state)
{
    (void)state;
    struct jsgf *number = load("number");
    assert_true(jsgf_accepts(number, "three hundred and ten"));
    assert_true(jsgf_accepts(number, "stop the job"));
    assert_false(jsgf_accepts(number, "three hundred and"));
    assert_false(jsgf_accepts(number, "hundred"));
    assert_false(jsgf_accepts(number, ""));
    assert_false(jsgf_accepts(number, "ten ten"));
    /* 1..9 in 10 words ("niner"), so 1..99 in 10 + 10 + 8 x 11 ways; hundreds 11 x (1 + 2 x 108);
     * digits 12^2 x 13; zero; commands 25. */
    assert_int_equal(jsgf_count(number), 108 + 11 * (1 + 2 * 108) + 12 * 12 * 13 + 1 + 25);
    jsgf_free(number);
}

static void impossible_lengths_cannot_be_said(void **state)
{
    (void)state;
    static const char *const impossible[] = {
        "seven inches",
        "forty inches",
        "six and a half inches",
        "six point one inches",
        "seven point nine",
        "one hundred fifty point five millimetres",
        "one hundred fifty one millimetres",
        "two hundred millimetres",
        "one five one millimetres",
        "one five zero point one millimetres",
        "two one zero millimetres",
        "zero five millimetres",
        "one one inches",
        "one one",
        "one thousand thousandths",
        "seven",
        "one",
        "two halves",
        "four quarters",
        "sixteen sixteenths",
        "thirty two thirty seconds",
        "sixty four sixty fourths",
        "zero sixteenths",
        "five mils",
        "minus one inch",
        "seven of an inch",
    };
    struct jsgf *distance = load("distance");
    for (size_t i = 0; i < sizeof impossible / sizeof impossible[0]; i++) {
        if (jsgf_accepts(distance, impossible[i]))
            fail_msg("the ear would take '%s'", impossible[i]);
    }
    jsgf_free(distance);
}

/* A caution is confirmed by a whole phrase: four words or more, "not yet" apart. */
static void no_short_word_confirms_a_caution(void **state)
{
    (void)state;
    struct jsgf *caution = load("caution");
    char sentence[LANGUAGE_WORDS];
    for (uint64_t k = 0; k < jsgf_count(caution); k++) {
        struct language_value value;
        int words = 1;
        jsgf_sentence(caution, k, sentence, sizeof sentence);
        assert_int_equal(language_parse("caution", sentence, &value, NULL), LANGUAGE_OK);
        for (const char *at = sentence; *at != '\0'; at++)
            words += *at == ' ';
        bool confirms = value.type == LANGUAGE_PHRASE && value.as.phrase != LANGUAGE_NOT_YET;
        if (confirms && words < 3)
            fail_msg("'%s' is too short to confirm anything", sentence);
        if (confirms && words == 3)
            assert_true(strlen(sentence) >= strlen("access is open"));
    }
    jsgf_free(caution);
}

/* The lists in C and the files hold the same phrases, short typed forms apart. */
static void check_list(const char *name, const struct said *list)
{
    struct jsgf *jsgf = load(name);
    for (; list->words != NULL; list++) {
        struct language_value value;
        if (jsgf_accepts(jsgf, list->words) != (list->by == HEARD))
            fail_msg("%s: '%s' stands in one place only", name, list->words);
        if (language_parse(name, list->words, &value, NULL) != LANGUAGE_OK)
            fail_msg("%s: '%s' does not parse", name, list->words);
    }
    jsgf_free(jsgf);
}

static void the_lists_hold_what_the_files_hold(void **state)
{
    (void)state;
    for (size_t i = 0; i < language_grammar_count(); i++) {
        const char *name = language_grammar_name(i);
        const struct grammar *grammar = grammar_find(name);
        check_list(name, said_command);
        if (grammar->said != NULL)
            check_list(name, grammar->said);
        if (grammar->type == LANGUAGE_TURN)
            check_list(name, said_turn);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_reader_tells_sentences_from_others),
        cmocka_unit_test(every_sentence_of_every_grammar_parses),
        cmocka_unit_test(impossible_lengths_cannot_be_said),
        cmocka_unit_test(no_short_word_confirms_a_caution),
        cmocka_unit_test(the_lists_hold_what_the_files_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
