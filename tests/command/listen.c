/*
 * midthrow listen as the shell sees it: a JSON object a file, in order; a bad file in the middle
 * does not stop the others; wrong usage is exit code 2. The command runs in a child of the test.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>
#include <jansson.h>

#include "../speech/voices.h"
#include "audio/audio.h"
#include "command/command.h"
#include "language/language.h"
#include "speech/recogniser.h"

struct answer {
    int code;
    char out[16384], err[4096];
};

static void read_back(FILE *file, char *text, size_t size)
{
    rewind(file);
    size_t length = fread(text, 1, size - 1, file);
    text[length] = '\0';
    fclose(file);
}

/* Runs `midthrow listen words...`, the words ending with NULL. */
static struct answer listen_with(const char *const words[])
{
    struct answer answer = {.code = -1};
    FILE *out = tmpfile(), *err = tmpfile();
    char *argv[32] = {0};
    int argc = 0;
    char name[] = "listen";
    argv[argc++] = name;
    for (size_t w = 0; words[w] != NULL; w++)
        argv[argc++] = strdup(words[w]);
    assert_true(out != NULL && err != NULL);
    fflush(stdout);
    fflush(stderr);
    pid_t child = fork();
    if (child == 0) {
        dup2(fileno(out), STDOUT_FILENO);
        dup2(fileno(err), STDERR_FILENO);
        int code = command_listen(argc, argv);
        fflush(stdout);
        _exit(code);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    if (WIFEXITED(status))
        answer.code = WEXITSTATUS(status);
    read_back(out, answer.out, sizeof answer.out);
    read_back(err, answer.err, sizeof answer.err);
    for (int a = 1; a < argc; a++)
        free(argv[a]);
    return answer;
}

/* The n-th line of the answer as JSON; the caller drops it. */
static json_t *line_of(const struct answer *answer, size_t n)
{
    const char *at = answer->out;
    for (; n > 0 && at != NULL; n--)
        at = strchr(at, '\n') == NULL ? NULL : strchr(at, '\n') + 1;
    json_error_t error;
    json_t *line = at == NULL ? NULL : json_loads(at, JSON_DISABLE_EOF_CHECK, &error);
    assert_non_null(line);
    return line;
}

static const char *text_of(const json_t *line, const char *key)
{
    const char *text = json_string_value(json_object_get(line, key));
    return text == NULL ? "" : text;
}

static bool say_to(const char *path, const char *words)
{
    struct recording recording;
    struct fault fault = {0};
    void *sink;
    if (!voices_say("slt", words, &recording))
        return false;
    bool kept = audio_sink_wav.open(path, SPEECH_RATE_HZ, &sink, &fault) &&
                audio_sink_wav.write(sink, recording.pcm, recording.frames, &fault) &&
                audio_sink_wav.close(sink, &fault);
    recording_free(&recording);
    return kept;
}

static void a_json_object_a_file_in_order_and_a_bad_file_does_not_stop_the_rest(void **state)
{
    (void)state;
    static const char one[] = "listen-1.wav", two[] = "listen-2.wav";
    if (!say_to(one, "five sixteenths of an inch") || !say_to(two, "seven point nine millimetres"))
        skip();
    const char *const words[] = {"--grammar", "distance", "--json", one, "no-such.wav", two, NULL};
    struct answer answer = listen_with(words);
    print_message("%s%s", answer.out, answer.err);
    assert_int_equal(answer.code, 3);
    assert_non_null(strstr(answer.err, "midthrow: 'no-such.wav' is not there"));

    json_t *line = line_of(&answer, 0);
    assert_string_equal(text_of(line, "file"), one);
    assert_string_equal(text_of(line, "words"), "five sixteenths of an inch");
    assert_string_equal(text_of(line, "verdict"), "accepted");
    assert_string_equal(text_of(line, "unit"), "inch");
    /* 5/16 in = 0.3125 in = 7.9375 mm, at 25.4 mm an inch (NIST SP 811, B.6) */
    assert_true(json_real_value(json_object_get(line, "value")) == 0.3125);
    assert_true(json_real_value(json_object_get(line, "mm")) == 7.9375);
    assert_true(json_is_real(json_object_get(line, "score")));
    assert_true(json_real_value(json_object_get(line, "decode_ms")) > 0);
    assert_true(json_real_value(json_object_get(line, "audio_ms")) > 500);
    json_decref(line);

    line = line_of(&answer, 1);
    assert_string_equal(text_of(line, "file"), two);
    assert_string_equal(text_of(line, "unit"), "mm");
    assert_true(json_real_value(json_object_get(line, "value")) == 7.9);
    assert_true(json_real_value(json_object_get(line, "mm")) == 7.9);
    json_decref(line);
    unlink(one);
    unlink(two);
}

static void values_have_the_type_of_their_grammar(void **state)
{
    (void)state;
    static const char path[] = "listen-3.wav";
    if (!say_to(path, "affirmative"))
        skip();
    const char *const yes[] = {"--json", "--grammar=yesno", path, NULL};
    struct answer answer = listen_with(yes);
    assert_int_equal(answer.code, 0);
    json_t *line = line_of(&answer, 0);
    assert_true(json_is_true(json_object_get(line, "value")));
    assert_true(json_is_null(json_object_get(line, "unit")));
    assert_null(json_object_get(line, "mm"));
    json_decref(line);

    assert_true(say_to(path, "two hundred and six"));
    const char *const number[] = {"--json", "--grammar", "number", path, NULL};
    answer = listen_with(number);
    line = line_of(&answer, 0);
    assert_int_equal(json_integer_value(json_object_get(line, "value")), 206);
    json_decref(line);

    assert_true(say_to(path, "the traffic was terrible on the way in"));
    const char *const chatter[] = {"--json", "--grammar", "number", path, NULL};
    answer = listen_with(chatter);
    assert_int_equal(answer.code, 0);
    line = line_of(&answer, 0);
    assert_string_equal(text_of(line, "verdict"), "rejected");
    assert_true(json_is_null(json_object_get(line, "value")));
    json_decref(line);

    const char *const plain[] = {"--grammar", "number", "--", path, NULL};
    answer = listen_with(plain);
    assert_non_null(strstr(answer.out, "listen-3.wav: rejected"));
    unlink(path);
}

static void grammars_are_listed(void **state)
{
    (void)state;
    const char *const words[] = {"--grammars", NULL};
    struct answer answer = listen_with(words);
    assert_int_equal(answer.code, 0);
    size_t lines = 0;
    for (const char *at = answer.out; *at != '\0'; at++)
        lines += *at == '\n';
    assert_int_equal(lines, language_grammar_count());
    assert_non_null(strstr(answer.out, "distance\n"));
    assert_non_null(strstr(answer.out, "number\n"));
    assert_non_null(strstr(answer.out, "yesno\n"));
}

static void wrong_usage_is_exit_code_2_and_one_line(void **state)
{
    (void)state;
    static const char *const wrong[][5] = {
        {NULL},
        {"x.wav", NULL},
        {"--grammar", NULL},
        {"--grammar", "distance", NULL},
        {"--grammar", "opera", "x.wav", NULL},
        {"--loud", "--grammar", "distance", "x.wav", NULL},
    };
    for (size_t w = 0; w < sizeof wrong / sizeof wrong[0]; w++) {
        struct answer answer = listen_with(wrong[w]);
        print_message("%s", answer.err);
        assert_int_equal(answer.code, 2);
        assert_string_equal(answer.out, "");
        assert_ptr_equal(strchr(answer.err, '\n'), answer.err + strlen(answer.err) - 1);
    }
}

int main(void)
{
    setenv("MIDTHROW_SHARE", MIDTHROW_SOURCE_DIR, 1);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_json_object_a_file_in_order_and_a_bad_file_does_not_stop_the_rest),
        cmocka_unit_test(values_have_the_type_of_their_grammar),
        cmocka_unit_test(grammars_are_listed),
        cmocka_unit_test(wrong_usage_is_exit_code_2_and_one_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
