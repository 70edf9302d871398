/* Events as JSON and back: exact for any event, and nothing wrong is taken. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>

#include "record/journal.h"
#include "seeded_event.h"

static void assert_comes_back(struct job_event *event)
{
    struct job_event back;
    char json[JOURNAL_EVENT];
    struct fault fault = {0};
    if (!journal_event_to_json(event, json, sizeof json))
        fail_msg("an event of kind %d is not told", (int)event->kind);
    if (!journal_event_from_json(json, &back, &fault))
        fail_msg("%s\n%s", fault.sentence, json);
    if (!same_event(event, &back))
        fail_msg("%s", json);
    assert_null(strchr(json, '\n'));
}

static void any_event_comes_back_bit_for_bit(void **state)
{
    (void)state;
    uint64_t seed = 20251125;
    for (int i = 0; i < 5000; i++) {
        struct job_event event;
        seeded_event(&seed, &event);
        assert_comes_back(&event);
    }
}

static void doubles_at_the_edges_come_back(void **state)
{
    (void)state;
    static const double edge[] = {0.0,     -0.0, 0.1, 1.0 / 3,  1e308,     5e-324,
                                  -5e-324, 0.97, 1,   HUGE_VAL, -HUGE_VAL, 1.7976931348623157e308};
    struct job_event event = {.kind = JOB_HEARD};
    for (size_t i = 0; i < sizeof edge / sizeof edge[0]; i++) {
        event.score = edge[i];
        assert_comes_back(&event);
    }
    char json[JOURNAL_EVENT];
    struct job_event back;
    event.score = (double)NAN;
    assert_true(journal_event_to_json(&event, json, sizeof json));
    assert_true(journal_event_from_json(json, &back, NULL));
    assert_true(isnan(back.score));
    event.score = 0;
    event.at_ms = INT64_MIN;
    assert_comes_back(&event);
    event.at_ms = INT64_MAX;
    assert_comes_back(&event);
}

static void members_no_event_of_the_kind_has_are_kept_too(void **state)
{
    (void)state;
    struct job_event event = {.kind = JOB_REMINDED,
                              .verdict = JOB_REJECTED,
                              .score = -0.0,
                              .words = "w",
                              .keys = "1",
                              .other = "o",
                              .names = {"n"},
                              .names_n = 1};
    assert_comes_back(&event);
}

static void the_json_is_as_the_header_says(void **state)
{
    (void)state;
    char json[JOURNAL_EVENT];
    const struct job_event heard = {.kind = JOB_HEARD,
                                    .at_ms = 1795598045480,
                                    .source = JOB_BY_EAR,
                                    .verdict = JOB_ACCEPTED,
                                    .score = 0.75,
                                    .words = "five sixteenths"};
    assert_true(journal_event_to_json(&heard, json, sizeof json));
    assert_string_equal(json, "{\"kind\":\"heard\",\"at_ms\":1795598045480,\"source\":\"ear\","
                              "\"verdict\":\"accepted\",\"score\":0.75,"
                              "\"words\":\"five sixteenths\"}");
    const struct job_event opened = {
        .kind = JOB_OPENED, .source = JOB_BY_STATION, .names = {"a", "b"}, .names_n = 2};
    assert_true(journal_event_to_json(&opened, json, sizeof json));
    assert_string_equal(
        json, "{\"kind\":\"opened\",\"at_ms\":0,\"source\":\"station\",\"names\":[\"a\",\"b\"]}");
    const struct job_event bytes = {.kind = JOB_HEARD, .words = "\xFFz"};
    assert_true(journal_event_to_json(&bytes, json, sizeof json));
    assert_non_null(strstr(json, "\"words\":{\"hex\":\"ff7a\"}"));
    const struct job_event escape = {.kind = JOB_HEARD, .words = "\x1B[2J\xC3\xA9"};
    assert_true(journal_event_to_json(&escape, json, sizeof json));
    assert_non_null(strstr(json, "\"words\":\"\\u001B[2J\\u00E9\""));
}

static void a_cause_that_was_not_known_then_has_the_tables_share(void **state)
{
    (void)state;
    struct job_event event;
    assert_true(journal_event_from_json("{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"station\","
                                        "\"priors\":{\"pawl\":0.9,\"free_play\":0.1}}",
                                        &event, NULL));
    assert_true(event.has_priors);
    double both = reason_cause_weight(REASON_PAWL) + reason_cause_weight(REASON_FREE_PLAY);
    assert_true(event.priors[REASON_PAWL] == 0.9);
    assert_true(event.priors[REASON_FREE_PLAY] == 0.1);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (c != REASON_PAWL && c != REASON_FREE_PLAY)
            assert_true(fabs(event.priors[c] - reason_cause_weight((enum reason_cause)c) / both) <
                        1e-15);
}

static void what_is_no_event_is_not_told(void **state)
{
    (void)state;
    char json[JOURNAL_EVENT];
    struct job_event event = {.kind = JOB_HEARD};
    memset(event.words, 'x', sizeof event.words); /* no end */
    assert_false(journal_event_to_json(&event, json, sizeof json));
    assert_string_equal(json, "");
    event = (struct job_event){.kind = (enum job_event_kind)77};
    assert_false(journal_event_to_json(&event, json, sizeof json));
    event = (struct job_event){.kind = JOB_HEARD, .source = (enum job_source)4};
    assert_false(journal_event_to_json(&event, json, sizeof json));
    event = (struct job_event){.kind = JOB_HEARD, .verdict = (enum job_verdict)3};
    assert_false(journal_event_to_json(&event, json, sizeof json));
    event = (struct job_event){.kind = JOB_OPENED, .names_n = PROFILES_MAX + 1};
    assert_false(journal_event_to_json(&event, json, sizeof json));
}

