/* midthrow report, as a shell would run it, on jobs that were typed into midthrow itself: the
 * transcript made again from the journal is the file the station wrote, byte for byte; captions,
 * formats, and a file that is written whole or not at all.
 *     report_test MIDTHROW */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/resource.h>
#include <sys/wait.h>

#include <cmocka.h>

#include "../base/scratch.h"
#include "../job/technician.h"
#include "base/text.h"

enum { OUTPUT = 1 << 20, LINES_MAX = 400, LINE = 256, EVENTS_MAX = 2000, WORDS = 16 };

static char program[SCRATCH_PATH];
static char directory[SCRATCH_PATH];
static char out[OUTPUT];
static char err[OUTPUT];
static char first[OUTPUT]; /* what is compared with what comes later */

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

/* ---- running midthrow ----------------------------------------------------------------------- */

static size_t slurp(FILE *file, char *text)
{
    rewind(file);
    size_t n = fread(text, 1, OUTPUT - 1, file);
    text[n] = '\0';
    fclose(file);
    return n;
}

static size_t read_whole(const char *name, char *text)
{
    char path[SCRATCH_PATH];
    FILE *file = fopen(scratch_path(directory, name, path), "rb");
    if (file == NULL)
        fail_msg("there is no %s", name);
    return slurp(file, text);
}

/* The most a child may write into a file; 0: as much as it wants. */
static rlim_t file_limit;

static void become(FILE *in, FILE *to, FILE *errors, char **argv)
{
    dup2(fileno(in), STDIN_FILENO);
    dup2(fileno(to), STDOUT_FILENO);
    dup2(fileno(errors), STDERR_FILENO);
    if (file_limit > 0) {
        const struct rlimit limit = {file_limit, file_limit};
        setrlimit(RLIMIT_FSIZE, &limit);
        signal(SIGXFSZ, SIG_IGN);
    }
    execv(program, argv);
    _exit(127);
}

/* `words` with DIR for the directory; standard input is `input`. Output is in
 * `out` and `err`; the exit code comes back. */
static int run_with(const char *input, size_t length, const char *words)
{
    char line[8 * SCRATCH_PATH];
    char *argv[WORDS + 1] = {program};
    char place[WORDS][SCRATCH_PATH];
    int argc = 1;
    text_copy(line, sizeof line, words);
    for (char *word = strtok(line, " "); word != NULL && argc < WORDS; word = strtok(NULL, " ")) {
        bool inside = strncmp(word, "DIR", 3) == 0;
        snprintf(place[argc], SCRATCH_PATH, "%s%s", inside ? directory : "",
                 inside ? word + 3 : word);
        argv[argc] = place[argc];
        argc++;
    }
    FILE *in = tmpfile(), *to = tmpfile(), *errors = tmpfile();
    assert_true(in != NULL && to != NULL && errors != NULL);
    assert_int_equal(fwrite(input, 1, length, in), length);
    rewind(in);
    fflush(NULL);
    pid_t child = fork();
    if (child == 0)
        become(in, to, errors, argv);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    fclose(in);
    slurp(to, out);
    slurp(errors, err);
    return WEXITSTATUS(status);
}

static void run(const char *words)
{
    if (run_with("", 0, words) != 0)
        fail_msg("%s: %s", words, err);
}

static void refused(int code, const char *words, const char *why)
{
    assert_int_equal(run_with("", 0, words), code);
    if (strstr(err, why) == NULL)
        fail_msg("'%s' does not say '%s'", err, why);
    const char *newline = strchr(err, '\n');
    if (newline == NULL || newline[1] != '\0')
        fail_msg("'%s' is not one line", err);
    assert_string_equal(out, "");
}

/* ---- jobs ----------------------------------------------------------------------------------- */

static const char manual[] = "[bike]\n"
                             "title = simulated bike\n"
                             "source = the simulator\n"
                             "[stem]\n"
                             "step = 1/32\n"
                             "increment = 1/8\n"
                             "total = 1\n"
                             "[pawl]\n"
                             "tolerance = 0.4 mm\n"
                             "resolution = 0.1 mm\n"
                             "gear = 3\n"
                             "rounds = 8\n"
                             "[clutch]\n"
                             "free_play_low = 2 mm\n"
                             "free_play_high = 4 mm\n"
                             "[linkage]\n"
                             "play_high = 2 mm\n";

/* The lines a technician would type, from a job done at the same profile without the program. */
static size_t lines_of(uint64_t seed, char line[LINES_MAX][LINE])
{
    static struct job job;
    static struct technician technician;
    static struct job_effects effects;
    static struct job_event event;
    char path[SCRATCH_PATH];
    struct fault fault = {0};
    size_t n = 0;
    technician_begin(&technician, seed);
    technician.bike.rule_mm = 0.1;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event.kind = JOB_OPENED;
    event.walk = JOB_WALK;
    event.at_ms = 1000;
    event.names_n = 1;
    text_copy(event.names[0], sizeof event.names[0], "simulated");
    job_step(&job, &event, &effects);
    for (int i = 0; i < EVENTS_MAX && !job_has_left(&job); i++) {
        if (job.mode == JOB_FETCHING) {
            memset(&event, 0, sizeof event);
            event.kind = JOB_PROFILE_READ;
            event.at_ms = job.now_ms;
            scratch_path(directory, "profiles/simulated.ini", path);
            if (!profile_load(path, &event.profile, &fault))
                fail_msg("%s", fault.sentence);
        } else {
            technician_answer(&technician, &job, &event);
            assert_true(n < LINES_MAX);
            snprintf(line[n++], LINE, "%s", event.words);
        }
        job_step(&job, &event, &effects);
    }
    assert_true(job_is_closed(&job));
    return n;
}

