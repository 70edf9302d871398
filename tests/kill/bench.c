/* Runs midthrow on one job while the machine fails: see bench.h. */
#define _GNU_SOURCE
#include "bench.h"

#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "record/journal.h"

static const char job_number[] = "1";

void bench_wrong(const struct bench *bench, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fputs("FAILED: ", stdout);
    vprintf(format, arguments);
    va_end(arguments);
    printf("\nthe data are in %s\n", bench->scratch);
    exit(1);
}

uint64_t bench_draw(uint64_t *seed, uint64_t n)
{
    uint64_t z = (*seed += UINT64_C(0x9E3779B97F4A7C15));
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return (z ^ (z >> 31)) % n;
}

/* ---- files ---------------------------------------------------------------------------------- */

const char *bench_path(const struct bench *bench, const char *name, char path[BENCH_PATH])
{
    if (snprintf(path, BENCH_PATH, "%s/%s", bench->scratch, name) >= BENCH_PATH)
        bench_wrong(bench, "the scratch folder's name is too long");
    return path;
}

static int remove_one(const char *path, const struct stat *status, int kind, struct FTW *ftw)
{
    (void)status;
    (void)kind;
    (void)ftw;
    return remove(path);
}

void bench_fresh(struct bench *bench)
{
    nftw(bench->data, remove_one, 16, FTW_DEPTH | FTW_PHYS);
    bench->heard = 0;
    bench->again = 0;
}

static char *read_all(const char *path)
{
    FILE *file = fopen(path, "rb");
    char *bytes = calloc(1, BENCH_OUT);
    if (file != NULL && bytes != NULL)
        (void)!fread(bytes, 1, BENCH_OUT - 1, file);
    if (file != NULL)
        fclose(file);
    return bytes;
}

