/* A session's recording: the file is whole, the captions stand where the words were. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "audio/audio.h"
#include "command/record.h"
#include "speech/recogniser.h"

static char dir[256], flac[300], vtt[320];

static int set_up(void **state)
{
    (void)state;
    const char *where = getenv("TMPDIR");
    snprintf(dir, sizeof dir, "%s/midthrow-record-XXXXXX", where != NULL ? where : "/tmp");
    assert_non_null(mkdtemp(dir));
    snprintf(flac, sizeof flac, "%s/a.flac", dir);
    snprintf(vtt, sizeof vtt, "%s.vtt", flac);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    unlink(flac);
    unlink(vtt);
    return rmdir(dir);
}

static void hear_for(struct session_record *record, int64_t from_ms, int64_t until_ms)
{
    int16_t heard[SPEECH_FRAME], played[SPEECH_FRAME] = {0};
    for (int i = 0; i < SPEECH_FRAME; i++)
        heard[i] = (int16_t)(i * 10);
    for (int64_t at = from_ms; at < until_ms; at += 10)
        session_record_tap(record, 5000 + at, heard, played);
}

static void sound_and_captions_run_side_by_side(void **state)
{
    (void)state;
    struct session_record record = {0};
    struct fault fault = {0};
    assert_true(session_record_open(&record, flac, &fault));
    hear_for(&record, 0, 1000);
    session_record_told(&record, "tool", "Work order number?", 0, 900);
    hear_for(&record, 4000, 5000); /* no microphone for three seconds */
    session_record_told(&record, "ear", "five", 700, 400);
    assert_true(session_record_close(&record, &fault));

    int16_t *pcm;
    size_t frames;
    assert_true(audio_read_whole(flac, SPEECH_RATE_HZ, &pcm, &frames, &fault));
    assert_in_range(frames, 79000, 81000);
    free(pcm);
    static char text[1000];
    FILE *file = fopen(vtt, "r");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    assert_non_null(strstr(text, "00:00:01.000 --> 00:00:01.900\n<v tool>Work order number?\n"));
    assert_non_null(strstr(text, "00:00:04.300 --> 00:00:04.700\n<v ear>five\n"));
    struct stat status;
    assert_int_equal(stat(vtt, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0600);
}

static void a_file_that_is_there_is_not_overwritten(void **state)
{
    (void)state;
    struct session_record record = {0};
    struct fault fault = {0};
    fclose(fopen(flac, "w"));
    assert_false(session_record_open(&record, flac, &fault));
    assert_non_null(strstr(fault.sentence, "a.flac"));
}

static void nothing_asked_for_is_nothing_recorded(void **state)
{
    (void)state;
    struct session_record record = {0};
    struct fault fault = {0};
    assert_true(session_record_open(&record, NULL, &fault));
    hear_for(&record, 0, 100);
    session_record_told(&record, "tool", "Work order number?", 0, 900);
    assert_true(session_record_close(&record, &fault));
    assert_int_not_equal(access(flac, F_OK), 0);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(sound_and_captions_run_side_by_side),
        TEST(a_file_that_is_there_is_not_overwritten),
        TEST(nothing_asked_for_is_nothing_recorded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
