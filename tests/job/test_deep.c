/*
 * The dear checks, word for word: how they are offered, left out, handed over, what cannot be
 * skipped, and that "why" changes nothing.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "talk.h"

/* Opens a job and skips all questions up to the dear checks. The manual gives their limits unless
 * it is `silent`. */
static void skip_to_the_dear_checks(int walk, enum profile_clutch clutch, bool silent)
{
    struct profile profile;
    talk_profile(&profile, silent);
    profile.clutch = clutch;
    talk_open(walk, &profile);
    for (int i = 0; i < 60 && job.phase < JOB_DEEP; i++)
        say("skip");
}

/* Leaves out what is offered until `id` is begun. */
static void go_to(const char *id)
{
    for (int i = 0; i < 20 && !is_at(id) && is_at("deep.offer"); i++) {
        say("do it now");
        if (strncmp(job_question_id(&job), id, strlen(id)) != 0)
            say("skip"); /* its first caution */
    }
    assert_int_equal(strncmp(job_question_id(&job), id, strlen(id)), 0);
}

static void old_journals_end_after_the_pawl_as_they_did(void **state)
{
    (void)state;
    skip_to_the_dear_checks(0, PROFILE_CLUTCH_CABLE, false);
    assert_at("closing.fixed");
}

static void only_what_fits_the_clutch_is_offered(void **state)
{
    (void)state;
    static const struct {
        enum profile_clutch clutch;
        const char *offered[3], *not_offered[3];
    } kinds[] = {
        {PROFILE_CLUTCH_CABLE, {"clutch cable", "internal clutch adjuster"}, {"clutch hydraulics"}},
        {PROFILE_CLUTCH_HYDRAULIC,
         {"clutch hydraulics"},
         {"clutch cable", "internal clutch adjuster"}},
    };
    for (size_t k = 0; k < 2; k++) {
        skip_to_the_dear_checks(JOB_WALK, kinds[k].clutch, false);
        unsigned seen = 0;
        int offers = 0;
        for (; is_at("deep.offer") && offers < 20; offers++) {
            for (int i = 0; i < 3 && kinds[k].offered[i] != NULL; i++)
                if (said_with("deep.offer", "check", kinds[k].offered[i]))
                    seen |= 1u << i;
            for (int i = 0; i < 3 && kinds[k].not_offered[i] != NULL; i++)
                assert_false(said_with("deep.offer", "check", kinds[k].not_offered[i]));
            say("leave it out");
        }
        assert_int_equal(seen, k == 0 ? 3 : 1);
        assert_true(offers >= 4);
        assert_true(said("deep.over_gearbox") || said("deep.over_none"));
        assert_at("closing.fixed");
        /* what was left out is still to be done */
        assert_int_equal(job_checks_settled(&job) & job.left_out, 0);
    }
}

static void the_kind_is_asked_for_once_where_the_profile_is_silent(void **state)
{
    (void)state;
    skip_to_the_dear_checks(JOB_WALK, PROFILE_CLUTCH_UNKNOWN, false);
    assert_at("deep.kind");
    say("skip");
    assert_at("deep.offer");
    say("leave it out");
    assert_at("deep.offer");
    say("go back");
    say("go back");
    assert_at("deep.kind");
    say("it is hydraulic");
    assert_int_equal(job.reason.seen[REASON_CLUTCH_KIND], REASON_CLUTCH_BY_HYDRAULICS);
}

static void handing_over_says_why_and_what_would_confirm_and_cure_it(void **state)
{
    (void)state;
    skip_to_the_dear_checks(JOB_WALK, PROFILE_CLUTCH_CABLE, false);
    say("hand the job over");
    assert_true(said("deep.over_wish"));
    assert_at("closing.fixed");
    say("no");
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job.reason, rank);
    static const char *const about[] = {"confirms", "cures", "hand_over"};
    for (int i = 0; i < 3; i++) {
        char key[JOB_KEY];
        snprintf(key, sizeof key, "%s.%s", about[i], reason_cause_id(rank[0].cause));
        assert_true(said(key));
    }
}