static void copy_file(const struct bench *bench, const char *from, const char *to)
{
    char block[65536];
    int in = open(from, O_RDONLY);
    if (in < 0)
        return; /* not every file is there at every moment */
    int out = open(to, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    ssize_t got;
    while ((got = read(in, block, sizeof block)) > 0)
        if (write(out, block, (size_t)got) != got)
            bench_wrong(bench, "the test's own disk is full");
    close(in);
    close(out);
}

/* ---- one process ---------------------------------------------------------------------------- */

static void set_number(const char *name, long long value)
{
    char digits[32];
    snprintf(digits, sizeof digits, "%lld", value);
    if (value != 0)
        setenv(name, digits, 1);
}

void bench_environment(const struct bench *bench, const struct trouble *trouble)
{
    char path[BENCH_PATH], asan[512];
    const char *options = getenv("ASAN_OPTIONS");
    snprintf(asan, sizeof asan, "%s%sverify_asan_link_order=0", options == NULL ? "" : options,
             options == NULL ? "" : ":");
    setenv("ASAN_OPTIONS", asan, 1);
    setenv("SHIM_COUNT", bench_path(bench, "count", path), 1);
    set_number("SHIM_KILL", trouble->kill);
    set_number("SHIM_TORN", trouble->torn);
    set_number("SHIM_FULL", trouble->full);
    set_number("SHIM_SYNC", trouble->sync);
    set_number("SHIM_ORDER", trouble->in_order);
    set_number("SHIM_STOP", trouble->stop);
    set_number("SHIM_CLOCK", trouble->clock_ms != 0 ? trouble->clock_ms : bench->at_ms);
    setenv("LD_PRELOAD", bench->shim, 1);
}

static void become(const struct bench *bench, const struct trouble *trouble,
                   const char *const *arguments, const char *input)
{
    char path[BENCH_PATH];
    const char *list[24] = {bench->midthrow};
    size_t n = 1;
    for (; *arguments != NULL && n < 20; arguments++)
        list[n++] = *arguments;
    list[n++] = "--data";
    list[n++] = bench->data;
    list[n] = NULL;
    int in = open(input, O_RDONLY);
    int out = open(bench_path(bench, "out", path), O_WRONLY | O_CREAT | O_TRUNC, 0644);
    int err = open(bench_path(bench, "err", path), O_WRONLY | O_CREAT | O_TRUNC, 0644);
    if (in < 0 || out < 0 || err < 0 || dup2(in, 0) < 0 || dup2(out, 1) < 0 || dup2(err, 2) < 0)
        _exit(120);
    if (trouble->file_limit > 0) {
        struct rlimit limit = {(rlim_t)trouble->file_limit, (rlim_t)trouble->file_limit};
        setrlimit(RLIMIT_FSIZE, &limit);
    }
    bench_environment(bench, trouble);
    if (trouble->user != 0 && (setgid(trouble->user) != 0 || setuid(trouble->user) != 0))
        _exit(121);
    execv(bench->midthrow, (char *const *)(uintptr_t)list);
    _exit(122);
}

static long now_us(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (long)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static void sleep_us(long us)
{
    const struct timespec pause = {us / 1000000, us % 1000000 * 1000};
    nanosleep(&pause, NULL);
}

struct end bench_command(struct bench *bench, const struct trouble *trouble,
                         const char *const *arguments, const char *input, char out[BENCH_OUT])
{
    struct end end = {.calls = -1};
    char path[BENCH_PATH];
    int status = 0;
    fflush(stdout);
    unlink(bench_path(bench, "count", path)); /* it may be killed before it makes them */
    unlink(bench_path(bench, "out", path));
    unlink(bench_path(bench, "err", path));
    pid_t child = fork();
    if (child == 0)
        become(bench, trouble, arguments, input);
    if (trouble->after_us > 0) {
        sleep_us(trouble->after_us);
        kill(child, SIGKILL);
    }
    if (child < 0 || waitpid(child, &status, 0) != child)
        bench_wrong(bench, "cannot run %s", bench->midthrow);
    end.killed = WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL;
    end.aborted = WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT;
    end.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    end.signal = WIFSIGNALED(status) ? WTERMSIG(status) : 0;
    char *bytes = read_all(bench_path(bench, "err", path));
    snprintf(end.err, sizeof end.err, "%s", bytes);
    free(bytes);
    bytes = read_all(bench_path(bench, "count", path));
    if (bytes[0] != '\0')
        end.calls = strtol(bytes, NULL, 10);
    free(bytes);
    bytes = read_all(bench_path(bench, "out", path));
    if (out != NULL)
        memcpy(out, bytes, BENCH_OUT);
    free(bytes);
    return end;
}

/* ---- what the journal holds ----------------------------------------------------------------- */

struct reading {
    const struct bench *bench;
    char *events; /* one a line, but for those of starting again */
    size_t used;
    size_t heard; /* answers of the script */
    size_t again; /* cautions confirmed again because it was started again */
    struct job job;
};

static struct job_effects unsaid;

/* Cautions confirmed again after each start on the job, in order. */
enum { STARTS = 4096 };
static size_t again_after[STARTS], starts;

static bool read_event(void *context, const struct job_event *event)
{
    struct reading *reading = context;
    char line[JOURNAL_EVENT];
    bool again = reading->job.again != 0 && event->kind == JOB_HEARD;
    job_step(&reading->job, event, &unsaid);
    if (event->kind == JOB_RESUMED && starts < STARTS)
        again_after[starts++] = 0;
    if (event->kind == JOB_RESUMED || event->kind == JOB_HUNG_UP)
        return true;
    if (again) {
        reading->again++;
        again_after[starts == 0 ? 0 : starts - 1]++;
        return true;
    }
    struct job_event timeless = *event;
    timeless.at_ms = 0;
    if (!journal_event_to_json(&timeless, line, sizeof line))
        bench_wrong(reading->bench, "an event cannot be written");
    reading->heard += event->kind == JOB_HEARD;
    if (reading->used + strlen(line) + 2 > BENCH_OUT)
        bench_wrong(reading->bench, "more events than the undisturbed run had");
    reading->used += (size_t)sprintf(reading->events + reading->used, "%s\n", line);
    return true;
}

static bool take_job(void *context, const struct journal_job *job)
{
    *(struct journal_job *)context = *job;
    return true;
}

/* From a copy without -shm, which a power cut takes: so that looking mends nothing. False when
 * there is no job yet. */
static bool read_journal(const struct bench *bench, struct reading *reading,
                         struct journal_job *job)
{
    char from[BENCH_PATH], to[BENCH_PATH], copy[BENCH_PATH];
    struct fault fault = {0};
    bench_path(bench, "copy", copy);
    nftw(copy, remove_one, 16, FTW_DEPTH | FTW_PHYS);
    mkdir(copy, 0700);
    copy_file(bench, bench_path(bench, "data/journal.sqlite", from),
              bench_path(bench, "copy/journal.sqlite", to));
    copy_file(bench, bench_path(bench, "data/journal.sqlite-wal", from),
              bench_path(bench, "copy/journal.sqlite-wal", to));
    *job = (struct journal_job){0};
    job_init(&reading->job);
    starts = 0;
    if (!journal_exists(copy))
        return false;
    struct journal *journal = journal_open(copy, &fault);
    if (journal == NULL || !journal_jobs(journal, take_job, job, &fault) ||
        (job->number != 0 && !journal_replay(journal, 1, read_event, reading, &fault)))
        bench_wrong(bench, "the journal cannot be read: %s", fault.sentence);
    /* the summary beside the events is that of the last of them */
    struct job *folded = malloc(sizeof *folded);
    if (job->number != 0 && folded != NULL && journal_fold(journal, 1, folded, &fault)) {
        const char *question = job_question_id(folded);
        if (strcmp(job->question, question == NULL ? "" : question) != 0 ||
            job->closed_ms != folded->closed_ms)
            bench_wrong(bench, "the list of jobs says %s, the events %s", job->question, question);
    }
    free(folded);
    journal_close(journal);
    if (job->number != 0 && job->events == 0)
        bench_wrong(bench, "there is a job without an event");
    return job->number != 0;
}

static size_t count_shown(const char *out)
{
    size_t n = 0;
    for (const char *line = out; line != NULL; line = strchr(line, '\n')) {
        line += *line == '\n';
        n += strncmp(line, "> ", 2) == 0 && strchr(line, '\n') != NULL;
    }
    return n;
}

static void look(struct bench *bench)
{
    struct reading reading = {.bench = bench, .events = calloc(1, BENCH_OUT)};
    struct journal_job job;
    bool there = read_journal(bench, &reading, &job);
    size_t acknowledged = bench->heard + bench->again + bench->shown;
    if (reading.heard + reading.again < acknowledged)
        bench_wrong(bench, "%zu answers were acknowledged, the journal has %zu", acknowledged,
                    reading.heard + reading.again);
    if (there && strncmp(bench->events, reading.events, strlen(reading.events)) != 0)
        bench_wrong(bench, "the journal has other events than the undisturbed run");
    bench->heard = reading.heard;
    bench->again = reading.again;
    free(reading.events);
}

/* ---- runs ----------------------------------------------------------------------------------- */

/* When it is started again it asks for the cautions of the block again. */
static void confirm_again(const struct bench *bench, FILE *file)
{
    static struct job_event event;
    struct reading reading = {.bench = bench, .events = calloc(1, BENCH_OUT)};
    struct journal_job job;
    memset(&event, 0, sizeof event);
    if (read_journal(bench, &reading, &job)) {
        event.kind = JOB_RESUMED;
        event.walk = JOB_WALK;
        job_step(&reading.job, &event, &unsaid);
        event.kind = JOB_HEARD;
        while (reading.job.again != 0) {
            const char *words = language_phrase_words(job_phrase(&reading.job));
            fprintf(file, "%s\n", words);
            snprintf(event.words, sizeof event.words, "%s", words);
            job_step(&reading.job, &event, &unsaid);
        }
    }
    free(reading.events);
}

void bench_answers(const struct bench *bench, char path[BENCH_PATH])
{
    FILE *file = fopen(bench_path(bench, "answers", path), "w");
    if (file != NULL)
        confirm_again(bench, file);
    for (size_t i = bench->heard; file != NULL && i < bench->script.n; i++)
        fprintf(file, "%s\n", bench->script.line[i]);
    if (file == NULL || fclose(file) != 0)
        bench_wrong(bench, "cannot write the answers");
}

static bool has_job(const struct bench *bench)
{
    struct reading reading = {.bench = bench, .events = calloc(1, BENCH_OUT)};
    struct journal_job job;
    bool there = read_journal(bench, &reading, &job);
    free(reading.events);
    return there;
}

struct end bench_run(struct bench *bench, const struct trouble *trouble)
{
    static const char *const begin[] = {"--new", "--profile", SCRIPT_PROFILE, NULL};
    static const char *const go_on[] = {"--resume", job_number, NULL};
    static char out[BENCH_OUT];
    char answers[BENCH_PATH];
    bench_answers(bench, answers);
    struct end end = bench_command(bench, trouble, has_job(bench) ? go_on : begin, answers, out);
    if (end.aborted || (!end.killed && end.code < 0))
        bench_wrong(bench, "it crashed: %s", end.err);
    bench->kills += end.killed;
    bench->shown = count_shown(out);
    if (bench->events != NULL)
        look(bench);
    return end;
}

/* ---- the end -------------------------------------------------------------------------------- */

/* The transcript without its times, and without what starting again adds: its note, what is said
 * of it, and the cautions confirmed again. */
static char *without_starts(char *text)
{
    char *out = text;
    bool leaving_out = false;
    size_t start = 0, again = 0;
    for (char *line = text, *end; *line != '\0'; line = end) {
        end = strchr(line, '\n');
        end = end == NULL ? line + strlen(line) : end + 1;
        char *who = strstr(line, "  ");
        size_t length = who == NULL ? 0 : (size_t)(end - who);
        bool said = length > 9 && memcmp(who, "  tool   ", 9) == 0;
        bool started = memmem(who, length, "started again on this job", 25) != NULL;
        bool ended = memmem(who, length, "the input ended; the job", 24) != NULL;
        if (started && start < starts)
            again = again_after[start++];
        bool confirms = leaving_out && !said && !started && !ended && again > 0;
        again -= confirms;
        leaving_out = started || ended || confirms || (leaving_out && said);
        if (leaving_out || length == 0)
            continue;
        memmove(out, who, length);
        out += length;
    }
    *out = '\0';
    return text;
}

static char *shown_by(struct bench *bench, const char *const *arguments)
{
    static const struct trouble none = {0};
    char *out = calloc(1, BENCH_OUT);
    struct end end = bench_command(bench, &none, arguments, "/dev/null", out);
    if (end.code != 0)
        bench_wrong(bench, "midthrow %s: exit code %d, signal %d, said: %s", arguments[0], end.code,
                    end.signal, end.err);
    return out;
}

static char *events_of(struct bench *bench)
{
    struct reading reading = {.bench = bench, .events = calloc(1, BENCH_OUT)};
    struct journal_job job;
    read_journal(bench, &reading, &job);
    if (job.closed_ms == 0)
        bench_wrong(bench, "the job is not closed at the end of its script");
    return reading.events;
}

static const char *const SHOW[] = {"show", job_number, NULL};
static const char *const LINES[] = {"show", job_number, "--transcript", NULL};
static const char *const REPORT[] = {"report", job_number, "--format", "transcript", NULL};

/* Without the list of the cautions confirmed, and how many answers were taken. */
static char *without_cautions(char *text)
{
    char *from = strstr(text, "CAUTIONS CONFIRMED");
    char *to = from == NULL ? NULL : strstr(from, "\n\n");
    if (to != NULL)
        memmove(from, to, strlen(to) + 1);
    char *after = strstr(text, " answers taken");
    if (after == NULL)
        return text;
    size_t number = (size_t)(after - text);
    while (number > 0 && text[number - 1] != ' ')
        number--;
    memmove(text + number, after, strlen(after) + 1);
    return text;
}

static char *transcript_of(struct bench *bench)
{
    char path[BENCH_PATH];
    free(shown_by(bench, LINES)); /* mends the last line of a job that is closed */
    char *file = read_all(bench_path(bench, "data/job-1.txt", path));
    char *made = shown_by(bench, REPORT);
    if (strcmp(file, made) != 0)
        bench_wrong(bench, "the transcript is not what the journal says it was");
    free(made);
    return without_starts(file);
}

static void same(const struct bench *bench, const char *what, const char *wanted, char *got)
{
    if (strcmp(wanted, got) != 0)
        bench_wrong(bench, "the %s is another than that of the undisturbed run:\n%s", what, got);
    free(got);
}

void bench_finish(struct bench *bench)
{
    static const struct trouble none = {0};
    if (bench->heard < bench->script.n) {
        struct end end = bench_run(bench, &none);
        if (end.code != 0)
            bench_wrong(bench, "going on failed: %s", end.err);
    }
    same(bench, "list of events", bench->events, events_of(bench));
    bench->confirmed_again += (long)bench->again;
    same(bench, "write-up", bench->writeup, without_cautions(shown_by(bench, SHOW)));
    same(bench, "transcript", bench->transcript, transcript_of(bench));
}

/* Memory where there is some: a kill cares for what the kernel has, not for the disk's patience. */
static const char *place(void)
{
    const char *where = getenv("TMPDIR");
    return access("/dev/shm", W_OK) == 0 ? "/dev/shm" : where != NULL ? where : "/tmp";
}

void bench_begin(struct bench *bench, const char *midthrow, const char *shim, uint64_t seed)
{
    static const struct trouble strict = {.in_order = true};
    *bench = (struct bench){.midthrow = realpath(midthrow, NULL),
                            .shim = realpath(shim, NULL),
                            .at_ms = INT64_C(1795598043120)};
    if (bench->midthrow == NULL || bench->shim == NULL)
        bench_wrong(bench, "there is no %s or no %s", midthrow, shim);
    snprintf(bench->scratch, sizeof bench->scratch, "%s/midthrow-kill-XXXXXX", place());
    if (mkdtemp(bench->scratch) == NULL || chmod(bench->scratch, 0755) != 0)
        bench_wrong(bench, "cannot make a scratch folder");
    bench_path(bench, "data", bench->data);
    script_make(&bench->script, seed);
    long from = now_us();
    struct end end = bench_run(bench, &strict);
    bench->us = now_us() - from;
    bench->calls = end.calls;
    if (end.code != 0 || end.calls < (long)bench->script.n)
        bench_wrong(bench, "the undisturbed run failed (%d, %ld calls): %s", end.code, end.calls,
                    end.err);
    bench->events = events_of(bench);
    bench->writeup = without_cautions(shown_by(bench, SHOW));
    bench->transcript = transcript_of(bench);
    bench->heard = bench->script.n;
}

void bench_end(struct bench *bench)
{
    nftw(bench->scratch, remove_one, 16, FTW_DEPTH | FTW_PHYS);
    free((void *)(uintptr_t)bench->midthrow);
    free((void *)(uintptr_t)bench->shim);
    free(bench->events);
    free(bench->writeup);
    free(bench->transcript);
}
