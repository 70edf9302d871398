/* Versions of the journal: one of version 1 becomes one of today with nothing lost, or stays as it
 * was; and riders' names can be erased from the files for good.
 *
 * fixtures/journal-v1.sqlite was written by midthrow at schema 1: job 1 open at its fifth question,
 * 2 closed as not fixed, 3 fixed (free play), 4 a whole job with centring, fixed (pawl). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <signal.h>
#include <sqlite3.h>
#include <sys/resource.h>

#include "../base/scratch.h"
#include "record/journal.h"

static char directory[SCRATCH_PATH];

static int make_directory(void **state)
{
    (void)state;
    scratch_make(directory);
    return 0;
}

static int remove_directory(void **state)
{
    (void)state;
    scratch_remove(directory);
    return 0;
}

static size_t read_file(const char *path, char *out, size_t size)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return 0;
    size_t n = fread(out, 1, size, file);
    fclose(file);
    assert_true(n < size);
    return n;
}

static void copy_fixture(void)
{
    static char bytes[1 << 20];
    char path[SCRATCH_PATH];
    size_t n = read_file(FIXTURES "/journal-v1.sqlite", bytes, sizeof bytes);
    assert_true(n > 0);
    scratch_write(directory, "journal.sqlite", bytes, n, path);
}

static struct journal *open_journal(void)
{
    struct fault fault = {0};
    struct journal *journal = journal_open(directory, &fault);
    if (journal == NULL)
        fail_msg("%s", fault.sentence);
    return journal;
}

static int say(void *context, int columns, char **values, char **names)
{
    char *out = context;
    (void)names;
    for (int i = 0; i < columns; i++) {
        strcat(out, values[i] == NULL ? "NULL" : values[i]);
        strcat(out, "|");
    }
    return 0;
}

static void sql(const char *statement, char *out)
{
    char path[SCRATCH_PATH];
    sqlite3 *db;
    assert_int_equal(sqlite3_open(scratch_path(directory, "journal.sqlite", path), &db), SQLITE_OK);
    if (out != NULL)
        out[0] = '\0';
    assert_int_equal(sqlite3_exec(db, statement, out == NULL ? NULL : say, out, NULL), SQLITE_OK);
    sqlite3_close(db);
}

static bool keep(void *context, const struct journal_job *job)
{
    struct journal_job *jobs = context;
    assert_in_range(job->number, 1, 4);
    jobs[job->number] = *job;
    return true;
}

static bool fold(void *context, const struct job_event *event)
{
    struct job_effects effects;
    job_step(context, event, &effects);
    return true;
}

/* ---- forward -------------------------------------------------------------------------------- */

static void version_1_is_brought_up_with_nothing_lost(void **state)
{
    (void)state;
    static char before[1 << 20];
    static char after[1 << 20];
    static const char events[] = "SELECT job, seq, at_ms, body FROM events ORDER BY job, seq";
    static const char jobs_of_1[] = "SELECT number, opened_ms, last_ms, closed_ms, work_order,"
                                    " profile, question, ending, events FROM jobs";
    static char jobs_before[4096];
    static char jobs_after[4096];
    copy_fixture();
    sql(events, before);
    sql(jobs_of_1, jobs_before);
    struct journal *journal = open_journal();
    struct journal_job jobs[5] = {0};
    assert_true(journal_jobs(journal, keep, jobs, NULL));
    journal_close(journal);
    sql(events, after);
    sql(jobs_of_1, jobs_after);
    assert_string_equal(before, after);
    assert_string_equal(jobs_before, jobs_after);
    assert_string_equal(jobs[1].ending, "open");
    assert_string_equal(jobs[2].cause, "");
    assert_string_equal(jobs[3].cause, "free_play");
    assert_int_equal(jobs[3].odometer, 12345);
    assert_int_equal(jobs[2].odometer, -1);
    assert_false(jobs[3].measured);
    assert_string_equal(jobs[4].cause, "pawl");
    assert_true(jobs[4].measured);
    /* read as 5/16 in forward and 7/32 in back, twice, then four times 9/32 in: (f - b)/2 is
     * 3/64 in = 1.190625 mm, then nothing */
    assert_true(fabs(jobs[4].found_mm - 1.190625) < 1e-9);
    assert_true(fabs(jobs[4].left_mm) < 1e-9);
    for (int i = 1; i <= 4; i++) {
        assert_int_equal(strlen(jobs[i].id), JOURNAL_ID - 1);
        assert_int_equal(jobs[i].heard, 0); /* all by the pad */
        assert_in_range(jobs[i].active_ms, 1, jobs[i].last_ms - jobs[i].opened_ms);
        for (int j = 1; j < i; j++)
            assert_string_not_equal(jobs[i].id, jobs[j].id);
    }
    sql("PRAGMA user_version", after);
    assert_string_equal(after, "2|");
}

