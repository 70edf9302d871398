/* midthrow why, as a shell would run it, on jobs that a simulated technician did and the journal
 * kept: the same ranking as the job's own, and every refusal a sentence. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/wait.h>

#include <cmocka.h>
#include <jansson.h>
#include <math.h>

#include "../base/scratch.h"
#include "../job/technician.h"
#include "command/command.h"
#include "record/journal.h"

enum { EVENTS_MAX = 2000, OUTPUT = 1 << 18 };

static char directory[SCRATCH_PATH];
static char out[OUTPUT], err[OUTPUT];

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

static void slurp(FILE *file, char *text)
{
    rewind(file);
    text[fread(text, 1, OUTPUT - 1, file)] = '\0';
    fclose(file);
}

static int why(const char *words)
{
    char line[1024];
    char *argv[8] = {NULL};
    int argc = 0, status = 0;
    snprintf(line, sizeof line, "why %s", words);
    for (char *word = strtok(line, " "); word != NULL && argc < 7; word = strtok(NULL, " "))
        argv[argc++] = strcmp(word, "DIR") == 0 ? directory : word;
    FILE *to = tmpfile(), *errors = tmpfile();
    assert_true(to != NULL && errors != NULL);
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        dup2(fileno(to), STDOUT_FILENO);
        dup2(fileno(errors), STDERR_FILENO);
        int code = command_why(argc, argv);
        fflush(NULL);
        _exit(code);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    slurp(to, out);
    slurp(errors, err);
    return WEXITSTATUS(status);
}

/* A job with one cause made true, or its first `events` events. */
static int64_t do_job(uint64_t seed, enum reason_cause truth, int events, struct job *job)
{
    static struct technician technician;
    static struct job_event event;
    static struct job_effects effects;
    struct fault fault = {0};
    int64_t number = 0;
    struct journal *journal = journal_open(directory, &fault);
    assert_true(journal != NULL && journal_new_job(journal, 1000000, &number, &fault));
    technician_begin_with(&technician, seed, truth);
    job_init(job);
    memset(&event, 0, sizeof event);
    event.kind = JOB_OPENED;
    event.walk = JOB_WALK;
    event.at_ms = 1000000 + number;
    event.names_n = 1;
    snprintf(event.names[0], sizeof event.names[0], "simulated");
    for (int i = 0; i < events && !job_has_left(job); i++) {
        assert_true(journal_append(journal, number, &event, &fault));
        job_step(job, &event, &effects);
        memset(&event, 0, sizeof event);
        if (job->mode == JOB_FETCHING) {
            event.kind = JOB_PROFILE_READ;
            event.at_ms = job->now_ms + 1;
            technician_profile(&technician, &event.profile);
        } else {
            technician_answer(&technician, job, &event);
        }
    }
    assert_true(journal_summarise(journal, number, job, &fault));
    journal_close(journal);
    return number;
}

static double number_at(json_t *object, const char *key)
{
    assert_true(json_is_real(json_object_get(object, key)));
    return json_real_value(json_object_get(object, key));
}

static void the_json_holds_the_whole_ranking_with_its_weights(void **state)
{
    (void)state;
    static struct job job;
    do_job(3, REASON_PLATES, 14, &job);
    assert_int_equal(why("--json --data DIR"), 0);
    json_t *object = json_loads(out, 0, NULL);
    assert_non_null(object);
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job.reason, rank);
    json_t *causes = json_object_get(object, "causes");
    assert_int_equal(json_array_size(causes), REASON_CAUSE_COUNT);
    double sum = 0;
    for (size_t i = 0; i < REASON_CAUSE_COUNT; i++) {
        json_t *cause = json_array_get(causes, i);
        assert_string_equal(json_string_value(json_object_get(cause, "id")),
                            reason_cause_id(rank[i].cause));
        assert_true(fabs(number_at(cause, "probability") - rank[i].probability) < 1e-9);
        sum += number_at(cause, "probability");
        json_t *evidence = json_object_get(cause, "evidence");
        assert_true(json_array_size(evidence) >= 5);
        /* the two that moved it most are the largest of the list */
        double largest = 0;
        for (size_t k = 0; k < json_array_size(evidence); k++)
            largest = fmax(largest, fabs(number_at(json_array_get(evidence, k), "weight")));
        assert_true(fabs(largest - fabs(rank[i].weight[0])) < 1e-9);
    }
    assert_true(fabs(sum - 1) < 1e-9);
    json_t *next = json_object_get(object, "next");
    assert_true(fabs(number_at(next, "chance") / number_at(next, "minutes") -
                     number_at(next, "chance_per_minute")) < 1e-9);
    json_decref(object);
}

static void the_text_says_what_and_because_of_what(void **state)
{
    (void)state;
    static struct job job;
    int64_t number = do_job(3, REASON_PLATES, 14, &job);
    char words[64];
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job.reason, rank);
    snprintf(words, sizeof words, "%d --data DIR", (int)number);
    assert_int_equal(why(words), 0);
    assert_non_null(strstr(out, reason_cause_name(rank[0].cause)));
    assert_non_null(strstr(out, " for "));
    assert_non_null(strstr(out, "Next check: "));
    for (const char *line = out; *line != '\0'; line = strchr(line, '\n') + 1)
        assert_true(strcspn(line, "\n") <= 100);
}

static void an_open_job_comes_before_a_newer_closed_one(void **state)
{
    (void)state;
    static struct job job;
    int64_t open = do_job(1, REASON_PAWL, 10, &job);
    int64_t closed = do_job(2, REASON_FREE_PLAY, EVENTS_MAX, &job);
    assert_true(job_is_closed(&job) && closed != open);
    assert_int_equal(why("--data DIR"), 0);
    char words[32];
    snprintf(words, sizeof words, "Job %d,", (int)open);
    assert_int_equal(strncmp(out, words, strlen(words)), 0);
}

static void what_is_not_there_is_refused(void **state)
{
    (void)state;
    static const char *const wrong[] = {"--data DIR", "abc --data DIR", "7 --data DIR",
                                        "--transcript --data DIR", "1 2 --data DIR"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        assert_int_equal(why(wrong[i]), 2);
        assert_string_equal(out, "");
        assert_int_equal(strncmp(err, "midthrow: ", 10), 0);
    }
    static struct job job;
    do_job(1, REASON_PAWL, 3, &job);
    assert_int_equal(why("99 --data DIR"), 2);
    assert_int_equal(why("--help"), 0);
    assert_non_null(strstr(out, "usage: midthrow why"));
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directory, remove_directory)
    const struct CMUnitTest tests[] = {
        TEST(the_json_holds_the_whole_ranking_with_its_weights),
        TEST(the_text_says_what_and_because_of_what),
        TEST(an_open_job_comes_before_a_newer_closed_one),
        TEST(what_is_not_there_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
