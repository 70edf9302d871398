/*
 * Bikes as they come in. Each case is told by mechanical reasoning and must end with its cause on
 * top, twice as likely as the next: common practice, no source.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "reason/reason.h"

enum { SEEN_MAX = 16 };

struct vignette {
    const char *story;
    enum reason_cause cause;
    struct {
        enum reason_evidence evidence;
        int value;
    } seen[SEEN_MAX];
    int n;
};

#define SEEN(...) {__VA_ARGS__}, sizeof((int[][2]){__VA_ARGS__}) / sizeof(int[2])

/* clang-format off */
static const struct vignette cases[] = {
    {"hard whatever the weather and with the engine off too, clutch clean: the step is wrong",
     REASON_PAWL, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT_AND_COLD},
        {REASON_ENGINE, REASON_OFF_AND_RUNNING}, {REASON_MOTION, REASON_ROLLING_AND_STANDING},
        {REASON_CREEP, REASON_NO}, {REASON_GEARS, REASON_YES}, {REASON_ONSET, REASON_GRADUAL})},
    {"the same, all cheap checks in order and the throws uneven: adjust",
     REASON_PAWL, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT_AND_COLD},
        {REASON_ENGINE, REASON_OFF_AND_RUNNING}, {REASON_CREEP, REASON_NO},
        {REASON_FREE_PLAY_IS, REASON_WITHIN}, {REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT},
        {REASON_FLUID_CONDITION, REASON_CLEAN}, {REASON_LINKAGE_PLAY, REASON_PLAY_IN},
        {REASON_FASTENERS, REASON_TIGHT}, {REASON_HOOK_LOOK, REASON_HOOK_GOOD},
        {REASON_THROWS, REASON_UNEVEN})},
    {"since the linkage was apart, both kinds, engine off too, no play now: rest was moved",
     REASON_PAWL, SEEN(
        {REASON_COMPLAINT, REASON_BOTH_COMPLAINTS}, {REASON_ENGINE, REASON_OFF_AND_RUNNING},
        {REASON_CREEP, REASON_NO}, {REASON_ONSET, REASON_SUDDEN},
        {REASON_SERVICED_LINKAGE, REASON_YES}, {REASON_GEARS, REASON_YES},
        {REASON_LINKAGE_PLAY, REASON_PLAY_IN}, {REASON_FASTENERS, REASON_TIGHT})},
    {"the answers sounded like drag, free play set right changed nothing, centring cured it",
     REASON_PAWL, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_ENGINE, REASON_ENGINE_RUNNING},
        {REASON_CREEP, REASON_NO}, {REASON_FREE_PLAY_IS, REASON_ABOVE},
        {REASON_CURED_BY_FREE_PLAY, REASON_NO}, {REASON_THROWS, REASON_UNEVEN},
        {REASON_CURED_BY_CENTRING, REASON_YES})},
    {"it creeps, the lever swings halfway before it bites: too much free play",
     REASON_FREE_PLAY, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT_AND_COLD},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_MOTION, REASON_STANDING},
        {REASON_CREEP, REASON_YES}, {REASON_ONSET, REASON_GRADUAL},
        {REASON_CLUTCH_KIND, REASON_CLUTCH_BY_CABLE}, {REASON_FREE_PLAY_IS, REASON_ABOVE})},
    {"hot, after a clutch job; lever play was set right, so the travel is lost inside",
     REASON_CLUTCH_ADJUST, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_CREEP, REASON_YES},
        {REASON_SERVICED_CLUTCH, REASON_YES}, {REASON_CLUTCH_KIND, REASON_CLUTCH_BY_CABLE},
        {REASON_FREE_PLAY_IS, REASON_WITHIN}, {REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT},
        {REASON_FLUID_CONDITION, REASON_CLEAN})},
    {"one day it creeps, play comes back after it was set, the cable is stiff",
     REASON_CLUTCH_CABLE, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_ENGINE, REASON_ENGINE_RUNNING},
        {REASON_CREEP, REASON_YES}, {REASON_ONSET, REASON_SUDDEN},
        {REASON_CLUTCH_KIND, REASON_CLUTCH_BY_CABLE}, {REASON_FREE_PLAY_IS, REASON_ABOVE},
        {REASON_CURED_BY_FREE_PLAY, REASON_NO}, {REASON_CABLE_LOOK, REASON_CABLE_FRAYED})},
    {"fine cold, hopeless in town, creeps at the lights, hydraulic: the travel leaks away",
     REASON_CLUTCH_HYDRAULIC, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_MOTION, REASON_STANDING},
        {REASON_CREEP, REASON_YES}, {REASON_CLUTCH_KIND, REASON_CLUTCH_BY_HYDRAULICS})},
    {"hot only, a cable, grew over months, play and level right, fluid dark, a change no cure",
     REASON_PLATES, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT},
        {REASON_CLUTCH_KIND, REASON_CLUTCH_BY_CABLE},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_CREEP, REASON_YES},
        {REASON_ONSET, REASON_GRADUAL}, {REASON_FREE_PLAY_IS, REASON_WITHIN},
        {REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT}, {REASON_FLUID_CONDITION, REASON_DARK},
        {REASON_CURED_BY_FLUID_CHANGE, REASON_NO}, {REASON_ADJUSTER_IS, REASON_TURNS_RIGHT})},
    {"overnight, hot or cold, it creeps hard and nobody touched it: the spring plate",
     REASON_SPRING_PLATE, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT_AND_COLD},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_MOTION, REASON_ROLLING_AND_STANDING},
        {REASON_CREEP, REASON_YES}, {REASON_GEARS, REASON_NO}, {REASON_ONSET, REASON_SUDDEN},
        {REASON_SERVICED_FLUID, REASON_NO}, {REASON_SERVICED_CLUTCH, REASON_NO},
        {REASON_FREE_PLAY_IS, REASON_WITHIN}, {REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT})},
    {"every plate in range and the stack over it",
     REASON_SPRING_PLATE, SEEN(
        {REASON_CREEP, REASON_YES}, {REASON_ENGINE, REASON_ENGINE_RUNNING},
        {REASON_PACK_IS, REASON_PACK_STACK_OVER})},
    {"hot, grabs, the level is below the plug",
     REASON_FLUID_LOW, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_CREEP, REASON_NO},
        {REASON_FREE_PLAY_IS, REASON_WITHIN}, {REASON_FLUID_LEVEL, REASON_LEVEL_LOW},
        {REASON_FLUID_CONDITION, REASON_DARK})},
    {"since the fluid was changed, and it stands over the mark",
     REASON_FLUID_HIGH, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_ENGINE, REASON_ENGINE_RUNNING},
        {REASON_ONSET, REASON_SUDDEN}, {REASON_SERVICED_FLUID, REASON_YES},
        {REASON_FLUID_LEVEL, REASON_LEVEL_HIGH}, {REASON_FLUID_CONDITION, REASON_CLEAN})},
    {"years on one filling, gradual, dark, all else in range",
     REASON_FLUID_OLD, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_HOT_AND_COLD},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_CREEP, REASON_NO},
        {REASON_ONSET, REASON_GRADUAL}, {REASON_SERVICED_FLUID, REASON_NO},
        {REASON_FREE_PLAY_IS, REASON_WITHIN}, {REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT},
        {REASON_FLUID_CONDITION, REASON_DARK}, {REASON_LINKAGE_PLAY, REASON_PLAY_IN})},
    {"since the fluid was changed, cold only, the level is right: what is it filled with?",
     REASON_FLUID_WRONG, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_COLD},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_CREEP, REASON_YES},
        {REASON_ONSET, REASON_SUDDEN}, {REASON_SERVICED_FLUID, REASON_YES},
        {REASON_FREE_PLAY_IS, REASON_WITHIN}, {REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT},
        {REASON_IDLE_SPEED, REASON_WITHIN})},
    {"false neutrals that grew with the years, engine off too, slack in the joints",
     REASON_LINKAGE, SEEN(
        {REASON_COMPLAINT, REASON_FALSE_NEUTRAL}, {REASON_TEMPERATURE, REASON_HOT_AND_COLD},
        {REASON_ENGINE, REASON_OFF_AND_RUNNING}, {REASON_MOTION, REASON_ROLLING_AND_STANDING},
        {REASON_CREEP, REASON_NO}, {REASON_GEARS, REASON_NO}, {REASON_ONSET, REASON_GRADUAL},
        {REASON_LINKAGE_PLAY, REASON_PLAY_OUT})},
    {"both kinds, every gear goes in badly, the hook is rounded",
     REASON_HOOK, SEEN(
        {REASON_COMPLAINT, REASON_BOTH_COMPLAINTS}, {REASON_ENGINE, REASON_OFF_AND_RUNNING},
        {REASON_CREEP, REASON_NO}, {REASON_GEARS, REASON_NO}, {REASON_ONSET, REASON_GRADUAL},
        {REASON_LINKAGE_PLAY, REASON_PLAY_IN}, {REASON_FASTENERS, REASON_TIGHT},
        {REASON_HOOK_LOOK, REASON_HOOK_WORN})},
    {"cold starts only, no creep, clutch and fluid right, the idle is up",
     REASON_IDLE, SEEN(
        {REASON_COMPLAINT, REASON_HARD_TO_FIND}, {REASON_TEMPERATURE, REASON_COLD},
        {REASON_ENGINE, REASON_ENGINE_RUNNING}, {REASON_CREEP, REASON_NO},
        {REASON_FREE_PLAY_IS, REASON_WITHIN}, {REASON_FLUID_LEVEL, REASON_LEVEL_RIGHT},
        {REASON_FLUID_CONDITION, REASON_CLEAN}, {REASON_IDLE_SPEED, REASON_ABOVE})},
    {"false neutrals, gears do not go in, all outside is tight and even: inside the box",
     REASON_GEARBOX, SEEN(
        {REASON_COMPLAINT, REASON_FALSE_NEUTRAL}, {REASON_ENGINE, REASON_OFF_AND_RUNNING},
        {REASON_CREEP, REASON_NO}, {REASON_GEARS, REASON_NO},
        {REASON_LINKAGE_PLAY, REASON_PLAY_IN}, {REASON_FASTENERS, REASON_TIGHT},
        {REASON_HOOK_LOOK, REASON_HOOK_GOOD}, {REASON_THROWS, REASON_EVEN})},
};
/* clang-format on */
enum { CASES = sizeof cases / sizeof cases[0] };

