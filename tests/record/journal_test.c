/* The journal: what was appended is there, whatever happens to the process, the disk or the file;
 * and every failure is a sentence. */
#define _GNU_SOURCE /* unshare: a small disk of our own to fill */

#include <errno.h>
#include <sched.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "record/journal.h"
#include "seeded_event.h"

enum { NOBODY = 65534 };

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
    chmod(directory, 0700);
    scratch_remove(directory);
    return 0;
}

static struct journal *open_journal(void)
{
    struct fault fault = {0};
    struct journal *journal = journal_open(directory, &fault);
    if (journal == NULL)
        fail_msg("%s", fault.sentence);
    return journal;
}

static void assert_says(const struct fault *fault, const char *what)
{
    if (strstr(fault->sentence, what) == NULL)
        fail_msg("'%s' does not say '%s'", fault->sentence, what);
}

static struct job_event heard(int64_t at_ms)
{
    return (struct job_event){.kind = JOB_HEARD, .at_ms = at_ms, .score = 1, .words = "yes"};
}

static int64_t new_job(struct journal *journal)
{
    int64_t number = 0;
    struct fault fault = {0};
    if (!journal_new_job(journal, 1000, &number, &fault))
        fail_msg("%s", fault.sentence);
    return number;
}

static void append(struct journal *journal, int64_t job, const struct job_event *event)
{
    struct fault fault = {0};
    if (!journal_append(journal, job, event, &fault))
        fail_msg("%s", fault.sentence);
}

/* Counts events and sees that their times are 1, 2, 3 ... */
static bool count_up(void *context, const struct job_event *event)
{
    int64_t *count = context;
    ++*count;
    assert_int_equal(event->at_ms, *count);
    return true;
}

static int64_t count_events(struct journal *journal, int64_t job)
{
    int64_t count = 0;
    struct fault fault = {0};
    if (!journal_replay(journal, job, count_up, &count, &fault))
        fail_msg("%s", fault.sentence);
    return count;
}

/* ---- what is kept ------------------------------------------------------------------------------
 */

struct expected {
    uint64_t seed;
    int n;
};

static bool is_expected(void *context, const struct job_event *event)
{
    struct expected *expected = context;
    struct job_event wanted;
    struct job_event got = *event;
    seeded_event(&expected->seed, &wanted);
    expected->n++;
    assert_true(same_event(&wanted, &got));
    return true;
}

static void events_come_back_in_order_and_exact(void **state)
{
    (void)state;
    enum { EVENTS = 200 };
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    uint64_t seed = 1;
    for (int i = 0; i < EVENTS; i++) {
        struct job_event event;
        seeded_event(&seed, &event);
        append(journal, job, &event);
    }
    journal_close(journal);
    journal = open_journal();
    struct expected expected = {.seed = 1};
    assert_true(journal_replay(journal, job, is_expected, &expected, NULL));
    assert_int_equal(expected.n, EVENTS);
    journal_close(journal);
}

static bool stop_at_three(void *context, const struct job_event *event)
{
    int *n = context;
    (void)event;
    return ++*n < 3;
}

static void a_replay_stops_when_told(void **state)
{
    (void)state;
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    for (int i = 1; i <= 5; i++) {
        struct job_event event = heard(i);
        append(journal, job, &event);
    }
    int n = 0;
    assert_true(journal_replay(journal, job, stop_at_three, &n, NULL));
    assert_int_equal(n, 3);
    assert_int_equal(count_events(journal, job), 5);
    journal_close(journal);
}

static void jobs_have_numbers_of_their_own_and_events_do_not_mix(void **state)
{
    (void)state;
    struct journal *journal = open_journal();
    int64_t one = new_job(journal);
    int64_t two = new_job(journal);
    assert_int_equal(one, 1);
    assert_int_equal(two, 2);
    for (int i = 1; i <= 4; i++) {
        struct job_event event = heard(i);
        append(journal, one, &event);
        if (i <= 2)
            append(journal, two, &event);
    }
    assert_int_equal(count_events(journal, one), 4);
    assert_int_equal(count_events(journal, two), 2);
    journal_close(journal);
}

