/* The transcript: its format as transcript.h gives it, one line an event whatever was heard. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/resource.h>
#include <sys/wait.h>

#include <cmocka.h>

#include "base/utf8.h"
#include "record/transcript.h"
#include "seeded_event.h"

static char directory[SCRATCH_PATH];
static struct transcript *transcript;

static int open_one(void **state)
{
    (void)state;
    scratch_make(directory);
    transcript = transcript_open(directory, 7, NULL);
    return transcript == NULL ? -1 : 0;
}

static int close_one(void **state)
{
    (void)state;
    transcript_close(transcript);
    scratch_remove(directory);
    return 0;
}

/* All that is in the file now, through another descriptor: so it was flushed. */
static const char *content(void)
{
    static char text[1 << 20];
    char path[SCRATCH_PATH];
    FILE *file = fopen(scratch_path(directory, "job-7.txt", path), "rb");
    assert_non_null(file);
    size_t n = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[n] = '\0';
    return text;
}

/* The last line, without its time and its end. */
static const char *last_line(void)
{
    static char line[32768];
    const char *text = content();
    size_t length = strlen(text);
    assert_true(length > 0 && text[length - 1] == '\n');
    const char *start = text + length - 1;
    while (start > text && start[-1] != '\n')
        start--;
    size_t n = (size_t)(text + length - 1 - start);
    assert_true(n > 26 && n < sizeof line);
    memcpy(line, start, n);
    line[n] = '\0';
    return line + 26;
}

/* 2026-11-25T09:14:03.120Z */
static const int64_t morning_ms = INT64_C(1795598043120);

static void hear(const struct job_event *event, const char *grammar, enum language_phrase awaited)
{
    struct fault fault = {0};
    if (!transcript_heard(transcript, event, "adjusting.off", grammar, awaited, &fault))
        fail_msg("%s", fault.sentence);
}

static struct job_event ear(const char *words, double score, enum job_verdict verdict)
{
    struct job_event event = {.kind = JOB_HEARD,
                              .at_ms = morning_ms,
                              .source = JOB_BY_EAR,
                              .score = score,
                              .verdict = verdict};
    strcpy(event.words, words);
    return event;
}

/* ISO 8601; the calendar dates by the formula for seconds since the Epoch, POSIX.1-2008, base
 * definitions 4.15, turned round. */
static void times_are_iso_8601_in_utc(void **state)
{
    (void)state;
    char out[32];
    static const struct {
        int64_t at_ms;
        const char *iso;
    } known[] = {
        {0, "1970-01-01T00:00:00.000Z"},
        {-1, "1969-12-31T23:59:59.999Z"},
        {INT64_C(951782400000), "2000-02-29T00:00:00.000Z"},
        {INT64_C(2147483647999), "2038-01-19T03:14:07.999Z"},
        {INT64_C(1795598043120), "2026-11-25T09:14:03.120Z"},
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        transcript_time(known[i].at_ms, out);
        assert_string_equal(out, known[i].iso);
    }
    uint64_t seed = 1;
    for (int i = 0; i < 2000; i++) {
        int64_t at_ms = (int64_t)seeded_below(&seed, 4102444800000); /* up to the year 2100 */
        long long year, month, day, hour, minute, second, rest;
        transcript_time(at_ms, out);
        assert_int_equal(sscanf(out, "%lld-%lld-%lldT%lld:%lld:%lld.%lldZ", &year, &month, &day,
                                &hour, &minute, &second, &rest),
                         7);
        static const int before[] = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334};
        bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
        long long y = year - 1900;
        long long yday = before[month - 1] + day - 1 + (leap && month > 2);
        long long seconds = second + minute * 60 + hour * 3600 + yday * 86400 +
                            (y - 70) * 31536000 + ((y - 69) / 4) * 86400 - ((y - 1) / 100) * 86400 +
                            ((y + 299) / 400) * 86400;
        assert_int_equal(seconds * 1000 + rest, at_ms);
    }
    transcript_time(INT64_MAX, out);
    transcript_time(INT64_MIN, out);
}

