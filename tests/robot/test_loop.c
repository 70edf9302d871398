/*
 * The PortAudio driver on a real sound server: what is played is heard, at its level, at the rate
 * asked for, and beside it what was played then; a server that stands still, dies or comes back is
 * a status, not an end. In real time.
 */
#include <math.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "audio/portaudio.h"
#include "pulse.h"

enum { RATE = 16000, SKIPPED = 77 };

static const struct audio_live_driver *const live = &audio_live_portaudio;
static struct pulse pulse;

static void *open_live(const char *microphone, const char *speaker)
{
    struct audio_live_config config = {
        .microphone = microphone, .speaker = speaker, .rate_hz = RATE};
    struct fault fault = {0};
    void *state = NULL;
    if (!live->open(&config, &state, &fault))
        fail_msg("%s", fault.sentence);
    return state;
}

static struct audio_live_status status_of(void *state)
{
    struct audio_live_status status;
    live->status(state, &status);
    return status;
}

/* Plays and hears until `frames` were heard; false when that takes much too long. */
static bool exchange(void *state, const int16_t *pcm, size_t n, int16_t *heard, int16_t *played,
                     size_t frames)
{
    int64_t until = live->now_ms(state) + (int64_t)frames * 1000 / RATE + 5000;
    size_t at = 0, written = 0;
    while (at < frames && live->now_ms(state) < until) {
        written += live->write(state, pcm + written, n - written);
        assert_true(live->wait(state, NULL, 0, 100));
        at += live->read(state, heard + at, played + at, frames - at);
    }
    return at == frames;
}

static void let_pass(void *state, int64_t ms)
{
    static int16_t heard[RATE], played[RATE];
    int64_t until = live->now_ms(state) + ms;
    while (live->now_ms(state) < until) {
        live->wait(state, NULL, 0, 50);
        live->read(state, heard, played, RATE);
    }
}

/* Waits until the microphone and the speaker are as wanted. */
static bool become(void *state, enum audio_live_presence presence, int64_t ms)
{
    int64_t until = live->now_ms(state) + ms;
    while (live->now_ms(state) < until) {
        let_pass(state, 50);
        struct audio_live_status status = status_of(state);
        if (status.microphone == presence && status.speaker == presence)
            return true;
    }
    return false;
}

static void make_noise(int16_t *pcm, size_t n)
{
    uint32_t seed = 7;
    int smooth =
        0; /* low frequencies: a fraction of a frame of delay must not look like a change */
    for (size_t i = 0; i < n; i++) {
        seed = seed * 1664525U + 1013904223U; /* Knuth, The Art of Computer Programming 2, 3.3.4 */
        smooth += ((int)(seed >> 17) - 16384 - smooth) / 4;
        pcm[i] = (int16_t)(smooth == 0 ? 1 : smooth);
    }
}

static double power(const int16_t *pcm, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += (double)pcm[i] * pcm[i];
    return sum / (double)n;
}

/* By how many frames `heard` is later than `played` in [from, from + n), within `most`. */
static long lag_of(const int16_t *heard, const int16_t *played, size_t from, size_t n, long most,
                   double *alike)
{
    long best = 0;
    double best_sum = -1;
    for (long lag = -most; lag <= most; lag++) {
        double sum = 0;
        for (size_t i = from; i < from + n; i++)
            sum += (double)heard[(long)i + lag] * played[i];
        if (sum > best_sum) {
            best_sum = sum;
            best = lag;
        }
    }
    *alike = best_sum /
             ((double)n * sqrt(power(heard + (long)from + best, n) * power(played + from, n)));
    return best;
}

/* ---- sound --------------------------------------------------------------------------------- */

enum { NOISE = RATE * 2, HEARD = RATE * 5 / 2, PIECE = RATE / 4, LATE_MOST = RATE / 20 };

struct loop {
    double alike, level_db; /* of the worst piece; of all */
    long earliest, latest;  /* frames by which what is heard is behind what was played */
    uint64_t lost;
};

/* Plays two seconds of noise and compares it, piece by piece, with what is heard of it. */
static struct loop around_the_loop(void)
{
    static int16_t pcm[NOISE], heard[HEARD], played[HEARD];
    struct loop loop = {.alike = 1, .earliest = LATE_MOST, .latest = -LATE_MOST};
    make_noise(pcm, NOISE);
    void *state = open_live("lift_loop", "lift_speaker");
    let_pass(state, 1500); /* the offset between the two has settled */
    assert_true(exchange(state, pcm, NOISE, heard, played, HEARD));
    struct audio_live_status status = status_of(state);
    live->close(state);
    assert_string_equal(status.microphone_name, "lift_loop");
    assert_string_equal(status.speaker_name, "lift_speaker");
    size_t first = 0;
    while (first < HEARD - NOISE && played[first] == 0)
        first++;
    size_t from = first + PIECE;
    for (size_t at = from; at + 2 * PIECE < first + NOISE; at += PIECE) {
        double alike;
        long late = lag_of(heard, played, at, PIECE, LATE_MOST, &alike);
        loop.earliest = late < loop.earliest ? late : loop.earliest;
        loop.latest = late > loop.latest ? late : loop.latest;
        loop.alike = fmin(loop.alike, alike);
    }
    loop.level_db = 10 * log10(power(heard + from, RATE) / power(played + from, RATE));
    loop.lost = status.lost_frames;
    return loop;
}