static bool keep(void *context, const struct journal_job *job)
{
    struct journal_job *jobs = context;
    assert_in_range(job->number, 1, 2);
    jobs[job->number] = *job;
    return true;
}

static void the_list_tells_what_summarise_was_told(void **state)
{
    (void)state;
    struct journal *journal = open_journal();
    struct journal_job jobs[3] = {0};
    int64_t number = new_job(journal);
    new_job(journal);
    struct job *job = calloc(1, sizeof *job);
    job_init(job);
    struct job_event event = heard(1700);
    append(journal, number, &event);
    strcpy(job->order, "0047'; DROP TABLE jobs;");
    strcpy(job->profile.name, "generic-big-twin");
    job->has_profile = true;
    job->ending = JOB_NOT_FIXED;
    job->closed_ms = 1800;
    assert_true(journal_summarise(journal, number, job, NULL));
    assert_true(journal_jobs(journal, keep, jobs, NULL));
    assert_int_equal(jobs[1].opened_ms, 1000);
    assert_int_equal(jobs[1].last_ms, 1700);
    assert_int_equal(jobs[1].closed_ms, 1800);
    assert_int_equal(jobs[1].events, 1);
    assert_string_equal(jobs[1].order, "0047'; DROP TABLE jobs;");
    assert_string_equal(jobs[1].profile, "generic-big-twin");
    assert_string_equal(jobs[1].question, job_question_id(job));
    assert_string_equal(jobs[1].ending, "not fixed");
    assert_string_equal(jobs[2].ending, "open");
    assert_int_equal(jobs[2].events, 0);
    assert_int_equal(jobs[2].closed_ms, 0);
    free(job);
    journal_close(journal);
}

static void an_unknown_job_is_wrong_usage(void **state)
{
    (void)state;
    struct journal *journal = open_journal();
    struct journal_job found;
    struct fault fault = {0};
    assert_false(journal_find(journal, 7, &found, &fault));
    assert_int_equal(fault.code, FAULT_USAGE);
    assert_string_equal(fault.sentence, "there is no job 7, nor any other yet: start one.");
    new_job(journal);
    new_job(journal);
    assert_false(journal_find(journal, 7, &found, &fault));
    assert_string_equal(fault.sentence,
                        "there is no job 7: they go from 1 to 2; 'midthrow jobs' lists them.");
    assert_true(journal_find(journal, 2, &found, &fault));
    struct job_event event = heard(1);
    fault = (struct fault){0};
    assert_false(journal_append(journal, 7, &event, &fault));
    assert_int_equal(fault.code, FAULT_USAGE);
    fault = (struct fault){0};
    int64_t count = 0;
    assert_false(journal_replay(journal, -1, count_up, &count, &fault));
    assert_int_equal(fault.code, FAULT_USAGE);
    append(journal, 2, &event); /* the failures left nothing open */
    journal_close(journal);
}

/* ---- who may read it, and where it lies --------------------------------------------------- */

static mode_t mode_of(const char *name)
{
    char path[SCRATCH_PATH];
    struct stat status;
    if (stat(name[0] == '\0' ? directory : scratch_path(directory, name, path), &status) != 0)
        return 0;
    return status.st_mode & 07777;
}

static void files_are_for_their_owner_whatever_the_umask(void **state)
{
    (void)state;
    static const mode_t masks[] = {0, 0022, 0077, 0777};
    char top[SCRATCH_PATH];
    strcpy(top, directory);
    for (size_t i = 0; i < sizeof masks / sizeof masks[0]; i++) {
        assert_true(snprintf(directory, sizeof directory, "%s/%zu/data/", top, i) > 0);
        mode_t before = umask(masks[i]);
        struct fault fault = {0};
        struct journal *journal = journal_open(directory, &fault);
        if (journal != NULL)
            journal_lock(journal, new_job(journal), &fault);
        umask(before);
        if (journal == NULL)
            fail_msg("umask %03o: %s", (unsigned)masks[i], fault.sentence);
        assert_int_equal(mode_of(""), 0700);
        assert_int_equal(mode_of("journal.sqlite"), 0600);
        assert_int_equal(mode_of("journal.sqlite-wal"), 0600);
        assert_int_equal(mode_of("journal.sqlite-shm"), 0600);
        assert_int_equal(mode_of("job-1.lock"), 0600);
        journal_close(journal);
        assert_int_equal(mode_of("job-1.lock"), 0); /* gone */
    }
    strcpy(directory, top);
}

