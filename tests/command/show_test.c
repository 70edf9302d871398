/* midthrow jobs and midthrow show, as a shell would run them, on whole jobs that a simulated
 * technician did and the journal kept. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/wait.h>

#include <cmocka.h>
#include <jansson.h>

#include "../base/scratch.h"
#include "../job/technician.h"
#include "command/command.h"
#include "record/journal.h"
#include "record/transcript.h"
#include "record/writeup.h"

enum { EVENTS_MAX = 2000, OUTPUT = 1 << 20 };

static char directory[SCRATCH_PATH];
static char out[OUTPUT];
static char err[OUTPUT];

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

/* ---- running a command -------------------------------------------------------------------- */

static void slurp(FILE *file, char *text)
{
    rewind(file);
    size_t n = fread(text, 1, OUTPUT - 1, file);
    text[n] = '\0';
    fclose(file);
}

/* In a child, so that what it prints can be read; its exit code comes back. */
static int run_into(int (*command)(int, char **), FILE *to, FILE *errors, int argc, char **argv)
{
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        dup2(fileno(to), STDOUT_FILENO);
        dup2(fileno(errors), STDERR_FILENO);
        int code = command(argc, argv);
        fflush(NULL);
        _exit(code);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static int run(int (*command)(int, char **), const char *name, const char *words)
{
    char line[2048];
    char *argv[16] = {NULL};
    int argc = 0;
    snprintf(line, sizeof line, "%s %s", name, words);
    for (char *word = strtok(line, " "); word != NULL && argc < 15; word = strtok(NULL, " "))
        argv[argc++] = strcmp(word, "DIR") == 0 ? directory : word;
    FILE *to = tmpfile();
    FILE *errors = tmpfile();
    assert_true(to != NULL && errors != NULL);
    int code = run_into(command, to, errors, argc, argv);
    slurp(to, out);
    slurp(errors, err);
    return code;
}

static int jobs(const char *words)
{
    return run(command_jobs, "jobs", words);
}

static int show(const char *words)
{
    return run(command_show, "show", words);
}

/* One sentence, one line, on standard error; nothing on standard output. */
static void assert_fails(int code, int wanted, const char *why)
{
    assert_int_equal(code, wanted);
    assert_string_equal(out, "");
    assert_int_equal(strncmp(err, "midthrow: ", 10), 0);
    assert_ptr_equal(strchr(err, '\n'), err + strlen(err) - 1);
    if (strstr(err, why) == NULL)
        fail_msg("'%s' does not say '%s'", err, why);
}

/* ---- doing a job -------------------------------------------------------------------------- */

struct bench {
    struct journal *journal;
    struct transcript *transcript;
    int64_t number;
    struct job job;
    struct technician technician;
};

static void happen(struct bench *bench, struct job_event *event)
{
    static struct job_effects effects;
    struct fault fault = {0};
    if (!journal_append(bench->journal, bench->number, event, &fault) ||
        !transcript_heard(bench->transcript, event, job_question_id(&bench->job),
                          job_grammar(&bench->job), job_phrase(&bench->job), &fault))
        fail_msg("%s", fault.sentence);
    job_step(&bench->job, event, &effects);
}

/* A whole job, or its first `events` events; what was lived stays in `bench->job`. */
static void do_job(struct bench *bench, uint64_t seed, int events)
{
    static struct job_event event;
    struct fault fault = {0};
    bench->journal = journal_open(directory, &fault);
    if (bench->journal == NULL || !journal_new_job(bench->journal, 1000000, &bench->number, &fault))
        fail_msg("%s", fault.sentence);
    bench->transcript = transcript_open(directory, bench->number, NULL);
    assert_non_null(bench->transcript);
    technician_begin(&bench->technician, seed);
    job_init(&bench->job);
    event = (struct job_event){.kind = JOB_OPENED,
                               .at_ms = 1000000,
                               .source = JOB_BY_STATION,
                               .names = {"simulated"},
                               .names_n = 1};
    happen(bench, &event);
    for (int i = 1; i < events && !job_has_left(&bench->job); i++) {
        memset(&event, 0, sizeof event);
        if (bench->job.mode == JOB_FETCHING) {
            event.kind = JOB_PROFILE_READ;
            event.source = JOB_BY_STATION;
            event.at_ms = bench->job.now_ms + 1;
            technician_profile(&bench->technician, &event.profile);
        } else {
            technician_answer(&bench->technician, &bench->job, &event);
        }
        happen(bench, &event);
    }
    assert_true(journal_summarise(bench->journal, bench->number, &bench->job, NULL));
    transcript_close(bench->transcript);
    journal_close(bench->journal);
}

/* ---- what is shown ------------------------------------------------------------------------ */

static char *expected_text(const struct bench *bench)
{
    char *text = malloc(WRITEUP_SIZE);
    assert_true(text != NULL && writeup_text(&bench->job, bench->number, text, WRITEUP_SIZE));
    return text;
}

/* The write-up of the job as lived and of the job as replayed are one: the journal loses nothing.
 */
static void a_job_is_shown_as_it_was_lived(void **state)
{
    (void)state;
    enum { JOBS = 12 };
    struct bench *bench = calloc(1, sizeof *bench);
    for (int i = 1; i <= JOBS; i++) {
        char words[64];
        do_job(bench, (uint64_t)i, i % 3 == 0 ? 20 * i : EVENTS_MAX);
        assert_int_equal(bench->number, i);
        snprintf(words, sizeof words, "%d --data DIR", i);
        assert_int_equal(show(words), 0);
        char *text = expected_text(bench);
        assert_string_equal(out, text);
        assert_string_equal(err, "");
        free(text);
        snprintf(words, sizeof words, "--json %d --data DIR", i);
        assert_int_equal(show(words), 0);
        text = writeup_json(&bench->job, bench->number);
        assert_non_null(text);
        assert_true(strncmp(out, text, strlen(text)) == 0);
        assert_string_equal(out + strlen(text), "\n");
        free(text);
    }
    free(bench);
}

static void the_transcript_is_shown_as_it_was_written(void **state)
{
    (void)state;
    static char written[OUTPUT];
    char path[SCRATCH_PATH];
    struct bench *bench = calloc(1, sizeof *bench);
    do_job(bench, 5, 60);
    assert_int_equal(show("1 --data DIR --transcript"), 0);
    assert_true(transcript_path(directory, 1, path, sizeof path));
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    slurp(file, written);
    assert_string_equal(out, written);
    assert_true(strlen(out) > 1000);
    assert_int_equal(unlink(path), 0);
    assert_fails(show("1 --data DIR --transcript"), 3, "has no transcript that can be read");
    free(bench);
}

static void the_answers_of_a_job_are_in_its_json(void **state)
{
    (void)state;
    struct bench *bench = calloc(1, sizeof *bench);
    do_job(bench, 2, EVENTS_MAX);
    assert_int_equal(show("1 --json --data DIR"), 0);
    json_t *object = json_loads(out, JSON_REJECT_DUPLICATES, NULL);
    json_t *answers = json_object_get(object, "answers");
    assert_int_equal(json_array_size(answers), bench->job.answers);
    size_t index;
    json_t *answer;
    int distances = 0;
    json_array_foreach(answers, index, answer)
    {
        assert_true(json_is_string(json_object_get(answer, "question")));
        assert_true(json_is_string(json_object_get(answer, "words")));
        assert_true(json_is_string(json_object_get(answer, "at")));
        distances += json_is_real(json_object_get(answer, "mm"));
    }
    assert_true(distances >= 4);
    json_decref(object);
    free(bench);
}

static void jobs_are_listed_with_where_they_stand(void **state)
{
    (void)state;
    struct bench *bench = calloc(1, sizeof *bench);
    do_job(bench, 1, EVENTS_MAX);
    do_job(bench, 2, 6);
    assert_int_equal(jobs("--data DIR"), 0);
    assert_non_null(strstr(out, "  job  work order    opened (UTC)"));
    assert_non_null(strstr(out, "\n    1  "));
    assert_non_null(strstr(out, "\n    2  "));
    assert_non_null(strstr(out, "1970-01-01T00:16:40Z"));
    assert_non_null(strstr(out, job_question_id(&bench->job)));
    assert_int_equal(jobs("--json --data DIR"), 0);
    json_t *array = json_loads(out, JSON_REJECT_DUPLICATES, NULL);
    assert_int_equal(json_array_size(array), 2);
    const json_t *open = json_array_get(array, 1);
    assert_int_equal(json_integer_value(json_object_get(open, "job")), 2);
    assert_string_equal(json_string_value(json_object_get(open, "ending")), "open");
    assert_string_equal(json_string_value(json_object_get(open, "opened_at")),
                        "1970-01-01T00:16:40.000Z");
    assert_true(json_is_null(json_object_get(open, "closed_at")));
    assert_int_equal(json_integer_value(json_object_get(open, "events")), 6);
    const json_t *closed = json_array_get(array, 0);
    assert_true(json_is_string(json_object_get(closed, "closed_at")));
    assert_string_equal(json_string_value(json_object_get(closed, "profile")), "simulated");
    json_decref(array);
    free(bench);
}

static void without_jobs_the_list_is_empty_and_nothing_is_made(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    assert_int_equal(jobs("--data DIR"), 0);
    assert_string_equal(out, "There are no jobs yet.\n");
    assert_int_equal(jobs("--data DIR --json"), 0);
    assert_string_equal(out, "[]\n");
    assert_fails(show("1 --data DIR"), 2, "nor any other: start one, or name another directory");
    assert_int_not_equal(access(scratch_path(directory, "journal.sqlite", path), F_OK), 0);
    assert_int_equal(jobs("--data DIR/none --json"), 0);
}

static void wrong_usage_is_a_line_that_says_what_to_do(void **state)
{
    (void)state;
    struct bench *bench = calloc(1, sizeof *bench);
    do_job(bench, 1, 3);
    assert_fails(show("--data DIR"), 2, "use 'midthrow show JOB' with the job's number");
    assert_fails(show("one --data DIR"), 2, "with the job's number");
    assert_fails(show("1x --data DIR"), 2, "with the job's number");
    assert_fails(show("9999999999999999999 --data DIR"), 2, "with the job's number");
    assert_fails(show("1 --json --transcript --data DIR"), 2, "but not both");
    assert_fails(show("1 2 --data DIR"), 2, "one word too many");
    assert_fails(show("7 --data DIR"), 2, "there is no job 7: they go from 1 to 1");
    assert_fails(show("1 --colour"), 2, "see 'midthrow show --help'");
    assert_fails(jobs("--data"), 2, "lacks its directory");
    assert_fails(jobs("1 --data DIR"), 2, "for one of them use 'midthrow show JOB'");
    assert_fails(jobs("--transcript --data DIR"), 2, "is not one of midthrow jobs");
    assert_int_equal(show("--help"), 0);
    assert_non_null(strstr(out, "usage: midthrow show JOB"));
    assert_int_equal(jobs("--help"), 0);
    assert_non_null(strstr(out, "usage: midthrow jobs"));
    free(bench);
}

static void nothing_in_the_journal_steers_the_terminal(void **state)
{
    (void)state;
    struct journal *journal = journal_open(directory, NULL);
    struct job *job = calloc(1, sizeof *job);
    int64_t number = 0;
    assert_true(journal != NULL && job != NULL);
    assert_true(journal_new_job(journal, 1000000, &number, NULL));
    job_init(job);
    strcpy(job->order, "\x1B[2J<b>\n\xC2\x9B");
    assert_true(journal_summarise(journal, number, job, NULL));
    journal_close(journal);
    free(job);
    assert_int_equal(jobs("--data DIR"), 0);
    assert_non_null(strstr(out, "\\x1B[2J<b>\\x0A\\xC2\\x9B"));
    assert_null(strchr(out, '\x1B'));
    assert_null(strstr(out, "\xC2\x9B"));
    assert_int_equal(jobs("--data DIR --json"), 0);
    assert_null(strchr(out, '\x1B'));
    assert_null(strchr(out, '\xC2'));
}

static void a_damaged_journal_fails_with_a_sentence(void **state)
{
    (void)state;
    scratch_text(directory, "journal.sqlite", "Not a journal at all, just words in a row.");
    assert_fails(jobs("--data DIR"), 1, "is not a midthrow journal");
    assert_fails(show("1 --data DIR"), 1, "is not a midthrow journal");
}

static void output_that_goes_nowhere_is_a_failure(void **state)
{
    (void)state;
    FILE *full = fopen("/dev/full", "w");
    if (full == NULL)
        skip();
    struct bench *bench = calloc(1, sizeof *bench);
    do_job(bench, 1, 30);
    char name[] = "show", number[] = "1", option[] = "--data";
    char *argv[] = {name, number, option, directory, NULL};
    FILE *errors = tmpfile();
    assert_non_null(errors);
    assert_int_equal(run_into(command_show, full, errors, 4, argv), 1);
    slurp(errors, err);
    assert_non_null(strstr(err, "midthrow: cannot write the result"));
    fclose(full);
    free(bench);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directory, remove_directory)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_job_is_shown_as_it_was_lived),
        TEST(the_transcript_is_shown_as_it_was_written),
        TEST(the_answers_of_a_job_are_in_its_json),
        TEST(jobs_are_listed_with_where_they_stand),
        TEST(without_jobs_the_list_is_empty_and_nothing_is_made),
        TEST(wrong_usage_is_a_line_that_says_what_to_do),
        TEST(nothing_in_the_journal_steers_the_terminal),
        TEST(a_damaged_journal_fails_with_a_sentence),
        TEST(output_that_goes_nowhere_is_a_failure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
