/* The grammar files as PocketSphinx sees them: its own JSGF compiler (sphinxbase) loads each, the
 * machine it builds says and takes the same sentences as the reader the other tests rest on, it
 * stays small, and every word has a pronunciation. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sphinxbase/err.h>
#include <sphinxbase/jsgf.h>

#include "base/text.h"
#include "jsgf.h"
#include "language/language.h"

enum { STATES_MAX = 512, WALKS = 5000, STEPS_MAX = 200, LINE = 512 };

static const char directory[] = MIDTHROW_SOURCE_DIR "/grammars";
static const char dictionary[] = MODEL_DIR "/en-us/cmudict-en-us.dict";
static const char shop_dictionary[] = MIDTHROW_SOURCE_DIR "/grammars/shop.dict";

struct machine {
    logmath_t *logmath;
    fsg_model_t *fsg;
};

static struct machine compile(const char *name)
{
    char path[LINE];
    struct machine machine = {.logmath = logmath_init(1.0001, 0, 0)};
    snprintf(path, sizeof path, "%s/%s.gram", directory, name);
    jsgf_t *jsgf = jsgf_parse_file(path, NULL);
    if (jsgf == NULL)
        fail_msg("PocketSphinx cannot load %s", path);
    jsgf_rule_t *rule = jsgf_get_public_rule(jsgf);
    assert_non_null(rule);
    snprintf(path, sizeof path, "<%s.%s>", name, name);
    assert_string_equal(jsgf_rule_name(rule), path);
    machine.fsg = jsgf_build_fsg(jsgf, rule, machine.logmath, 1.0F);
    assert_non_null(machine.fsg);
    jsgf_grammar_free(jsgf);
    return machine;
}

static void discard(struct machine machine)
{
    fsg_model_free(machine.fsg);
    logmath_free(machine.logmath);
}

static uint32_t next_random(uint32_t *state)
{
    /* Numerical Recipes' linear congruential constants; the upper bits are the good ones. */
    *state = *state * UINT32_C(1664525) + UINT32_C(1013904223);
    return *state >> 8;
}

/* One step along a random arc; false at a state without any. */
static bool step(const struct machine *machine, int *at, struct text *out, uint32_t *seed)
{
    fsg_arciter_t *arc;
    uint32_t seen = 0;
    fsg_link_t chosen = {0};
    for (arc = fsg_model_arcs(machine->fsg, *at); arc != NULL; arc = fsg_arciter_next(arc)) {
        if (next_random(seed) % ++seen == 0)
            chosen = *fsg_arciter_get(arc);
    }
    if (seen == 0)
        return false;
    if (chosen.wid >= 0)
        text_addf(out, "%s%s", out->used > 0 ? " " : "",
                  fsg_model_word_str(machine->fsg, chosen.wid));
    *at = chosen.to_state;
    return true;
}

static void walk(const char *name, const struct machine *machine, const struct jsgf *jsgf,
                 uint32_t *seed)
{
    char sentence[LINE], why[LANGUAGE_WHY];
    struct text text = text_into(sentence, sizeof sentence);
    struct language_value value;
    int at = fsg_model_start_state(machine->fsg);
    for (int i = 0; i < STEPS_MAX && at != fsg_model_final_state(machine->fsg); i++)
        assert_true(step(machine, &at, &text, seed));
    assert_int_equal(at, fsg_model_final_state(machine->fsg));
    if (!jsgf_accepts(jsgf, sentence))
        fail_msg("%s: PocketSphinx can hear '%s', which is not in the file", name, sentence);
    if (language_parse(name, sentence, &value, why) != LANGUAGE_OK)
        fail_msg("%s: '%s' does not parse: %s", name, sentence, why);
}

/* Adds what can be reached by arcs without a word. */
static void close_over(const fsg_model_t *fsg, bool *set)
{
    for (bool grew = true; grew;) {
        grew = false;
        for (int state = 0; state < fsg->n_state; state++) {
            fsg_arciter_t *arc = set[state] ? fsg_model_arcs((fsg_model_t *)fsg, state) : NULL;
            for (; arc != NULL; arc = fsg_arciter_next(arc)) {
                const fsg_link_t *link = fsg_arciter_get(arc);
                if (link->wid < 0 && !set[link->to_state])
                    grew = set[link->to_state] = true;
            }
        }
    }
}