static void a_journal_that_others_could_read_is_closed_to_them(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    journal_close(open_journal());
    assert_int_equal(chmod(scratch_path(directory, "journal.sqlite", path), 0644), 0);
    journal_close(open_journal());
    assert_int_equal(mode_of("journal.sqlite"), 0600);
}

static void the_data_directory_follows_the_xdg_specification(void **state)
{
    (void)state;
    char out[256];
    struct fault fault = {0};
    setenv("XDG_DATA_HOME", "/x/data", 1);
    setenv("HOME", "/home/someone", 1);
    assert_true(journal_default_directory(out, sizeof out, &fault));
    assert_string_equal(out, "/x/data/midthrow");
    setenv("XDG_DATA_HOME", "not/absolute", 1); /* to be ignored, says the specification */
    assert_true(journal_default_directory(out, sizeof out, &fault));
    assert_string_equal(out, "/home/someone/.local/share/midthrow");
    unsetenv("XDG_DATA_HOME");
    assert_true(journal_default_directory(out, sizeof out, &fault));
    assert_string_equal(out, "/home/someone/.local/share/midthrow");
    assert_false(journal_default_directory(out, 8, &fault));
    unsetenv("HOME");
    assert_false(journal_default_directory(out, sizeof out, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
}

static void looking_for_a_journal_makes_none(void **state)
{
    (void)state;
    assert_false(journal_exists(directory));
    assert_int_equal(mode_of("journal.sqlite"), 0);
    journal_close(open_journal());
    assert_true(journal_exists(directory));
}

/* ---- kill -9 ------------------------------------------------------------------------------ */

/* The child appends and tells each event that is safe through the pipe; it is killed in the middle.
 */
static int64_t append_until_killed(int64_t job, int64_t already, unsigned pause_us)
{
    int pipe_ends[2];
    assert_int_equal(pipe(pipe_ends), 0);
    pid_t child = fork();
    if (child == 0) {
        struct journal *journal = journal_open(directory, NULL);
        for (int64_t i = already + 1; journal != NULL; i++) {
            struct job_event event = heard(i);
            if (!journal_append(journal, job, &event, NULL) || write(pipe_ends[1], "", 1) != 1)
                break;
        }
        _exit(1);
    }
    close(pipe_ends[1]);
    char byte;
    int64_t safe = 0;
    for (int i = 0; i < 5 && read(pipe_ends[0], &byte, 1) == 1; i++)
        safe++;
    const struct timespec pause = {.tv_nsec = 1000L * pause_us};
    nanosleep(&pause, NULL);
    kill(child, SIGKILL);
    while (read(pipe_ends[0], &byte, 1) == 1)
        safe++;
    close(pipe_ends[0]);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
    return already + safe;
}

static void what_was_committed_survives_a_kill(void **state)
{
    (void)state;
    enum { KILLS = 40 };
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    journal_close(journal);
    uint64_t seed = 3;
    int64_t there = 0;
    for (int i = 0; i < KILLS; i++) {
        int64_t safe = append_until_killed(job, there, (unsigned)seeded_below(&seed, 3000));
        journal = open_journal();
        there = count_events(journal, job);
        journal_close(journal);
        assert_true(safe >= there - 1 && there >= safe); /* one may be in before it was told */
    }
    assert_true(there >= 5 * KILLS);
}

/* SQLite's own way to the disk, with its syncs counted: what "on disk when it returns" rests on. */
static const sqlite3_io_methods *real_methods;
static sqlite3_io_methods counting_methods;
static sqlite3_vfs counting_vfs;
static int syncs;

static int counting_sync(sqlite3_file *file, int flags)
{
    syncs++;
    return real_methods->xSync(file, flags);
}

static int counting_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags,
                         int *out_flags)
{
    sqlite3_vfs *real = sqlite3_vfs_find("unix");
    int code = real->xOpen(vfs, name, file, flags, out_flags);
    if (code == SQLITE_OK && (flags & SQLITE_OPEN_WAL) != 0) {
        real_methods = file->pMethods;
        counting_methods = *real_methods;
        counting_methods.xSync = counting_sync;
        file->pMethods = &counting_methods;
    }
    return code;
}

static void every_commit_waits_for_the_disk(void **state)
{
    (void)state;
    counting_vfs = *sqlite3_vfs_find("unix");
    counting_vfs.zName = "counting";
    counting_vfs.xOpen = counting_open;
    assert_int_equal(sqlite3_vfs_register(&counting_vfs, 1), SQLITE_OK);
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    for (int i = 1; i <= 20; i++) {
        struct job_event event = heard(i);
        syncs = 0;
        append(journal, job, &event);
        assert_true(syncs >= 1);
    }
    journal_close(journal);
    sqlite3_vfs_unregister(&counting_vfs);
}

/* ---- two at once -------------------------------------------------------------------------- */

static void a_second_process_on_the_same_job_is_refused(void **state)
{
    (void)state;
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    int64_t other = new_job(journal);
    int pipe_ends[2];
    assert_int_equal(pipe(pipe_ends), 0);
    pid_t child = fork();
    if (child == 0) {
        struct journal *second = journal_open(directory, NULL);
        bool locked = second != NULL && journal_lock(second, job, NULL);
        if (write(pipe_ends[1], locked ? "y" : "n", 1) == 1)
            pause();
        _exit(1);
    }
    char answer = 'n';
    assert_int_equal(read(pipe_ends[0], &answer, 1), 1);
    assert_int_equal(answer, 'y');
    struct fault fault = {0};
    char wanted[128];
    assert_false(journal_lock(journal, job, &fault));
    assert_int_equal(fault.code, FAULT_FAILED);
    snprintf(wanted, sizeof wanted,
             "job 1 is open in another midthrow (process %ld): close it there first.", (long)child);
    assert_string_equal(fault.sentence, wanted);
    assert_true(journal_lock(journal, other, NULL)); /* another job is free */

    kill(child, SIGKILL);
    assert_int_equal(waitpid(child, NULL, 0), child);
    assert_true(journal_lock(journal, job, &fault)); /* the lock went with its holder */
    journal_unlock(journal);
    assert_true(journal_lock(journal, job, &fault));
    close(pipe_ends[0]);
    close(pipe_ends[1]);
    journal_close(journal);
}

static void two_processes_can_append_to_two_jobs_at_once(void **state)
{
    (void)state;
    enum { EVENTS = 100 };
    struct journal *journal = open_journal();
    int64_t mine = new_job(journal);
    int64_t theirs = new_job(journal);
    pid_t child = fork();
    if (child == 0) {
        struct journal *second = journal_open(directory, NULL);
        bool ok = second != NULL;
        for (int64_t i = 1; i <= EVENTS && ok; i++) {
            struct job_event event = heard(i);
            ok = journal_append(second, theirs, &event, NULL);
        }
        _exit(ok ? 0 : 1);
    }
    for (int64_t i = 1; i <= EVENTS; i++) {
        struct job_event event = heard(i);
        append(journal, mine, &event);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    assert_int_equal(count_events(journal, mine), EVENTS);
    assert_int_equal(count_events(journal, theirs), EVENTS);
    journal_close(journal);
}

/* ---- full and read-only ------------------------------------------------------------------- */

/* Runs `check` in a child that may do what would harm the other tests. 77: it could not be set up.
 */
static int in_child(int (*check)(void))
{
    fflush(NULL);
    pid_t child = fork();
    if (child == 0)
        _exit(check());
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 100 + WTERMSIG(status);
}

static int complain(int line, const struct fault *fault)
{
    fprintf(stderr, "line %d: %s\n", line, fault == NULL ? "" : fault->sentence);
    return 1;
}
#define REQUIRE(condition)                                                                         \
    do {                                                                                           \
        if (!(condition))                                                                          \
            return complain(__LINE__, &fault);                                                     \
    } while (0)

static bool count_only(void *context, const struct job_event *event)
{
    (void)event;
    ++*(int64_t *)context;
    return true;
}

/* Appends until the disk is full, then sees that just what was promised is there. */
static int fill_up(void (*make_room)(void))
{
    struct fault fault = {0};
    int64_t job = 0;
    int64_t safe = 0;
    int64_t there = 0;
    struct journal *journal = journal_open(directory, &fault);
    REQUIRE(journal != NULL && journal_new_job(journal, 1, &job, &fault));
    struct job_event event = heard(1);
    memset(event.words, 'x', sizeof event.words - 1);
    while (safe < 100000 && journal_append(journal, job, &event, &fault))
        safe++;
    REQUIRE(safe > 10 && safe < 100000);
    REQUIRE(fault.code == FAULT_FAILED && strstr(fault.sentence, "is on a full disk: free some"));
    REQUIRE(journal_replay(journal, job, count_only, &there, &fault) && there == safe);
    fault = (struct fault){0};
    REQUIRE(!journal_append(journal, job, &event, &fault)); /* still full, still a sentence */
    REQUIRE(strstr(fault.sentence, "full disk"));
    make_room();
    REQUIRE(journal_append(journal, job, &event, &fault)); /* and it goes on where it stood */
    journal_close(journal);
    journal = journal_open(directory, &fault);
    there = 0;
    REQUIRE(journal != NULL && journal_replay(journal, job, count_only, &there, &fault));
    REQUIRE(there == safe + 1);
    journal_close(journal);
    return 0;
}

static void remove_filler(void)
{
    char path[SCRATCH_PATH];
    unlink(scratch_path(directory, "filler", path));
}

static int fill_a_small_disk(void)
{
    if (unshare(CLONE_NEWNS) != 0 || mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) != 0 ||
        mount("none", directory, "tmpfs", 0, "size=512k,mode=0700") != 0)
        return 77;
    char path[SCRATCH_PATH];
    char block[64 * 1024] = {0};
    scratch_write(directory, "filler", block, sizeof block, path);
    return fill_up(remove_filler);
}

static void lift_limit(void)
{
    struct rlimit limit;
    getrlimit(RLIMIT_FSIZE, &limit);
    limit.rlim_cur = limit.rlim_max;
    setrlimit(RLIMIT_FSIZE, &limit);
}

static int fill_to_a_limit(void)
{
    struct rlimit limit;
    signal(SIGXFSZ, SIG_IGN);
    if (getrlimit(RLIMIT_FSIZE, &limit) != 0)
        return 77;
    limit.rlim_cur = 300 * 1024;
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0)
        return 77;
    return fill_up(lift_limit);
}