static void write_profile(void)
{
    char path[SCRATCH_PATH];
    assert_int_equal(mkdir(scratch_path(directory, "profiles", path), 0700), 0);
    scratch_text(path, "simulated.ini", manual);
}

static void type(const char *options, char line[LINES_MAX][LINE], size_t from, size_t to)
{
    static char input[LINES_MAX * LINE];
    struct text text = text_into(input, sizeof input);
    for (size_t i = from; i < to; i++)
        text_addf(&text, "%s\n", line[i]);
    char words[256];
    snprintf(words, sizeof words, "--typed --mute --data DIR %s", options);
    if (run_with(input, text.used, words) != 0)
        fail_msg("%s: %s", words, err);
}

/* One whole job, put away among the first questions and taken up again: later the cautions would be
 * asked again. */
static void do_a_job(uint64_t seed, int number)
{
    static char line[LINES_MAX][LINE];
    char resume[64];
    if (number == 1)
        write_profile();
    size_t n = lines_of(seed, line);
    snprintf(resume, sizeof resume, "--resume %d", number);
    enum { FIRST = 5 };
    type("--new --profile simulated", line, 0, FIRST);
    type(resume, line, FIRST, n);
    if (strstr(out, "is kept") != NULL)
        fail_msg("the job is not closed: %s", out);
}

static int count_lines(const char *text)
{
    int n = 0;
    for (; *text != '\0'; text++)
        n += *text == '\n';
    return n;
}

/* ---- the transcript ------------------------------------------------------------------------- */

/* The file is moved away first: what is reported can only come from the journal. */
static void assert_rebuilt(int number)
{
    char name[32], words[96], from[SCRATCH_PATH], to[SCRATCH_PATH];
    snprintf(name, sizeof name, "job-%d.txt", number);
    snprintf(words, sizeof words, "report %d --data DIR --format transcript", number);
    size_t length = read_whole(name, first);
    assert_true(length > 0);
    assert_int_equal(
        rename(scratch_path(directory, name, from), scratch_path(directory, "away", to)), 0);
    run(words);
    assert_int_equal(strlen(out), length); /* no NUL: it is plain text */
    assert_memory_equal(out, first, length);
    assert_int_equal(rename(to, from), 0);
}

static void a_transcript_is_made_again_byte_for_byte(void **state)
{
    (void)state;
    for (int number = 1; number <= 3; number++) {
        do_a_job((uint64_t)number + 10, number);
        assert_rebuilt(number);
        assert_non_null(strstr(first, "note   the input ended; the job stays open\n"));
        assert_non_null(strstr(first, "note   started again on this job\n"));
        assert_non_null(strstr(first, "  CONFIRMED "));
        print_message("job %d: %d lines, %zu bytes\n", number, count_lines(first), strlen(first));
        assert_true(count_lines(first) > 100);
    }
}

/* Whatever is typed: nonsense, keys, control characters, bytes that are no UTF-8. */
static void an_odd_job_is_made_again_too(void **state)
{
    (void)state;
    static const char input[] = "purple monkey\nhelp\n\x1B[2J\xFF\xC0\xAF\nsay again\n4712\n"
                                "where are we\n-\n4713\n1\n..\nwrong\nforty inches\n\n"
                                "don't know\n**\nkeypad\n-\n-\n-\n-\nstop\n1\n\"\\\n";
    assert_int_equal(run_with(input, sizeof input - 1, "--new --data DIR"), 0);
    assert_rebuilt(1);
    assert_non_null(strstr(first, "\\x1B[2J\\xFF\\xC0\\xAF"));
}

/* Every tool line has the time of a line above it that is not the tool's. */
static void a_tool_line_has_the_time_of_what_it_answers(void **state)
{
    (void)state;
    do_a_job(21, 1);
    read_whole("job-1.txt", first);
    char answered[32] = "";
    for (const char *line = first; *line != '\0'; line = strchr(line, '\n') + 1) {
        if (strncmp(line + 26, "tool ", 5) == 0)
            assert_memory_equal(line, answered, 24);
        memcpy(answered, line, 24);
    }
}

/* ---- the other formats ---------------------------------------------------------------------- */

