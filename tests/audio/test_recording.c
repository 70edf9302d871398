/* A session's recording plays as it was, also when it was cut off by a full disk or a power cut. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <fcntl.h>
#include <signal.h>
#include <sndfile.h>
#include <stdio.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "audio/recording.h"
#include "folder.h"

enum { RATE = 16000 };

/* Noise, which FLAC cannot make small; the two sides differ. */
static void make(int16_t *heard, int16_t *played, size_t n, uint32_t seed)
{
    for (size_t i = 0; i < n; i++) {
        seed = seed * 1664525U + 1013904223U; /* Knuth, The Art of Computer Programming 2, 3.3.4 */
        heard[i] = (int16_t)(seed >> 16);
        played[i] = (int16_t)(seed >> 13);
    }
}

static struct audio_recording *create(const char *path)
{
    struct fault fault = {0};
    struct audio_recording *recording = audio_recording_create(path, RATE, &fault);
    if (recording == NULL)
        fail_msg("%s", fault.sentence);
    return recording;
}

/* Frames of the file that play, each compared with what was recorded from `seed` on. */
static size_t playing(const char *path, const int16_t *heard, const int16_t *played, size_t most)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (file == NULL)
        fail_msg("%s", sf_strerror(NULL));
    assert_int_equal(info.channels, 2);
    assert_int_equal(info.samplerate, RATE);
    assert_int_equal(info.format, SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
    int16_t both[2 * 1000];
    size_t at = 0;
    for (sf_count_t got; (got = sf_readf_short(file, both, 1000)) > 0;)
        for (sf_count_t i = 0; i < got; i++, at++) {
            assert_true(at < most);
            assert_int_equal(both[2 * i], heard[at]);
            assert_int_equal(both[2 * i + 1], played[at]);
        }
    sf_close(file);
    return at;
}

static int16_t heard[RATE * 20], played[RATE * 20];

static void what_was_heard_and_played_comes_back(void **state)
{
    const char *path = in_folder(state, "session.flac");
    make(heard, played, RATE * 3, 1);
    struct audio_recording *recording = create(path);
    struct fault fault = {0};
    for (size_t at = 0; at < RATE * 2; at += 160)
        assert_true(audio_recording_add(recording, heard + at, played + at, 160, &fault));
    memset(played + RATE * 2, 0, RATE / 2 * sizeof *played);
    assert_true(audio_recording_add(recording, heard + RATE * 2, NULL, RATE / 2, &fault));
    assert_int_equal(audio_recording_ms(recording), 2500);
    memset(heard + RATE * 5 / 2, 0, RATE / 2 * sizeof *heard);
    memset(played + RATE * 5 / 2, 0, RATE / 2 * sizeof *played);
    assert_true(audio_recording_reach(recording, 3000, &fault));
    assert_true(audio_recording_reach(recording, 1000, &fault)); /* is past */
    assert_int_equal(audio_recording_ms(recording), 3000);
    assert_true(audio_recording_close(recording, &fault));
    assert_int_equal(playing(path, heard, played, RATE * 3), RATE * 3);
    struct stat status;
    assert_int_equal(stat(path, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0600);
}

static void a_file_that_is_there_is_left_alone(void **state)
{
    const char *path = in_folder(state, "there.flac");
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs("keep me", file);
    fclose(file);
    struct fault fault = {0};
    assert_null(audio_recording_create(path, RATE, &fault));
    assert_non_null(strstr(fault.sentence, "is there already"));
    struct stat status;
    assert_int_equal(stat(path, &status), 0);
    assert_int_equal(status.st_size, 7);
    assert_null(audio_recording_create(in_folder(state, "no/folder.flac"), RATE, &fault));
    assert_non_null(strstr(fault.sentence, "cannot record into"));
}

/* The file as a power cut leaves it: copied while it is being written, never finished. */
static void a_recording_that_was_never_finished_plays_up_to_half_a_second_ago(void **state)
{
    const char *path = in_folder(state, "cut.flac"); /* one buffer for all: asked for anew below */
    make(heard, played, RATE * 5, 2);
    struct audio_recording *recording = create(path);
    struct fault fault = {0};
    for (size_t at = 0; at < RATE * 5; at += 160)
        assert_true(audio_recording_add(recording, heard + at, played + at, 160, &fault));
    static char bytes[RATE * 5 * 4 + 65536], copy[4096];
    snprintf(copy, sizeof copy, "%s", in_folder(state, "copy.flac"));
    FILE *from = fopen(path = in_folder(state, "cut.flac"), "rb"), *to = fopen(copy, "wb");
    assert_non_null(from);
    assert_non_null(to);
    size_t n = fread(bytes, 1, sizeof bytes, from);
    assert_int_equal(fwrite(bytes, 1, n, to), n);
    fclose(from);
    assert_int_equal(fclose(to), 0);
    assert_true(audio_recording_close(recording, &fault));
    size_t plays = playing(copy, heard, played, RATE * 5);
    print_message("%.2f of 5 s play\n", (double)plays / RATE);
    assert_true(plays >= RATE * 9 / 2);
}

/* A limit on the size of files fails a write as a full disk does. */
static void a_full_disk_is_said_and_what_was_written_plays(void **state)
{
    const char *path = in_folder(state, "full.flac");
    make(heard, played, RATE * 20, 3);
    struct rlimit before, small = {.rlim_cur = 400000, .rlim_max = RLIM_INFINITY};
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small.rlim_max = before.rlim_max;
    signal(SIGXFSZ, SIG_IGN);
    struct audio_recording *recording = create(path);
    struct fault fault = {0};
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    size_t added = 0;
    while (added < RATE * 20 &&
           audio_recording_add(recording, heard + added, played + added, 1600, &fault))
        added += 1600;
    assert_true(added < RATE * 20);
    assert_non_null(strstr(fault.sentence, "free some space"));
    assert_false(audio_recording_add(recording, heard, played, 1600, &fault));
    struct fault at_close = {0};
    assert_false(audio_recording_close(recording, &at_close));
    assert_int_equal(at_close.code, FAULT_FAILED);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    size_t plays = playing(path, heard, played, RATE * 20);
    print_message("%.2f of %.2f s play\n", (double)plays / RATE, (double)added / RATE);
    assert_true(plays + RATE >= added && plays <= added + 1600);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_heard_and_played_comes_back),
        cmocka_unit_test(a_file_that_is_there_is_left_alone),
        cmocka_unit_test(a_recording_that_was_never_finished_plays_up_to_half_a_second_ago),
        cmocka_unit_test(a_full_disk_is_said_and_what_was_written_plays),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