static void a_full_disk_loses_nothing_that_was_promised(void **state)
{
    (void)state;
    int code = in_child(fill_a_small_disk);
    if (code == 77) /* no right to mount here: the limit below shows the same */
        skip();
    assert_int_equal(code, 0);
}

static void a_file_size_limit_is_met_as_a_full_disk(void **state)
{
    (void)state;
    assert_int_equal(in_child(fill_to_a_limit), 0);
}

static int no_room_for_a_journal(void)
{
    struct fault fault = {0};
    char path[SCRATCH_PATH];
    char block[4096] = {0};
    if (unshare(CLONE_NEWNS) != 0 || mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) != 0 ||
        mount("none", directory, "tmpfs", 0, "size=16k,mode=0700") != 0)
        return 77;
    FILE *filler = fopen(scratch_path(directory, "filler", path), "wb");
    REQUIRE(filler != NULL);
    while (fwrite(block, 1, sizeof block, filler) == sizeof block && fflush(filler) == 0)
        continue;
    fclose(filler);
    REQUIRE(journal_open(directory, &fault) == NULL);
    REQUIRE(strstr(fault.sentence, "full"));
    unlink(path);
    REQUIRE(umount(directory) == 0);
    return 0;
}

static void a_disk_too_full_to_begin_on_is_said_so(void **state)
{
    (void)state;
    int code = in_child(no_room_for_a_journal);
    if (code == 77)
        skip();
    assert_int_equal(code, 0);
}

