/* A number that the profile lacks is asked for when it is first needed, and not before; skipped, it
 * is common practice and said to be so. Nothing is asked of a job that began before that. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "technician.h"

enum { EVENTS_MAX = 3000 };

struct seen {
    int gear, increment, total, usual; /* times it was asked, or said */
    bool gear_first, limits_first;     /* before hands or wrenches went anywhere */
    int turns;
    double largest; /* turn ever advised */
};

static struct job job;
static struct job_effects effects;
static struct job_event event;
static struct technician technician;

static void look(struct seen *seen)
{
    const char *at = job_question_id(&job);
    if (job.mode != JOB_ASKING)
        return;
    seen->gear += strcmp(at, "centring.which_gear") == 0;
    seen->increment += strcmp(at, "adjusting.increment") == 0;
    seen->total += strcmp(at, "adjusting.total") == 0;
    if (strcmp(at, "centring.gear") == 0 || strcmp(at, "centring.other_gear") == 0)
        seen->gear_first = seen->gear > 0;
    if (strcmp(at, "adjusting.turn") == 0) {
        double turns = job.round[job.rounds - 1].advice.turns;
        seen->limits_first = seen->increment > 0 && seen->total > 0;
        seen->turns++;
        seen->largest = turns > seen->largest    ? turns
                        : -turns > seen->largest ? -turns
                                                 : seen->largest;
    }
    for (size_t i = 0; i < effects.n; i++)
        seen->usual += effects.effect[i].kind == JOB_SAY &&
                       strcmp(effects.effect[i].key, "adjusting.usual") == 0;
}

/* A whole job with a profile that lacks all three. `given`: the answer to how far one adjustment
 * may turn; NULL lets the technician answer. */
static struct seen work(uint64_t seed, int walk, const char *given)
{
    struct seen seen = {.gear = 0};
    technician_begin(&technician, seed);
    technician.bike.pawl_is_cause = true;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event.kind = JOB_OPENED;
    event.walk = walk;
    event.at_ms = 1000000;
    event.names_n = 1;
    memcpy(event.names[0], "simulated", sizeof "simulated");
    job_step(&job, &event, &effects);
    for (int i = 0; i < EVENTS_MAX && !job_has_left(&job); i++) {
        bool limit = strcmp(job_question_id(&job), "adjusting.increment") == 0 ||
                     strcmp(job_question_id(&job), "adjusting.total") == 0;
        if (job.mode == JOB_FETCHING) {
            memset(&event, 0, sizeof event);
            event.kind = JOB_PROFILE_READ;
            technician_profile(&technician, &event.profile);
            event.profile.increment_turns.known = event.profile.total_turns.known = false;
            event.profile.gear.known = false;
        } else {
            technician_answer(&technician, &job, &event);
            bool which = strcmp(job_question_id(&job), "centring.which_gear") == 0;
            if (which && given != NULL && strcmp(given, "skip") == 0)
                memcpy(event.words, given, strlen(given) + 1);
            if (limit && given != NULL && job.mode == JOB_ASKING)
                memcpy(event.words, given, strlen(given) + 1);
        }
        event.at_ms = job.now_ms + 1;
        job_step(&job, &event, &effects);
        look(&seen);
    }
    if (!job_is_closed(&job))
        fail_msg("seed %d stuck at %s", (int)seed, job_question_id(&job));
    return seen;
}

/* The jobs that came to a turn of the stem, of the first so many seeds. */
enum { SEEDS = 60 };

static void what_is_missing_is_asked_for_when_needed(void **state)
{
    (void)state;
    int turned = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        struct seen seen = work(seed, JOB_WALK, NULL);
        assert_true(seen.gear <= 1 && seen.increment <= 1 && seen.total <= 1);
        assert_int_equal(seen.usual, 0);
        if (seen.turns == 0)
            continue;
        turned++;
        assert_true(seen.gear_first && seen.limits_first);
        assert_true(job.numbers.increment_turns.known && job.numbers.gear.known);
    }
    assert_true(turned > SEEDS / 4);
}

static void a_given_increment_is_kept_to(void **state)
{
    (void)state;
    double largest = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        struct seen seen = work(seed, JOB_WALK, "one sixteenth of a turn");
        largest = seen.largest > largest ? seen.largest : largest;
    }
    assert_true(largest > 0 && largest <= 1.0 / 16);
}

static void what_is_skipped_is_common_practice_and_said_to_be(void **state)
{
    (void)state;
    int turned = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        struct seen seen = work(seed, JOB_WALK, "skip");
        assert_true(seen.largest <= 1.0 / 8);
        assert_false(
            job.numbers.increment_turns.known); /* it is not made to look like the manual's */
        if (seen.turns > 0)
            assert_int_equal(seen.usual, 1);
        turned += seen.turns > 0;
    }
    assert_true(turned > SEEDS / 4);
}

static void an_older_job_is_not_asked(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        struct seen seen = work(seed, 4, NULL);
        assert_int_equal(seen.gear + seen.increment + seen.total + seen.usual, 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_missing_is_asked_for_when_needed),
        cmocka_unit_test(a_given_increment_is_kept_to),
        cmocka_unit_test(what_is_skipped_is_common_practice_and_said_to_be),
        cmocka_unit_test(an_older_job_is_not_asked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