/* On a computer that is kept busy by others sound has gaps, and what is heard cannot be compared:
 * such an attempt says nothing about us, and another is made. */
static void what_is_played_is_heard_beside_itself(void **state)
{
    (void)state;
    struct loop loop = {0};
    for (int attempt = 0; attempt < 8 && loop.alike < 0.9; attempt++) {
        loop = around_the_loop();
        print_message("alike %.3f, %+.1f dB, %.1f to %.1f ms behind, %llu lost\n", loop.alike,
                      loop.level_db, 1000.0 * (double)loop.earliest / RATE,
                      1000.0 * (double)loop.latest / RATE, (unsigned long long)loop.lost);
    }
    assert_true(loop.alike >= 0.9);
    assert_true(fabs(loop.level_db) < 1);
    assert_int_equal(loop.lost, 0);
    assert_true(loop.earliest >= 0 && loop.latest <= RATE / 50);
    assert_true(loop.latest - loop.earliest <= 3 * RATE / 1000); /* constant to 3 ms */
}

static void dropping_ends_the_sound_at_once(void **state)
{
    (void)state;
    enum { N = RATE };
    static int16_t pcm[2 * RATE], heard[N], played[N];
    make_noise(pcm, 2 * RATE);
    void *loop = open_live("lift_loop", "lift_speaker");
    assert_true(exchange(loop, pcm, 2 * RATE, heard, played, N));
    assert_true(live->pending(loop) > RATE / 2);
    live->drop(loop);
    print_message("%zu frames still in the device\n", live->pending(loop));
    assert_true(live->pending(loop) < RATE / 5);
    let_pass(loop, 400);
    assert_int_equal(live->pending(loop), 0);
    assert_true(exchange(loop, NULL, 0, heard, played, N / 4));
    assert_true(power(heard, N / 4) < 1);
    live->close(loop);
}

/* ---- devices ------------------------------------------------------------------------------- */

static void an_unknown_name_is_said_with_those_there_are(void **state)
{
    (void)state;
    struct audio_live_config config = {
        .microphone = "headset", .no_speaker = true, .rate_hz = RATE};
    struct fault fault = {0};
    void *loop = NULL;
    assert_false(live->open(&config, &loop, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
    print_message("%s\n", fault.sentence);
    assert_non_null(strstr(fault.sentence, "'headset'"));
    assert_non_null(strstr(fault.sentence, "'lift_microphone'"));
}

static void one_of_two_missing_is_a_status(void **state)
{
    (void)state;
    void *loop = open_live("headset", "lift_sp");
    struct audio_live_status status = status_of(loop);
    assert_int_equal(status.microphone, AUDIO_ABSENT);
    assert_int_equal(status.speaker, AUDIO_PRESENT);
    assert_non_null(strstr(status.microphone_why, "'headset'"));
    assert_string_equal(status.speaker_name, "lift_speaker");
    live->close(loop);
}

static void a_server_that_dies_and_returns_is_picked_up_again(void **state)
{
    (void)state;
    enum { N = RATE / 2 };
    static int16_t pcm[N], heard[N], played[N];
    make_noise(pcm, N);
    void *loop = open_live("lift_loop", "lift_speaker");
    assert_true(exchange(loop, pcm, N, heard, played, N));
    pulse_stop(&pulse);
    assert_true(become(loop, AUDIO_ABSENT, 5000));
    struct audio_live_status status = status_of(loop);
    print_message("%s %s\n", status.microphone_why, status.speaker_why);
    assert_int_equal(live->write(loop, pcm, N), N); /* nobody waits for it */
    assert_int_equal(live->pending(loop), 0);
    assert_true(pulse_start(&pulse));
    assert_true(become(loop, AUDIO_PRESENT, 8000));
    assert_true(exchange(loop, pcm, N, heard, played, N));
    status = status_of(loop);
    assert_string_equal(status.microphone_why, "");
    assert_string_equal(status.speaker_why, "");
    live->close(loop);
}

static void a_server_that_stands_still_is_noticed(void **state)
{
    (void)state;
    void *loop = open_live("lift_loop", "lift_speaker");
    let_pass(loop, 300);
    kill(pulse.server, SIGSTOP);
    bool absent = become(loop, AUDIO_ABSENT, 6000);
    struct audio_live_status status = status_of(loop);
    print_message("%s %s\n", status.microphone_why, status.speaker_why);
    int64_t before = live->now_ms(loop);
    live->wait(loop, NULL, 0, 100);
    int64_t waited = live->now_ms(loop) - before;
    kill(pulse.server, SIGCONT);
    assert_true(absent);
    assert_true(waited >= 90 && waited < 1000); /* the caller goes on */
    assert_true(become(loop, AUDIO_PRESENT, 10000));
    live->close(loop);
}

static int begin(void **state)
{
    (void)state;
    return pulse_begin(&pulse) ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    pulse_end(&pulse);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_played_is_heard_beside_itself),
        cmocka_unit_test(dropping_ends_the_sound_at_once),
        cmocka_unit_test(an_unknown_name_is_said_with_those_there_are),
        cmocka_unit_test(one_of_two_missing_is_a_status),
        cmocka_unit_test(a_server_that_dies_and_returns_is_picked_up_again),
        cmocka_unit_test(a_server_that_stands_still_is_noticed),
    };
    if (!pulse_is_installed()) {
        print_message("skipped: pulseaudio is not installed\n");
        return SKIPPED;
    }
    return cmocka_run_group_tests(tests, begin, end);
}
