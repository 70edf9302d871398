/*
 * The pawl check and the adjusting rounds, word for word: the manual's sizes and limits, what was
 * really turned, rules too coarse to tell, readings that scatter, and every way it stops.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "talk.h"

static struct profile profile;

static int read_the_manual(void **state)
{
    (void)state;
    talk_profile(&profile, false);
    return 0;
}

static struct profile_length mm(int64_t num, int64_t den)
{
    return (struct profile_length){.known = true, .value = measure_length_of(num, den, MEASURE_MM)};
}

static void go_to_the_hook(void)
{
    talk_open(JOB_WALK, &profile);
    talk_go_to("centring.strapped");
    confirm_all();
    assert_at("centring.hook");
}

static void go_to_the_throws(void)
{
    go_to_the_hook();
    say("it looks good");
    assert_at("centring.forward");
}

/* One reading of each throw. */
static void read_throws(double forward, double back)
{
    char words[32];
    snprintf(words, sizeof words, "%.1f mm", forward);
    say(words);
    snprintf(words, sizeof words, "%.1f mm", back);
    say(words);
}

/* Both read twice: plainly rest is 2 mm too far back. Up to the turn, what is asked confirmed. */
static void go_to_the_first_turn(void)
{
    go_to_the_throws();
    read_throws(10, 6);
    read_throws(10, 6);
    assert_true(said("balance.uneven"));
    confirm_all();
    assert_at("adjusting.turn");
}

static struct job_round *round_turned(void)
{
    return &job.round[job.rounds - 2]; /* the next one has begun */
}

/* ---- before the throws are read ----------------------------------------------------------- */

static void the_gear_is_the_manual_s_or_asked_for(void **state)
{
    (void)state;
    profile.gear.known = false;
    talk_open(JOB_WALK, &profile);
    talk_go_to("centring.strapped");
    confirm_all();
    assert_at("centring.which_gear");
    say("seven");
    assert_true(said("centring.no_such_gear"));
    assert_false(job.numbers.gear.known);
    say("five");
    assert_true(said_with("centring.gear", "gear", "fifth"));
    assert_int_equal(job_phrase(&job), LANGUAGE_NAMED_GEAR);
    say("go back");
    say("don't know");
    assert_true(said_with("centring.gear", "gear", "third"));
    assert_int_equal(job_phrase(&job), LANGUAGE_THIRD_GEAR);
}

/* No reader of profiles lets these through; the job does not trust that. */
static void numbers_no_manual_gives_do_no_harm(void **state)
{
    (void)state;
    static const double gears[] = {-1, 0, 7, 1e9};
    for (size_t i = 0; i < sizeof gears / sizeof gears[0]; i++) {
        profile.gear.value = gears[i];
        talk_open(JOB_WALK, &profile);
        talk_go_to("centring.strapped");
        for (int j = 0; j < 4; j++)
            confirm();
        assert_true(said_with("centring.gear", "gear", "third"));
    }
    profile.tolerance = mm(0, 1); /* nothing is even within nothing */
    go_to_the_throws();
    read_throws(8, 8);
    read_throws(8, 8);
    assert_true(said("balance.cannot_tell"));
    assert_false(said("balance.even"));
    assert_int_equal(job.reason.seen[REASON_THROWS], -1);
}

static void the_unit_of_the_last_length_is_expected_of_the_next(void **state)
{
    (void)state;
    go_to_the_throws();
    say("one quarter of an inch");
    assert_string_equal(job_grammar(&job), "distance");
    say("6 mm");
    assert_string_equal(job_grammar(&job), "millimetres");
    say("go back");
    assert_string_equal(job_grammar(&job), "distance");
}

static void a_hook_that_cannot_be_seen_says_nothing(void **state)
{
    (void)state;
    go_to_the_hook();
    choose(3);
    assert_int_equal(job.reason.seen[REASON_HOOK_LOOK], -1);
    assert_at("centring.forward");
    say("go back");
    choose(REASON_HOOK_BENT);
    assert_true(said("centring.hook_bad"));
    assert_int_equal(job.reason.seen[REASON_HOOK_LOOK], REASON_HOOK_BENT);
    assert_int_equal(job.rounds, 0);
}

/* ---- rules too coarse, and readings that scatter ------------------------------------------ */

static void a_rule_too_coarse_is_changed_for_a_finer_one(void **state)
{
    (void)state;
    profile.resolution = mm(1, 1);
    go_to_the_throws();
    read_throws(8, 8);
    read_throws(8, 8);
    assert_true(said("balance.cannot_tell"));
    assert_at("centring.finer");
    say("yes");
    say("2 mm");
    assert_true(said("centring.not_finer"));
    assert_at("centring.finer_rule");
    say("0.1 mm");
    assert_at("centring.forward"); /* both throws again, from the first reading */
    assert_int_equal(job.round[0].forward.n, 0);
    read_throws(8, 8);
    read_throws(8, 8);
    assert_true(said("balance.even"));
    assert_int_equal(job.centring, JOB_CENTRED_AS_FOUND);
}

