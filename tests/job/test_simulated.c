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

/* ---- how long the sentences are ------------------------------------------------------------ */

enum { WORDS_MOST = 20, KEYS_MAX = 600 };

/* Said on "help" or in lists of keys and names, which the job does not word; or what a file or a
 * profile calls itself. */
static bool may_be_long(const char *key)
{
    static const char *const free[] = {
        "keys",        "use_keys", "card.profile", "card.profile_is", "card.profile_failed",
        "closing.pick"};
    for (size_t i = 0; i < sizeof free / sizeof free[0]; i++)
        if (strcmp(key, free[i]) == 0)
            return true;
    return strncmp(key, "help.", 5) == 0;
}

static struct {
    char key[JOB_KEY];
    char sentence[PROMPT_SENTENCE];
    int words;
} longest[KEYS_MAX];
static size_t longest_n;

static int count_words(const char *sentence)
{
    int words = 0;
    bool inside = false;
    for (; *sentence != '\0'; sentence++) {
        bool letter = *sentence != ' ';
        words += letter && !inside;
        inside = letter;
    }
    return words;
}

static void note_length(const char *key, const char *sentence)
{
    int words = count_words(sentence);
    size_t i = 0;
    while (i < longest_n && strcmp(longest[i].key, key) != 0)
        i++;
    assert_true(i < KEYS_MAX);
    if (i == longest_n) {
        longest_n++;
        snprintf(longest[i].key, sizeof longest[i].key, "%s", key);
    } else if (longest[i].words >= words) {
        return;
    }
    longest[i].words = words;
    snprintf(longest[i].sentence, sizeof longest[i].sentence, "%s", sentence);
}

/* After all jobs of the tests above it: what was said, at its longest. */
static void whatever_is_said_has_at_most_twenty_words(void **state)
{
    (void)state;
    int offenders = 0;
    for (size_t i = 0; i < longest_n; i++) {
        if (longest[i].words <= WORDS_MOST || may_be_long(longest[i].key))
            continue;
        offenders++;
        print_error("%d words, %s: %s\n", longest[i].words, longest[i].key, longest[i].sentence);
    }
    print_message("%zu sentences said\n", longest_n);
    assert_true(longest_n >= 150);
    assert_int_equal(offenders, 0);
}

static bool is_verdict(const char *key)
{
    static const char *const numbers[] = {
        "balance.even",
        "balance.uneven",
        "balance.more",
        "balance.cannot_tell",
        "checks.free_play_in",
        "checks.free_play_out",
        "checks.linkage_in",
        "checks.linkage_out",
        "checks.left_out",
        "deep.in",
        "deep.out",
        "deep.again",
        "deep.near",
        "deep.offer",
        "deep.pack_right",
        "deep.pack_thin",
        "deep.pack_plates",
        "deep.pack_spring_plate",
        "deep.pack_warped",
        "intake.ranking",
        "intake.second",
        "why.now",
        "why.nothing",
    };
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        if (strcmp(key, numbers[i]) == 0)
            return true;
    return false;
}

static void every_verdict_begins_with_its_number(void **state)
{
    (void)state;
    int verdicts = 0;
    for (size_t i = 0; i < prompt_count(prompts); i++) {
        const char *key = prompt_key(prompts, i);
        if (!is_verdict(key))
            continue;
        verdicts++;
        if (prompt_raw(prompts, key)[0] != '{')
            fail_msg("%s: %s", key, prompt_raw(prompts, key));
    }
    assert_int_equal(verdicts, 23);
}

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
    note_length(effect->key, sentence);
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

static void open_job(struct run *run)
{
    job_init(&run->job);
    run->logged = 0;
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_OPENED;
    event.walk = JOB_WALK;
    event.at_ms = 1000000;
    event.names_n = 1;
    snprintf(event.names[0], sizeof event.names[0], "simulated");
    step(run, &event);
}

static void begin(struct run *run, uint64_t seed)
{
    technician_begin(&run->technician, seed);
    open_job(run);
}

static void begin_with(struct run *run, uint64_t seed, int cause)
{
    technician_begin_with(&run->technician, seed, (enum reason_cause)cause);
    open_job(run);
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

/* Each cause made true in turn, rider and bike answering as the table of judgement says they would:
 * how often is the bike cured, or, where only parts or an open box can cure it, handed over with
 * the true cause on top? A claim about the walk, given the table; not about the table. */
static void whatever_the_cause_most_bikes_are_cured_or_handed_over_rightly(void **state)
{
    (void)state;
    enum { BIKES = 300 };
    static struct run run;
    int all_right = 0, all_fixed = 0, all_named = 0, hands_on = 0;
    uint64_t hands_on_at = 0;
    for (int cause = 0; cause < REASON_CAUSE_COUNT; cause++) {
        int fixed = 0, named = 0, on_top = 0, answers = 0;
        for (uint64_t seed = 1; seed <= BIKES; seed++) {
            struct reason_rank rank[REASON_CAUSE_COUNT];
            begin_with(&run, seed, cause);
            work(&run);
            reason_rank(&run.job.reason, rank);
            bool cured = run.job.ending == JOB_FIXED;
            bool top = rank[0].cause == (enum reason_cause)cause;
            fixed += cured;
            named += cured && run.job.cause == cause;
            on_top += !cured && top;
            answers += run.technician.answers;
            hands_on += run.technician.hands_on;
            hands_on_at |= run.technician.hands_on_at;
        }
        print_message("%-18s fixed %3d, its cause named %3d; not fixed but on top %3d; of %d; "
                      "answers %d\n",
                      reason_cause_id((enum reason_cause)cause), fixed, named, on_top, BIKES,
                      answers / BIKES);
        assert_true((fixed + on_top) * 100 >= BIKES * 60); /* the worst, the hook: 64 */
        all_fixed += fixed;
        all_named += named;
        all_right += fixed + on_top;
    }
    print_message("fixed %d, fixed or true cause on top %d, of %d; %d times hands in\n", all_fixed,
                  all_right, BIKES * REASON_CAUSE_COUNT, hands_on);
    /* measured 72, 87 and, of those fixed, 82 in a hundred; the margin is for a changed table */
    assert_true(all_fixed * 100 >= BIKES * REASON_CAUSE_COUNT * 70);
    assert_true(all_right * 100 >= BIKES * REASON_CAUSE_COUNT * 84);
    assert_true(all_named * 100 >= all_fixed * 78);
    /* every hands-on step was met, and safe each time (see work) */
    assert_int_equal(hands_on_at, (UINT64_C(1) << technician_hands_on_steps()) - 1);
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
        cmocka_unit_test(whatever_the_cause_most_bikes_are_cured_or_handed_over_rightly),
        cmocka_unit_test(a_distracted_technician_gets_there_too),
        cmocka_unit_test(replaying_the_events_gives_the_same_job),
        cmocka_unit_test(going_back_undoes_exactly_one_answer),
        cmocka_unit_test(every_verdict_begins_with_its_number),
        cmocka_unit_test(whatever_is_said_has_at_most_twenty_words),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
