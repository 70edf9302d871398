/* What else can go wrong under a job, one after another:
 *     trouble MIDTHROW SHIM STEP        STEP: every how many calls the disk is full, or fails */
#define _GNU_SOURCE
#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "bench.h"
#include "record/journal.h"

enum { NOBODY = 65534, RACERS = 6, DAY_MS = 86400000 };

static void must_say(const struct bench *bench, const struct end *end, const char *words)
{
    if (end->code != 1 || strncmp(end->err, "midthrow: ", 10) != 0 ||
        strstr(end->err, words) == NULL ||
        strchr(end->err, '\n') != end->err + strlen(end->err) - 1)
        bench_wrong(bench, "exit code %d, and not a line with '%s' but: %s", end->code, words,
                    end->err);
}

/* A run that got through all the same must have kept everything. */
static void ended_well(const struct bench *bench, const struct end *end)
{
    if (end->killed || end->code != 0 || bench->heard != bench->script.n)
        bench_wrong(bench, "exit code %d after %zu answers: %s", end->code, bench->heard, end->err);
}

static void the_disk_is_full(struct bench *bench, long step)
{
    long runs = 0;
    for (long at = 1; at <= bench->calls; at += step, runs++) {
        bench_fresh(bench);
        struct end end = bench_run(bench, &(struct trouble){.full = at, .in_order = true});
        if (end.code == 0)
            ended_well(bench, &end);
        else
            must_say(bench, &end, "full");
        bench_finish(bench);
    }
    printf("disk full at %ld moments\n", runs);
}

static void a_file_may_not_grow(struct bench *bench)
{
    static const long limits[] = {4096, 20000, 70000, 200000, 400000};
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        bench_fresh(bench);
        struct end end = bench_run(bench, &(struct trouble){.file_limit = limits[i]});
        must_say(bench, &end, "full");
        bench_finish(bench);
    }
    printf("files limited to %zu sizes\n", sizeof limits / sizeof limits[0]);
}

/* The disk says that it could not keep what it was given. */
static void settling_fails(struct bench *bench, long step)
{
    long refused = 0, runs = 0;
    for (long at = 1; at <= bench->calls; at += step, runs++) {
        bench_fresh(bench);
        struct end end = bench_run(bench, &(struct trouble){.sync = at, .in_order = true});
        if (end.code == 0)
            ended_well(bench, &end); /* it was a folder, or the very end */
        else
            must_say(bench, &end, "journal");
        refused += end.code == 1;
        bench_finish(bench);
    }
    if (refused == 0)
        bench_wrong(bench, "no failure to settle was ever noticed");
    printf("a disk that fails at %ld moments, told of %ld times\n", runs, refused);
}

static void own(const struct bench *bench, mode_t folder, mode_t file, uid_t user)
{
    DIR *data = opendir(bench->data);
    const struct dirent *entry;
    while (data != NULL && (entry = readdir(data)) != NULL)
        if (entry->d_name[0] != '.' &&
            (fchmodat(dirfd(data), entry->d_name, file, 0) != 0 ||
             (user != 0 && fchownat(dirfd(data), entry->d_name, user, user, 0) != 0)))
            bench_wrong(bench, "cannot change %s", entry->d_name);
    if (data == NULL || chmod(bench->data, folder) != 0 ||
        (user != 0 && chown(bench->data, user, user) != 0))
        bench_wrong(bench, "cannot change the data directory");
    closedir(data);
}

static void half_a_job(struct bench *bench)
{
    bench_fresh(bench);
    bench_run(bench, &(struct trouble){.kill = bench->calls / 2});
    if (bench->heard == 0 || bench->heard == bench->script.n)
        bench_wrong(bench, "half a job has %zu answers", bench->heard);
}

static void the_folder_is_read_only(struct bench *bench)
{
    uid_t user = geteuid() == 0 ? NOBODY : 0;
    half_a_job(bench);
    own(bench, 0500, 0400, user);
    struct end end = bench_run(bench, &(struct trouble){.user = user});
    own(bench, 0700, 0600, geteuid());
    if (end.code == 121 || end.code == 122) { /* nobody may not run programs from here */
        puts("read-only folder: left out, another user cannot run midthrow");
        return;
    }
    must_say(bench, &end, "read-only");
    bench_finish(bench);
    puts("a read-only folder");
}

static void the_clock_is_set_back(struct bench *bench)
{
    half_a_job(bench);
    bench_run(bench,
              &(struct trouble){.clock_ms = bench->at_ms - DAY_MS, .kill = bench->calls / 3});
    bench_run(bench, &(struct trouble){.clock_ms = 1, .kill = bench->calls / 8});
    bench_finish(bench);
    puts("a clock that was set back");
}

/* ---- several at once ------------------------------------------------------------------------ */