/* Root may write anywhere: become nobody first. */
static bool drop_rights(void)
{
    return geteuid() != 0 || (setgid(NOBODY) == 0 && setuid(NOBODY) == 0);
}

static bool give_to_nobody(const char *path)
{
    return geteuid() != 0 || chown(path, NOBODY, NOBODY) == 0;
}

static int open_in_read_only_directory(void)
{
    struct fault fault = {0};
    char path[SCRATCH_PATH];
    if (!give_to_nobody(directory) || chmod(directory, 0500) != 0 || !drop_rights())
        return 77;
    REQUIRE(journal_open(directory, &fault) == NULL);
    REQUIRE(fault.code == FAULT_FAILED && strstr(fault.sentence, "it is read-only for you"));
    fault = (struct fault){0};
    REQUIRE(journal_open(scratch_path(directory, "below/it", path), &fault) == NULL);
    REQUIRE(fault.code == FAULT_FAILED && strstr(fault.sentence, "it is read-only for you"));
    REQUIRE(access(scratch_path(directory, "journal.sqlite", path), F_OK) != 0);
    return 0;
}

static void a_read_only_directory_is_said_so_and_stays_as_it_is(void **state)
{
    (void)state;
    assert_int_equal(in_child(open_in_read_only_directory), 0);
}