static void a_small_buffer_is_refused_and_the_longest_event_fits(void **state)
{
    (void)state;
    char json[JOURNAL_EVENT];
    struct job_event event = {.kind = JOB_PROFILE_READ, .names_n = PROFILES_MAX};
    memset(event.words, '\x01', sizeof event.words - 1);
    memset(event.other, '\x01', sizeof event.other - 1);
    memset(event.keys, '\x01', sizeof event.keys - 1);
    for (size_t i = 0; i < PROFILES_MAX; i++)
        memset(event.names[i], '\x01', sizeof event.names[i] - 1);
    uint64_t seed = 5;
    seeded_profile(&seed, &event.profile);
    memset(event.profile.title, '\x01', PROFILE_TEXT - 1);
    memset(event.profile.source, '\x01', PROFILE_TEXT - 1);
    memset(event.profile.fluid, '\x01', PROFILE_TEXT - 1);
    assert_comes_back(&event);
    assert_true(journal_event_to_json(&event, json, sizeof json));
    size_t length = strlen(json);
    for (size_t size = 0; size <= length; size += 97)
        assert_false(journal_event_to_json(&event, json, size));
    assert_false(journal_event_to_json(&event, json, length));
    assert_true(journal_event_to_json(&event, json, length + 1));
}

static void what_is_no_stored_event_is_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "{}",
        "[]",
        "null",
        "{\"kind\":\"heard\"}",
        "{\"kind\":\"heard\",\"at_ms\":1}",
        "{\"kind\":\"heard\",\"at_ms\":1.5,\"source\":\"ear\"}",
        "{\"kind\":\"told\",\"at_ms\":1,\"source\":\"ear\"}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"nose\"}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"verdict\":\"good\"}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"score\":\"high\"}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"words\":7}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"words\":{\"hex\":\"f\"}}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"words\":{\"hex\":\"00\"}}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"words\":{\"hex\":\"gg\"}}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"words\":{\"hex\":\"ff\",\"a\":1}}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"words\":\"a\\u0000b\"}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"mood\":\"good\"}",
        "{\"kind\":\"heard\",\"kind\":\"opened\",\"at_ms\":1,\"source\":\"ear\"}",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"ear\",\"names\":\"a\"}",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"ear\",\"names\":[1]}",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"ear\",\"names\":[1,2,3,4,5,6,7,8,9,10]}",
        "{\"kind\":\"profile_read\",\"at_ms\":1,\"source\":\"station\"}",
        "{\"kind\":\"profile_read\",\"at_ms\":1,\"source\":\"station\",\"profile\":\"x\"}",
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\"} and more",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"station\",\"bike\":7}",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"station\",\"priors\":{}}",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"station\",\"priors\":[1]}",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"station\",\"priors\":{\"moon\":1}}",
        "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"station\",\"priors\":{\"pawl\":\"much\"}}",
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct job_event event;
        struct job_event zero = {0};
        struct fault fault = {0};
        memset(&event, 0x5A, sizeof event);
        if (journal_event_from_json(bad[i], &event, &fault))
            fail_msg("taken: %s", bad[i]);
        assert_int_equal(fault.code, FAULT_FAILED);
        assert_true(same_event(&event, &zero));
    }
    struct job_event event;
    char long_words[JOURNAL_EVENT] =
        "{\"kind\":\"heard\",\"at_ms\":1,\"source\":\"ear\",\"words\":\"";
    memset(long_words + strlen(long_words), 'x', LANGUAGE_WORDS);
    strcat(long_words, "\"}");
    assert_false(journal_event_from_json(long_words, &event, NULL));
    assert_false(
        journal_event_from_json("{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"ear\",\"names\":"
                                "[\"\",\"\",\"\",\"\",\"\",\"\",\"\",\"\",\"\",\"\"]}",
                                &event, NULL)); /* one more than there can be */
    char *huge = calloc(1, 2 * JOURNAL_EVENT);
    memset(huge, '[', 2 * JOURNAL_EVENT - 1);
    assert_false(journal_event_from_json(huge, &event, NULL));
    free(huge);
}

/* Bytes flipped anywhere: taken or refused, never a crash; the sanitizers watch. */
static void any_damage_is_survived(void **state)
{
    (void)state;
    uint64_t seed = 9;
    for (int i = 0; i < 5000; i++) {
        struct job_event event;
        char json[JOURNAL_EVENT];
        seeded_event(&seed, &event);
        assert_true(journal_event_to_json(&event, json, sizeof json));
        for (size_t n = 1 + seeded_below(&seed, 4); n > 0; n--)
            json[seeded_below(&seed, strlen(json) + 1)] = (char)seeded(&seed);
        journal_event_from_json(json, &event, NULL);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_event_comes_back_bit_for_bit),
        cmocka_unit_test(doubles_at_the_edges_come_back),
        cmocka_unit_test(members_no_event_of_the_kind_has_are_kept_too),
        cmocka_unit_test(the_json_is_as_the_header_says),
        cmocka_unit_test(a_cause_that_was_not_known_then_has_the_tables_share),
        cmocka_unit_test(what_is_no_event_is_not_told),
        cmocka_unit_test(a_small_buffer_is_refused_and_the_longest_event_fits),
        cmocka_unit_test(what_is_no_stored_event_is_refused),
        cmocka_unit_test(any_damage_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
