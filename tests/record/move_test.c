/* Jobs on the move: nothing twice, nothing changed, nothing won silently, nothing hostile taken. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "record/learn.h"
#include "record/move.h"
#include "seeded_shop.h"

enum { FILE_MAX = 1 << 20, JOBS = 12 };

static char here_dir[SCRATCH_PATH], there_dir[SCRATCH_PATH];
static struct journal *here, *there;

static struct journal *opened(const char *directory)
{
    struct fault fault = {0};
    struct journal *journal = journal_open(directory, &fault);
    if (journal == NULL)
        fail_msg("%s", fault.sentence);
    return journal;
}

static int two_stations(void **state)
{
    (void)state;
    scratch_make(here_dir);
    scratch_make(there_dir);
    here = opened(here_dir);
    there = opened(there_dir);
    return 0;
}

static int close_stations(void **state)
{
    (void)state;
    journal_close(here);
    journal_close(there);
    scratch_remove(here_dir);
    scratch_remove(there_dir);
    return 0;
}

/* The first `events` events (0: all) of the seed's job, as a new job in the journal. */
static int64_t work(struct journal *journal, uint64_t seed, size_t events)
{
    struct shop_job *shop = malloc(sizeof *shop);
    struct job *job = malloc(sizeof *job);
    struct job_effects unsaid;
    int64_t number = 0;
    shop_work(shop, &seed, 1600000000000 + (int64_t)seed, "PLATE 7");
    job_init(job);
    assert_true(journal_new_job(journal, shop->event[0].at_ms, &number, NULL));
    for (size_t i = 0; i < shop->events && (events == 0 || i < events); i++) {
        assert_true(journal_append(journal, number, &shop->event[i], NULL));
        job_step(job, &shop->event[i], &unsaid);
    }
    assert_true(journal_summarise(journal, number, job, NULL));
    free(job);
    free(shop);
    return number;
}

static void say_more(struct journal *journal, int64_t number, const char *words, int64_t at_ms)
{
    struct job_event event = {.kind = JOB_HEARD, .source = JOB_BY_TYPING, .at_ms = at_ms};
    strcpy(event.words, words);
    assert_true(journal_append(journal, number, &event, NULL));
}

static const char *exported(struct journal *journal, int64_t number)
{
    static char text[2][FILE_MAX];
    static int turn;
    struct fault fault = {0};
    int64_t jobs = 0;
    char *out = text[turn = !turn];
    FILE *file = fmemopen(out, FILE_MAX, "w");
    if (!move_export(journal, &number, number == 0 ? 0 : 1, file, &jobs, &fault))
        fail_msg("%s", fault.sentence);
    fclose(file);
    return out;
}

static struct move_conflict met;
static char met_id[JOURNAL_ID];

static void keep_conflict(void *context, const struct move_conflict *conflict)
{
    (void)context;
    met = *conflict;
    strcpy(met_id, conflict->id);
}

static bool import_bytes(struct journal *journal, const char *text, size_t length, bool keep_both,
                         struct move_report *report, struct fault *fault)
{
    /* fmemopen refuses length 0 */
    FILE *file = length == 0 ? fopen("/dev/null", "r") : fmemopen((void *)text, length, "r");
    bool ok = move_import(journal, file, "a file", keep_both, keep_conflict, NULL, report, fault);
    fclose(file);
    return ok;
}

static struct move_report import(struct journal *journal, const char *text, bool keep_both)
{
    struct move_report report;
    struct fault fault = {0};
    char *copy = strdup(text);
    if (!import_bytes(journal, copy, strlen(copy), keep_both, &report, &fault))
        fail_msg("%s", fault.sentence);
    free(copy);
    return report;
}

