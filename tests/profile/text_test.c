/* A profile as text and back: exact for any profile, and nothing wrong is taken. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "seeded_profile.h"

static void any_profile_comes_back_bit_for_bit(void **state)
{
    (void)state;
    uint64_t seed = 20251125;
    for (int i = 0; i < 3000; i++) {
        struct profile profile;
        struct profile back;
        char text[PROFILE_FLAT];
        struct fault fault = {0};
        seeded_profile(&seed, &profile);
        assert_true(profile_to_text(&profile, text, sizeof text));
        if (!profile_from_text(text, &back, &fault))
            fail_msg("%s\n%s", fault.sentence, text);
        assert_true(same_profile(&profile, &back));
    }
}

static void the_text_is_one_line_a_known_value(void **state)
{
    (void)state;
    struct profile profile;
    char text[PROFILE_FLAT];
    assert_true(profile_load(SHIPPED "/generic-big-twin.ini", &profile, NULL));
    assert_true(profile_to_text(&profile, text, sizeof text));
    assert_string_equal(text, "midthrow-profile=1\n"
                              "profile.name=generic-big-twin\n"
                              "bike.title=Generic big twin\n"
                              "bike.source=common practice, no source; the service manual wins\n"
                              "stem.across_flats=1/4 in\n"
                              "stem.step=0.03125\n"
                              "stem.increment=0.125\n"
                              "stem.total=1\n"
                              "lock_nut.across_flats=11/16 in\n"
                              "pawl.tolerance=1/32 in\n"
                              "pawl.resolution=1/64 in\n"
                              "pawl.gear=3\n"
                              "pawl.rounds=6\n");
}

static void the_longest_profile_fits_and_a_small_buffer_is_refused(void **state)
{
    (void)state;
    struct profile profile;
    char text[PROFILE_FLAT];
    uint64_t seed = 7;
    seeded_profile(&seed, &profile);
    memset(profile.name, '\x01', PROFILE_NAME - 1);
    memset(profile.title, '\x01', PROFILE_TEXT - 1);
    memset(profile.source, '\x01', PROFILE_TEXT - 1);
    memset(profile.fluid, '\x01', PROFILE_TEXT - 1);
    assert_true(profile_to_text(&profile, text, sizeof text));
    for (size_t size = 1; size < strlen(text); size += 37)
        assert_false(profile_to_text(&profile, text, size));
}

static void what_is_no_number_is_not_written(void **state)
{
    (void)state;
    struct profile profile;
    char text[PROFILE_FLAT];
    profile_init(&profile);
    profile.gear = (struct profile_number){.known = true, .value = (double)NAN};
    assert_false(profile_to_text(&profile, text, sizeof text));
    profile_init(&profile);
    profile.tolerance = (struct profile_length){.known = true, .value = {1, 0, MEASURE_INCH}};
    assert_false(profile_to_text(&profile, text, sizeof text));
}

static void damaged_texts_are_refused_and_leave_the_profile_alone(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "midthrow-profile=2\n",
        "midthrow-profile=1",
#define H "midthrow-profile=1\n"
        H "pawl.gear=3",
        H "pawl.gear\n",
        H "pawl=3\n",
        H "pawl.gear=\n",
        H "pawl.gear=three\n",
        H "pawl.gear=nan\n",
        H "pawl.gear=inf\n",
        H "pawl.gear=1e999\n",
        H "pawl.gear=0x3\n",
        H "pawl.toys=3\n",
        H "a.b=c\n",
        H "pawl.tolerance=1/32\n",
        H "pawl.tolerance=1/0 in\n",
        H "pawl.tolerance=1/-2 in\n",
        H "pawl.tolerance=99999999999999999999/1 in\n",
        H "pawl.tolerance=1/32 furlong\n",
        H "stem.kind=cam\n",
        H "stem.kind=unknown\n",
        H "bike.title=\\\n",
        H "bike.title=\\x0\n",
        H "bike.title=\\x00\n",
        H "bike.title=\\y41\n",
        H "n23456789012345678901234567890123.b=c\n",
        H "\n",
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct profile profile;
        struct fault fault = {0};
        memset(&profile, 0x5A, sizeof profile);
        struct profile before = profile;
        if (profile_from_text(bad[i], &profile, &fault))
            fail_msg("taken: %s", bad[i]);
        assert_int_equal(fault.code, FAULT_FAILED);
        assert_memory_equal(&profile, &before, sizeof profile);
    }
}

/* Bytes flipped anywhere: taken or refused, never a crash; the sanitizers watch. */
static void any_damage_is_survived(void **state)
{
    (void)state;
    uint64_t seed = 3;
    for (int i = 0; i < 3000; i++) {
        struct profile profile;
        char text[PROFILE_FLAT];
        seeded_profile(&seed, &profile);
        assert_true(profile_to_text(&profile, text, sizeof text));
        for (size_t n = 1 + seeded_below(&seed, 4); n > 0; n--)
            text[seeded_below(&seed, strlen(text) + 1)] = (char)seeded(&seed);
        text[PROFILE_FLAT - 1] = '\0';
        profile_from_text(text, &profile, NULL);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_profile_comes_back_bit_for_bit),
        cmocka_unit_test(the_text_is_one_line_a_known_value),
        cmocka_unit_test(the_longest_profile_fits_and_a_small_buffer_is_refused),
        cmocka_unit_test(what_is_no_number_is_not_written),
        cmocka_unit_test(damaged_texts_are_refused_and_leave_the_profile_alone),
        cmocka_unit_test(any_damage_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