static void captions_have_every_line_from_the_jobs_first_moment(void **state)
{
    (void)state;
    do_a_job(31, 1);
    read_whole("job-1.txt", first);
    run("report 1 --data DIR --format vtt");
    char header[96];
    snprintf(header, sizeof header, "WEBVTT midthrow, job 1, from %.24s\n\n00:00:00.000 --> ",
             first);
    assert_memory_equal(out, header, strlen(header));
    int cues = 0;
    for (const char *at = out; (at = strstr(at, " --> ")) != NULL; at++)
        cues++;
    assert_int_equal(cues, count_lines(first));
    assert_int_equal(count_lines(out), 2 + 3 * cues);
    assert_non_null(strstr(out, "\n<v tool>CAUTION  "));
    assert_non_null(strstr(out, "\n<v typed>\"four seven one two\""));
}

static void text_and_json_are_what_show_prints(void **state)
{
    (void)state;
    do_a_job(41, 1);
    run("show 1 --data DIR");
    text_copy(first, sizeof first, out);
    run("report 1 --data DIR");
    assert_string_equal(out, first);
    run("show 1 --data DIR --json");
    text_copy(first, sizeof first, out);
    run("report --format json 1 --data DIR");
    assert_string_equal(out, first);
    run("report 1 --data DIR --format html");
    assert_memory_equal(out, "<!DOCTYPE html>\n", 16);
    assert_non_null(strstr(out, "<dd>simulated bike (profile simulated)</dd>"));
    assert_non_null(strstr(out, "<svg class=\"picture\" id=\"causes\""));
    assert_non_null(strstr(out, "</html>\n"));
}

/* ---- into a file ---------------------------------------------------------------------------- */

static int entries(void)
{
    int n = 0;
    DIR *folder = opendir(directory);
    while (folder != NULL && readdir(folder) != NULL)
        n++;
    closedir(folder);
    return n;
}

static void a_file_is_written_whole_and_for_its_owner_alone(void **state)
{
    (void)state;
    static const char *const formats[] = {"text", "html", "json", "transcript", "vtt"};
    char path[SCRATCH_PATH], words[128];
    struct stat status;
    do_a_job(51, 1);
    scratch_text(directory, "report", "what was there before");
    assert_int_equal(chmod(scratch_path(directory, "report", path), 0666), 0);
    int before = entries();
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        snprintf(words, sizeof words, "report 1 --data DIR --format %s -o DIR/report", formats[i]);
        run(words);
        assert_string_equal(out, "");
        read_whole("report", first);
        snprintf(words, sizeof words, "report 1 --data DIR --format %s", formats[i]);
        run(words);
        assert_string_equal(out, first);
        assert_int_equal(stat(path, &status), 0);
        assert_int_equal(status.st_mode & 07777, 0600);
        assert_int_equal(entries(), before);
    }
}

static void a_file_that_cannot_be_written_leaves_what_was_there(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    do_a_job(61, 1);
    scratch_text(directory, "report", "what was there before");
    assert_int_equal(symlink("report", scratch_path(directory, "link", path)), 0);
    int before = entries();
    run("report 1 --data DIR --format json");
    file_limit = 33 * 1024; /* as a full disk: enough for the journal's own files */
    assert_true(strlen(out) > file_limit);
    refused(1, "report 1 --data DIR --format json -o DIR/report", "the disk is full");
    file_limit = 0;
    refused(1, "report 1 --data DIR -o DIR/no/such/report", "there is no such folder");
    refused(2, "report 1 --data DIR -o DIR", "is not a plain file");
    refused(2, "report 1 --data DIR -o DIR/link", "is not a plain file");
    refused(2, "report 1 --data DIR -o DIR/new/", "does not end in a slash");
    refused(2, "report 9 --data DIR -o DIR/report", "there is no job 9");
    read_whole("report", first);
    assert_string_equal(first, "what was there before");
    assert_int_equal(entries(), before);
}

static void wrong_usage_is_said_in_one_sentence(void **state)
{
    (void)state;
    refused(2, "report 1 --data DIR", "there is no job 1");
    refused(2, "report --data DIR", "with the job's number");
    refused(2, "report x --data DIR", "with the job's number");
    refused(2, "report -1 --data DIR", "that option is not there");
    refused(2, "report 1 2 --data DIR", "one word too many");
    refused(2, "report 1 --format pdf --data DIR", "use text, html, json, transcript or vtt");
    refused(2, "report 1 --data DIR -o", "lacks its value");
    run("report --help");
    assert_non_null(strstr(out, "usage: midthrow report JOB"));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directory, remove_directory)

int main(int argc, char **argv)
{
    if (argc < 2 || !text_copy(program, sizeof program, argv[1]))
        return 2;
    const struct CMUnitTest tests[] = {
        TEST(a_transcript_is_made_again_byte_for_byte),
        TEST(an_odd_job_is_made_again_too),
        TEST(a_tool_line_has_the_time_of_what_it_answers),
        TEST(captions_have_every_line_from_the_jobs_first_moment),
        TEST(text_and_json_are_what_show_prints),
        TEST(a_file_is_written_whole_and_for_its_owner_alone),
        TEST(a_file_that_cannot_be_written_leaves_what_was_there),
        TEST(wrong_usage_is_said_in_one_sentence),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
