/*
 * Whole jobs, thousands of them, through job_step alone: a simulated technician answers in words at
 * simulated bikes. What must hold for every one of them is asserted; how they end is counted.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "job/question.h"
#include "prompt/prompt.h"
#include "record/writeup.h"
#include "technician.h"

enum { EVENTS_MAX = 2000, LOG_MAX = 1200 };

struct run {
    struct job job;
    struct technician technician;
    struct job_effects effects;
    struct job_event *log; /* LOG_MAX events, or NULL */
    size_t logged;
};

static struct prompt_catalogue *prompts;

/* Every effect can be said: its sentence is there and nothing it names is missing. */
static void speak(const struct job_effect *effect)
{
    struct prompt_argument argument[JOB_ARGUMENTS_MAX + 1];
    size_t n = 0;
    for (; n < effect->arguments; n++) {
        argument[n].name = effect->argument[n].name;
        snprintf(argument[n].value, sizeof argument[n].value, "%s", effect->argument[n].value);
        assert_true(argument[n].value[0] != '\0');
    }
    argument[n].name = "keys";
    snprintf(argument[n].value, sizeof argument[n].value, "1 yes, 2 no");
    char sentence[PROMPT_SENTENCE];
    struct fault fault = {0};
    if (!prompt_fill(prompts, effect->key, argument, n + 1, sentence, sizeof sentence, &fault))
        fail_msg("%s", fault.sentence);
    assert_null(strchr(sentence, '{'));
}

static int load(void **state)
{
    (void)state;
    prompts = prompt_load(MIDTHROW_SOURCE_DIR "/prompts", NULL);
    return prompts == NULL ? -1 : 0;
}

static int unload(void **state)
{
    (void)state;
    prompt_free(prompts);
    return 0;
}

static void step(struct run *run, const struct job_event *event)
{
    if (run->log != NULL && run->logged < LOG_MAX)
        run->log[run->logged++] = *event;
    job_step(&run->job, event, &run->effects);
    /* the list never runs full, or something would have gone unsaid */
    assert_true(run->effects.n < JOB_EFFECTS_MAX);
    for (size_t i = 0; i < run->effects.n; i++) {
        assert_true(run->effects.effect[i].arguments < JOB_ARGUMENTS_MAX);
        if (run->effects.effect[i].kind == JOB_SAY)
            speak(&run->effects.effect[i]);
    }
}

static void begin(struct run *run, uint64_t seed)
{
    technician_begin(&run->technician, seed);
    job_init(&run->job);
    run->logged = 0;
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_OPENED;
    event.at_ms = 1000000;
    event.names_n = 1;
    snprintf(event.names[0], sizeof event.names[0], "simulated");
    step(run, &event);
}

/* What happens next: the profile that was asked for, or the technician's answer. */
static void next_event(struct run *run, struct job_event *event)
{
    if (run->job.mode != JOB_FETCHING) {
        technician_answer(&run->technician, &run->job, event);
        return;
    }
    memset(event, 0, sizeof *event);
    event->kind = JOB_PROFILE_READ;
    event->at_ms = run->job.now_ms + 1;
    technician_profile(&run->technician, &event->profile);
}

static void work(struct run *run)
{
    static struct job_event event;
    for (int i = 0; i < EVENTS_MAX && !job_has_left(&run->job); i++) {
        next_event(run, &event);
        step(run, &event);
    }
    if (!job_is_closed(&run->job)) {
        for (int i = 0; i < run->job.rounds; i++)
            print_error("round %d: offset %.2f mm, turned %+.4f, advice %d\n", i,
                        run->job.round[i].balance.offset_mm, run->job.round[i].turns,
                        (int)run->job.round[i].advice.kind);
        print_error("true offset %.2f mm, %.2f mm a turn\n", run->technician.bike.offset_mm,
                    run->technician.bike.gain_mm);
        print_error("stuck at %s, mode %d, %zu answers\n", job_question_id(&run->job),
                    (int)run->job.mode, run->job.answers);
    }
    assert_true(job_is_closed(&run->job));
    assert_int_equal(run->technician.turns_over_increment, 0);
    assert_int_equal(run->technician.hands_in_unsafe, 0);
    assert_false(run->technician.bike.lock_nut_loose); /* never left loose */
    assert_false(run->technician.bike.access_open);
}

static bool truly_even(const struct run *run)
{
    double tolerance = measure_length_mm(run->job.numbers.tolerance.value);
    return fabs(2 * run->technician.bike.offset_mm) <= tolerance;
}

static int compare_ints(const void *a, const void *b)
{
    return *(const int *)a - *(const int *)b;
}

