/* The questions that make a profile: every one has its sentences, whatever is answered is kept, a
 * draft comes back as it went, the file that is written loads as the same profile. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../base/scratch.h"
#include "profile/field.h"
#include "profile/interview.h"
#include "prompt/prompt.h"
#include "seeded_profile.h"

static char directory[SCRATCH_PATH];

static int make_directory(void **state)
{
    (void)state;
    scratch_make(directory);
    return 0;
}

static int remove_directory(void **state)
{
    (void)state;
    scratch_remove(directory);
    return 0;
}

static void every_question_can_be_asked(void **state)
{
    (void)state;
    struct fault fault = {0};
    struct prompt_catalogue *prompts = prompt_load(SENTENCES, &fault);
    assert_non_null(prompts);
    assert_true(profile_questions_n <= PROFILE_QUESTIONS_MAX);
    for (size_t i = 0; i < profile_questions_n; i++) {
        const struct profile_question *question = &profile_questions[i];
        char key[PROMPT_KEY];
        enum language_type type;
        snprintf(key, sizeof key, "profile.%s", question->id);
        if (!prompt_has(prompts, key))
            fail_msg("no sentence %s", key);
        snprintf(key, sizeof key, "help.profile.%s", question->id);
        if (!prompt_has(prompts, key))
            fail_msg("no sentence %s", key);
        assert_true(language_grammar_type(question->grammar, &type));
        if (question->key != NULL)
            assert_true(profile_field_find(question->section, question->key) < profile_fields_n);
        else
            assert_non_null(question->take);
    }
    prompt_free(prompts);
}

/* Every number of the table that a manual gives is asked for: all but what only the rule, the hand
 * or the job knows. */
static void every_number_of_a_manual_is_asked_for(void **state)
{
    (void)state;
    static const char *const others[] = {"title",      "source", "step", "shift",
                                         "resolution", "rounds", "fluid"};
    for (size_t f = 0; f < profile_fields_n; f++) {
        bool asked = false;
        for (size_t i = 0; i < profile_questions_n; i++)
            asked |= profile_questions[i].key != NULL &&
                     strcmp(profile_questions[i].section, profile_fields[f].section) == 0 &&
                     strcmp(profile_questions[i].key, profile_fields[f].key) == 0;
        for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
            asked |= strcmp(others[i], profile_fields[f].key) == 0;
        if (!asked)
            fail_msg("[%s] %s is never asked for", profile_fields[f].section,
                     profile_fields[f].key);
    }
}

static void what_is_skipped_stays_unknown(void **state)
{
    (void)state;
    struct profile_interview interview = {.at = 0};
    char why[PROFILE_WHY];
    profile_init(&interview.profile);
    profile_interview_begin(&interview);
    for (size_t n = 0; profile_interview_question(&interview) != NULL; n++) {
        struct language_value nothing = {.type = n % 2 == 0 ? LANGUAGE_SKIP : LANGUAGE_DONT_KNOW};
        assert_true(profile_interview_answer(&interview, &nothing, why));
        assert_true(n < PROFILE_QUESTIONS_MAX);
    }
    assert_int_equal(profile_known(&interview.profile), 0);
    assert_string_equal(interview.profile.source, "service manual");
}

/* Typed figures that fit each grammar, more than one so that some disagree. */
static const char *const typed[] = {
    "6-42",
    "it is a screw",
    "it is an eccentric",
    "28",
    "12",
    "0.9 mm",
    "1/16 in",
    "5/16 in",
    "1/8 in",
    "2 mm",
    "33 mm",
    "1.5",
    "clockwise is back",
    "1/8 turn",
    "1 turn",
    "3",
    "16",
    "18 ft lb",
    "24 nm",
    "it has a cable",
    "it is hydraulic",
    "950",
    "1050",
    "900 ml",
    "32 fl oz",
    "skip",
    "don't know",
};

static bool one_answer(uint64_t *seed, const char *grammar, struct language_value *value)
{
    for (int tries = 0; tries < 400; tries++) {
        const char *words = typed[seeded_below(seed, sizeof typed / sizeof typed[0])];
        if (language_parse(grammar, words, value, NULL) == LANGUAGE_OK)
            return true;
    }
    return false;
}