static void observe_all(struct reason *reason, const struct vignette *vignette)
{
    reason_init(reason);
    for (int i = 0; i < vignette->n; i++)
        assert_true(reason_observe(reason, vignette->seen[i].evidence, vignette->seen[i].value));
}

static void each_bike_ends_with_its_cause_on_top(void **state)
{
    (void)state;
    int wrong = 0;
    for (int i = 0; i < CASES; i++) {
        struct reason reason;
        observe_all(&reason, &cases[i]);
        struct reason_rank rank[REASON_CAUSE_COUNT];
        reason_rank(&reason, rank);
        if (rank[0].cause == cases[i].cause && rank[0].probability >= 2 * rank[1].probability)
            continue;
        wrong++;
        print_error("%s:\n", cases[i].story);
        for (int k = 0; k < 4; k++)
            print_error("    %.3f %s\n", rank[k].probability, reason_cause_name(rank[k].cause));
    }
    assert_int_equal(wrong, 0);
}

/* "Most likely X, because A and B": A and B were observed and speak for X. */
static void each_bike_has_two_reasons_in_favour(void **state)
{
    (void)state;
    for (int i = 0; i < CASES; i++) {
        struct reason reason;
        observe_all(&reason, &cases[i]);
        struct reason_rank rank[REASON_CAUSE_COUNT];
        reason_rank(&reason, rank);
        for (int k = 0; k < 2; k++) {
            assert_true(rank[0].favour[k] >= 0);
            assert_true(reason.seen[rank[0].favour[k]] >= 0);
        }
    }
}

