/* Profiles from files: the generic one as shipped, a full one, and everything that is refused. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../base/scratch.h"
#include "profile/profile.h"

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

static bool load(const char *content, struct profile *profile, struct fault *fault)
{
    char path[SCRATCH_PATH];
    scratch_write(directory, "bike.ini", content, strlen(content), path);
    return profile_load(path, profile, fault);
}

#define HEAD "[bike]\ntitle = Test bike\nsource = manual, page 6-42\n"

static void assert_loads(const char *content, struct profile *profile)
{
    struct fault fault = {0};
    if (!load(content, profile, &fault))
        fail_msg("%s", fault.sentence);
}

static void assert_refuses(const char *content, const char *why)
{
    struct profile profile;
    struct fault fault = {0};
    memset(&profile, 0x5A, sizeof profile);
    struct profile before = profile;
    assert_false(load(content, &profile, &fault));
    assert_memory_equal(&profile, &before, sizeof profile);
    assert_int_equal(fault.code, FAULT_FAILED);
    if (strstr(fault.sentence, why) == NULL)
        fail_msg("'%s' does not say '%s'", fault.sentence, why);
}

static void assert_length(struct profile_length length, int64_t num, int64_t den,
                          enum measure_unit unit)
{
    assert_true(length.known);
    assert_int_equal(length.value.num, num);
    assert_int_equal(length.value.den, den);
    assert_int_equal(length.value.unit, unit);
}

/* Trade defaults: common practice, no source (design.md lists them). */
static void the_generic_profile_holds_the_trade_defaults_and_invents_nothing(void **state)
{
    (void)state;
    struct profile profile;
    struct fault fault = {0};
    if (!profile_load(SHIPPED "/generic-big-twin.ini", &profile, &fault))
        fail_msg("%s", fault.sentence);
    assert_string_equal(profile.name, "generic-big-twin");
    assert_string_equal(profile.title, "Generic big twin");
    assert_string_equal(profile.source, "common practice, no source; the service manual wins");
    assert_length(profile.lock_nut_size, 11, 16, MEASURE_INCH);
    assert_length(profile.stem_size, 1, 4, MEASURE_INCH);
    assert_length(profile.tolerance, 1, 32, MEASURE_INCH);
    assert_length(profile.resolution, 1, 64, MEASURE_INCH);
    assert_true(profile.gear.known && profile.gear.value == 3);
    assert_true(profile.increment_turns.known && profile.increment_turns.value == 0.125);
    assert_true(profile.step_turns.known && profile.step_turns.value == 0.03125);
    assert_true(profile.total_turns.known && profile.total_turns.value == 1);
    assert_true(profile.rounds.known && profile.rounds.value == 6);
    assert_int_equal(profile.sense, MEASURE_SENSE_UNKNOWN);
    assert_int_equal(profile.stem, PROFILE_STEM_UNKNOWN);
    assert_int_equal(profile.clutch, PROFILE_CLUTCH_UNKNOWN);
    assert_false(profile.stem_pitch.known || profile.lever_ratio.known ||
                 profile.lock_nut_nm.known || profile.lock_nut_shift.known ||
                 profile.free_play_low.known || profile.free_play_high.known ||
                 profile.linkage_play_high.known);
    assert_string_equal(profile.fluid, "");
}

static void every_key_is_taken(void **state)
{
    (void)state;
    struct profile profile;
    assert_loads(HEAD "[stem]\nkind = screw\npitch = 1/28 in\nlever_ratio = 3/2\n"
                      "sense = clockwise back\nacross_flats = 6 mm\nstep = 1/64\nincrement = 0.1\n"
                      "total = 2\n[lock_nut]\nacross_flats = 17 mm\ntorque_nm = 24.5\n"
                      "shift = 2 thou\n[pawl]\ntolerance = 0.8 mm\nresolution = .01 in\ngear = 2\n"
                      "rounds = 8\n[clutch]\nkind = cable\nfree_play_low = 1/16 in\n"
                      "free_play_high = 1/8 in\n[linkage]\nplay_high = 1.5 mm\n"
                      "[primary]\nfluid = as on the filler cap\n",
                 &profile);
    assert_string_equal(profile.name, "bike");
    assert_string_equal(profile.title, "Test bike");
    assert_int_equal(profile.stem, PROFILE_STEM_SCREW);
    assert_length(profile.stem_pitch, 1, 28, MEASURE_INCH);
    assert_true(profile.lever_ratio.value == 1.5);
    assert_int_equal(profile.sense, MEASURE_CLOCKWISE_BACK);
    assert_length(profile.stem_size, 6, 1, MEASURE_MM);
    assert_true(profile.step_turns.value == 1.0 / 64);
    assert_true(profile.increment_turns.value == 0.1);
    assert_true(profile.total_turns.value == 2);
    assert_length(profile.lock_nut_size, 17, 1, MEASURE_MM);
    assert_true(profile.lock_nut_nm.value == 24.5);
    assert_length(profile.lock_nut_shift, 2, 1, MEASURE_THOU);
    assert_length(profile.tolerance, 4, 5, MEASURE_MM);
    assert_length(profile.resolution, 1, 100, MEASURE_INCH);
    assert_true(profile.gear.value == 2);
    assert_true(profile.rounds.value == 8);
    assert_int_equal(profile.clutch, PROFILE_CLUTCH_CABLE);
    assert_length(profile.free_play_low, 1, 16, MEASURE_INCH);
    assert_length(profile.free_play_high, 1, 8, MEASURE_INCH);
    assert_length(profile.linkage_play_high, 3, 2, MEASURE_MM);
    assert_string_equal(profile.fluid, "as on the filler cap");
}