/* What the events say does not change with the version: priors and bike are none. */
static void the_jobs_of_version_1_replay_as_they_were(void **state)
{
    (void)state;
    copy_fixture();
    struct journal *journal = open_journal();
    struct job *job = malloc(sizeof *job);
    job_init(job);
    struct fault fault = {0};
    if (!journal_replay(journal, 4, fold, job, &fault))
        fail_msg("%s", fault.sentence);
    assert_int_equal(job->ending, JOB_FIXED);
    assert_int_equal(job->cause, REASON_PAWL);
    assert_string_equal(job->order, "4714");
    assert_string_equal(job->bike, "");
    assert_false(job->has_priors);
    struct reason table;
    reason_init(&table);
    assert_memory_equal(job->reason.prior, table.prior, sizeof table.prior);
    free(job);
    journal_close(journal);
}

static void opening_again_changes_nothing(void **state)
{
    (void)state;
    static char before[4096];
    static char after[4096];
    copy_fixture();
    journal_close(open_journal());
    sql("SELECT * FROM jobs", before);
    journal_close(open_journal());
    sql("SELECT * FROM jobs", after);
    assert_string_equal(before, after);
}

static void a_damaged_job_does_not_keep_the_others_from_coming_along(void **state)
{
    (void)state;
    copy_fixture();
    sql("UPDATE events SET body = '{}' WHERE job = 3 AND seq = 2", NULL);
    struct journal *journal = open_journal();
    struct journal_job jobs[5] = {0};
    assert_true(journal_jobs(journal, keep, jobs, NULL));
    assert_string_equal(jobs[3].cause, "");
    assert_string_equal(jobs[3].ending, "fixed");
    assert_int_equal(jobs[3].events, 18);
    assert_string_equal(jobs[4].cause, "pawl");
    struct job *job = malloc(sizeof *job);
    job_init(job);
    assert_false(journal_replay(journal, 3, fold, job, NULL));
    free(job);
    journal_close(journal);
}

static void half_a_migration_is_none(void **state)
{
    (void)state;
    char version[32];
    struct fault fault = {0};
    struct rlimit before;
    copy_fixture();
    getrlimit(RLIMIT_FSIZE, &before);
    const struct rlimit small = {16384, before.rlim_max}; /* a few pages, and no more */
    signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &small);
    assert_null(journal_open(directory, &fault));
    setrlimit(RLIMIT_FSIZE, &before);
    assert_int_equal(fault.code, FAULT_FAILED);
    assert_non_null(strstr(fault.sentence, "full disk"));
    sql("PRAGMA user_version", version);
    assert_string_equal(version, "1|");
    sql("SELECT count(*) FROM pragma_table_info('jobs') WHERE name = 'bike'", version);
    assert_string_equal(version, "0|");
    journal_close(open_journal());
}

/* A file that says it is ours and holds more, or less, is not touched (tests/hostile has more). */
static void what_is_not_ours_is_refused(void **state)
{
    (void)state;
    char version[32];
    struct fault fault = {0};
    copy_fixture();
    sql("CREATE TABLE x (y)", NULL);
    assert_null(journal_open(directory, &fault));
    assert_non_null(strstr(fault.sentence, "did not make"));
    sql("PRAGMA user_version", version);
    assert_string_equal(version, "1|");
    sql("DROP TABLE x", NULL);
    journal_close(open_journal());
    sql("DROP INDEX jobs_by_id", NULL);
    assert_null(journal_open(directory, &fault));
    sql("CREATE UNIQUE INDEX jobs_by_id ON jobs (id)", NULL);
    journal_close(open_journal());
}

/* ---- riders --------------------------------------------------------------------------------- */

static const char NAME[] = "Somebody Invented";