static void the_idle_check_ends_with_the_engine_off(void **state)
{
    (void)state;
    skip_to_the_dear_checks(JOB_WALK, PROFILE_CLUTCH_CABLE, false);
    go_to("deep.idle");
    confirm_all();
    assert_at("deep.idle_reading");
    say("40");
    assert_true(said("deep.no_such_idle"));
    say("twelve thousand");
    assert_at("deep.idle_reading");
    say("one four five oh");
    assert_true(
        said_with("read_back", "value", "one thousand four hundred fifty, one four five zero"));
    assert_true(said_with("deep.out", "limit", "at most 1100"));
    assert_int_equal(job.reason.seen[REASON_IDLE_SPEED], REASON_ABOVE);
    assert_at("deep.idle_set");
    confirm();
    say("1000");
    assert_true(said("deep.in"));
    assert_at("deep.idle_off");
    say("skip");
    assert_true(said("caution_stays"));
    confirm();
    assert_at("checks.try");
    say("yes");
    assert_at("proving.strapped"); /* a proof begins a block of its own */
    assert_int_equal(job.safe, 0);
}

static void limits_the_manual_lacks_are_asked_for_and_kept_in_order(void **state)
{
    (void)state;
    skip_to_the_dear_checks(JOB_WALK, PROFILE_CLUTCH_CABLE, true);
    go_to("deep.adjuster");
    confirm_all();
    assert_at("deep.adjuster_low");
    say("one turn");
    assert_at("deep.adjuster_high");
    say("half a turn");
    assert_true(said("checks.low_above_high"));
    say("one and a half turns");
    confirm_all();
    assert_at("deep.adjuster_reading");
    assert_true(job.access_is_open);
    say("three turns");
    assert_true(said_with("deep.out", "limit", "at most one and a half turns"));
    assert_int_equal(job.reason.seen[REASON_ADJUSTER_IS], REASON_TURNS_TOO_MANY);
    assert_true(job.check[job.checks - 1].high_asked);
    say("go back");
    assert_at("deep.adjuster_reading");
    assert_int_equal(job.reason.seen[REASON_ADJUSTER_IS], -1);
    say("skip");
    assert_at("deep.adjuster_back"); /* the lock nut is loose all the same */
    say("skip");
    assert_at("deep.adjuster_back");
    confirm();
    assert_at("deep.offer");
}

static void an_old_job_goes_on_without_the_step_it_did_not_know(void **state)
{
    (void)state;
    skip_to_the_dear_checks(7, PROFILE_CLUTCH_CABLE, true);
    go_to("deep.adjuster");
    confirm_all();
    say("half a turn");
    say("one turn");
    confirm_all();
    say("three quarters of a turn");
    assert_at("deep.offer");
}

static void a_drained_primary_has_to_be_filled(void **state)
{
    (void)state;
    skip_to_the_dear_checks(JOB_WALK, PROFILE_CLUTCH_CABLE, false);
    go_to("deep.change");
    confirm_all();
    assert_at("deep.change_drained");
    say("thirty nine fluid ounces");
    assert_true(said("deep.out"));
    assert_int_equal(job.reason.seen[REASON_FLUID_LEVEL], REASON_LEVEL_HIGH);
    assert_at("deep.change_fill");
    say("skip");
    assert_true(said("cannot_skip"));
    assert_at("deep.change_fill");
    confirm();
    assert_at("checks.try");
}

static void why_answers_anywhere_and_changes_nothing(void **state)
{
    (void)state;
    static struct job before;
    skip_to_the_dear_checks(JOB_WALK, PROFILE_CLUTCH_CABLE, false);
    go_to("deep.cable");
    for (int i = 0; i < 5; i++) {
        before = job;
        say("why do you think so");
        assert_true(said("why.now"));
        assert_true(said("why.because") || said("why.although"));
        assert_string_equal(job_question_id(&before), job_question_id(&job));
        assert_int_equal(before.answers, job.answers);
        assert_int_equal(before.safe, job.safe);
        if (is_caution())
            confirm();
        else
            say("it is frayed");
    }
    say("stop");
    say("why do you think so");
    assert_true(said("why.now"));
    assert_int_equal(job.mode, JOB_STOPPED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(old_journals_end_after_the_pawl_as_they_did),
        cmocka_unit_test(only_what_fits_the_clutch_is_offered),
        cmocka_unit_test(the_kind_is_asked_for_once_where_the_profile_is_silent),
        cmocka_unit_test(handing_over_says_why_and_what_would_confirm_and_cure_it),
        cmocka_unit_test(the_idle_check_ends_with_the_engine_off),
        cmocka_unit_test(limits_the_manual_lacks_are_asked_for_and_kept_in_order),
        cmocka_unit_test(an_old_job_goes_on_without_the_step_it_did_not_know),
        cmocka_unit_test(a_drained_primary_has_to_be_filled),
        cmocka_unit_test(why_answers_anywhere_and_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
