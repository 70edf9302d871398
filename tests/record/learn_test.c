/* From closed jobs to new ones: what counts, what a learning.ini may be, and that the priors stay
 * with the job they were given to. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include "record/learn.h"
#include "seeded_shop.h"

enum { JOBS = 14 };

static char directory[SCRATCH_PATH];
static struct journal *journal;
static int64_t fixed_of[REASON_CAUSE_COUNT], fixed_all;

static int open_shop(void **state)
{
    (void)state;
    struct shop_job *shop = malloc(sizeof *shop);
    uint64_t seed = 5;
    scratch_make(directory);
    journal = journal_open(directory, NULL);
    memset(fixed_of, 0, sizeof fixed_of);
    fixed_all = 0;
    for (int i = 0; i < JOBS; i++) {
        int64_t number;
        shop_work(shop, &seed, 1000 + i, "");
        assert_true(journal_new_job(journal, 1000 + i, &number, NULL));
        for (size_t e = 0; e < shop->events; e++)
            assert_true(journal_append(journal, number, &shop->event[e], NULL));
        assert_true(journal_summarise(journal, number, &shop->job, NULL));
        if (shop->job.ending == JOB_FIXED && shop->job.cause >= 0) {
            fixed_of[shop->job.cause]++;
            fixed_all++;
        }
    }
    assert_in_range(fixed_all, 5, JOBS - 1);
    free(shop);
    return 0;
}

static int close_shop(void **state)
{
    (void)state;
    journal_close(journal);
    scratch_remove(directory);
    return 0;
}

/* ---- what counts ----------------------------------------------------------------------------- */

static void fixed_jobs_with_a_cause_count_one_each(void **state)
{
    (void)state;
    struct learn learn;
    double priors[REASON_CAUSE_COUNT];
    bool learned = false;
    assert_true(learn_read(journal, &learn, NULL));
    assert_int_equal(learn.all, fixed_all);
    assert_false(learn.own_start);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        assert_int_equal(learn.jobs[c], fixed_of[c]);
        assert_true(learn.now.count[c] == learn.start.count[c] + (double)fixed_of[c]);
    }
    assert_true(learn_priors(journal, priors, &learned, NULL));
    assert_true(learned);
    double all = 0;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        all += priors[c];
    assert_true(fabs(all - 1) < 1e-12);
}

static void without_jobs_the_table_stands(void **state)
{
    (void)state;
    char own[SCRATCH_PATH];
    double priors[REASON_CAUSE_COUNT];
    bool learned = true;
    scratch_make(own);
    struct journal *empty = journal_open(own, NULL);
    assert_true(learn_priors(empty, priors, &learned, NULL));
    assert_false(learned);
    journal_close(empty);
    scratch_remove(own);
}

static void what_is_forgotten_counts_no_more_and_later_jobs_do(void **state)
{
    (void)state;
    struct learn learn;
    int64_t jobs = 0;
    int64_t number;
    assert_true(learn_forget(journal, &jobs, NULL));
    assert_int_equal(jobs, fixed_all);
    assert_true(learn_read(journal, &learn, NULL));
    assert_int_equal(learn.all, 0);
    assert_int_equal(learn.forgotten, fixed_all);
    assert_memory_equal(&learn.now, &learn.start, sizeof learn.now);
    struct job *job = malloc(sizeof *job);
    job_init(job);
    job->ending = JOB_FIXED;
    job->cause = REASON_HOOK;
    job->closed_ms = 5;
    assert_true(journal_new_job(journal, 1, &number, NULL));
    assert_true(journal_summarise(journal, number, job, NULL));
    free(job);
    assert_true(learn_read(journal, &learn, NULL));
    assert_int_equal(learn.all, 1);
    assert_int_equal(learn.jobs[REASON_HOOK], 1);
    assert_true(learn_forget(journal, &jobs, NULL));
    assert_int_equal(jobs, 1);
}

/* ---- learning.ini ---------------------------------------------------------------------------- */

static void what_was_exported_is_what_another_station_starts_from(void **state)
{
    (void)state;
    char text[8192];
    char path[SCRATCH_PATH];
    struct learn learn;
    struct dirichlet start;
    FILE *out = fmemopen(text, sizeof text, "w");
    assert_true(learn_read(journal, &learn, NULL));
    learn_export(&learn, out);
    fclose(out);
    scratch_write(directory, "taken-along.ini", text, strlen(text), path);
    assert_true(learn_load(path, &start, NULL));
    assert_memory_equal(&start, &learn.now, sizeof start);
}

static void a_file_replaces_the_table(void **state)
{
    (void)state;
    struct learn learn;
    bool learned = false;
    double priors[REASON_CAUSE_COUNT];
    scratch_text(directory, "learning.ini", "[causes]\npawl = 100\nhook=0.5 ; seen once\n");
    assert_true(learn_read(journal, &learn, NULL));
    assert_true(learn.own_start);
    assert_true(learn.start.count[REASON_PAWL] == 100);
    assert_true(learn.start.count[REASON_HOOK] == 0.5);
    struct dirichlet table;
    dirichlet_init(&table, DIRICHLET_STRENGTH);
    assert_true(learn.start.count[REASON_IDLE] == table.count[REASON_IDLE]); /* not named there */
    assert_true(learn.now.count[REASON_PAWL] == 100 + (double)fixed_of[REASON_PAWL]);
    assert_true(learn_priors(journal, priors, &learned, NULL));
    assert_true(learned);
}