static void no_bike_contradicts_itself(void **state)
{
    (void)state;
    for (int i = 0; i < CASES; i++) {
        struct reason reason;
        observe_all(&reason, &cases[i]);
        assert_int_equal(reason_contradictions(&reason, NULL, 0), 0);
    }
}

static void every_cause_has_a_case(void **state)
{
    (void)state;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        int n = 0;
        for (int i = 0; i < CASES; i++)
            n += (int)cases[i].cause == c;
        assert_true(n >= 1);
    }
}

/* Found wrong, put right, cured: each check's own finding with its own cure decides. */
static void a_finding_and_its_cure_all_but_decide(void **state)
{
    (void)state;
    static const struct {
        enum reason_evidence found;
        int value;
        enum reason_evidence cured;
        enum reason_cause cause;
        double at_least;
    } row[] = {
        {REASON_FREE_PLAY_IS, REASON_ABOVE, REASON_CURED_BY_FREE_PLAY, REASON_FREE_PLAY, .95},
        {REASON_LINKAGE_PLAY, REASON_PLAY_OUT, REASON_CURED_BY_LINKAGE, REASON_LINKAGE, .95},
        {REASON_THROWS, REASON_UNEVEN, REASON_CURED_BY_CENTRING, REASON_PAWL, .95},
        {REASON_IDLE_SPEED, REASON_ABOVE, REASON_CURED_BY_IDLE, REASON_IDLE, .95},
        /* Old or wrong fluid may have stood at the wrong level, and went with it. */
        {REASON_FLUID_LEVEL, REASON_LEVEL_HIGH, REASON_CURED_BY_FLUID, REASON_FLUID_HIGH, .85},
        {REASON_FLUID_LEVEL, REASON_LEVEL_LOW, REASON_CURED_BY_FLUID, REASON_FLUID_LOW, .7},
        {REASON_FLUID_CONDITION, REASON_WRONG_FLUID, REASON_CURED_BY_FLUID_CHANGE,
         REASON_FLUID_WRONG, .8},
        {REASON_HYDRAULIC_FEEL, REASON_SPONGY, REASON_CURED_BY_HYDRAULIC, REASON_CLUTCH_HYDRAULIC,
         .85},
        {REASON_ADJUSTER_IS, REASON_TURNS_TOO_MANY, REASON_CURED_BY_ADJUSTER, REASON_CLUTCH_ADJUST,
         .7}, /* the play went with it */
        {REASON_PACK_IS, REASON_PACK_STACK_OVER, REASON_CURED_BY_PACK, REASON_SPRING_PLATE, .7},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct reason reason;
        reason_init(&reason);
        reason_observe(&reason, row[i].found, row[i].value);
        reason_observe(&reason, row[i].cured, REASON_YES);
        struct reason_rank rank[REASON_CAUSE_COUNT];
        reason_rank(&reason, rank);
        if (rank[0].cause != row[i].cause || rank[0].probability < row[i].at_least)
            print_error("%.3f %s\n", rank[0].probability, reason_cause_name(rank[0].cause));
        assert_int_equal(rank[0].cause, row[i].cause);
        assert_true(rank[0].probability >= row[i].at_least);
        assert_true(rank[0].because[0] == (int)row[i].cured ||
                    rank[0].because[1] == (int)row[i].cured);
    }
}

