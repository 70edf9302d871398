/*
 * The table of judgement holds together: every row is a distribution, every word can be said, and
 * the numbers agree with the mechanics they are argued from.
 *
 * The mechanics asserted here are common practice, no source.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "reason/table.h"

/* Causes that hold torque on the gears, and those that make the wrong step. */
static const enum reason_cause drag[] = {
    REASON_FREE_PLAY, REASON_CLUTCH_ADJUST, REASON_CLUTCH_CABLE, REASON_CLUTCH_HYDRAULIC,
    REASON_PLATES,    REASON_SPRING_PLATE,  REASON_FLUID_LOW,    REASON_FLUID_HIGH,
    REASON_FLUID_OLD, REASON_FLUID_WRONG,   REASON_IDLE,
};
static const enum reason_cause step[] = {REASON_PAWL, REASON_LINKAGE, REASON_HOOK, REASON_GEARBOX};
enum { DRAGS = sizeof drag / sizeof drag[0], STEPS = sizeof step / sizeof step[0] };

static double p(enum reason_evidence evidence, int value, enum reason_cause cause)
{
    return reason_likelihood(evidence, cause, value);
}

static void every_row_is_a_distribution_without_a_zero(void **state)
{
    (void)state;
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        const int values = reason_values((enum reason_evidence)e);
        assert_in_range(values, 2, REASON_VALUES_MAX);
        double rest = 0;
        for (int v = 0; v < values; v++)
            rest += reason_evidence_table[e].rest[v];
        assert_true(fabs(rest - 1) < 1e-12);
        for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
            double sum = 0;
            for (int v = 0; v < values; v++) {
                double likelihood = p((enum reason_evidence)e, v, (enum reason_cause)c);
                assert_true(likelihood >= 0.005 - 1e-12); /* 1 in 200: no answer is impossible */
                sum += likelihood;
            }
            assert_true(fabs(sum - 1) < 1e-12);
            for (int v = values; v < REASON_VALUES_MAX; v++)
                assert_true(reason_evidence_table[e].of[c][v] <= 0);
        }
    }
}

static void prior_weights_are_positive_and_make_a_hundred(void **state)
{
    (void)state;
    double sum = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        assert_true(reason_cause_weight((enum reason_cause)c) >= 1);
        sum += reason_cause_weight((enum reason_cause)c);
    }
    assert_true(fabs(sum - 100) < 1e-9);
}

/* What is reported from memory is never taken as better than 97 in 100 (see the head of table.c).
 */
static void intake_answers_are_never_all_but_certain(void **state)
{
    (void)state;
    for (int e = REASON_COMPLAINT; e <= REASON_SERVICED_LINKAGE; e++)
        for (int c = 0; c < REASON_CAUSE_COUNT; c++)
            for (int v = 0; v < reason_values((enum reason_evidence)e); v++)
                assert_true(p((enum reason_evidence)e, v, (enum reason_cause)c) <= 0.97);
}

static bool is_id(const char *id)
{
    return id[0] != '\0' && strspn(id, "abcdefghijklmnopqrstuvwxyz_") == strlen(id);
}

static void ids_are_unique_and_fit_for_files(void **state)
{
    (void)state;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        assert_true(is_id(reason_cause_id((enum reason_cause)c)));
        for (int d = 0; d < c; d++)
            assert_string_not_equal(reason_cause_id((enum reason_cause)c),
                                    reason_cause_id((enum reason_cause)d));
    }
    for (int k = 0; k < REASON_CHECK_COUNT; k++) {
        assert_true(is_id(reason_check_id((enum reason_check)k)));
        for (int j = 0; j < k; j++)
            assert_string_not_equal(reason_check_id((enum reason_check)k),
                                    reason_check_id((enum reason_check)j));
    }
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        assert_true(is_id(reason_evidence_id((enum reason_evidence)e)));
        for (int f = 0; f < e; f++)
            assert_string_not_equal(reason_evidence_id((enum reason_evidence)e),
                                    reason_evidence_id((enum reason_evidence)f));
        for (int v = 0; v < reason_values((enum reason_evidence)e); v++) {
            assert_true(is_id(reason_value_id((enum reason_evidence)e, v)));
            for (int w = 0; w < v; w++)
                assert_string_not_equal(reason_value_id((enum reason_evidence)e, v),
                                        reason_value_id((enum reason_evidence)e, w));
        }
    }
}