/* Is it in any file of the directory? */
static bool is_on_disk(const char *name)
{
    static char bytes[1 << 22];
    bool found = false;
    DIR *folder = opendir(directory);
    struct dirent *entry;
    while ((entry = readdir(folder)) != NULL) {
        char path[SCRATCH_PATH];
        size_t n = entry->d_name[0] == '.' ? 0
                                           : read_file(scratch_path(directory, entry->d_name, path),
                                                       bytes, sizeof bytes);
        for (size_t i = 0; i + strlen(name) <= n && !found; i++)
            found = memcmp(bytes + i, name, strlen(name)) == 0;
    }
    closedir(folder);
    return found;
}

static void name_rider(struct journal *journal, int64_t number, const char *name)
{
    struct fault fault = {0};
    if (!journal_set_rider(journal, number, name, &fault))
        fail_msg("%s", fault.sentence);
}

static void a_forgotten_rider_is_in_no_file(void **state)
{
    (void)state;
    char name[JOURNAL_RIDER];
    int64_t names = 0;
    copy_fixture();
    struct journal *journal = open_journal();
    name_rider(journal, 2, NAME);
    name_rider(journal, 3, "Another Rider Altogether");
    assert_true(journal_rider(journal, 2, name, NULL));
    assert_string_equal(name, NAME);
    assert_true(is_on_disk(NAME)); /* or the test could not fail */
    assert_true(journal_forget_riders(journal, 2, &names, NULL));
    assert_int_equal(names, 1);
    assert_false(is_on_disk(NAME));
    assert_true(journal_rider(journal, 2, name, NULL));
    assert_string_equal(name, "");
    assert_true(journal_rider(journal, 3, name, NULL));
    assert_string_equal(name, "Another Rider Altogether");
    journal_close(journal);
    assert_false(is_on_disk(NAME));
    assert_true(is_on_disk("Another Rider Altogether"));
}

/* Names that were written over, and come from the database and the WAL both. */
static void all_riders_are_forgotten_at_once(void **state)
{
    (void)state;
    enum { JOBS = 300 };
    char name[JOURNAL_RIDER];
    int64_t names = 0;
    struct journal *journal = open_journal();
    for (int i = 1; i <= JOBS; i++) {
        int64_t number;
        assert_true(journal_new_job(journal, i, &number, NULL));
        snprintf(name, sizeof name, "%s the %dth", NAME, i);
        name_rider(journal, number, name);
        if (i == JOBS / 2) {
            journal_close(journal); /* into the database */
            journal = open_journal();
        }
    }
    name_rider(journal, 1, "Renamed Person");
    assert_true(is_on_disk(NAME));
    assert_true(journal_forget_riders(journal, 0, &names, NULL));
    assert_int_equal(names, JOBS);
    assert_false(is_on_disk(NAME));
    assert_false(is_on_disk("Renamed Person"));
    assert_true(journal_forget_riders(journal, 0, &names, NULL));
    assert_int_equal(names, 0);
    journal_close(journal);
}

/* Another process that is reading keeps old pages alive: it is said, not passed over. */
static void a_reader_in_the_way_is_told_of(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    int64_t names = 0;
    struct fault fault = {0};
    struct journal *journal = open_journal();
    int64_t number;
    assert_true(journal_new_job(journal, 1, &number, NULL));
    name_rider(journal, number, NAME);
    sqlite3 *other;
    assert_int_equal(sqlite3_open(scratch_path(directory, "journal.sqlite", path), &other),
                     SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN; SELECT * FROM jobs", NULL, NULL, NULL), SQLITE_OK);
    assert_false(journal_forget_riders(journal, number, &names, &fault));
    assert_int_equal(fault.code, FAULT_FAILED);
    assert_non_null(strstr(fault.sentence, "close that"));
    sqlite3_close(other);
    assert_true(journal_forget_riders(journal, number, &names, NULL));
    assert_false(is_on_disk(NAME));
    journal_close(journal);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directory, remove_directory)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(version_1_is_brought_up_with_nothing_lost),
        TEST(the_jobs_of_version_1_replay_as_they_were),
        TEST(opening_again_changes_nothing),
        TEST(a_damaged_job_does_not_keep_the_others_from_coming_along),
        TEST(half_a_migration_is_none),
        TEST(what_is_not_ours_is_refused),
        TEST(a_forgotten_rider_is_in_no_file),
        TEST(all_riders_are_forgotten_at_once),
        TEST(a_reader_in_the_way_is_told_of),
    };
    return cmocka_run_group_tests_name("journal schema and riders", tests, NULL, NULL);
}
