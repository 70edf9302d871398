/*
 * No two answers of one question may sound so alike that one is taken for the other, but those that
 * are listed here with the reason why they stay. Numbers are left to the digits read after them
 * (language_read_back): "forty" and "fourteen" are what people say. The expected distances follow
 * from Kondrak's weights (confuse.h).
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "pairs.h"

/* One consonant (27.5) and one vowel (5 to 17.5) apart, or less, is too near. Judgement. */
static const double TOO_NEAR = 45;

static const struct {
    const char *grammar, *a, *b;
    const char *why;
} allowed[] = {
    {NULL, NULL, NULL, NULL}, /* none, since commands are two words at least */
};

static struct confuse *open_all(void)
{
    struct confuse *confuse = confuse_open(MODEL_DIR "/cmudict-en-us.dict", GRAMMARS "/shop.dict");
    assert_non_null(confuse);
    return confuse;
}

static void assert_apart(struct confuse *confuse, const char *a, const char *b, double wanted)
{
    double there = confuse_distance(confuse, a, b), back = confuse_distance(confuse, b, a);
    if (fabs(there - wanted) > 1e-9)
        print_message("%s / %s: %g, not %g\n", a, b, there, wanted);
    assert_true(fabs(there - wanted) <= 1e-9);
    assert_true(fabs(there - back) <= 1e-9);
}

static void what_sounds_alike_is_near(void **state)
{
    (void)state;
    struct confuse *confuse = open_all();
    assert_apart(confuse, "stop the job", "stop the job", 0);
    assert_apart(confuse, "no", "know", 0);
    assert_apart(confuse, "pin", "bin", 10);                   /* voice */
    assert_apart(confuse, "sin", "thin", 40 * 0.05);           /* place */
    assert_apart(confuse, "pin", "in", 10 + 35 / 2.0);         /* a consonant left out */
    assert_apart(confuse, "bet", "bit", 5 * 0.5);              /* height of the tongue */
    assert_apart(confuse, "fourteen", "forty", 10 + 35 / 2.0); /* its n */
    assert_true(confuse_distance(confuse, "yes", "no") > TOO_NEAR);
    assert_true(confuse_distance(confuse, "yes", "qwertz") < 0);
    assert_true(confuse_phones("T", "D") > 0 && confuse_phones("T", "QQ") < 0);
    confuse_close(confuse);
}

static bool is_allowed(const char *grammar, const struct pair *pair, size_t *which)
{
    for (size_t i = 0; allowed[i].grammar != NULL; i++)
        if (strcmp(allowed[i].grammar, grammar) == 0 &&
            ((strcmp(allowed[i].a, pair->a) == 0 && strcmp(allowed[i].b, pair->b) == 0) ||
             (strcmp(allowed[i].a, pair->b) == 0 && strcmp(allowed[i].b, pair->a) == 0))) {
            *which = i;
            return true;
        }
    return false;
}

static bool holds_numbers(const char *grammar)
{
    enum language_type type;
    assert_true(language_grammar_type(grammar, &type));
    return type == LANGUAGE_NUMBER || type == LANGUAGE_DIGITS || type == LANGUAGE_DISTANCE ||
           type == LANGUAGE_TURN || type == LANGUAGE_AMOUNT;
}

static void no_two_answers_of_a_question_sound_alike(void **state)
{
    (void)state;
    struct confuse *confuse = open_all();
    struct pair *pairs = calloc(PAIRS_MOST, sizeof *pairs);
    bool needed[sizeof allowed / sizeof allowed[0]] = {false};
    int too_near = 0, looked = 0;
    assert_non_null(pairs);
    for (size_t g = 0; g < language_grammar_count(); g++) {
        const char *grammar = language_grammar_name(g);
        bool all = false;
        size_t which = 0;
        if (holds_numbers(grammar))
            continue;
        size_t count = pairs_find(confuse, GRAMMARS, grammar, pairs, &all);
        assert_true(count > 0 && all);
        looked++;
        for (size_t p = 0; p < count && pairs[p].distance < TOO_NEAR; p++) {
            if (is_allowed(grammar, &pairs[p], &which)) {
                needed[which] = true;
                continue;
            }
            print_message("%s: \"%s\" and \"%s\" sound alike: %g\n", grammar, pairs[p].a,
                          pairs[p].b, pairs[p].distance);
            too_near++;
        }
    }
    print_message("%d grammars looked at\n", looked);
    assert_int_equal(too_near, 0);
    for (size_t i = 0; allowed[i].grammar != NULL; i++) {
        if (!needed[i])
            print_message("\"%s\" and \"%s\" are allowed but not near any more.\n", allowed[i].a,
                          allowed[i].b);
        assert_true(needed[i]);
    }
    free(pairs);
    confuse_close(confuse);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_sounds_alike_is_near),
        cmocka_unit_test(no_two_answers_of_a_question_sound_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