static void a_slip_of_the_keyboard_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
    } bad[] = {
        {"[causes]\npawl = 0\n", "learning.ini:2: 'pawl' must be a number of jobs"},
        {"[causes]\npawl = -1\n", ":2:"},
        {"[causes]\npawl = nan\n", ":2:"},
        {"[causes]\npawl = inf\n", ":2:"},
        {"[causes]\npawl = 0x10\n", ":2:"},
        {"[causes]\npawl = 1e7\n", ":2:"},
        {"[causes]\npawl = 1e-999\n", ":2:"},
        {"[causes]\npawl = 5 6\n", ":2:"},
        {"[causes]\npawl = \n", ":2:"},
        {"[causes]\n\npaul = 5\n", ":3: 'paul' is no cause"},
        {"[cause]\npawl = 5\n", ":2:"},
        {"pawl = 5\n", ":1:"},
        {"[causes]\npawl = 5\npawl = 5\n", ":3: 'pawl' is given twice"},
        {"[causes]\npawl\n", "line 2"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct learn learn;
        struct fault fault = {0};
        scratch_text(directory, "learning.ini", bad[i].text);
        if (learn_read(journal, &learn, &fault))
            fail_msg("taken: %s", bad[i].text);
        if (strstr(fault.sentence, bad[i].says) == NULL)
            fail_msg("'%s' does not say '%s'", fault.sentence, bad[i].says);
    }
}

/* ---- the priors stay with the job ------------------------------------------------------------ */

static struct job *begun(const double priors[REASON_CAUSE_COUNT])
{
    struct job *job = malloc(sizeof *job);
    struct job_effects unsaid;
    struct job_event event = {.kind = JOB_OPENED, .at_ms = 1, .names_n = 1, .names = {"p"}};
    event.has_priors = priors != NULL;
    if (priors != NULL)
        memcpy(event.priors, priors, sizeof event.priors);
    job_init(job);
    job_step(job, &event, &unsaid);
    return job;
}

static void say(struct job *job, const char *words)
{
    struct job_effects unsaid;
    struct job_event event = {.kind = JOB_HEARD, .source = JOB_BY_TYPING, .at_ms = 2};
    strcpy(event.words, words);
    job_step(job, &event, &unsaid);
}

static void a_job_ranks_from_its_own_priors_also_after_go_back(void **state)
{
    (void)state;
    double priors[REASON_CAUSE_COUNT];
    struct reason wanted;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        priors[c] = 1.0 / (2 + c);
    assert_true(reason_init_with(&wanted, priors));
    struct job *job = begun(priors);
    assert_memory_equal(job->reason.prior, wanted.prior, sizeof wanted.prior);
    say(job, "four seven");
    struct job_effects unsaid;
    struct job_event profile = {.kind = JOB_PROFILE_READ, .at_ms = 2};
    profile_init(&profile.profile);
    strcpy(profile.profile.name, "p");
    job_step(job, &profile, &unsaid);
    say(job, "go back");
    assert_int_equal(job->answers, 0);
    assert_int_equal(job->corrections, 1); /* it was taken back */
    assert_memory_equal(job->reason.prior, wanted.prior, sizeof wanted.prior);
    free(job);
}

static void priors_that_are_none_are_not_believed(void **state)
{
    (void)state;
    struct reason table;
    reason_init(&table);
    static const double bad[] = {0, -1, NAN, INFINITY};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        double priors[REASON_CAUSE_COUNT];
        for (int c = 0; c < REASON_CAUSE_COUNT; c++)
            priors[c] = 1;
        priors[REASON_HOOK] = bad[i];
        struct job *job = begun(priors);
        assert_memory_equal(job->reason.prior, table.prior, sizeof table.prior);
        free(job);
    }
    struct job *job = begun(NULL);
    assert_memory_equal(job->reason.prior, table.prior, sizeof table.prior);
    free(job);
}

/* Through the journal's JSON, bit for bit: another ranking would come out of another last digit. */
static void a_replay_starts_from_the_same_priors(void **state)
{
    (void)state;
    char json[JOURNAL_EVENT];
    struct job_event event = {.kind = JOB_OPENED, .at_ms = 1, .has_priors = true};
    struct job_event back;
    bool learned = false;
    assert_true(learn_priors(journal, event.priors, &learned, NULL));
    assert_true(journal_event_to_json(&event, json, sizeof json));
    assert_true(journal_event_from_json(json, &back, NULL));
    assert_true(back.has_priors);
    assert_memory_equal(back.priors, event.priors, sizeof event.priors);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, open_shop, close_shop)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(fixed_jobs_with_a_cause_count_one_each),
        cmocka_unit_test(without_jobs_the_table_stands),
        TEST(what_is_forgotten_counts_no_more_and_later_jobs_do),
        TEST(what_was_exported_is_what_another_station_starts_from),
        TEST(a_file_replaces_the_table),
        TEST(a_slip_of_the_keyboard_is_refused),
        cmocka_unit_test(a_job_ranks_from_its_own_priors_also_after_go_back),
        cmocka_unit_test(priors_that_are_none_are_not_believed),
        TEST(a_replay_starts_from_the_same_priors),
    };
    return cmocka_run_group_tests_name("learning from jobs", tests, NULL, NULL);
}
