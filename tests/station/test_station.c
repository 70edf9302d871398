/*
 * The station end to end, without sound: lines from a pipe in, journal, transcript and screen out.
 * A whole job by typed words, the same by number pad, both mixed, broken off and resumed.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"
#include "record/writeup.h"
#include "station/station.h"

enum { PATH = 512 };

struct bench {
    char data[PATH];
    char screen_path[PATH + 8];
    struct prompt_catalogue *prompts;
    struct journal *journal;
    int64_t number;
    struct job *job;
};

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *ftw)
{
    (void)status;
    (void)kind;
    (void)ftw;
    return remove(path);
}

static int set_up(void **state)
{
    struct bench *bench = calloc(1, sizeof *bench);
    struct fault fault = {0};
    const char *where = getenv("TMPDIR");
    snprintf(bench->data, sizeof bench->data, "%s/midthrow-station-XXXXXX",
             where != NULL ? where : "/tmp");
    assert_non_null(mkdtemp(bench->data));
    snprintf(bench->screen_path, sizeof bench->screen_path, "%s/screen", bench->data);
    bench->prompts = prompt_load(MIDTHROW_SOURCE_DIR "/prompts", &fault);
    bench->journal = journal_open(bench->data, &fault);
    bench->job = malloc(sizeof *bench->job);
    assert_non_null(bench->prompts);
    assert_non_null(bench->journal);
    assert_non_null(bench->job);
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;
    journal_close(bench->journal);
    prompt_free(bench->prompts);
    free(bench->job);
    nftw(bench->data, remove_entry, 8, FTW_DEPTH | FTW_PHYS);
    free(bench);
    return 0;
}

static bool fold(void *context, const struct job_event *event)
{
    static struct job_effects unsaid;
    job_step(context, event, &unsaid);
    return true;
}

static void replay(struct bench *bench, struct job *job)
{
    job_init(job);
    assert_true(journal_replay(bench->journal, bench->number, fold, job, NULL));
}

/* One session: `lines` typed, as words, pad entries or both. */
static void session(struct bench *bench, const char *lines, bool words, bool pad, bool resumed)
{
    struct fault fault = {0};
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    assert_true(write(ends[1], lines, strlen(lines)) == (ssize_t)strlen(lines));
    close(ends[1]);
    if (resumed) {
        replay(bench, bench->job);
    } else {
        job_init(bench->job);
        assert_true(journal_new_job(bench->journal, station_now_ms(), &bench->number, &fault));
    }
    struct station_lines input;
    station_lines_init(&input, ends[0], words, pad);
    struct station_mouth mouth;
    assert_true(station_mouth_open(&mouth, NULL, &fault));
    struct screen screen;
    struct screen_config config = {.out = fopen(bench->screen_path, "w")};
    assert_non_null(config.out);
    assert_true(screen_open(&screen, &screen_plain, &config, &fault));
    struct station station = {
        .journal = bench->journal,
        .number = bench->number,
        .job = bench->job,
        .prompts = bench->prompts,
        .transcript = transcript_open(bench->data, bench->number, &fault),
        .mouth = &mouth,
        .screen = &screen,
        .shared_profiles = MIDTHROW_SOURCE_DIR "/src/profile/shipped",
        .input = {{&station_input_lines, &input}},
        .inputs = 1,
    };
    assert_non_null(station.transcript);
    if (!station_run(&station, resumed, &fault))
        fail_msg("%s", fault.sentence);
    screen_close(&screen);
    fclose(config.out);
    transcript_close(station.transcript);
    close(ends[0]);
}

static char *read_file(const char *path)
{
    static char text[1 << 18];
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    size_t n = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[n] = '\0';
    return text;
}

static char *transcript(const struct bench *bench)
{
    char path[PATH];
    assert_true(transcript_path(bench->data, bench->number, path, sizeof path));
    return read_file(path);
}

/* Silent twice, then there is a line. */
static enum station_got answer_late(void *state, const struct station_question *question,
                                    struct job_event *event, struct fault *fault)
{
    int *silences = state;
    (void)fault;
    if ((*silences)++ < 2)
        return STATION_QUIET;
    station_line_answer(true, false, question, "yes", event);
    return STATION_ANSWER;
}

static void finish_nothing(void *state)
{
    (void)state;
}

static int asked_so_often(struct bench *bench, int64_t remind_ms)
{
    static const struct station_input late = {
        .name = "late", .next = answer_late, .finish = finish_nothing};
    struct fault fault = {0};
    int silences = 0, asked = 0;
    struct station_mouth mouth;
    struct screen screen;
    struct screen_config config = {.out = fopen(bench->screen_path, "w")};
    assert_non_null(config.out);
    assert_true(station_mouth_open(&mouth, NULL, &fault));
    assert_true(screen_open(&screen, &screen_plain, &config, &fault));
    struct station station = {.prompts = bench->prompts,
                              .mouth = &mouth,
                              .screen = &screen,
                              .input = {{&late, &silences}},
                              .inputs = 1};
    struct station_question question = {
        .grammar = "yesno", .phrase = LANGUAGE_NOT_YET, .remind_ms = remind_ms};
    struct job_event event;
    assert_int_equal(station_ask(&station, "Is it so?", &question, &event, &fault), STATION_ANSWER);
    assert_string_equal(event.words, "yes");
    screen_close(&screen);
    fclose(config.out);
    for (const char *at = read_file(bench->screen_path); (at = strstr(at, "Is it so?")); at++)
        asked++;
    return asked;
}