static void load_what_was_written(const struct profile *profile)
{
    char text[PROFILE_FILE], path[SCRATCH_PATH];
    struct profile back;
    struct fault fault = {0};
    assert_true(profile_write(profile, text, sizeof text));
    scratch_write(directory, "bike.ini", text, strlen(text), path);
    if (!profile_load(path, &back, &fault))
        fail_msg("%s", fault.sentence);
    assert_int_equal(profile_known(&back), profile_known(profile));
    for (size_t i = 0; i < profile_fields_n; i++) {
        const struct profile_field *field = &profile_fields[i];
        struct profile before = *profile;
        if (field->kind == PROFILE_FIELD_NUMBER && profile_field_number(&back, field)->known) {
            double off = profile_field_number(&back, field)->value -
                         profile_field_number(&before, field)->value;
            assert_true(off < 1e-9 && off > -1e-9); /* nine decimals */
        }
        if (field->kind == PROFILE_FIELD_LENGTH)
            assert_true(same_length(profile_field_length(&back, field),
                                    profile_field_length(&before, field)));
    }
}

/* Random answers, half of the time broken off and gone on with, sometimes taken back. */
static void whatever_is_answered_is_kept(void **state)
{
    (void)state;
    uint64_t seed = 8;
    for (int round = 0; round < 150; round++) {
        static char draft[PROFILE_DRAFT], again[PROFILE_DRAFT], before[PROFILE_DRAFT];
        struct profile_interview interview = {.at = 0};
        char why[PROFILE_WHY];
        profile_init(&interview.profile);
        snprintf(interview.profile.name, PROFILE_NAME, "bike");
        snprintf(interview.profile.title, PROFILE_TEXT, "Bike %d", round);
        profile_interview_begin(&interview);
        const struct profile_question *question;
        for (int steps = 0; (question = profile_interview_question(&interview)) != NULL; steps++) {
            struct language_value value;
            size_t which, of;
            assert_true(steps < 2000);
            profile_interview_where(&interview, &which, &of);
            assert_true(which >= 1 && which <= of);
            if (!one_answer(&seed, question->grammar, &value))
                fail_msg("nothing fits %s", question->grammar);
            assert_true(profile_interview_save(&interview, before, sizeof before));
            if (!profile_interview_answer(&interview, &value, why)) {
                assert_true(why[0] != '\0');
                assert_true(profile_interview_save(&interview, again, sizeof again));
                assert_string_equal(again, before); /* what is refused changes nothing */
                continue;
            }
            if (seeded_below(&seed, 8) == 0) {
                assert_true(profile_interview_back(&interview));
                assert_true(profile_interview_save(&interview, again, sizeof again));
                if (question->take == NULL) /* the page leaves "service manual" */
                    assert_string_equal(again, before);
                continue;
            }
            assert_true(profile_interview_save(&interview, draft, sizeof draft));
            struct profile_interview restored = {.at = 0};
            assert_true(profile_interview_restore(&restored, draft));
            assert_int_equal(restored.at, interview.at);
            assert_true(profile_interview_save(&restored, again, sizeof again));
            assert_string_equal(again, draft);
            interview = restored;
        }
        load_what_was_written(&interview.profile);
    }
}

static void what_is_no_draft_is_not_taken(void **state)
{
    (void)state;
    struct profile_interview interview = {.at = 3};
    static const char *const wrong[] = {"",
                                        "asked",
                                        "asked\n",
                                        "asked nothing\nmidthrow-profile=1\n",
                                        "asked stem",
                                        "midthrow-profile=1\n",
                                        "asked  \nmid"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        assert_false(profile_interview_restore(&interview, wrong[i]));
    assert_int_equal(interview.at, 3);
    assert_true(profile_interview_restore(&interview, "asked page\nmidthrow-profile=1\n"));
    assert_int_equal(interview.at, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_question_can_be_asked),
        cmocka_unit_test(every_number_of_a_manual_is_asked_for),
        cmocka_unit_test(what_is_skipped_stays_unknown),
        cmocka_unit_test(whatever_is_answered_is_kept),
        cmocka_unit_test(what_is_no_draft_is_not_taken),
    };
    return cmocka_run_group_tests(tests, make_directory, remove_directory);
}
