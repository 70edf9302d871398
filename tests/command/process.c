/* Running a command as a process: see process.h. */
#include "process.h"

#include <math.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static void read_all(int fd, char *out, size_t size)
{
    size_t used = 0;
    for (;;) {
        ssize_t n = read(fd, out + used, size - 1 - used);
        if (n <= 0)
            break;
        used += (size_t)n;
    }
    out[used] = '\0';
    close(fd);
}

struct run process_run(const char *program, const char *command, const char *line)
{
    static char words[16384];
    char *argv[256] = {(char *)(uintptr_t)program, (char *)(uintptr_t)command};
    int argc = 2;
    assert_true(strlen(line) < sizeof words);
    strcpy(words, line);
    char *rest = words;
    for (char *word = strtok_r(words, " ", &rest); word != NULL && argc < 255;
         word = strtok_r(NULL, " ", &rest))
        argv[argc++] = word;
    int out[2], err[2];
    assert_int_equal(pipe(out), 0);
    assert_int_equal(pipe(err), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        dup2(out[1], STDOUT_FILENO);
        dup2(err[1], STDERR_FILENO);
        execv(program, argv);
        _exit(127);
    }
    close(out[1]);
    close(err[1]);
    struct run run = {0};
    read_all(out[0], run.out, sizeof run.out);
    read_all(err[0], run.err, sizeof run.err);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    run.code = WEXITSTATUS(status);
    return run;
}

void assert_says(const char *text, const char *part)
{
    if (strstr(text, part) == NULL)
        fail_msg("'%s' is not in:\n%s", part, text);
}

void assert_wrong_usage(const struct run *run, const char *says)
{
    assert_int_equal(run->code, 2);
    assert_string_equal(run->out, "");
    assert_true(strncmp(run->err, "midthrow: ", 10) == 0);
    const char *end = strchr(run->err, '\n');
    assert_true(end != NULL && end[1] == '\0');
    assert_says(run->err, says);
}

json_t *json_of_run(const struct run *run)
{
    assert_string_equal(run->err, "");
    assert_int_equal(run->code, 0);
    json_error_t error;
    json_t *json = json_loads(run->out, JSON_REJECT_DUPLICATES, &error);
    if (json == NULL)
        fail_msg("%s:\n%s", error.text, run->out);
    return json;
}

double number_at(const json_t *json, const char *key)
{
    const json_t *value = json_object_get(json, key);
    if (!json_is_number(value))
        fail_msg("no number '%s'", key);
    return json_number_value(value);
}

void assert_near(double actual, double expected, double within)
{
    if (!(fabs(actual - expected) <= within))
        fail_msg("%.12g is not %.12g", actual, expected);
}