static void what_is_left_out_or_unknown_stays_unknown(void **state)
{
    (void)state;
    struct profile silent;
    struct profile says_so;
    assert_loads(HEAD, &silent);
    assert_loads(HEAD "[stem]\nkind = unknown\npitch = unknown\nsense = unknown\n[pawl]\n"
                      "gear = unknown\n[primary]\nfluid = unknown\n",
                 &says_so);
    assert_memory_equal(&silent, &says_so, sizeof silent);
}

static void a_throw_is_the_eccentrics_number(void **state)
{
    (void)state;
    struct profile profile;
    assert_loads(HEAD "[stem]\nthrow = 1 mm\nkind = eccentric\n", &profile);
    assert_length(profile.stem_pitch, 1, 1, MEASURE_MM);
}

static void impossible_numbers_are_refused(void **state)
{
    (void)state;
    static const char *const stem[] = {
        "pitch = 0 in",
        "pitch = 1-1/64 in",
        "across_flats = 0 mm",
        "across_flats = 5 in",
        "lever_ratio = 0",
        "lever_ratio = 101",
        "step = 0",
        "increment = 1/2",
        "increment = 0.5",
        "increment = 1",
        "total = 0",
        "total = 21",
    };
    for (size_t i = 0; i < sizeof stem / sizeof stem[0]; i++) {
        char content[256];
        snprintf(content, sizeof content, HEAD "[stem]\nkind = screw\n%s\n", stem[i]);
        assert_refuses(content, "line 6: ");
        assert_refuses(content, "must be ");
    }
    assert_refuses(HEAD "[pawl]\ngear = 0\n", "gear in [pawl] must be a whole number from 1 to 6");
    assert_refuses(HEAD "[pawl]\ngear = 7\n", "whole number from 1 to 6");
    assert_refuses(HEAD "[pawl]\ngear = 2.5\n", "whole number from 1 to 6");
    assert_refuses(HEAD "[pawl]\nrounds = 0\n", "whole number from 1 to 23");
    assert_refuses(HEAD "[pawl]\ntolerance = 0 in\n", "above 0 and at most 1 in");
    assert_refuses(HEAD "[lock_nut]\ntorque_nm = 501\n", "at most 500");
}

static void what_does_not_parse_is_refused(void **state)
{
    (void)state;
    assert_refuses(HEAD "[pawl]\ntolerance = 1/32\n", "line 5: tolerance in [pawl] cannot be read");
    assert_refuses(HEAD "[pawl]\ntolerance = -1/32 in\n", "cannot be read");
    assert_refuses(HEAD "[pawl]\ntolerance = 1/0 in\n", "cannot be read");
    static const char *const bad[] = {"three", "-3",         "1e9",   "0x3",  "nan",  "inf",
                                      "1/0",   "1/",         "/3",    ".",    "1/-2", "1 3",
                                      "1,5",   "1234567890", "1.2.3", "1/2/3"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char content[128];
        snprintf(content, sizeof content, HEAD "[pawl]\ngear = %s\n", bad[i]);
        assert_refuses(content, "line 5: gear in [pawl] is not a number");
    }
    assert_refuses(HEAD "[stem]\nkind = cam\n", "must be 'screw', 'eccentric' or 'unknown'");
    assert_refuses(HEAD "[stem]\nsense = left\n", "'clockwise forward', 'clockwise back'");
    assert_refuses(HEAD "[stem]\nsense =\n", "has no value");
}