static int open_read_only_journal(void)
{
    struct fault fault = {0};
    char path[SCRATCH_PATH];
    scratch_path(directory, "journal.sqlite", path);
    if (!give_to_nobody(directory) || !give_to_nobody(path) || chmod(path, 0400) != 0 ||
        chmod(directory, 0500) != 0 || !drop_rights())
        return 77;
    REQUIRE(journal_open(directory, &fault) == NULL);
    REQUIRE(fault.code == FAULT_FAILED && strstr(fault.sentence, "read-only for you"));
    chmod(path, 0600); /* the file may be written, but nothing put beside it */
    fault = (struct fault){0};
    REQUIRE(journal_open(directory, &fault) == NULL);
    REQUIRE(fault.code == FAULT_FAILED && strstr(fault.sentence, "--data"));
    return 0;
}

static void a_read_only_journal_is_said_so(void **state)
{
    (void)state;
    journal_close(open_journal());
    assert_int_equal(in_child(open_read_only_journal), 0);
}

static void something_else_in_the_way_is_said_so(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    struct fault fault = {0};
    scratch_write(directory, "file", "x", 1, path);
    assert_null(journal_open(path, &fault));
    assert_says(&fault, "a file is in the way");
    assert_null(journal_open(strcat(path, "/below"), &fault));
    assert_says(&fault, "a file is in the way");
    assert_int_equal(mkdir(scratch_path(directory, "journal.sqlite", path), 0700), 0);
    assert_null(journal_open(directory, &fault));
    assert_int_equal(rmdir(path), 0);
    assert_int_equal(symlink("file", path), 0);
    assert_null(journal_open(directory, &fault));
    assert_says(&fault, "a symbolic link is in the way");
    assert_int_equal(unlink(path), 0);
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_null(journal_open(directory, &fault)); /* and does not wait */
    assert_null(journal_open("", &fault));
}

/* ---- files that are not ours, or not any more --------------------------------------------- */

static void run_sql(const char *sql)
{
    char path[SCRATCH_PATH];
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(scratch_path(directory, "journal.sqlite", path), &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(db));
    sqlite3_close(db);
}

