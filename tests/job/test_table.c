/*
 * The question table as data: every row can be said, explained, answered by voice and by number
 * pad, and left; every caution has its whole phrase.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "job/question.h"
#include "keypad/keypad.h"
#include "prompt/prompt.h"

static struct prompt_catalogue *prompts;

static int load(void **state)
{
    (void)state;
    struct fault fault = {0};
    prompts = prompt_load(MIDTHROW_SOURCE_DIR "/prompts", &fault);
    if (prompts == NULL)
        print_error("%s\n", fault.sentence);
    return prompts == NULL ? -1 : 0;
}

static int unload(void **state)
{
    (void)state;
    prompt_free(prompts);
    return 0;
}

static const char *sentence_of(const struct job_question *row)
{
    return row->says != NULL ? row->says : row->id;
}

static void assert_has(const char *key)
{
    if (!prompt_has(prompts, key))
        print_error("no sentence for %s\n", key);
    assert_true(prompt_has(prompts, key));
}

static void every_id_stands_once(void **state)
{
    (void)state;
    for (size_t i = 0; i < job_question_count(); i++)
        assert_int_equal(job_question_index(job_question_at(i)->id), i);
    assert_null(job_question_at(job_question_count()));
}

static void every_question_has_its_sentence_and_its_help(void **state)
{
    (void)state;
    /* Said only in another form, which its `fill` chooses; the forms are tested by whole jobs. */
    static const char *const chosen[] = {
        "checks.free_play_verdict", "checks.linkage_verdict",
        "checks.fluid_verdict",     "centring.balance",
        "adjusting.balance",        "centring.no_adjusting",
        "adjusting.stopped",        "proving.result",
        "deep.idle_verdict",        "deep.travel_verdict",
        "deep.adjuster_verdict",    "deep.change_verdict",
        "deep.pack_verdict",        "deep.hand_over",
        "closing.confirms",         "closing.cures",
        "closing.hand_over",
    };
    for (size_t i = 0; i < job_question_count(); i++) {
        const struct job_question *row = job_question_at(i);
        bool is_chosen = false;
        for (size_t j = 0; j < sizeof chosen / sizeof chosen[0]; j++)
            is_chosen = is_chosen || strcmp(chosen[j], row->id) == 0;
        if (row->silent || row->waits || is_chosen)
            continue;
        assert_has(sentence_of(row));
        if (row->grammar == NULL)
            continue;
        char help[128];
        snprintf(help, sizeof help, "help.%s", sentence_of(row));
        assert_has(help);
    }
}

static void every_question_can_be_answered_on_the_pad_and_by_ear(void **state)
{
    (void)state;
    for (size_t i = 0; i < job_question_count(); i++) {
        const struct job_question *row = job_question_at(i);
        if (row->grammar == NULL)
            continue;
        enum language_type type;
        char path[512], keys[256];
        assert_true(language_grammar_type(row->grammar, &type));
        snprintf(path, sizeof path, MIDTHROW_SOURCE_DIR "/grammars/%s.gram", row->grammar);
        FILE *file = fopen(path, "r");
        assert_non_null(file);
        fclose(file);
        keypad_keys(row->grammar, row->phrase, keys, sizeof keys);
        assert_true(strlen(keys) > 0);
        if (type != LANGUAGE_PHRASE)
            continue;
        char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
        struct language_value value;
        assert_int_equal(keypad_entry("caution", keypad_phrase_code(row->phrase), words, why),
                         KEYPAD_WORDS);
        assert_int_equal(language_parse("caution", words, &value, why), LANGUAGE_OK);
        assert_int_equal(value.as.phrase, row->phrase);
    }
}

static void every_caution_waits_for_a_whole_phrase(void **state)
{
    (void)state;
    int cautions = 0;
    for (size_t i = 0; i < job_question_count(); i++) {
        const struct job_question *row = job_question_at(i);
        if (!row->caution)
            continue;
        cautions++;
        assert_string_equal(row->grammar, "caution");
        assert_int_not_equal(row->phrase, LANGUAGE_NOT_YET);
        int words = 1;
        for (const char *c = language_phrase_words(row->phrase); *c != '\0'; c++)
            words += *c == ' ';
        assert_true(words >= 4);
        assert_non_null(strstr(prompt_raw(prompts, sentence_of(row)), "{phrase}"));
        assert_int_equal(strncmp(prompt_raw(prompts, sentence_of(row)), "Caution.", 8), 0);
    }
    assert_true(cautions >= 20);
}

/* Hands-on steps that are no cautions themselves stand behind cautions; what was loosened, drained
 * or started cannot be left so. */
static void only_what_must_not_stay_undone_cannot_be_left(void **state)
{
    (void)state;
    for (size_t i = 0; i < job_question_count(); i++) {
        const struct job_question *row = job_question_at(i);
        if (row->grammar == NULL || row->leave != NULL)
            continue;
        bool lock_nut = strcmp(row->id, "adjusting.tighten") == 0;
        bool key_out = strcmp(row->id, "proving.engine_off") == 0;
        bool idling = strcmp(row->id, "deep.idle_off") == 0;
        bool empty = strcmp(row->id, "deep.change_fill") == 0; /* nothing runs without fluid */
        bool slack = strcmp(row->id, "deep.adjuster_back") == 0;
        assert_true(lock_nut || key_out || idling || empty || slack);
    }
}

static void every_distance_says_what_is_believable(void **state)
{
    (void)state;
    for (size_t i = 0; i < job_question_count(); i++) {
        const struct job_question *row = job_question_at(i);
        if (row->grammar != NULL && strcmp(row->grammar, "distance") == 0)
            assert_true(row->low_mm >= 0 && row->low_mm < row->high_mm);
    }
}

static void every_way_on_leads_to_a_row(void **state)
{
    (void)state;
    size_t count = job_question_count();
    for (size_t i = 0; i < count; i++) {
        const struct job_question *row = job_question_at(i);
        if (row->next != NULL)
            assert_true(job_question_index(row->next) < count);
        if (row->leave != NULL && strcmp(row->leave, JOB_ON) != 0)
            assert_true(job_question_index(row->leave) < count);
        if (row->grammar != NULL)
            assert_true(row->take != NULL || strcmp(row->grammar, "caution") == 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_id_stands_once),
        cmocka_unit_test(every_question_has_its_sentence_and_its_help),
        cmocka_unit_test(every_question_can_be_answered_on_the_pad_and_by_ear),
        cmocka_unit_test(every_caution_waits_for_a_whole_phrase),
        cmocka_unit_test(only_what_must_not_stay_undone_cannot_be_left),
        cmocka_unit_test(every_distance_says_what_is_believable),
        cmocka_unit_test(every_way_on_leads_to_a_row),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
