/*
 * 10,000 seeded jobs, and how long jobs, history and shop take to answer about them: the program
 * itself, warm, as a shell runs it, against a plain-scan peer in the same run that folds every
 * event of every job and counts from that. Also one bike's jobs with and without the index.
 *
 *     meson test -C build --benchmark --verbose
 *
 * Prints medians and ratios; decides nothing: a timed test would fail on a busy machine.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/wait.h>
#include <time.h>

#include <sqlite3.h>

#include "base/text.h"
#include "record/history.h"
#include "record/move.h"
#include "seeded_shop.h"

enum { JOBS = 10000, BIKES = 2500, RUNS = 7 };

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static void stop(const char *why)
{
    fprintf(stderr, "%s\n", why);
    exit(1);
}

/* ---- the shop -------------------------------------------------------------------------------- */

/* As a file of midthrow export, which comes in in one transaction. */
static void write_jobs(const char *path)
{
    FILE *out = fopen(path, "w");
    struct shop_job *shop = malloc(sizeof *shop);
    uint64_t seed = 10000;
    if (out == NULL || shop == NULL)
        stop("cannot write the jobs");
    fprintf(out, "{\"midthrow\":\"jobs\",\"version\":1,\"jobs\":%d}\n", (int)JOBS);
    for (int i = 0; i < JOBS; i++) {
        char bike[JOB_BIKE], json[JOURNAL_EVENT];
        snprintf(bike, sizeof bike, "PLATE %zu", seeded_below(&seed, BIKES));
        shop_work(shop, &seed, 1600000000000 + (int64_t)i * 7200000, bike);
        fprintf(out, "{\"job\":\"%032x\",\"events\":%zu}\n", (unsigned)i + 1, shop->events);
        for (size_t e = 0; e < shop->events; e++) {
            if (!journal_event_to_json(&shop->event[e], json, sizeof json))
                stop("cannot tell an event");
            fprintf(out, "%s\n", json);
        }
    }
    free(shop);
    fclose(out);
}

static void fill(const char *directory, const char *path)
{
    struct fault fault = {0};
    struct move_report report;
    struct journal *journal = journal_open(directory, &fault);
    FILE *in = fopen(path, "r");
    if (journal == NULL || in == NULL ||
        !move_import(journal, in, path, false, NULL, NULL, &report, &fault))
        stop(fault.sentence);
    fclose(in);
    journal_close(journal);
    printf("%lld jobs", (long long)report.added);
}

/* ---- the program ----------------------------------------------------------------------------- */

static double run_once(const char *program, char *const arguments[])
{
    double began = now_ms();
    fflush(stdout); /* or the child would print again what waits in the buffer */
    pid_t child = fork();
    if (child == 0) {
        if (freopen("/dev/null", "w", stdout) == NULL)
            _exit(126);
        execv(program, arguments);
        _exit(127);
    }
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child || !WIFEXITED(status) ||
        WEXITSTATUS(status) != 0)
        stop("the program failed");
    return now_ms() - began;
}

static int by_size(const void *a, const void *b)
{
    return (*(const double *)a > *(const double *)b) - (*(const double *)a < *(const double *)b);
}

static double median_of(const char *program, char *const arguments[])
{
    double took[RUNS];
    run_once(program, arguments); /* warm */
    for (int i = 0; i < RUNS; i++)
        took[i] = run_once(program, arguments);
    qsort(took, RUNS, sizeof *took, by_size);
    return took[RUNS / 2];
}

/* ---- the peer: everything from the events ---------------------------------------------------- */

struct scan {
    struct job job;
    struct job_effects unsaid;
    int64_t cause[REASON_CAUSE_COUNT], closed;
};

static bool fold(void *context, const struct job_event *event)
{
    struct scan *scan = context;
    job_step(&scan->job, event, &scan->unsaid);
    return true;
}

static double replay_all(const char *directory)
{
    struct journal *journal = journal_open(directory, NULL);
    struct scan *scan = calloc(1, sizeof *scan);
    double began = now_ms();
    for (int64_t n = 1; n <= JOBS; n++) {
        job_init(&scan->job);
        if (!journal_replay(journal, n, fold, scan, NULL))
            stop("cannot replay");
        scan->closed += job_is_closed(&scan->job);
        if (scan->job.cause >= 0)
            scan->cause[scan->job.cause]++;
    }
    double took = now_ms() - began;
    free(scan);
    journal_close(journal);
    return took;
}

/* One bike's jobs, a thousand times over. */
static double find_bikes(const char *directory, const char *sql)
{
    char path[SCRATCH_PATH];
    sqlite3 *db;
    sqlite3_stmt *rows;
    if (sqlite3_open(scratch_path(directory, "journal.sqlite", path), &db) != SQLITE_OK ||
        sqlite3_prepare_v2(db, sql, -1, &rows, NULL) != SQLITE_OK)
        stop("cannot read the journal");
    double began = now_ms();
    for (int i = 0; i < 1000; i++) {
        char bike[JOB_BIKE];
        snprintf(bike, sizeof bike, "PLATE %d", i);
        sqlite3_reset(rows);
        sqlite3_bind_text(rows, 1, bike, -1, SQLITE_TRANSIENT);
        while (sqlite3_step(rows) == SQLITE_ROW)
            continue;
    }
    double took = now_ms() - began;
    sqlite3_finalize(rows);
    sqlite3_close(db);
    return took;
}

int main(int argc, char **argv)
{
    char directory[SCRATCH_PATH], path[SCRATCH_PATH];
    if (argc != 2)
        stop("usage: history_bench MIDTHROW");
    scratch_make(directory);
    scratch_path(directory, "jobs.jsonl", path);
    write_jobs(path);
    double began = now_ms();
    fill(directory, path);
    printf(" came in in %.1f s\n", (now_ms() - began) / 1e3);
    double peer = replay_all(directory);
    printf("%-34s %9.1f ms\n", "peer: every event folded", peer);

    static char asked[][8][16] = {
        /* not const: execv may write, says its prototype */
        {"midthrow", "jobs", "--data"},
        {"midthrow", "jobs", "--json", "--data"},
        {"midthrow", "jobs", "--cause", "pawl", "--since", "2021-01-01", "--data"},
        {"midthrow", "history", "PLATE 7", "--json", "--data"},
        {"midthrow", "shop", "--data"},
        {"midthrow", "shop", "--json", "--data"},
        {"midthrow", "learn", "--data"},
    };
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        char *arguments[10] = {NULL};
        char shown[64];
        struct text text = text_into(shown, sizeof shown);
        size_t n = 0;
        for (; asked[i][n][0] != '\0'; n++) {
            arguments[n] = asked[i][n];
            if (asked[i][n + 1][0] != '\0')
                text_addf(&text, "%s ", asked[i][n]);
        }
        arguments[n] = directory;
        double took = median_of(argv[1], arguments);
        printf("%-52s %7.1f ms, %6.0f times as fast as the peer\n", shown, took, peer / took);
    }
    double indexed = find_bikes(directory, "SELECT * FROM jobs WHERE bike = ?1");
    double scanned = find_bikes(directory, "SELECT * FROM jobs NOT INDEXED WHERE bike = ?1");
    printf("1000 bikes by index %.1f ms, by full scan %.1f ms: %.0f times\n", indexed, scanned,
           scanned / indexed);
    scratch_remove(directory);
    return 0;
}