static size_t read_whole(const char *name, char *bytes, size_t size)
{
    char path[SCRATCH_PATH];
    FILE *file = fopen(scratch_path(directory, name, path), "rb");
    assert_non_null(file);
    size_t n = fread(bytes, 1, size, file);
    fclose(file);
    return n;
}

static void assert_refused_untouched(const char *why)
{
    static char before[1 << 20];
    static char after[1 << 20];
    struct fault fault = {0};
    size_t n = read_whole("journal.sqlite", before, sizeof before);
    assert_null(journal_open(directory, &fault));
    assert_int_equal(fault.code, FAULT_FAILED);
    assert_says(&fault, why);
    assert_int_equal(read_whole("journal.sqlite", after, sizeof after), n);
    assert_memory_equal(before, after, n);
}

static void a_newer_journal_is_refused_untouched(void **state)
{
    (void)state;
    journal_close(open_journal());
    run_sql("PRAGMA user_version = 3");
    assert_refused_untouched("was written by a newer midthrow (schema 3, this one knows 2)");
}

static void a_file_that_is_no_journal_is_refused_untouched(void **state)
{
    (void)state;
    scratch_text(directory, "journal.sqlite",
                 "This is a shopping list, long enough not to be empty.");
    assert_refused_untouched("is not a midthrow journal");
    char path[SCRATCH_PATH];
    char noise[8192];
    uint64_t seed = 4;
    for (size_t i = 0; i < sizeof noise; i++)
        noise[i] = (char)seeded(&seed);
    scratch_write(directory, "journal.sqlite", noise, sizeof noise, path);
    assert_refused_untouched("is not a midthrow journal");
    unlink(path);
    run_sql("CREATE TABLE photos (name TEXT)");
    assert_refused_untouched("is not a midthrow journal");
    unlink(path);
    run_sql("PRAGMA application_id = 77; PRAGMA user_version = 1");
    assert_refused_untouched("is not a midthrow journal");
}

static void an_empty_file_becomes_a_journal(void **state)
{
    (void)state;
    scratch_text(directory, "journal.sqlite", "");
    struct journal *journal = open_journal();
    assert_int_equal(new_job(journal), 1);
    journal_close(journal);
}

static bool replay_fails(int64_t job, struct fault *fault)
{
    struct journal *journal = journal_open(directory, fault);
    int64_t count = 0;
    bool failed = journal == NULL || !journal_replay(journal, job, count_only, &count, fault);
    journal_close(journal);
    return failed;
}

static void damaged_or_missing_events_are_found(void **state)
{
    (void)state;
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    for (int i = 1; i <= 5; i++) {
        struct job_event event = heard(i);
        append(journal, job, &event);
    }
    journal_close(journal);
    static const struct {
        const char *harm, *mend, *why;
    } harm[] = {
        {"UPDATE events SET body = '{}' WHERE seq = 3",
         "UPDATE events SET body = (SELECT body FROM events WHERE seq = 2) WHERE seq = 3",
         "event 3 of job 1"},
        {"UPDATE events SET seq = 9 WHERE seq = 2", "UPDATE events SET seq = 2 WHERE seq = 9",
         "event 2 of job 1"},
        {"DELETE FROM events WHERE seq = 5", "UPDATE jobs SET events = 4", "event 5 of job 1"},
    };
    struct fault fault = {0};
    assert_false(replay_fails(job, &fault));
    for (size_t i = 0; i < sizeof harm / sizeof harm[0]; i++) {
        run_sql(harm[i].harm);
        assert_true(replay_fails(job, &fault));
        assert_says(&fault, harm[i].why);
        run_sql(harm[i].mend);
        assert_false(replay_fails(job, &fault));
    }
}