static int words_in(const char *text)
{
    int words = text[0] != '\0';
    for (; *text != '\0'; text++)
        words += *text == ' ';
    return words;
}

static bool can_be_said(const char *text)
{
    return strspn(text, "abcdefghijklmnopqrstuvwxyz ") == strlen(text) && text[0] != ' ' &&
           strstr(text, "  ") == NULL && text[0] != '\0';
}

/* "Most likely {6}, because {5} and {5}." is 20 words. */
static void the_sentence_with_two_reasons_has_at_most_twenty_words(void **state)
{
    (void)state;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        assert_true(can_be_said(reason_cause_name((enum reason_cause)c)));
        assert_in_range(words_in(reason_cause_name((enum reason_cause)c)), 1, 6);
    }
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        for (int v = 0; v < reason_values((enum reason_evidence)e); v++) {
            const char *words = reason_observation_words((enum reason_evidence)e, v);
            assert_true(can_be_said(words));
            assert_in_range(words_in(words), 3, 5);
            for (int w = 0; w < v; w++)
                assert_string_not_equal(words,
                                        reason_observation_words((enum reason_evidence)e, w));
        }
    for (int k = 0; k < REASON_CHECK_COUNT; k++)
        assert_true(can_be_said(reason_check_name((enum reason_check)k)));
}

static void outside_the_tables_there_are_no_words_and_no_numbers(void **state)
{
    (void)state;
    const int outside[] = {-1, 99, INT32_MIN, INT32_MAX};
    for (size_t i = 0; i < sizeof outside / sizeof outside[0]; i++) {
        const int x = outside[i];
        assert_string_equal(reason_cause_name((enum reason_cause)x), "");
        assert_string_equal(reason_cause_id((enum reason_cause)x), "");
        assert_true(fabs(reason_cause_weight((enum reason_cause)x)) <= 0);
        assert_int_equal(reason_check_for((enum reason_cause)x), REASON_CHECK_COUNT);
        assert_string_equal(reason_check_name((enum reason_check)x), "");
        assert_string_equal(reason_check_id((enum reason_check)x), "");
        assert_true(fabs(reason_check_minutes((enum reason_check)x)) <= 0);
        assert_false(reason_check_is_cheap((enum reason_check)x));
        assert_true(fabs(reason_check_finds((enum reason_check)x, REASON_PAWL)) <= 0);
        assert_true(fabs(reason_check_finds(REASON_CHECK_PAWL, (enum reason_cause)x)) <= 0);
        assert_int_equal(reason_values((enum reason_evidence)x), 0);
        assert_string_equal(reason_evidence_id((enum reason_evidence)x), "");
        assert_string_equal(reason_observation_words((enum reason_evidence)x, 0), "");
        assert_string_equal(reason_observation_words(REASON_CREEP, x), "");
        assert_string_equal(reason_value_id(REASON_CREEP, x), "");
    }
}

/* Torque is what drag needs: without the engine there is none. */
static void trouble_with_the_engine_off_speaks_for_the_wrong_step(void **state)
{
    (void)state;
    for (int s = 0; s < STEPS; s++)
        for (int d = 0; d < DRAGS; d++) {
            assert_true(p(REASON_ENGINE, REASON_ENGINE_OFF, step[s]) >
                        2 * p(REASON_ENGINE, REASON_ENGINE_OFF, drag[d]));
            assert_true(p(REASON_ENGINE, REASON_OFF_AND_RUNNING, step[s]) >
                        4 * p(REASON_ENGINE, REASON_OFF_AND_RUNNING, drag[d]));
            assert_true(p(REASON_ENGINE, REASON_ENGINE_RUNNING, drag[d]) >
                        2 * p(REASON_ENGINE, REASON_ENGINE_RUNNING, step[s]));
        }
}