static void without_a_finer_rule_nothing_is_adjusted(void **state)
{
    (void)state;
    static const char *const no[] = {"no", "don't know", "skip"};
    profile.resolution = mm(1, 1);
    for (size_t i = 0; i < sizeof no / sizeof no[0]; i++) {
        go_to_the_throws();
        read_throws(8, 8);
        read_throws(8, 8);
        say(no[i]);
        assert_true(said("centring.use_finer_rule"));
        assert_int_equal(job.centring, JOB_CANNOT_TELL);
        assert_int_equal(job.reason.seen[REASON_THROWS], -1);
    }
}

/* Whichever throw it is, and never while readings are still wanted. */
static void a_throw_that_scatters_is_told_once_its_readings_are_in(void **state)
{
    (void)state;
    profile.tolerance = mm(3, 1);
    for (int which = 0; which < 2; which++) {
        int n = 0;
        go_to_the_throws();
        for (; n < 8 && is_at("centring.forward"); n++) {
            assert_false(said("centring.scatter"));
            double odd = n % 2 == 0 ? 6 : 10;
            read_throws(which == 0 ? odd : 8, which == 0 ? 8 : odd);
        }
        assert_true(n >= 4); /* three degrees of freedom: fewer may be a slip */
        assert_true(said("centring.scatter"));
        assert_true(job.round[0].scatter_suspect);
    }
}

static void readings_that_keep_scattering_stop_the_adjusting(void **state)
{
    (void)state;
    go_to_the_throws();
    static const double first[] = {18, 22, 18, 22};
    for (size_t i = 0; i < 4 && is_at("centring.forward"); i++)
        read_throws(first[i], 4);
    assert_int_equal(job.centring, JOB_ESCALATED);
    for (int round = 1; round < 6 && !said("adjusting.stop_scatter"); round++) {
        confirm_all();
        assert_at("adjusting.turn");
        say("turned as told");
        confirm_all();
        for (int i = 0; i < 8 && is_at("adjusting.forward"); i++)
            read_throws(i % 2 == 0 ? 18 : 22, 4);
    }
    assert_true(said("adjusting.stop_scatter"));
    assert_false(said("adjusting.round"));
    assert_true(job.round[job.rounds - 1].scatter_suspect);
    assert_true(job.round[job.rounds - 2].scatter_suspect);
}

static void a_corrected_reading_stays_corrected_when_the_next_one_is_read(void **state)
{
    (void)state;
    go_to_the_throws();
    say("9 mm");
    say("that is wrong");
    read_throws(8, 8);
    assert_string_equal(job.correction[0].became, "eight millimetres");
    say("7.9 mm");
    assert_string_equal(job.correction[0].became, "eight millimetres");
    assert_int_equal(job.corrections, 1);
}

/* ---- adjusting ---------------------------------------------------------------------------- */

static void the_manual_s_sizes_and_torque_are_named(void **state)
{
    (void)state;
    profile.lock_nut_size = mm(17, 1);
    profile.stem_size = mm(8, 1);
    profile.lock_nut_nm = (struct profile_number){.known = true, .value = 24};
    go_to_the_throws();
    read_throws(10, 6);
    read_throws(10, 6);
    assert_true(said_with("adjusting.intro", "nut", "seventeen millimetres"));
    assert_true(said_with("adjusting.intro", "stem", "eight millimetres"));
    confirm_all();
    say("turned as told");
    assert_true(said_with("adjusting.tighten", "torque", "to 24 newton metres, 17.7 foot pounds"));
    read_the_manual(NULL);
    go_to_the_first_turn();
    say("turned as told");
    assert_true(said_with("adjusting.tighten", "torque", "to the manual's torque"));
}

static void how_far_to_turn_has_to_make_sense(void **state)
{
    (void)state;
    profile.increment_turns.known = profile.total_turns.known = false;
    go_to_the_throws();
    read_throws(10, 6);
    read_throws(10, 6);
    assert_at("adjusting.increment");
    say("half a turn");
    assert_true(said("adjusting.half_a_turn"));
    say("zero turns");
    assert_true(said("adjusting.half_a_turn"));
    say("one quarter of a turn");
    assert_at("adjusting.total");
    say("one eighth of a turn");
    assert_true(said("adjusting.total_too_small"));
    assert_at("adjusting.total");
    say("one turn");
    assert_at("adjusting.tools");
    assert_float_equal(job.turn.prior.increment_turns, 0.25, 1e-6);

    profile.total_turns = (struct profile_number){.known = true, .value = 0.125};
    go_to_the_throws();
    read_throws(10, 6);
    read_throws(10, 6);
    say("one quarter of a turn");
    assert_true(said("checks.low_above_high"));
    assert_at("adjusting.increment");
    say("one eighth of a turn");
    assert_at("adjusting.tools");
}