/* Pages overwritten at random: found or without effect, never a crash and never a wrong event. */
static void a_corrupt_file_is_a_sentence_and_no_crash(void **state)
{
    (void)state;
    enum { EVENTS = 300, ROUNDS = 60 };
    static char whole[1 << 20];
    char path[SCRATCH_PATH];
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    for (int i = 1; i <= EVENTS; i++) {
        struct job_event event = heard(i);
        append(journal, job, &event);
    }
    journal_close(journal);
    size_t n = read_whole("journal.sqlite", whole, sizeof whole);
    uint64_t seed = 6;
    int found = 0;
    for (int i = 0; i < ROUNDS; i++) {
        static char harmed[1 << 20];
        struct fault fault = {0};
        memcpy(harmed, whole, n);
        size_t at = seeded_below(&seed, n);
        for (size_t k = at; k < n && k < at + 512; k++)
            harmed[k] = (char)seeded(&seed);
        scratch_write(directory, "journal.sqlite", harmed, n, path);
        found += replay_fails(job, &fault);
        if (fault.code != FAULT_NONE)
            assert_true(fault.code == FAULT_FAILED || fault.code == FAULT_USAGE);
    }
    assert_true(found > ROUNDS / 2);
}

/* ---- how fast ----------------------------------------------------------------------------- */

static void ten_thousand_events_are_listed_and_replayed_quickly(void **state)
{
    (void)state;
    enum { EVENTS = 10000 };
    struct journal *journal = open_journal();
    int64_t job = new_job(journal);
    struct job_event event = heard(1);
    append(journal, job, &event);
    journal_close(journal);
    run_sql("WITH RECURSIVE n (i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < 10000)"
            " INSERT INTO events (job, seq, at_ms, body)"
            " SELECT 1, i, i, replace(body, '\"at_ms\":1', '\"at_ms\":' || i) FROM n, events"
            " WHERE seq = 1;"
            "UPDATE jobs SET events = 10000");
    struct timespec start;
    struct timespec end;
    journal = open_journal();
    clock_gettime(CLOCK_MONOTONIC, &start);
    assert_int_equal(count_events(journal, job), EVENTS);
    clock_gettime(CLOCK_MONOTONIC, &end);
    double ms =
        1e3 * (double)(end.tv_sec - start.tv_sec) + 1e-6 * (double)(end.tv_nsec - start.tv_nsec);
    print_message("10000 events replayed in %.0f ms\n", ms);
    assert_true(ms < 5000); /* a bound for slow and instrumented machines; see the printed figure */
    event = heard(EVENTS + 1);
    append(journal, job, &event);
    assert_int_equal(count_events(journal, job), EVENTS + 1);
    journal_close(journal);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directory, remove_directory)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(events_come_back_in_order_and_exact),
        TEST(a_replay_stops_when_told),
        TEST(jobs_have_numbers_of_their_own_and_events_do_not_mix),
        TEST(the_list_tells_what_summarise_was_told),
        TEST(an_unknown_job_is_wrong_usage),
        TEST(files_are_for_their_owner_whatever_the_umask),
        TEST(a_journal_that_others_could_read_is_closed_to_them),
        TEST(the_data_directory_follows_the_xdg_specification),
        TEST(looking_for_a_journal_makes_none),
        TEST(what_was_committed_survives_a_kill),
        TEST(every_commit_waits_for_the_disk),
        TEST(a_second_process_on_the_same_job_is_refused),
        TEST(two_processes_can_append_to_two_jobs_at_once),
        TEST(a_full_disk_loses_nothing_that_was_promised),
        TEST(a_file_size_limit_is_met_as_a_full_disk),
        TEST(a_disk_too_full_to_begin_on_is_said_so),
        TEST(a_read_only_directory_is_said_so_and_stays_as_it_is),
        TEST(a_read_only_journal_is_said_so),
        TEST(something_else_in_the_way_is_said_so),
        TEST(a_newer_journal_is_refused_untouched),
        TEST(a_file_that_is_no_journal_is_refused_untouched),
        TEST(an_empty_file_becomes_a_journal),
        TEST(damaged_or_missing_events_are_found),
        TEST(a_corrupt_file_is_a_sentence_and_no_crash),
        TEST(ten_thousand_events_are_listed_and_replayed_quickly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
