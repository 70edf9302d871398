/*
 * The checks against the manual, word for word: limits given, asked for and refused; readings near
 * a limit; what is set three times in vain; what was not looked at.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "base/text.h"
#include "talk.h"

static struct profile profile;

static int read_the_manual(void **state)
{
    (void)state;
    talk_profile(&profile, false);
    return 0;
}

static void go_to(const char *id)
{
    talk_open(JOB_WALK, &profile);
    talk_go_to(id);
    confirm_all();
}

static const struct job_check *last_check(void)
{
    assert_true(job.checks > 0);
    return &job.check[job.checks - 1];
}

/* ---- limits asked for --------------------------------------------------------------------- */

/* Of every pair, whichever of the two the manual lacks: the least is never above the most. Each
 * answer is refused once, then taken; the limit is kept as asked for. */
static void a_limit_the_manual_lacks_is_held_against_the_other(void **state)
{
    (void)state;
    static const struct {
        const char *check;
        size_t low, high; /* where the two stand in the profile */
        bool is_number;
        const char *id_low, *id_high, *too_much, *too_little, *right_low, *right_high;
    } pairs[] = {
#define PAIR(low, high, number)                                                                    \
    offsetof(struct profile, low), offsetof(struct profile, high), number
        {"checks.free_play", PAIR(free_play_low, free_play_high, false), "checks.free_play_low",
         "checks.free_play_high", "5 mm", "1 mm", "2 mm", "4 mm"},
        {"deep.idle", PAIR(idle_low, idle_high, true), "deep.idle_low", "deep.idle_high", "1500",
         "800", "900", "1100"},
        {"deep.adjuster", PAIR(adjuster_low, adjuster_high, true), "deep.adjuster_low",
         "deep.adjuster_high", "two turns", "one quarter of a turn", "half a turn", "one turn"},
        {"deep.change", PAIR(fluid_low, fluid_high, true), "deep.change_low", "deep.change_high",
         "40 fluid ounces", "800 millilitres", "30 fluid ounces", "1000 millilitres"},
        {"deep.hydraulic", PAIR(travel_low, travel_high, false), "deep.travel_low",
         "deep.travel_high", "20 mm", "5 mm", "10 mm", "16 mm"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        for (int low = 0; low < 2; low++) {
            talk_profile(&profile, false);
            if (strcmp(pairs[i].check, "deep.hydraulic") == 0)
                profile.clutch = PROFILE_CLUTCH_HYDRAULIC;
            char *at = (char *)&profile + (low ? pairs[i].low : pairs[i].high);
            if (pairs[i].is_number)
                ((struct profile_number *)(void *)at)->known = false;
            else
                ((struct profile_length *)(void *)at)->known = false;
            go_to(pairs[i].check);
            if (is_at("deep.hydraulic_feel"))
                say("it feels firm");
            const char *id = low ? pairs[i].id_low : pairs[i].id_high;
            assert_at(id);
            say(low ? pairs[i].too_much : pairs[i].too_little);
            assert_true(said("checks.low_above_high"));
            assert_at(id);
            say(low ? pairs[i].right_low : pairs[i].right_high);
            assert_string_not_equal(job_question_id(&job), id);
            confirm_all();
            assert_true(low ? last_check()->low_asked || last_check()->high_asked
                            : last_check()->high_asked);
        }
}

static void a_limit_that_is_skipped_leaves_the_check(void **state)
{
    (void)state;
    profile.idle_low.known = false;
    go_to("deep.idle");
    assert_at("deep.idle_low");
    say("one hundred");
    assert_true(said("deep.no_such_idle"));
    say("5000");
    assert_true(said("deep.no_such_idle"));
    say("skip");
    assert_at("deep.offer");
    assert_int_equal(job.checks, 0);

    read_the_manual(NULL);
    profile.idle_high.known = false;
    go_to("deep.idle");
    assert_at("deep.idle_high");
    say("one hundred");
    assert_true(said("deep.no_such_idle"));
    say("5000");
    assert_true(said("deep.no_such_idle"));
    say("1100");
    confirm_all();
    say("7000");
    assert_true(said("deep.no_such_idle"));
    say("1000");
    assert_true(said("deep.in"));
}

/* ---- three times, and near ---------------------------------------------------------------- */

static void what_is_set_three_times_in_vain_is_left_as_it_is(void **state)
{
    (void)state;
    go_to("deep.adjuster");
    say("three turns");
    confirm();
    say("three turns");
    confirm();
    assert_at("deep.adjuster_reading");
    say("three turns");
    assert_true(said("checks.left_out"));
    assert_true(last_check()->put_right);
    assert_at("deep.adjuster_back");
    confirm();
    assert_at("checks.try"); /* it was worked on: that is proved all the same */
    say("skip");
    assert_int_not_equal(job.phase, JOB_PROVING);
}

static void what_is_near_a_limit_is_read_again_and_not_judged(void **state)
{
    (void)state;
    go_to("deep.adjuster");
    say("one turn");
    assert_true(said("deep.again"));
    assert_at("deep.adjuster_reading");
    say("one turn");
    assert_true(said("deep.again"));
    assert_int_equal(job.reason.seen[REASON_ADJUSTER_IS], -1);
    say("one turn");
    assert_true(said("checks.left_out"));
    assert_int_equal(job.reason.seen[REASON_ADJUSTER_IS], -1);
    assert_false(last_check()->put_right);
    assert_at("deep.adjuster_back");
    confirm();
    assert_at("deep.offer"); /* nothing was done, so there is nothing to prove */
}

/* At the third reading, too, what is in is in. */
static void what_comes_right_at_last_is_in(void **state)
{
    (void)state;
    go_to("deep.adjuster");
    say("three turns");
    confirm();
    say("three turns");
    confirm();
    say("three quarters of a turn");
    assert_true(said("deep.in"));
    assert_false(said("checks.left_out"));
    assert_at("deep.adjuster_back");
    confirm();
    assert_at("checks.try");
}

/* A second setting that ends near the limit says nothing about what was found. */
static void only_the_first_verdict_is_evidence(void **state)
{
    (void)state;
    go_to("deep.idle");
    say("1450");
    assert_int_equal(job.reason.seen[REASON_IDLE_SPEED], REASON_ABOVE);
    confirm();
    say("1000");
    assert_true(said("deep.in"));
    assert_int_equal(job.reason.seen[REASON_IDLE_SPEED], REASON_ABOVE);
}

/* ---- primary fluid ------------------------------------------------------------------------ */

static void fluid_is_judged_by_what_was_looked_at(void **state)
{
    (void)state;
    static const struct {
        const char *level, *condition, *found, *verdict;
    } looks[] = {
        {"level low", "skip", "level low", "checks.fluid_bad"},
        {"skip", "milky", "milky", "checks.fluid_bad"},
        {"level high", "dark", "level high, dark", "checks.fluid_bad"},
        {"level right", "clean", "level right, clean", "checks.fluid_good"},
        {"don't know", "clean", "clean", "checks.fluid_good"},
        {"level right", "skip", "level right", "checks.fluid_good"},
        {"skip", "don't know", "", "checks.fluid_not_seen"},
    };
    for (size_t i = 0; i < sizeof looks / sizeof looks[0]; i++) {
        go_to("checks.fluid");
        say(looks[i].level);
        say(looks[i].condition);
        assert_true(said(looks[i].verdict));
        if (looks[i].found[0] == '\0') {
            assert_int_equal(job.checks, 0);
            continue;
        }
        assert_string_equal(last_check()->found, looks[i].found);
        assert_true(said_with(looks[i].verdict, "found", looks[i].found));
    }
}

static void the_manual_s_fluid_is_named(void **state)
{
    (void)state;
    for (int named = 0; named < 2; named++) {
        text_copy(profile.fluid, sizeof profile.fluid, named ? "the manual's own oil" : "");
        const char *fluid = named ? "the manual's own oil" : "the fluid the manual names";
        go_to("checks.fluid");
        say("level low");
        say("clean");
        assert_true(said_with("checks.fluid_set", "fluid", fluid));
        go_to("deep.change");
        say("950 millilitres");
        assert_true(said_with("deep.change_fill", "fluid", fluid));
    }
}

static void what_drains_tells_the_level_only_where_no_dipstick_did(void **state)
{
    (void)state;
    static const struct {
        const char *drained, *verdict;
        int level;
    } amounts[] = {
        {"500 millilitres", "deep.out", REASON_LEVEL_LOW},
        {"950 millilitres", "deep.in", REASON_LEVEL_RIGHT},
        {"1500 millilitres", "deep.out", REASON_LEVEL_HIGH},
        {"1000 millilitres", "deep.near", -1},
    };
    for (size_t i = 0; i < sizeof amounts / sizeof amounts[0]; i++) {
        go_to("deep.change");
        say(amounts[i].drained);
        assert_true(said(amounts[i].verdict));
        assert_int_equal(job.reason.seen[REASON_FLUID_LEVEL], amounts[i].level);

        go_to("checks.fluid"); /* the dipstick first: what drains afterwards changes nothing */
        say("level high");
        say("skip");
        say("skip"); /* putting it right */
        talk_go_to("deep.change");
        confirm_all();
        say(amounts[i].drained);
        assert_int_equal(job.reason.seen[REASON_FLUID_LEVEL], REASON_LEVEL_HIGH);
    }
}

static void a_change_without_the_manual_s_quantity_is_recorded_all_the_same(void **state)
{
    (void)state;
    profile.fluid_low.known = false;
    go_to("deep.change");
    say("skip");
    assert_at("deep.change_fill");
    assert_string_equal(last_check()->what, "primary fluid change");
    assert_false(last_check()->counted);
    go_to("checks.linkage"); /* another record before it */
    say("1 mm");
    say("all tight");
    talk_go_to("deep.change");
    confirm_all();
    say("skip");
    assert_string_equal(last_check()->what, "primary fluid change");
    confirm();
    assert_at("checks.try");
}

/* ---- hydraulics --------------------------------------------------------------------------- */

static void go_to_the_lever(void)
{
    profile.clutch = PROFILE_CLUTCH_HYDRAULIC;
    go_to("deep.hydraulic");
    assert_at("deep.hydraulic_feel");
}

static void travel_that_is_right_needs_no_bleeding(void **state)
{
    (void)state;
    go_to_the_lever();
    say("it feels firm");
    say("13 mm");
    assert_true(said("deep.in"));
    assert_at("deep.offer");
    assert_int_equal(job.reason.seen[REASON_FREE_PLAY_IS], REASON_WITHIN);
}

static void travel_near_its_limit_is_measured_three_times(void **state)
{
    (void)state;
    go_to_the_lever();
    say("it feels firm");
    say("16 mm");
    assert_true(said("deep.again"));
    say("16 mm");
    assert_true(said("deep.again"));
    assert_at("deep.travel_reading");
    say("16 mm");
    assert_true(said("deep.near"));
    assert_at("deep.offer");
    assert_int_equal(job.reason.seen[REASON_FREE_PLAY_IS], -1);
}

/* Too much travel alone is reason enough to bleed; what it feels like first after the bleeding is
 * no finding. */
static void what_is_felt_after_the_bleeding_was_not_found(void **state)
{
    (void)state;
    go_to_the_lever();
    say("skip");
    say("20 mm");
    assert_true(said("deep.out"));
    confirm_all(); /* eyes covered, and bled */
    assert_at("deep.hydraulic_feel");
    say("it feels firm");
    assert_int_equal(job.reason.seen[REASON_HYDRAULIC_FEEL], -1);
    for (size_t i = 0; i < job.checks; i++)
        assert_string_not_equal(job.check[i].what, "clutch lever feel");
    say("13 mm");
    assert_true(said("deep.in"));
    assert_at("checks.try");
}

static void a_clutch_bled_three_times_has_a_bad_seal(void **state)
{
    (void)state;
    go_to_the_lever();
    for (int i = 0; i < 3; i++) {
        assert_at("deep.hydraulic_feel");
        say("it feels spongy");
        say("13 mm");
        if (i < 2)
            confirm_all();
    }
    assert_true(said("deep.hydraulic_seal"));
    assert_int_equal(job.reason.seen[REASON_HYDRAULIC_FEEL], REASON_SPONGY);
}

/* The rule and both limits are asked for once, and without any of them the feel decides. */
static void without_limits_the_feel_decides(void **state)
{
    (void)state;
    struct profile *p = &profile;
    bool *const known[] = {&p->resolution.known, &p->travel_low.known, &p->travel_high.known};
    static const char *const asked[] = {"deep.hydraulic_rule", "deep.travel_low",
                                        "deep.travel_high"};
    static const char *const answers[] = {"0.5 mm", "10 mm", "16 mm"};
    for (int i = 0; i < 3; i++)
        for (int feel = 0; feel < 2; feel++) {
            talk_profile(&profile, false);
            *known[i] = false;
            go_to_the_lever();
            choose(feel);
            assert_at(asked[i]);
            say("skip");
            if (feel == 0) {
                assert_at("deep.offer");
                continue;
            }
            confirm_all();
            assert_at("deep.hydraulic_feel");
            say("it feels firm"); /* after the bleeding nothing is asked a second time */
            assert_at("checks.try");
            say("go back");
            say("go back");
            for (int back = 0; back < 10 && !is_at(asked[i]); back++)
                say("go back");
            say(answers[i]);
            assert_at("deep.travel_reading");
        }
}

/* ---- cable and pack ----------------------------------------------------------------------- */

static void a_cable_is_renewed_only_when_it_looks_bad(void **state)
{
    (void)state;
    go_to("deep.cable");
    say("don't know");
    assert_at("deep.offer");
    assert_int_equal(job.checks, 0);
    go_to("deep.cable");
    say("looks good");
    assert_string_equal(last_check()->found, "looks good");
    assert_at("deep.offer");
    go_to("deep.cable");
    say("it is stiff");
    assert_at("deep.cable_set");
}

/* Two plates are a pack enough; the manual wants 1.8 to 2.2 mm each, and 3.8 to 4.2 together. */
static void go_to_the_plates(void)
{
    profile.plates.value = 2;
    profile.stack_low.value = measure_length_of(38, 10, MEASURE_MM);
    profile.stack_high.value = measure_length_of(42, 10, MEASURE_MM);
    go_to("deep.pack");
    say("0.01 mm"); /* the caliper */
    confirm_all();
    assert_at("deep.pack_plate");
}

static void the_pack_is_judged_by_plates_whole_and_warp(void **state)
{
    (void)state;
    static const struct {
        const char *plate[2], *whole, *warp, *verdict;
        int seen;
    } packs[] = {
        {{"2 mm", "2 mm"}, "4 mm", "0.05 mm", "deep.pack_right", REASON_PACK_GOOD},
        {{"2 mm", "2 mm"}, "skip", "skip", "deep.pack_right", REASON_PACK_GOOD},
        {{"2 mm", "1.5 mm"}, "skip", "skip", "deep.pack_plates", REASON_PACK_PLATES_BAD},
        {{"2 mm", "1.5 mm"}, "skip", "0.5 mm", "deep.pack_plates", REASON_PACK_PLATES_BAD},
        {{"1.83 mm", "1.83 mm"}, "3.66 mm", "skip", "deep.pack_thin", REASON_PACK_PLATES_BAD},
        {{"2 mm", "2 mm"}, "5 mm", "0.05 mm", "deep.pack_spring_plate", REASON_PACK_STACK_OVER},
        {{"2 mm", "2 mm"}, "4 mm", "0.5 mm", "deep.pack_warped", REASON_PACK_PLATES_BAD},
        {{"2.1 mm", "2.1 mm"}, "4.2 mm", "skip", "deep.pack_cannot_tell", -1},
        {{"2.1 mm", "2.1 mm"}, "4.2 mm", "0.5 mm", "deep.pack_warped", REASON_PACK_PLATES_BAD},
    };
    for (size_t i = 0; i < sizeof packs / sizeof packs[0]; i++) {
        go_to_the_plates();
        say(packs[i].plate[0]);
        say(packs[i].plate[1]);
        say(packs[i].whole);
        say(packs[i].warp);
        if (!said(packs[i].verdict))
            fail_msg("%zu: %s", i, effects.n > 1 ? effects.effect[1].key : "nothing");
        assert_int_equal(job.reason.seen[REASON_PACK_IS], packs[i].seen);
        assert_true(is_at("deep.pack_set") == (packs[i].seen > REASON_PACK_GOOD));
    }
}

static void warp_is_not_asked_for_where_no_limit_is_known(void **state)
{
    (void)state;
    profile.warp_high.known = false;
    profile.plates.known = false;
    go_to("deep.pack");
    assert_at("deep.pack_count");
    say("two");
    say("0.01 mm");
    assert_at("deep.warp_high");
    say("skip");
    confirm_all();
    say("2 mm");
    say("2 mm");
    assert_at("deep.pack_whole");
    say("28 mm");
    assert_false(is_at("deep.pack_warp"));
    assert_true(last_check()->measured);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup(name, read_the_manual)
    const struct CMUnitTest tests[] = {
        TEST(a_limit_the_manual_lacks_is_held_against_the_other),
        TEST(a_limit_that_is_skipped_leaves_the_check),
        TEST(what_is_set_three_times_in_vain_is_left_as_it_is),
        TEST(what_is_near_a_limit_is_read_again_and_not_judged),
        TEST(what_comes_right_at_last_is_in),
        TEST(only_the_first_verdict_is_evidence),
        TEST(fluid_is_judged_by_what_was_looked_at),
        TEST(the_manual_s_fluid_is_named),
        TEST(what_drains_tells_the_level_only_where_no_dipstick_did),
        TEST(a_change_without_the_manual_s_quantity_is_recorded_all_the_same),
        TEST(travel_that_is_right_needs_no_bleeding),
        TEST(travel_near_its_limit_is_measured_three_times),
        TEST(what_is_felt_after_the_bleeding_was_not_found),
        TEST(a_clutch_bled_three_times_has_a_bad_seal),
        TEST(without_limits_the_feel_decides),
        TEST(a_cable_is_renewed_only_when_it_looks_bad),
        TEST(the_pack_is_judged_by_plates_whole_and_warp),
        TEST(warp_is_not_asked_for_where_no_limit_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