static void creeping_standing_and_one_temperature_speak_for_drag(void **state)
{
    (void)state;
    for (int s = 0; s < STEPS; s++)
        for (int d = 0; d < DRAGS; d++) {
            assert_true(p(REASON_CREEP, REASON_YES, drag[d]) >
                        2 * p(REASON_CREEP, REASON_YES, step[s]));
            assert_true(p(REASON_MOTION, REASON_STANDING, drag[d]) >
                        p(REASON_MOTION, REASON_STANDING, step[s]));
            assert_true(p(REASON_MOTION, REASON_ROLLING, step[s]) >
                        p(REASON_MOTION, REASON_ROLLING, drag[d]));
            assert_true(p(REASON_TEMPERATURE, REASON_HOT_AND_COLD, step[s]) >
                        p(REASON_TEMPERATURE, REASON_HOT_AND_COLD, drag[d]));
            assert_true(p(REASON_COMPLAINT, REASON_FALSE_NEUTRAL, step[s]) >
                        p(REASON_COMPLAINT, REASON_FALSE_NEUTRAL, drag[d]));
        }
}

/* Each row: of all causes, this value is likeliest under that one. */
static void each_finding_speaks_most_for_its_own_cause(void **state)
{
    (void)state;
    static const struct {
        enum reason_evidence evidence;
        int value;
        enum reason_cause cause;
    } own[] = {
        {REASON_THROWS, REASON_UNEVEN, REASON_PAWL},
        {REASON_FREE_PLAY_IS, REASON_ABOVE, REASON_FREE_PLAY},
        {REASON_FLUID_LEVEL, REASON_LEVEL_LOW, REASON_FLUID_LOW},
        {REASON_FLUID_LEVEL, REASON_LEVEL_HIGH, REASON_FLUID_HIGH},
        {REASON_FLUID_CONDITION, REASON_DARK, REASON_FLUID_OLD},
        {REASON_FLUID_CONDITION, REASON_MILKY, REASON_FLUID_OLD},
        {REASON_FLUID_CONDITION, REASON_WRONG_FLUID, REASON_FLUID_WRONG},
        {REASON_LINKAGE_PLAY, REASON_PLAY_OUT, REASON_LINKAGE},
        {REASON_FASTENERS, REASON_LOOSE, REASON_LINKAGE},
        {REASON_HOOK_LOOK, REASON_HOOK_WORN, REASON_HOOK},
        {REASON_HOOK_LOOK, REASON_HOOK_BENT, REASON_HOOK},
        {REASON_GEARS, REASON_NO, REASON_GEARBOX},
        {REASON_COMPLAINT, REASON_FALSE_NEUTRAL, REASON_GEARBOX},
        {REASON_TEMPERATURE, REASON_HOT, REASON_CLUTCH_HYDRAULIC},
        {REASON_TEMPERATURE, REASON_COLD, REASON_FLUID_WRONG},
        {REASON_CREEP, REASON_YES, REASON_SPRING_PLATE},
        {REASON_ONSET, REASON_SUDDEN, REASON_SPRING_PLATE},
        {REASON_ONSET, REASON_GRADUAL, REASON_FLUID_OLD},
        {REASON_ENGINE, REASON_ENGINE_RUNNING, REASON_IDLE},
        {REASON_SERVICED_FLUID, REASON_YES, REASON_FLUID_HIGH},
        {REASON_SERVICED_CLUTCH, REASON_YES, REASON_CLUTCH_ADJUST},
        {REASON_SERVICED_LINKAGE, REASON_YES, REASON_LINKAGE},
        {REASON_IDLE_SPEED, REASON_ABOVE, REASON_IDLE},
        {REASON_CABLE_LOOK, REASON_CABLE_FRAYED, REASON_CLUTCH_CABLE},
        {REASON_CABLE_LOOK, REASON_CABLE_ROUTED_BADLY, REASON_CLUTCH_CABLE},
        {REASON_HYDRAULIC_FEEL, REASON_SPONGY, REASON_CLUTCH_HYDRAULIC},
        {REASON_HYDRAULIC_FEEL, REASON_SINKS, REASON_CLUTCH_HYDRAULIC},
        {REASON_ADJUSTER_IS, REASON_TURNS_TOO_MANY, REASON_CLUTCH_ADJUST},
        {REASON_PACK_IS, REASON_PACK_PLATES_BAD, REASON_PLATES},
        {REASON_PACK_IS, REASON_PACK_STACK_OVER, REASON_SPRING_PLATE},
        {REASON_GEARBOX_LOOK, REASON_BOX_WORN, REASON_GEARBOX},
        {REASON_CLUTCH_KIND, REASON_CLUTCH_BY_HYDRAULICS, REASON_CLUTCH_HYDRAULIC},
    };
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
        for (int c = 0; c < REASON_CAUSE_COUNT; c++)
            if ((enum reason_cause)c != own[i].cause)
                assert_true(p(own[i].evidence, own[i].value, own[i].cause) >
                            p(own[i].evidence, own[i].value, (enum reason_cause)c));
}