static void lines_are_as_the_header_shows_them(void **state)
{
    (void)state;
    struct job_event event = ear("five sixteenths", 0.97, JOB_ACCEPTED);
    event.at_ms = morning_ms + 2360;
    assert_true(transcript_said(transcript, morning_ms, "Forward throw, please.", false, NULL));
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_string_equal(
        content(), "2026-11-25T09:14:03.120Z  tool   Forward throw, please.\n"
                   "2026-11-25T09:14:05.480Z  ear    \"five sixteenths\"  accepted 0.97  = 5/16 in "
                   "(7.938 mm)\n");
    event = ear("no", 0.21, JOB_REJECTED);
    hear(&event, "yesno", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "ear    \"no\"  rejected 0.21");
    event = ear("forty thou", 0.55, JOB_UNSURE);
    strcpy(event.other, "fourteen thou");
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "ear    \"forty thou\"  unsure 0.55  = 40 thou (1.016 mm)  or "
                                     "\"fourteen thou\"  = 14 thou (0.356 mm)");
    event = ear("five sixteenths", 1, JOB_ACCEPTED);
    event.source = JOB_BY_PAD;
    strcpy(event.keys, "5/16");
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(),
                        "pad    [5/16] \"five sixteenths\"  accepted  = 5/16 in (7.938 mm)");
    event = ear("7.9 mm", 1, JOB_ACCEPTED);
    event.source = JOB_BY_TYPING;
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"7.9 mm\"  accepted");
}

static void what_words_mean_stands_beside_them(void **state)
{
    (void)state;
    struct job_event event = ear("yeah", 0.9, JOB_ACCEPTED);
    event.source = JOB_BY_TYPING;
    strcpy(event.words, "YES");
    hear(&event, "yesno", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"YES\"  accepted  = yes");
    strcpy(event.words, "cabbage");
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"cabbage\"  accepted  = nothing this question takes");
    strcpy(event.words, "0/0");
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_non_null(strstr(last_line(), "  = no such value: "));
    strcpy(event.words, "go back");
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"go back\"  accepted");
    strcpy(event.words, "four seven one two");
    hear(&event, "order", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"four seven one two\"  accepted  = 4712");
    strcpy(event.words, "forty seven");
    hear(&event, "number", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"forty seven\"  accepted  = 47");
    strcpy(event.words, "one sixteenth of a turn clockwise");
    hear(&event, "turn", LANGUAGE_NOT_YET);
    assert_string_equal(
        last_line(),
        "typed  \"one sixteenth of a turn clockwise\"  accepted  = 1/16 turn clockwise");
    strcpy(event.words, "not turned");
    hear(&event, "turn", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"not turned\"  accepted");
    strcpy(event.words, "go back");
    hear(&event, NULL, LANGUAGE_NOT_YET);
    assert_string_equal(last_line(), "typed  \"go back\"  accepted");
}

static void cautions_are_marked_when_said_and_when_confirmed(void **state)
{
    (void)state;
    assert_true(transcript_said(transcript, morning_ms, "Engine off and key out.", true, NULL));
    assert_string_equal(last_line(), "tool   CAUTION  Engine off and key out.");
    struct job_event event = ear(language_phrase_words(LANGUAGE_ENGINE_OFF), 0.99, JOB_ACCEPTED);
    hear(&event, "caution", LANGUAGE_ENGINE_OFF);
    assert_string_equal(last_line(), "ear    \"engine off and key out\"  accepted 0.99  CONFIRMED "
                                     "adjusting.off");
    hear(&event, "caution", LANGUAGE_WHEEL_CLEAR); /* a whole phrase, but another one */
    assert_non_null(strstr(last_line(), "  NOT CONFIRMED adjusting.off"));
    event.verdict = JOB_UNSURE;
    hear(&event, "caution", LANGUAGE_ENGINE_OFF);
    assert_null(strstr(last_line(), "CONFIRMED"));
    event.verdict = JOB_REJECTED;
    hear(&event, "caution", LANGUAGE_ENGINE_OFF);
    assert_null(strstr(last_line(), "CONFIRMED"));
    event = ear(language_phrase_words(LANGUAGE_NOT_YET), 0.99, JOB_ACCEPTED);
    hear(&event, "caution", LANGUAGE_ENGINE_OFF);
    assert_non_null(strstr(last_line(), "  NOT CONFIRMED adjusting.off"));
    hear(&event, "caution", LANGUAGE_NOT_YET);
    assert_non_null(strstr(last_line(), "  NOT CONFIRMED adjusting.off"));
    event = ear("yes", 0.99, JOB_ACCEPTED);
    hear(&event, "caution", LANGUAGE_ENGINE_OFF);
    assert_null(strstr(last_line(), "CONFIRMED"));
}