static void unknown_keys_are_refused_with_the_nearest_one(void **state)
{
    (void)state;
    assert_refuses(
        HEAD "[stem]\nincrment = 1/8\n",
        "line 5: there is no key 'incrment' in [stem]: did you mean 'increment' in [stem]?");
    assert_refuses(HEAD "[locknut]\nacross_flats = 11/16 in\n", "'across_flats' in [lock_nut]?");
    assert_refuses(HEAD "[stem]\ntolerance = 1/32 in\n", "'tolerance' in [pawl]?");
    assert_refuses("title = x\n", "'title' in [bike]?");
}

static void a_key_given_twice_is_refused_with_both_lines(void **state)
{
    (void)state;
    assert_refuses(HEAD "[pawl]\ngear = 3\nrounds = 6\ngear = 3\n",
                   "lines 5 and 7 both give 'gear' in [pawl]");
    assert_refuses(HEAD "[bike]\ntitle = Other\n", "lines 2 and 5 both give 'title'");
}

static void numbers_that_contradict_one_another_are_refused(void **state)
{
    (void)state;
    assert_refuses(HEAD "[clutch]\nfree_play_high = 1/16 in\nfree_play_low = 2 mm\n",
                   "line 6: free_play_low is more than free_play_high");
    assert_refuses(HEAD "[stem]\nstep = 1/4\n", "line 5: the step is more than the increment");
    assert_refuses(HEAD "[stem]\nincrement = 1/64\n",
                   "line 5: the step is more than the increment");
    assert_refuses(HEAD "[stem]\nincrement = 1/4\ntotal = 1/5\n",
                   "line 6: the increment is more than the total");
    assert_refuses(HEAD "[stem]\npitch = 1 mm\n", "a pitch belongs to 'kind = screw'");
    assert_refuses(HEAD "[stem]\nkind = eccentric\npitch = 1 mm\n", "line 6: a pitch belongs");
    assert_refuses(HEAD "[stem]\nthrow = 1 mm\nkind = screw\n", "line 6: a throw belongs");
    assert_refuses(HEAD "[stem]\nkind = screw\npitch = 1 mm\nthrow = 1 mm\n", "not both");
    struct profile profile;
    assert_loads(HEAD "[clutch]\nfree_play_low = 1 in\nfree_play_high = 25.4 mm\n", &profile);
}

static void a_profile_says_what_it_is_for_and_where_from(void **state)
{
    (void)state;
    assert_refuses("", "does not say what bike it is for");
    assert_refuses("[bike]\nsource = manual\n", "does not say what bike it is for");
    assert_refuses("[bike]\ntitle = Test\n", "does not say where its numbers come from");
    assert_refuses("[bike]\ntitle = Test\nsource = unknown\n", "where its numbers come from");
    assert_refuses("[bike]\ntitle = Test\n  more\n", "line 3 begins with a space");
    char content[300] = "[bike]\ntitle = ";
    memset(content + strlen(content), 'x', PROFILE_TEXT);
    assert_refuses(content, "longer than 159 bytes");
}

static void a_file_without_a_usable_name_is_refused(void **state)
{
    (void)state;
    static const char *const names[] = {".ini", "a b.ini", "a\x1B[2J.ini",
                                        "n2345678901234567890123456789012345678901234567x.ini"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[SCRATCH_PATH];
        struct profile profile;
        struct fault fault = {0};
        scratch_write(directory, names[i], HEAD, strlen(HEAD), path);
        assert_false(profile_load(path, &profile, &fault));
        assert_non_null(strstr(fault.sentence, "has no name that can be used"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_generic_profile_holds_the_trade_defaults_and_invents_nothing),
        cmocka_unit_test(every_key_is_taken),
        cmocka_unit_test(what_is_left_out_or_unknown_stays_unknown),
        cmocka_unit_test(a_throw_is_the_eccentrics_number),
        cmocka_unit_test(impossible_numbers_are_refused),
        cmocka_unit_test(what_does_not_parse_is_refused),
        cmocka_unit_test(unknown_keys_are_refused_with_the_nearest_one),
        cmocka_unit_test(a_key_given_twice_is_refused_with_both_lines),
        cmocka_unit_test(numbers_that_contradict_one_another_are_refused),
        cmocka_unit_test(a_profile_says_what_it_is_for_and_where_from),
        cmocka_unit_test(a_file_without_a_usable_name_is_refused),
    };
    return cmocka_run_group_tests(tests, make_directory, remove_directory);
}