static void what_nobody_answers_is_asked_once_more(void **state)
{
    assert_int_equal(asked_so_often(*state, 0), 1);
    assert_int_equal(asked_so_often(*state, 1000), 2);
}

#define INTAKE_TYPED                                                                               \
    "5083\nskip\nhard to find\nhot\nboth\nstanding with the clutch in\nno\nyes\ngradual\nfluid\n"
#define INTAKE_PADDED "5083\n..\n1\n1\n3\n2\n2\n1\n2\n1\n"

static void typed_words_and_pad_entries_make_the_same_job(void **state)
{
    struct bench *bench = *state;
    session(bench, INTAKE_TYPED, true, false, false);
    struct job *typed = malloc(sizeof *typed);
    assert_non_null(typed);
    *typed = *bench->job;
    session(bench, INTAKE_PADDED, false, true, false);
    assert_string_equal(bench->job->order, "5083");
    assert_string_equal(job_question_id(bench->job), job_question_id(typed));
    assert_memory_equal(&bench->job->reason, &typed->reason, sizeof typed->reason);
    assert_int_equal(bench->job->answers, typed->answers);
    free(typed);
}

static void a_line_may_be_either(void **state)
{
    struct bench *bench = *state;
    session(bench, "5083\nskip\n1\nwhen it is hot\n3\n2\nno\n1\n2\n1\n", true, true, false);
    assert_int_equal(bench->job->answers, 10);
    assert_int_equal(bench->job->rejected, 0);
    assert_string_equal(bench->job->order, "5083");
}

static void a_job_broken_off_resumes_at_the_same_question(void **state)
{
    struct bench *bench = *state;
    session(bench, INTAKE_TYPED, true, false, false);
    char at[64];
    text_copy(at, sizeof at, job_question_id(bench->job));
    assert_true(job_has_left(bench->job));
    assert_false(job_is_closed(bench->job));
    session(bench, "where are we\n", true, false, true);
    assert_string_equal(job_question_id(bench->job), at);
    assert_non_null(strstr(read_file(bench->screen_path), "! Caution. We go on at"));
    assert_non_null(strstr(transcript(bench), "note"));
}

static void what_was_lived_is_what_is_replayed(void **state)
{
    struct bench *bench = *state;
    session(bench, INTAKE_TYPED "nonsense\nwhere are we\ngo back\nclutch\n--\n", true, true, false);
    struct job *again = malloc(sizeof *again);
    char *lived = malloc(WRITEUP_SIZE), *replayed = malloc(WRITEUP_SIZE);
    assert_true(again != NULL && lived != NULL && replayed != NULL);
    replay(bench, again);
    assert_true(writeup_text(bench->job, 1, lived, WRITEUP_SIZE));
    assert_true(writeup_text(again, 1, replayed, WRITEUP_SIZE));
    assert_string_equal(lived, replayed);
    assert_int_equal(again->corrections, 1);
    free(again);
    free(lived);
    free(replayed);
}

static void every_line_of_the_transcript_is_timed(void **state)
{
    struct bench *bench = *state;
    session(bench, INTAKE_TYPED, true, false, false);
    int lines = 0;
    for (char *line = strtok(transcript(bench), "\n"); line != NULL; line = strtok(NULL, "\n")) {
        int year, month, day, hour, minute, used = 0;
        double second;
        assert_int_equal(sscanf(line, "%4d-%2d-%2dT%2d:%2d:%6lfZ%n", &year, &month, &day, &hour,
                                &minute, &second, &used),
                         6);
        assert_int_equal(used, 24);
        lines++;
    }
    assert_true(lines > 25);
}

static void control_characters_do_not_reach_the_screen(void **state)
{
    struct bench *bench = *state;
    session(bench, "\033[31mred\a\nA-1;<b>\n", true, false, false);
    const char *screen = read_file(bench->screen_path);
    assert_null(strchr(screen, '\033'));
    assert_null(strchr(screen, '\a'));
    assert_non_null(strstr(screen, "\\x1B[31mred\\x07"));
    assert_null(strchr(transcript(bench), '\033'));
}

static void a_line_without_end_is_one_bad_answer(void **state)
{
    struct bench *bench = *state;
    char *flood = malloc(20002);
    assert_non_null(flood);
    memset(flood, 'a', 20000);
    memcpy(flood + 20000, "\n", 2);
    session(bench, flood, true, true, false);
    free(flood);
    assert_int_equal(bench->job->answers, 0);
    assert_int_equal(bench->job->misses, 1);
}

static void empty_lines_answer_nothing(void **state)
{
    struct bench *bench = *state;
    session(bench, "\n\n//\n\n5083\r\n", true, true, false);
    assert_int_equal(bench->job->rejected, 0);
    assert_string_equal(bench->job->order, "5083");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(typed_words_and_pad_entries_make_the_same_job),
        TEST(what_nobody_answers_is_asked_once_more),
        TEST(a_line_may_be_either),
        TEST(a_job_broken_off_resumes_at_the_same_question),
        TEST(what_was_lived_is_what_is_replayed),
        TEST(every_line_of_the_transcript_is_timed),
        TEST(control_characters_do_not_reach_the_screen),
        TEST(a_line_without_end_is_one_bad_answer),
        TEST(empty_lines_answer_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