static void what_happens_besides_is_noted(void **state)
{
    (void)state;
    static const struct {
        enum job_event_kind kind;
        const char *line;
    } notes[] = {
        {JOB_OPENED, "note   job opened; profiles: alpha, beta"},
        {JOB_PROFILE_READ, "note   profile read: alpha (Test bike)"},
        {JOB_PROFILE_FAILED, "note   profile not read: it is gone"},
        {JOB_REMINDED, "note   nothing was said for a while"},
        {JOB_RESUMED, "note   started again on this job"},
        {JOB_HUNG_UP, "note   the input ended; the job stays open"},
        {JOB_EAR_CHANGED, "note   the ear: silent"},
    };
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++) {
        struct job_event event = {.kind = notes[i].kind,
                                  .at_ms = morning_ms,
                                  .words = "it is gone",
                                  .ear = JOB_EAR_SILENT,
                                  .names = {"alpha", "beta"},
                                  .names_n = 2,
                                  .profile = {.name = "alpha", .title = "Test bike"}};
        assert_true(transcript_heard(transcript, &event, NULL, NULL, LANGUAGE_NOT_YET, NULL));
        assert_string_equal(last_line(), notes[i].line);
    }
}

static void nothing_heard_reaches_a_terminal_raw(void **state)
{
    (void)state;
    struct job_event event =
        ear("a\x1B]0;x\x07 \"b\" \\ \xFF\xC2\x9B\xE2\x80\xAE\xC3\xA9\n", 0.5, JOB_REJECTED);
    hear(&event, "yesno", LANGUAGE_NOT_YET);
    assert_string_equal(last_line(),
                        "ear    \"a\\x1B]0;x\\x07 \\\"b\\\" \\\\ "
                        "\\xFF\\xC2\\x9B\\xE2\\x80\\xAE\xC3\xA9\\x0A\"  rejected 0.50");
    assert_true(transcript_said(transcript, morning_ms, "one\ntwo\x1B[2J", false, NULL));
    assert_string_equal(last_line(), "tool   one\\x0Atwo\\x1B[2J");
}

static void any_event_is_one_plain_line(void **state)
{
    (void)state;
    enum { EVENTS = 1500 };
    uint64_t seed = 2;
    for (int i = 0; i < EVENTS; i++) {
        struct job_event event;
        seeded_event(&seed, &event);
        const char *grammar = language_grammar_name(seeded_below(&seed, language_grammar_count()));
        assert_true(
            transcript_heard(transcript, &event, "a.b", grammar, LANGUAGE_ENGINE_OFF, NULL));
        last_line();
    }
    const char *text = content();
    size_t length = strlen(text);
    int lines = 0;
    for (size_t at = 0, n; at < length; at += n) {
        uint32_t point = 0;
        n = utf8_next(text + at, length - at, &point);
        assert_true(n > 0);
        assert_true(point == '\n' || !utf8_is_control(point));
        lines += point == '\n';
    }
    assert_int_equal(lines, EVENTS);
}