/* What is said to be turned counts, not what was advised. */
static void what_was_really_turned_is_reckoned_with(void **state)
{
    (void)state;
    go_to_the_first_turn();
    double advised = job.round[0].advice.turns;
    static const struct {
        const char *words;
        double turns;
        bool read_back, too_far;
    } made[] = {
        {"one sixteenth clockwise", 1.0 / 16, true, false},
        {"one sixteenth counter clockwise", -1.0 / 16, true, false},
        {"one quarter of a turn clockwise", 0.25, true, true},
        {"not turned", 0, true, false},
        {"skip", 0, false, false},
    };
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++) {
        say(made[i].words);
        assert_float_equal(job.round[0].turns, made[i].turns, 1e-6);
        assert_true(job.round[0].turned);
        assert_true(said("read_back") == made[i].read_back);
        assert_true(said("adjusting.too_far") == made[i].too_far);
        assert_at("adjusting.tighten");
        say("go back");
        assert_at("adjusting.turn");
    }
    say("turned as told");
    assert_false(said("read_back"));
    assert_float_equal(job.round[0].turns, advised, 1e-6);
}

/* An increment that is no whole number of a hand's steps is said as what can be turned of it. */
static void the_most_that_may_be_turned_is_never_said_as_more(void **state)
{
    (void)state;
    profile.increment_turns.value = 0.3;
    go_to_the_first_turn();
    say("help");
    assert_true(said_with("help.adjusting.turn", "most", "nine thirty seconds of a turn"));
    profile.increment_turns.value = profile.step_turns.value = 0.01;
    go_to_the_first_turn();
    say("help");
    assert_true(said_with("help.adjusting.turn", "most", "1 over 100 of a turn"));
}

static void even_as_far_as_the_rule_tells_asks_for_a_finer_one(void **state)
{
    (void)state;
    for (int has = 0; has < 2; has++) {
        profile.resolution = mm(1, 1);
        go_to_the_throws();
        read_throws(14, 2);
        read_throws(14, 2);
        confirm_all();
        say("turned as told");
        confirm_all();
        read_throws(8, 8);
        read_throws(8, 8);
        assert_at("adjusting.finer");
        say(has ? "yes" : "no");
        if (!has) {
            assert_true(said("adjusting.stop_cannot_tell"));
            continue;
        }
        say("0.1 mm");
        assert_at("adjusting.forward");
        read_throws(8, 8);
        read_throws(8, 8);
        assert_true(said("balance.even"));
        assert_int_equal(job.centring, JOB_CENTRED);
        assert_int_equal(job.rounds, 2); /* no round more, and nothing learned twice */
        assert_int_equal(job.turn.rounds, 1);
    }
}

static void it_ends_after_the_most_rounds_there_can_be(void **state)
{
    (void)state;
    profile.rounds.value = 23; /* the most a profile may say */
    profile.total_turns.value = 20;
    go_to_the_first_turn();
    for (int i = 1; i < 40 && !said("adjusting.stop_rounds"); i++) {
        assert_at("adjusting.turn");
        say("skip");
        confirm_all();
        read_throws(10, 6);
        read_throws(10, 6);
        if (!said("adjusting.stop_rounds"))
            confirm_all();
    }
    assert_true(said_with("adjusting.stop_rounds", "rounds", "23"));
    assert_int_equal(job.rounds, JOB_ROUNDS_MAX);
    assert_int_not_equal(job.phase, JOB_ADJUSTING);
    assert_float_equal(round_turned()->turns, 0, 0);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup(name, read_the_manual)
    const struct CMUnitTest tests[] = {
        TEST(the_gear_is_the_manual_s_or_asked_for),
        TEST(numbers_no_manual_gives_do_no_harm),
        TEST(the_unit_of_the_last_length_is_expected_of_the_next),
        TEST(a_hook_that_cannot_be_seen_says_nothing),
        TEST(a_rule_too_coarse_is_changed_for_a_finer_one),
        TEST(without_a_finer_rule_nothing_is_adjusted),
        TEST(a_throw_that_scatters_is_told_once_its_readings_are_in),
        TEST(readings_that_keep_scattering_stop_the_adjusting),
        TEST(a_corrected_reading_stays_corrected_when_the_next_one_is_read),
        TEST(the_manual_s_sizes_and_torque_are_named),
        TEST(how_far_to_turn_has_to_make_sense),
        TEST(what_was_really_turned_is_reckoned_with),
        TEST(the_most_that_may_be_turned_is_never_said_as_more),
        TEST(even_as_far_as_the_rule_tells_asks_for_a_finer_one),
        TEST(it_ends_after_the_most_rounds_there_can_be),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
