/* What is known of the stem before the first turn. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "seeded_profile.h"

static bool is_near(double value, double wanted)
{
    return fabs(value - wanted) <= 1e-12 * fabs(wanted);
}

static void a_silent_profile_gives_the_trade_defaults(void **state)
{
    (void)state;
    struct profile profile;
    profile_init(&profile);
    struct measure_turn_prior prior = profile_turn_prior(&profile);
    assert_false(prior.gain_known);
    assert_int_equal(prior.sense, MEASURE_SENSE_UNKNOWN);
    assert_true(prior.sense_trust == 0.5);
    assert_true(prior.step_turns == 1.0 / 32);
    assert_true(prior.increment_turns == 1.0 / 8);
    assert_true(prior.total_turns == 1);
    assert_int_equal(prior.rounds_max, 6);
}

/* ASME B1.1, 1/4-28 UNF: 28 threads an inch, so 25.4/28 mm a turn. */
static void a_screw_moves_its_pitch_times_the_lever_each_turn(void **state)
{
    (void)state;
    struct profile profile;
    profile_init(&profile);
    profile.stem = PROFILE_STEM_SCREW;
    profile.stem_pitch =
        (struct profile_length){.known = true, .value = measure_length_of(1, 28, MEASURE_INCH)};
    profile.lever_ratio = (struct profile_number){.known = true, .value = 2};
    profile.sense = MEASURE_CLOCKWISE_BACK;
    struct measure_turn_prior prior = profile_turn_prior(&profile);
    assert_true(prior.gain_known);
    assert_true(is_near(prior.gain_mm, 2 * 25.4 / 28));
    assert_true(prior.gain_relative_u > 0);
    assert_int_equal(prior.sense, MEASURE_CLOCKWISE_BACK);
    assert_true(prior.sense_trust == 0.95);
}

/* The steepest slope of e sin(2 pi t), by central differences. */
static void an_eccentric_moves_as_its_sine_does_where_it_is_steepest(void **state)
{
    (void)state;
    struct profile profile;
    profile_init(&profile);
    profile.stem = PROFILE_STEM_ECCENTRIC;
    profile.stem_pitch =
        (struct profile_length){.known = true, .value = measure_length_of(1, 1, MEASURE_MM)};
    profile.lever_ratio = (struct profile_number){.known = true, .value = 1};
    struct measure_turn_prior prior = profile_turn_prior(&profile);
    const double h = 1e-5;
    double slope = (sin(2 * acos(-1) * h) - sin(-2 * acos(-1) * h)) / (2 * h);
    assert_true(fabs(prior.gain_mm - slope) < 1e-6);
}

static void a_gain_that_is_only_half_known_is_not_made_up(void **state)
{
    (void)state;
    struct profile profile;
    profile_init(&profile);
    profile.stem = PROFILE_STEM_SCREW;
    profile.stem_pitch =
        (struct profile_length){.known = true, .value = measure_length_of(1, 28, MEASURE_INCH)};
    assert_false(profile_turn_prior(&profile).gain_known);
    profile.lever_ratio = (struct profile_number){.known = true, .value = 1};
    profile.stem = PROFILE_STEM_UNKNOWN;
    assert_false(profile_turn_prior(&profile).gain_known);
}

/* A profile filled in by hand may hold anything; the turn is never half a turn or more. */
static void any_profile_gives_a_prior_that_can_be_used(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (int i = 0; i < 5000; i++) {
        struct profile profile;
        struct measure_turn turn;
        struct fault fault = {0};
        seeded_profile(&seed, &profile);
        struct measure_turn_prior prior = profile_turn_prior(&profile);
        if (!measure_turn_init(&turn, &prior, &fault))
            fail_msg("%s", fault.sentence);
        assert_true(prior.increment_turns < 0.5 && prior.increment_turns > 0);
        assert_true(prior.step_turns > 0 && prior.step_turns <= prior.increment_turns);
        assert_true(prior.total_turns >= prior.increment_turns);
        assert_true(prior.rounds_max >= 1 && prior.rounds_max <= 23);
        assert_true(prior.gain_mm >= 0 && prior.lock_nut_mm >= 0);
        assert_true(prior.gain_known == (prior.gain_mm > 0));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_silent_profile_gives_the_trade_defaults),
        cmocka_unit_test(a_screw_moves_its_pitch_times_the_lever_each_turn),
        cmocka_unit_test(an_eccentric_moves_as_its_sine_does_where_it_is_steepest),
        cmocka_unit_test(a_gain_that_is_only_half_known_is_not_made_up),
        cmocka_unit_test(any_profile_gives_a_prior_that_can_be_used),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