static void the_longest_event_is_not_cut(void **state)
{
    (void)state;
    struct job_event event = ear("", 0.5, JOB_UNSURE);
    memset(event.words, '\x01', sizeof event.words - 1);
    memset(event.other, '\x01', sizeof event.other - 1);
    memset(event.keys, '\x01', sizeof event.keys - 1);
    hear(&event, "distance", LANGUAGE_NOT_YET);
    assert_null(strstr(last_line(), "(cut)"));
    char *sentence = calloc(1, 40000);
    memset(sentence, 'x', 39999);
    assert_true(transcript_said(transcript, morning_ms, sentence, false, NULL));
    assert_non_null(strstr(last_line(), " ... (cut)"));
    free(sentence);
}

static void a_second_run_goes_on_in_the_same_file_for_its_owner_only(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    char asked[SCRATCH_PATH];
    struct stat status;
    assert_true(transcript_said(transcript, morning_ms, "One.", false, NULL));
    transcript_close(transcript);
    transcript = transcript_open(directory, 7, NULL);
    assert_non_null(transcript);
    assert_true(transcript_said(transcript, morning_ms, "Two.", false, NULL));
    assert_string_equal(content(), "2026-11-25T09:14:03.120Z  tool   One.\n"
                                   "2026-11-25T09:14:03.120Z  tool   Two.\n");
    assert_int_equal(stat(scratch_path(directory, "job-7.txt", path), &status), 0);
    assert_int_equal(status.st_mode & 07777, 0600);
    assert_true(transcript_path(directory, 7, asked, sizeof asked));
    assert_string_equal(asked, path);
    assert_false(transcript_path(directory, 7, asked, 5));
}

static int write_to_a_limit(void)
{
    struct rlimit limit;
    struct fault fault = {0};
    signal(SIGXFSZ, SIG_IGN);
    if (getrlimit(RLIMIT_FSIZE, &limit) != 0)
        return 1;
    limit.rlim_cur = 1000;
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0)
        return 2;
    int lines = 0;
    while (lines < 1000 && transcript_said(transcript, morning_ms, "One line.", false, &fault))
        lines++;
    if (lines == 0 || lines == 1000 || strstr(fault.sentence, "the disk is full") == NULL)
        return 3;
    const char *text = content();
    size_t length = strlen(text);
    size_t each = strlen("2026-11-25T09:14:03.120Z  tool   One line.\n");
    return length == each * (size_t)lines && text[length - 1] == '\n' ? 0 : 4;
}

static void a_full_disk_is_reported_and_leaves_no_half_line(void **state)
{
    (void)state;
    pid_t child = fork();
    if (child == 0)
        _exit(write_to_a_limit());
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void a_transcript_that_cannot_be_made_is_said_so(void **state)
{
    (void)state;
    char path[SCRATCH_PATH];
    struct fault fault = {0};
    assert_int_equal(mkdir(scratch_path(directory, "job-8.txt", path), 0700), 0);
    assert_null(transcript_open(directory, 8, &fault));
    assert_int_equal(fault.code, FAULT_FAILED);
    assert_int_equal(symlink("elsewhere", scratch_path(directory, "job-9.txt", path)), 0);
    assert_null(transcript_open(directory, 9, &fault));
    assert_non_null(strstr(fault.sentence, "a symbolic link is in the way"));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, open_one, close_one)

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(times_are_iso_8601_in_utc),
        TEST(lines_are_as_the_header_shows_them),
        TEST(what_words_mean_stands_beside_them),
        TEST(cautions_are_marked_when_said_and_when_confirmed),
        TEST(what_happens_besides_is_noted),
        TEST(nothing_heard_reaches_a_terminal_raw),
        TEST(any_event_is_one_plain_line),
        TEST(the_longest_event_is_not_cut),
        TEST(a_second_run_goes_on_in_the_same_file_for_its_owner_only),
        TEST(a_full_disk_is_reported_and_leaves_no_half_line),
        TEST(a_transcript_that_cannot_be_made_is_said_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