static pid_t start(const struct bench *bench, const struct trouble *trouble,
                   const char *const *arguments, const char *answers, int number)
{
    char name[32], path[BENCH_PATH];
    snprintf(name, sizeof name, "racer-%d", number);
    pid_t child = fork();
    if (child != 0)
        return child;
    int in = open(answers, O_RDONLY);
    int out = open(bench_path(bench, name, path), O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (dup2(in, 0) < 0 || dup2(out, 1) < 0 || dup2(out, 2) < 0)
        _exit(120);
    bench_environment(bench, trouble);
    execv(bench->midthrow, (char *const *)(uintptr_t)arguments);
    _exit(122);
}

static int wins_of(const struct bench *bench, const char *const *arguments, int n)
{
    char answers[BENCH_PATH];
    pid_t child[RACERS];
    int wins = 0;
    bench_answers(bench, answers);
    for (int i = 0; i < n; i++)
        child[i] = start(bench, &(struct trouble){0}, arguments, answers, i);
    for (int i = 0; i < n; i++) {
        int status = 0;
        if (waitpid(child[i], &status, 0) != child[i] || !WIFEXITED(status) ||
            WEXITSTATUS(status) > 2)
            bench_wrong(bench, "racer %d did not leave in good order", i);
        wins += WEXITSTATUS(status) == 0;
    }
    return wins;
}

static void several_on_one_job(struct bench *bench)
{
    half_a_job(bench);
    const char *const arguments[] = {bench->midthrow, "--resume", "1", "--data", bench->data, NULL};
    if (wins_of(bench, arguments, RACERS) != 1)
        bench_wrong(bench, "not exactly one of several went on with the job");
    bench->heard = bench->script.n;
    bench_finish(bench);
    printf("%d at once on one job\n", RACERS);
}

/* One has found the job open and not locked it yet when another goes on with it to its end. */
static void one_comes_too_late(struct bench *bench)
{
    char answers[BENCH_PATH];
    int status = 0;
    half_a_job(bench);
    bench_answers(bench, answers);
    const char *const late[] = {bench->midthrow, "--resume", "1", "--data", bench->data, NULL};
    pid_t child = start(bench, &(struct trouble){.stop = true}, late, answers, 0);
    if (waitpid(child, &status, WUNTRACED) != child || !WIFSTOPPED(status))
        bench_wrong(bench, "it takes no lock: status %x", (unsigned)status);
    struct end end = bench_run(bench, &(struct trouble){0});
    if (kill(child, SIGCONT) != 0 || waitpid(child, &status, 0) != child)
        bench_wrong(bench, "it cannot be let go on");
    if (end.code != 0 || !WIFEXITED(status) || WEXITSTATUS(status) != 2)
        bench_wrong(bench, "the first left with %d, the one too late with status %x", end.code,
                    (unsigned)status);
    bench_finish(bench);
    puts("one that finds the job closed");
}

static bool count_closed(void *context, const struct journal_job *job)
{
    *(int *)context += job->closed_ms != 0;
    return true;
}

static void several_new_jobs(struct bench *bench)
{
    int closed = 0;
    bench_fresh(bench);
    const char *const arguments[] = {bench->midthrow, "--new",     "--profile", SCRIPT_PROFILE,
                                     "--data",        bench->data, NULL};
    int wins = wins_of(bench, arguments, RACERS);
    struct journal *journal = journal_open(bench->data, NULL);
    if (wins != RACERS || journal == NULL || !journal_jobs(journal, count_closed, &closed, NULL) ||
        closed != RACERS)
        bench_wrong(bench, "of %d new jobs at once %d came to their end, %d are closed", RACERS,
                    wins, closed);
    journal_close(journal);
    printf("%d new jobs at once\n", RACERS);
}

/* ---- for this user alone -------------------------------------------------------------------- */

static void files_are_private(struct bench *bench)
{
    static char out[BENCH_OUT];
    char path[BENCH_PATH], report[BENCH_PATH];
    struct stat status;
    mode_t before = umask(0);
    half_a_job(bench); /* killed: -wal and -shm are there */
    const char *const names[] = {"data/journal.sqlite",
                                 "data/journal.sqlite-wal",
                                 "data/journal.sqlite-shm",
                                 "data/job-1.txt",
                                 "data/job-1.lock",
                                 "report",
                                 "jobs",
                                 "said.wav"};
    bench_path(bench, "report", report);
    const char *const write[] = {"report", "1", "--format", "html", "-o", report, NULL};
    bench_command(bench, &(struct trouble){0}, write, "/dev/null", out);
    char jobs[BENCH_PATH], said[BENCH_PATH];
    const char *const send[] = {"export", "-o", bench_path(bench, "jobs", jobs), NULL};
    bench_command(bench, &(struct trouble){0}, send, "/dev/null", out);
    half_a_job(bench);
    const char *const speak[] = {"--new", "--speak-to", bench_path(bench, "said.wav", said), NULL};
    bench_command(bench, &(struct trouble){.kill = 40}, speak, "/dev/null", out);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (stat(bench_path(bench, names[i], path), &status) != 0 ||
            (status.st_mode & 07777) != 0600)
            bench_wrong(bench, "%s is not there or not private: %o", names[i], status.st_mode);
    if (stat(bench->data, &status) != 0 || (status.st_mode & 07777) != 0700)
        bench_wrong(bench, "the data directory is not private");
    umask(0777); /* and one that takes everything takes nothing that is needed */
    bench_fresh(bench);
    struct end end = bench_run(bench, &(struct trouble){0});
    umask(before);
    if (end.code == 120) { /* the test's own files could not be opened: it is not root */
        puts("private files");
        return;
    }
    ended_well(bench, &end);
    puts("private files");
}

int main(int argc, char **argv)
{
    static struct bench bench;
    long step = argc == 4 ? strtol(argv[3], NULL, 10) : 0;
    if (step < 1)
        return 2;
    bench_begin(&bench, argv[1], argv[2], 10);
    the_disk_is_full(&bench, step);
    a_file_may_not_grow(&bench);
    settling_fails(&bench, step);
    the_folder_is_read_only(&bench);
    the_clock_is_set_back(&bench);
    several_on_one_job(&bench);
    one_comes_too_late(&bench);
    several_new_jobs(&bench);
    files_are_private(&bench);
    bench_end(&bench);
    return 0;
}