static void advance(const fsg_model_t *fsg, bool *set, const char *word)
{
    bool next[STATES_MAX] = {false};
    for (int state = 0; state < fsg->n_state; state++) {
        fsg_arciter_t *arc = set[state] ? fsg_model_arcs((fsg_model_t *)fsg, state) : NULL;
        for (; arc != NULL; arc = fsg_arciter_next(arc)) {
            const fsg_link_t *link = fsg_arciter_get(arc);
            if (link->wid >= 0 && strcmp(fsg_model_word_str(fsg, link->wid), word) == 0)
                next[link->to_state] = true;
        }
    }
    memcpy(set, next, sizeof next);
    close_over(fsg, set);
}

static bool takes(const fsg_model_t *fsg, char *sentence)
{
    bool set[STATES_MAX] = {false};
    set[fsg_model_start_state(fsg)] = true;
    close_over(fsg, set);
    char *rest = NULL;
    for (char *word = strtok_r(sentence, " ", &rest); word; word = strtok_r(NULL, " ", &rest))
        advance(fsg, set, word);
    return set[fsg_model_final_state(fsg)];
}

static void every_grammar_loads_and_says_the_same(void **state)
{
    (void)state;
    for (size_t i = 0; i < language_grammar_count(); i++) {
        char why[JSGF_WHY], sentence[LINE], said[LINE];
        const char *name = language_grammar_name(i);
        struct machine machine = compile(name);
        struct jsgf *jsgf = jsgf_load(directory, name, why);
        assert_non_null(jsgf);
        assert_true(machine.fsg->n_state <= STATES_MAX);
        uint32_t seed = 7;
        for (int w = 0; w < WALKS; w++)
            walk(name, &machine, jsgf, &seed);
        for (uint64_t s = 0; s < 200; s++) {
            jsgf_sentence(jsgf, s * (jsgf_count(jsgf) - 1) / 199, sentence, sizeof sentence);
            text_copy(said, sizeof said, sentence);
            if (!takes(machine.fsg, said))
                fail_msg("%s: PocketSphinx cannot hear '%s'", name, sentence);
        }
        print_message("%-12s %3d states %3d words\n", name, machine.fsg->n_state,
                      machine.fsg->n_word);
        jsgf_free(jsgf);
        discard(machine);
    }
}

/* The distance grammar is decoded at every reading: rules, not a list of every length. */
static void distance_stays_small(void **state)
{
    (void)state;
    struct machine machine = compile("distance");
    assert_true(machine.fsg->n_state <= 150);
    assert_true(machine.fsg->n_word <= 100);
    discard(machine);
}

/* ---- pronunciations ----------------------------------------------------------------------- */

/* The whole file, a newline before each line; NULL when it cannot be read. */
static char *read_lines(const char *path)
{
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return NULL;
    size_t size = 1, used = 1;
    char *lines = NULL;
    do {
        size += 1 << 20;
        char *grown = realloc(lines, size + 1);
        if (grown == NULL)
            break;
        lines = grown;
        used += fread(lines + used, 1, size - used, file);
    } while (used == size);
    fclose(file);
    if (lines != NULL) {
        lines[0] = '\n';
        lines[used] = '\0';
    }
    return lines;
}

static bool has_word(const char *lines, const char *word)
{
    char start[64];
    snprintf(start, sizeof start, "\n%s ", word);
    if (lines != NULL && strstr(lines, start) != NULL)
        return true;
    snprintf(start, sizeof start, "\n%s\t", word);
    return lines != NULL && strstr(lines, start) != NULL;
}

static void every_word_has_a_pronunciation(void **state)
{
    (void)state;
    char *stock = read_lines(dictionary), *shop = read_lines(shop_dictionary);
    if (stock == NULL || shop == NULL) {
        free(stock);
        free(shop);
        skip(); /* the model or shop.dict is not there */
    }
    for (size_t i = 0; i < language_grammar_count(); i++) {
        struct machine machine = compile(language_grammar_name(i));
        for (int w = 0; w < machine.fsg->n_word; w++) {
            const char *word = fsg_model_word_str(machine.fsg, w);
            if (!has_word(stock, word) && !has_word(shop, word))
                fail_msg("%s: no pronunciation for '%s'", language_grammar_name(i), word);
        }
        discard(machine);
    }
    free(stock);
    free(shop);
}

int main(void)
{
    err_set_logfp(NULL);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_grammar_loads_and_says_the_same),
        cmocka_unit_test(distance_stays_small),
        cmocka_unit_test(every_word_has_a_pronunciation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