static int64_t count(struct journal *journal, const char *what)
{
    char path[SCRATCH_PATH];
    sqlite3 *db;
    sqlite3_stmt *row;
    assert_int_equal(
        sqlite3_open(scratch_path(journal_directory(journal), "journal.sqlite", path), &db),
        SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, what, -1, &row, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    int64_t n = sqlite3_column_int64(row, 0);
    sqlite3_finalize(row);
    sqlite3_close(db);
    return n;
}

static struct journal_job find(struct journal *journal, int64_t number)
{
    struct journal_job job;
    assert_true(journal_find(journal, number, &job, NULL));
    return job;
}

/* ---- there and back -------------------------------------------------------------------------- */

static void jobs_arrive_exact_and_summed_up(void **state)
{
    (void)state;
    for (uint64_t i = 1; i <= JOBS; i++)
        work(here, i, i % 4 == 0 ? 7 : 0);
    const char *file = exported(here, 0);
    struct move_report report = import(there, file, false);
    assert_int_equal(report.added, JOBS);
    assert_string_equal(exported(there, 0), file); /* byte for byte */
    for (int64_t n = 1; n <= JOBS; n++) {
        struct journal_job a = find(here, n);
        struct journal_job b = find(there, n);
        assert_string_equal(a.id, b.id);
        assert_string_equal(a.ending, b.ending);
        assert_string_equal(a.cause, b.cause);
        assert_string_equal(a.order, b.order);
        assert_string_equal(a.bike, b.bike);
        assert_string_equal(a.question, b.question);
        assert_int_equal(a.closed_ms, b.closed_ms);
        assert_int_equal(a.active_ms, b.active_ms);
        assert_int_equal(a.heard, b.heard);
        assert_int_equal(a.unsure, b.unsure);
    }
}

static void no_job_comes_in_twice(void **state)
{
    (void)state;
    for (uint64_t i = 1; i <= 3; i++)
        work(here, i, 0);
    import(there, exported(here, 0), false);
    struct move_report report = import(there, exported(here, 0), false);
    assert_int_equal(report.same, 3);
    assert_int_equal(report.added + report.extended + report.conflicts, 0);
    report = import(here, exported(there, 0), false); /* nor home again */
    assert_int_equal(report.same, 3);
    assert_int_equal(count(there, "SELECT count(*) FROM jobs"), 3);
}

static void a_job_goes_on_where_it_was_left(void **state)
{
    (void)state;
    int64_t number = work(here, 5, 6);
    import(there, exported(here, number), false);
    say_more(there, 1, "skip", 1600000900000);
    say_more(there, 1, "skip", 1600000910000);
    const char *longer = exported(there, 1);
    struct move_report report = import(here, longer, false);
    assert_int_equal(report.extended, 1);
    assert_int_equal(find(here, number).events, 8);
    assert_string_equal(exported(here, number), longer);
    /* the old file comes again: what is here is longer, and stays */
    say_more(here, number, "skip", 1600000920000);
    report = import(here, longer, false);
    assert_int_equal(report.longer_here, 1);
    assert_int_equal(find(here, number).events, 9);
}

static void a_job_somebody_works_on_does_not_grow(void **state)
{
    (void)state;
    struct move_report report;
    struct fault fault = {0};
    int64_t number = work(here, 5, 6);
    import(there, exported(here, number), false);
    say_more(there, 1, "skip", 1600000900000);
    char *file = strdup(exported(there, 1));
    assert_true(journal_lock(here, number, NULL));
    assert_false(import_bytes(here, file, strlen(file), false, &report, &fault));
    assert_non_null(strstr(fault.sentence, "is open in another midthrow"));
    assert_int_equal(find(here, number).events, 6);
    journal_unlock(here);
    assert_int_equal(import(here, file, false).extended, 1);
    free(file);
}

/* ---- conflicts ------------------------------------------------------------------------------- */

static void versions_that_part_are_shown_and_neither_wins(void **state)
{
    (void)state;
    int64_t number = work(here, 5, 6);
    work(here, 6, 0);
    import(there, exported(here, 0), false);
    say_more(here, number, "hot", 1600000900000);
    say_more(there, number, "cold", 1600000905000);
    say_more(there, number, "skip", 1600000906000);
    work(there, 9, 0);
    struct move_report report = import(here, exported(there, 0), false);
    assert_int_equal(report.conflicts, 1);
    assert_int_equal(report.same, 1);
    assert_int_equal(report.added, 1); /* the others come in all the same */
    assert_int_equal(met.number, number);
    assert_int_equal(met.parts_at, 7);
    assert_int_equal(met.here.events, 7);
    assert_int_equal(met.there.events, 8);
    assert_int_equal(met.there.last_ms, 1600000906000);
    assert_int_equal(met.kept_as, 0);
    assert_string_equal(met_id, find(here, number).id);
    const char *after = exported(here, number);
    assert_non_null(strstr(after, "\"hot\""));
    assert_null(strstr(after, "\"cold\""));
}

static void both_are_kept_once_when_asked(void **state)
{
    (void)state;
    int64_t number = work(here, 5, 6);
    import(there, exported(here, number), false);
    say_more(here, number, "hot", 1600000900000);
    say_more(there, 1, "cold", 1600000905000);
    char *file = strdup(exported(there, 1));
    struct move_report report = import(here, file, true);
    assert_int_equal(report.kept, 1);
    assert_int_equal(report.conflicts, 0);
    struct journal_job twin = find(here, met.kept_as);
    assert_string_equal(twin.twin_of, find(here, number).id);
    assert_string_not_equal(twin.id, twin.twin_of);
    assert_int_equal(import(here, file, true).same, 1);  /* not a third time */
    assert_int_equal(import(here, file, false).same, 1); /* and no conflict any more */
    /* the station it came from knows its own again, under whatever id */
    report = import(there, exported(here, twin.number), false);
    assert_int_equal(report.same, 1);
    report = import(there, exported(here, 0), true);
    assert_int_equal(report.kept, 1);
    assert_int_equal(report.same, 1);
    assert_int_equal(count(there, "SELECT count(*) FROM jobs"), 2);
    free(file);
}

/* Two versions of one job must not teach twice. */
static void a_twin_teaches_nothing(void **state)
{
    (void)state;
    struct learn learn;
    uint64_t seed = 1;
    int64_t number = 0;
    do
        number = work(here, seed++, 0);
    while (find(here, number).cause[0] == '\0');
    import(there, exported(here, number), false);
    char *file = strdup(exported(there, 1));
    char *words = strstr(file, "four seven one two");
    assert_non_null(words);
    memcpy(words, "four seven one six", strlen("four seven one six"));
    assert_int_equal(import(there, file, true).kept, 1);
    assert_true(learn_read(there, &learn, NULL));
    assert_int_equal(learn.all, 1);
    free(file);
}

/* ---- riders ---------------------------------------------------------------------------------- */

static void a_riders_name_does_not_travel(void **state)
{
    (void)state;
    char name[JOURNAL_RIDER];
    int64_t number = work(here, 5, 0);
    assert_true(journal_set_rider(here, number, "Somebody Invented", NULL));
    const char *file = exported(here, 0);
    assert_null(strstr(file, "Somebody"));
    import(there, file, false);
    assert_true(journal_rider(there, 1, name, NULL));
    assert_string_equal(name, "");
}

/* ---- hostile files --------------------------------------------------------------------------- */

#define HEAD "{\"midthrow\":\"jobs\",\"version\":1,\"jobs\":1}\n"
#define JOB "{\"job\":\"00000000000000000000000000000001\",\"events\":"
#define OPENED "{\"kind\":\"opened\",\"at_ms\":1,\"source\":\"station\"}\n"
#define HEARD "{\"kind\":\"heard\",\"at_ms\":2,\"source\":\"pad\"}\n"

static void assert_refused(const char *bytes, size_t length, const char *line)
{
    struct move_report report;
    struct fault fault = {0};
    if (import_bytes(here, bytes, length, true, &report, &fault))
        fail_msg("taken: %.200s", bytes);
    assert_int_equal(fault.code, FAULT_FAILED);
    if (strstr(fault.sentence, line) == NULL)
        fail_msg("'%s' does not say '%s' of %.200s", fault.sentence, line, bytes);
    assert_int_equal(count(here, "SELECT count(*) FROM jobs"), 0);
    assert_int_equal(count(here, "SELECT count(*) FROM events"), 0);
}

static void what_is_no_export_is_refused_with_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *text, *line;
    } bad[] = {
        {"", "line 1:"},
        {"\n", "line 1:"},
        {"shopping list\n", "line 1:"},
        {"[]\n", "line 1:"},
        {"{\"midthrow\":\"jobs\",\"version\":2,\"jobs\":1}\n", "newer midthrow (version 2"},
        {"{\"midthrow\":\"jobs\",\"version\":0,\"jobs\":1}\n", "line 1:"},
        {"{\"midthrow\":\"jobs\",\"version\":1,\"jobs\":-1}\n", "line 1:"},
        {"{\"midthrow\":\"jobs\",\"version\":1,\"jobs\":1e3}\n", "line 1:"},
        {"{\"midthrow\":\"jobs\",\"version\":1,\"jobs\":99999999999999999999}\n", "line 1:"},
        {"{\"midthrow\":\"jobs\",\"version\":1,\"jobs\":1,\"more\":1}\n", "line 1:"},
        {HEAD, "line 2: it ends here"},
        {HEAD OPENED, "line 2:"},
        {HEAD JOB "0}\n", "line 2:"},
        {HEAD JOB "100001}\n" OPENED, "line 2:"},
        {HEAD JOB "1,\"of\":\"x\"}\n" OPENED, "line 2:"},
        {HEAD JOB "1,\"x\":1}\n" OPENED, "line 2:"},
        {HEAD "{\"job\":\"0000000000000000000000000000000G\",\"events\":1}\n" OPENED, "line 2:"},
        {HEAD "{\"job\":\"1\",\"events\":1}\n" OPENED, "line 2:"},
        {HEAD JOB "1}\n" HEARD, "line 3: the first event"},
        {HEAD JOB "2}\n" OPENED OPENED, "line 4: the first event"},
        {HEAD JOB "2}\n" OPENED, "line 4: it ends here"},
        {HEAD JOB "2}\n" OPENED "{}\n", "line 4: it is no event"},
        {HEAD JOB "2}\n" OPENED "{\"kind\":\"heard\"\n", "line 4: it is no event"},
        {HEAD JOB "1}\n" OPENED HEARD, "line 4: there is more"},
        {HEAD JOB "1}\n" OPENED "\n", "line 4: there is more"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_refused(bad[i].text, strlen(bad[i].text), bad[i].line);
    static const char zero[] = HEAD JOB "1}\n{\"kind\":\"ope\0ned\"}\n";
    assert_refused(zero, sizeof zero - 1, "line 3: there is a zero byte");
    char *line = malloc(2 * JOURNAL_EVENT);
    size_t length = strlen(strcpy(line, HEAD JOB "1}\n"));
    memset(line + length, '[', JOURNAL_EVENT);
    assert_refused(line, length + JOURNAL_EVENT, "line 3: it is longer");
    assert_refused(line, length + JOURNAL_EVENT - 1, "line 3: it is no event");
    free(line);
}

/* A good job before a bad one is not taken either. */
static void all_of_a_file_or_nothing(void **state)
{
    (void)state;
    static const char text[] =
        "{\"midthrow\":\"jobs\",\"version\":1,\"jobs\":2}\n" JOB "1}\n" OPENED
        "{\"job\":\"00000000000000000000000000000002\",\"events\":1}\n{}\n";
    assert_refused(text, sizeof text - 1, "line 5: it is no event");
}

/* Bytes flipped and lines cut anywhere: taken or refused with a sentence, never a crash, and the
 * journal stays one that can be exported. */
static void any_damage_is_survived(void **state)
{
    (void)state;
    enum { TRIES = 400 };
    uint64_t seed = 11;
    for (uint64_t i = 1; i <= 3; i++)
        work(there, i, 8);
    char *good = strdup(exported(there, 0));
    size_t length = strlen(good);
    for (int i = 0; i < TRIES; i++) {
        struct move_report report;
        struct fault fault = {0};
        char *bad = malloc(length + 1);
        memcpy(bad, good, length + 1);
        for (size_t n = 1 + seeded_below(&seed, 3); n > 0; n--)
            bad[seeded_below(&seed, length)] = (char)seeded(&seed);
        size_t cut = i % 3 == 0 ? seeded_below(&seed, length) : length;
        if (!import_bytes(here, bad, cut, i % 2 == 0, &report, &fault))
            assert_int_equal(fault.code, FAULT_FAILED);
        free(bad);
    }
    free(good);
    assert_non_null(strstr(exported(here, 0), "\"midthrow\":\"jobs\""));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, two_stations, close_stations)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(jobs_arrive_exact_and_summed_up),
        TEST(no_job_comes_in_twice),
        TEST(a_job_goes_on_where_it_was_left),
        TEST(a_job_somebody_works_on_does_not_grow),
        TEST(versions_that_part_are_shown_and_neither_wins),
        TEST(both_are_kept_once_when_asked),
        TEST(a_twin_teaches_nothing),
        TEST(a_riders_name_does_not_travel),
        TEST(what_is_no_export_is_refused_with_its_line),
        TEST(all_of_a_file_or_nothing),
        TEST(any_damage_is_survived),
    };
    return cmocka_run_group_tests_name("moving jobs", tests, NULL, NULL);
}