/* The thickness of the pack moves the pressure plate away from the push rod or towards it. */
static void a_thick_pack_gives_play_and_a_worn_one_takes_it(void **state)
{
    (void)state;
    assert_true(p(REASON_FREE_PLAY_IS, REASON_ABOVE, REASON_SPRING_PLATE) >
                p(REASON_FREE_PLAY_IS, REASON_ABOVE, REASON_PLATES));
    assert_true(p(REASON_FREE_PLAY_IS, REASON_BELOW, REASON_PLATES) >
                p(REASON_FREE_PLAY_IS, REASON_BELOW, REASON_SPRING_PLATE));
    assert_true(p(REASON_ADJUSTER_IS, REASON_TURNS_TOO_FEW, REASON_PLATES) >
                p(REASON_ADJUSTER_IS, REASON_TURNS_TOO_FEW, REASON_SPRING_PLATE));
}

static void each_cause_is_found_by_the_check_named_for_it(void **state)
{
    (void)state;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        enum reason_check named = reason_check_for((enum reason_cause)c);
        assert_true(reason_check_finds(named, (enum reason_cause)c) >= 0.8);
        for (int k = 0; k < REASON_CHECK_COUNT; k++)
            assert_true(reason_check_finds((enum reason_check)k, (enum reason_cause)c) <=
                        reason_check_finds(named, (enum reason_cause)c) + 0.06);
    }
}

static void only_short_checks_are_cheap(void **state)
{
    (void)state;
    for (int k = 0; k < REASON_CHECK_COUNT; k++) {
        assert_true(reason_check_minutes((enum reason_check)k) >= 1);
        assert_int_equal(reason_check_is_cheap((enum reason_check)k),
                         reason_check_minutes((enum reason_check)k) <= 10);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_row_is_a_distribution_without_a_zero),
        cmocka_unit_test(prior_weights_are_positive_and_make_a_hundred),
        cmocka_unit_test(intake_answers_are_never_all_but_certain),
        cmocka_unit_test(ids_are_unique_and_fit_for_files),
        cmocka_unit_test(the_sentence_with_two_reasons_has_at_most_twenty_words),
        cmocka_unit_test(outside_the_tables_there_are_no_words_and_no_numbers),
        cmocka_unit_test(trouble_with_the_engine_off_speaks_for_the_wrong_step),
        cmocka_unit_test(creeping_standing_and_one_temperature_speak_for_drag),
        cmocka_unit_test(each_finding_speaks_most_for_its_own_cause),
        cmocka_unit_test(a_thick_pack_gives_play_and_a_worn_one_takes_it),
        cmocka_unit_test(each_cause_is_found_by_the_check_named_for_it),
        cmocka_unit_test(only_short_checks_are_cheap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