static void every_simulated_job_ends_safely_and_most_are_cured(void **state)
{
    (void)state;
    enum { BIKES = 4000 };
    static struct run run;
    static int rounds[BIKES];
    int curable = 0, cured = 0, called_even = 0, falsely_even = 0, left_alone = 0, even_found = 0;
    int n = 0;
    static int ended_by[JOB_CANNOT_TELL + 1][MEASURE_STOP_SIGN_CHANGED + 1];
    for (uint64_t seed = 1; seed <= BIKES; seed++) {
        begin(&run, seed);
        work(&run);
        const struct bike *bike = &run.technician.bike;
        bool can = bike->pawl_is_cause && !bike->hook_is_bad && !bike->stem_is_stuck;
        curable += can;
        if (run.job.centring == JOB_CENTRED || run.job.centring == JOB_CENTRED_AS_FOUND) {
            called_even++;
            falsely_even += !truly_even(&run);
        }
        if (can && run.job.centring == JOB_CENTRED) {
            rounds[n++] = run.job.rounds - 1;
            cured += run.job.ending == JOB_FIXED && run.job.cause == REASON_PAWL;
        }
        if (can && run.job.centring != JOB_CENTRED && run.job.rounds > 0)
            ended_by[run.job.centring][run.job.round[run.job.rounds - 1].advice.kind]++;
        if (!bike->pawl_is_cause && !bike->hook_is_bad) {
            left_alone += run.job.rounds == 1;
            even_found++;
        }
    }
    qsort(rounds, (size_t)n, sizeof rounds[0], compare_ints);
    print_message("%d bikes; centring can cure %d, cured %d; called even %d, not really so %d; "
                  "rounds median %d, 95th percentile %d; centred ones left alone %d of %d\n",
                  BIKES, curable, cured, called_even, falsely_even, rounds[n / 2],
                  rounds[n * 95 / 100], left_alone, even_found);
    for (int i = 0; i <= JOB_CANNOT_TELL; i++)
        for (int j = 0; j <= MEASURE_STOP_SIGN_CHANGED; j++)
            if (ended_by[i][j] > 0)
                print_message("  not centred: outcome %d, last advice %d: %d\n", i, j,
                              ended_by[i][j]);
    assert_true(cured * 100 >= curable * 85);
    assert_true(falsely_even * 100 <= called_even * 5);
    assert_true(rounds[n / 2] <= 5);
    assert_true(left_alone * 100 >= even_found * 95);
}

/* Asides, doubtful hearings and nonsense change nothing but the counts: the same bike ends the
 * same. */
static void a_distracted_technician_gets_there_too(void **state)
{
    (void)state;
    static struct run run;
    for (uint64_t seed = 1; seed <= 500; seed++) {
        begin(&run, seed);
        run.technician.distracted = 0.3;
        work(&run);
    }
}

static void same(const struct job *a, const struct job *b)
{
    static char text_a[WRITEUP_SIZE], text_b[WRITEUP_SIZE];
    assert_string_equal(job_question_id(a), job_question_id(b));
    assert_int_equal(a->answers, b->answers);
    assert_int_equal(a->mode, b->mode);
    assert_int_equal(a->rounds, b->rounds);
    assert_int_equal(a->safe, b->safe);
    assert_memory_equal(&a->reason, &b->reason, sizeof a->reason);
    assert_memory_equal(&a->turn, &b->turn, sizeof a->turn);
    assert_true(writeup_text(a, 1, text_a, sizeof text_a));
    assert_true(writeup_text(b, 1, text_b, sizeof text_b));
    assert_string_equal(text_a, text_b);
}

static void replaying_the_events_gives_the_same_job(void **state)
{
    (void)state;
    static struct run run;
    static struct job again;
    static struct job_effects effects;
    run.log = calloc(LOG_MAX, sizeof *run.log);
    assert_non_null(run.log);
    for (uint64_t seed = 1; seed <= 100; seed++) {
        begin(&run, seed);
        run.technician.distracted = 0.2;
        work(&run);
        job_init(&again);
        for (size_t i = 0; i < run.logged; i++)
            job_step(&again, &run.log[i], &effects);
        same(&run.job, &again);
    }
    free(run.log);
    run.log = NULL;
}

/* "Go back" after any answer, at any moment, leads to the very question that was answered, with the
 * state that it was asked in. */
static void going_back_undoes_exactly_one_answer(void **state)
{
    (void)state;
    static struct run run;
    static struct job before;
    static struct job_event event;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        begin(&run, seed);
        while (!job_has_left(&run.job)) {
            before = run.job;
            next_event(&run, &event);
            step(&run, &event);
            if (job_is_closed(&run.job))
                break;
            if (run.job.answers == before.answers || run.job.mode == JOB_FETCHING)
                continue; /* no answer, or one that still waits for its profile */
            struct job_event back = {.kind = JOB_HEARD, .at_ms = event.at_ms};
            snprintf(back.words, sizeof back.words, "go back");
            struct job after = run.job;
            step(&run, &back);
            /* what was heard stays on record; what follows from it does not */
            run.job.corrections = before.corrections;
            run.job.heard = before.heard;
            run.job.now_ms = before.now_ms;
            same(&before, &run.job);
            run.job = after;
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_simulated_job_ends_safely_and_most_are_cured),
        cmocka_unit_test(a_distracted_technician_gets_there_too),
        cmocka_unit_test(replaying_the_events_gives_the_same_job),
        cmocka_unit_test(going_back_undoes_exactly_one_answer),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