/* Against every cause that a cure has nothing to do with, a yes counts at least a hundredfold. */
static void a_cure_counts_a_hundredfold_for_what_it_mends(void **state)
{
    (void)state;
    static const struct {
        enum reason_evidence cured;
        enum reason_cause cause, stranger;
    } row[] = {
        {REASON_CURED_BY_FREE_PLAY, REASON_FREE_PLAY, REASON_PAWL},
        {REASON_CURED_BY_FLUID, REASON_FLUID_HIGH, REASON_PAWL},
        {REASON_CURED_BY_FLUID, REASON_FLUID_OLD, REASON_PAWL},
        {REASON_CURED_BY_LINKAGE, REASON_LINKAGE, REASON_FREE_PLAY},
        {REASON_CURED_BY_CENTRING, REASON_PAWL, REASON_FREE_PLAY},
        {REASON_CURED_BY_IDLE, REASON_IDLE, REASON_PAWL},
        {REASON_CURED_BY_HYDRAULIC, REASON_CLUTCH_HYDRAULIC, REASON_PAWL},
        {REASON_CURED_BY_CABLE, REASON_CLUTCH_CABLE, REASON_PAWL},
        {REASON_CURED_BY_ADJUSTER, REASON_CLUTCH_ADJUST, REASON_PAWL},
        {REASON_CURED_BY_FLUID_CHANGE, REASON_FLUID_WRONG, REASON_PAWL},
        {REASON_CURED_BY_PACK, REASON_PLATES, REASON_PAWL},
        {REASON_CURED_BY_GEARBOX, REASON_GEARBOX, REASON_FREE_PLAY},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct reason reason;
        struct reason_rank rank[REASON_CAUSE_COUNT];
        double ratio[2];
        for (int cured = 0; cured < 2; cured++) {
            reason_init(&reason);
            reason_observe(&reason, row[i].cured, cured ? REASON_YES : -1);
            reason_rank(&reason, rank);
            double own = 0, other = 0;
            for (int k = 0; k < REASON_CAUSE_COUNT; k++) {
                own = rank[k].cause == row[i].cause ? rank[k].probability : own;
                other = rank[k].cause == row[i].stranger ? rank[k].probability : other;
            }
            ratio[cured] = own / other;
        }
        assert_true(ratio[1] >= 100 * ratio[0]);
    }
}

static void a_setting_that_cured_nothing_is_no_longer_the_first_suspect(void **state)
{
    (void)state;
    static const struct {
        enum reason_evidence cured;
        enum reason_cause cause;
    } row[] = {
        {REASON_CURED_BY_FREE_PLAY, REASON_FREE_PLAY},
        {REASON_CURED_BY_CENTRING, REASON_PAWL},
        {REASON_CURED_BY_ADJUSTER, REASON_CLUTCH_ADJUST},
        {REASON_CURED_BY_LINKAGE, REASON_LINKAGE},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct reason reason;
        reason_init(&reason);
        reason_observe(&reason, row[i].cured, REASON_NO);
        struct reason_rank rank[REASON_CAUSE_COUNT];
        reason_rank(&reason, rank);
        for (int k = 0; k < REASON_CAUSE_COUNT; k++)
            if (rank[k].cause == row[i].cause)
                assert_true(rank[k].probability < 0.2 * reason_cause_weight(row[i].cause) / 100);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_bike_ends_with_its_cause_on_top),
        cmocka_unit_test(each_bike_has_two_reasons_in_favour),
        cmocka_unit_test(no_bike_contradicts_itself),
        cmocka_unit_test(every_cause_has_a_case),
        cmocka_unit_test(a_finding_and_its_cure_all_but_decide),
        cmocka_unit_test(a_cure_counts_a_hundredfold_for_what_it_mends),
        cmocka_unit_test(a_setting_that_cured_nothing_is_no_longer_the_first_suspect),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
