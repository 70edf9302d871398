/*
 * A microphone's and a speaker's stream at rates of their own become one sound at one rate, frame
 * beside frame. The device is the test: it makes the callbacks' calls itself, at simulated times,
 * and what the speaker is given is what the microphone hears.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "audio/join.h"
#include "audio/line.h"

enum { RATE = 16000, CALLS = 150, MOST = 48000 * 2, LEAD = RATE / 200 };

static const double PI = 3.14159265358979323846;

struct rig {
    struct audio_join *join;
    struct audio_line *ear, *mouth;
    int64_t start_ns;
    double late; /* s from the speaker's call to its sound, and from the sound to the ear's call */
    int16_t spoken[MOST]; /* what the speaker was given, at its own rate */
    size_t spoken_frames;
};

static struct rig rig;

static int begin(int ear_hz, int mouth_hz, double late)
{
    struct fault fault = {0};
    memset(&rig, 0, sizeof rig);
    rig.join = audio_join_create(RATE, &fault);
    rig.ear = audio_line_create(AUDIO_MICROPHONE, ear_hz, 1, &fault);
    rig.mouth = audio_line_create(AUDIO_SPEAKER, mouth_hz, 2, &fault);
    assert_true(audio_join_set(rig.join, rig.ear, &fault));
    assert_true(audio_join_set(rig.join, rig.mouth, &fault));
    rig.start_ns = audio_now_ns();
    rig.late = late;
    return 0;
}

/* The callback adds the real clock to the difference of these times: that is taken out again. */
static PaStreamCallbackTimeInfo at(double seconds)
{
    double ahead = seconds - (double)(audio_now_ns() - rig.start_ns) * 1e-9;
    return (PaStreamCallbackTimeInfo){.currentTime = 1000,
                                      .inputBufferAdcTime = 1000 + ahead,
                                      .outputBufferDacTime = 1000 + ahead};
}

static int16_t spoken_at(double seconds)
{
    double frame = seconds * rig.mouth->rate_hz;
    long i = (long)floor(frame);
    if (i < 0 || (size_t)i + 1 >= rig.spoken_frames)
        return 0;
    double part = frame - (double)i;
    return (int16_t)lrint(rig.spoken[i] * (1 - part) + rig.spoken[i + 1] * part);
}

/* The calls of 10 ms number `k`: the speaker's for what sounds `late` after it, the microphone's
 * for what sounded `late` before. The first frame the speaker got sounds at `late`. */
static void call(size_t k)
{
    enum { N_MOST = 480 };
    int16_t out[2 * N_MOST], in[N_MOST];
    size_t n_out = (size_t)rig.mouth->rate_hz / 100, n_in = (size_t)rig.ear->rate_hz / 100;
    PaStreamCallbackTimeInfo time = at(0.01 * (double)k + rig.late);
    assert_int_equal(audio_line_call(NULL, out, n_out, &time, 0, rig.mouth), paContinue);
    for (size_t i = 0; i < n_out && rig.spoken_frames < MOST; i++) {
        assert_int_equal(out[2 * i], out[2 * i + 1]);
        rig.spoken[rig.spoken_frames++] = out[2 * i];
    }
    for (size_t i = 0; i < n_in; i++)
        in[i] = spoken_at(0.01 * (double)k + (double)i / rig.ear->rate_hz - 2 * rig.late);
    time = at(0.01 * (double)k - rig.late);
    assert_int_equal(audio_line_call(in, NULL, n_in, &time, 0, rig.ear), paContinue);
}

/* A sound that begins and ends softly and is unlike itself at any delay. */
static void make_sweep(int16_t *pcm, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        double t = (double)i / RATE, share = (double)i / (double)n;
        pcm[i] = (int16_t)lrint(8000 * sin(PI * share) * sin(2 * PI * (200 + 600 * share) * t));
    }
}

static double power(const int16_t *pcm, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += (double)pcm[i] * pcm[i];
    return sum;
}

static double difference(const int16_t *a, const int16_t *b, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += ((double)a[i] - b[i]) * ((double)a[i] - b[i]);
    return sum;
}

static void any_rates_come_together(void **state)
{
    (void)state;
    static const struct {
        int ear_hz, mouth_hz;
        double late;
    } rows[] = {
        {16000, 16000, 0.05}, {48000, 48000, 0.03}, {44100, 48000, 0.1},
        {48000, 16000, 0.02}, {16000, 44100, 0.06}, {44100, 44100, 0.08},
    };
    enum { N = RATE / 2, ALL = RATE * CALLS / 100 };
    static int16_t sweep[N], heard[ALL + RATE], played[ALL + RATE];
    make_sweep(sweep, N);
    for (size_t row = 0; row < sizeof rows / sizeof rows[0]; row++) {
        begin(rows[row].ear_hz, rows[row].mouth_hz, rows[row].late);
        size_t got = 0;
        assert_int_equal(audio_join_write(rig.join, sweep, N), N);
        for (size_t k = 0; k < CALLS; k++) {
            call(k);
            audio_join_pump(rig.join);
            got += audio_join_read(rig.join, heard + got, played + got, RATE);
        }
        /* all of it was played, at its level */
        double ratio = (double)rig.mouth->rate_hz / RATE;
        double level = power(rig.spoken, rig.spoken_frames) / ratio / power(sweep, N);
        assert_true(fabs(level - 1) < 0.01);
        assert_true(got >= ALL - RATE / 50 && got <= ALL);

        /* shown where it was heard, LEAD early, to within a millisecond */
        long best = -1000;
        double least = 1e300;
        for (long lag = -RATE / 20; lag <= RATE / 20; lag++) {
            size_t from = RATE / 20;
            double d = difference(heard + from + lag, played + from, got - 2 * from);
            if (d < least) {
                least = d;
                best = lag;
            }
        }
        print_message("%d Hz, %d Hz: %.2f ms, rest %.4f\n", rig.ear->rate_hz, rig.mouth->rate_hz,
                      1000.0 * (double)best / RATE, least / power(sweep, N));
        assert_true(labs(best - LEAD) <= RATE / 1000);
        assert_true(least < 0.02 * power(sweep, N));
        assert_int_equal(audio_join_lost(rig.join), 0);
        audio_join_destroy(rig.join);
    }
}

static void pending_counts_down_to_nothing(void **state)
{
    (void)state;
    enum { N = RATE / 2 };
    static int16_t sweep[N];
    make_sweep(sweep, N);
    begin(48000, 48000, 0);
    assert_int_equal(audio_join_write(rig.join, sweep, N), N);
    assert_true(labs((long)audio_join_pending(rig.join) - N) <= 2);
    for (size_t k = 0; k < 25; k++)
        call(k);
    assert_true(audio_join_pending(rig.join) >= N / 2 - 16);
    audio_join_drop(rig.join);
    size_t device = audio_join_pending(rig.join); /* 250 ms of calls, made in no time */
    assert_true(device > 0 && device <= RATE / 4);
    nanosleep(&(struct timespec){.tv_nsec = 260000000}, NULL);
    assert_int_equal(audio_join_pending(rig.join), 0);
    audio_join_destroy(rig.join);
}

static void the_queue_takes_two_seconds_and_no_more(void **state)
{
    (void)state;
    static int16_t silence[RATE * 3];
    begin(48000, 44100, 0.05);
    size_t took = 0;
    for (size_t more = 1; more > 0; took += more)
        more = audio_join_write(rig.join, silence + took, RATE * 3 - took);
    assert_true(took >= 2 * RATE - 16 && took <= 2 * RATE + 16);
    audio_join_destroy(rig.join);
}

static void a_line_that_is_replaced_loses_nothing_that_was_heard(void **state)
{
    (void)state;
    static int16_t heard[RATE], played[RATE];
    begin(16000, 16000, 0.02);
    for (size_t k = 0; k < 10; k++)
        call(k);
    struct fault fault;
    struct audio_line *next = audio_line_create(AUDIO_MICROPHONE, 48000, 1, &fault);
    atomic_store(&rig.ear->closed, true);
    assert_true(audio_join_set(rig.join, next, &fault));
    rig.ear = next;
    assert_int_equal(audio_join_readable(rig.join), 1600);
    for (size_t k = 10; k < 20; k++)
        call(k);
    audio_join_pump(rig.join);
    size_t got = audio_join_read(rig.join, heard, played, RATE);
    assert_true(got > 2900 && got <= 3200);
    atomic_store(&rig.mouth->closed, true);
    audio_join_pump(rig.join);
    assert_int_equal(audio_join_write(rig.join, heard, 100), 0); /* no line to take it */
    assert_int_equal(audio_join_pending(rig.join), 0);
    audio_join_destroy(rig.join);
}

static void a_call_of(struct audio_line *line, PaStreamCallbackFlags flags)
{
    int16_t pcm[2 * RATE / 100] = {0};
    PaStreamCallbackTimeInfo time = at(0);
    audio_line_call(pcm, pcm, RATE / 100, &time, flags, line);
}

/* PortAudio's flags say what was lost; the waits are the test's own. */
static void deadlines_are_counted_over_lines_that_are_replaced(void **state)
{
    (void)state;
    struct audio_deadlines ear, mouth;
    struct fault fault;
    begin(RATE, RATE, 0.02);
    for (int k = 0; k < 5; k++) {
        a_call_of(rig.ear, k == 2 ? paInputOverflow : 0);
        a_call_of(rig.mouth, k == 3 ? paOutputUnderflow : paPrimingOutput);
    }
    nanosleep(&(struct timespec){.tv_nsec = 60000000}, NULL);
    a_call_of(rig.ear, paInputOverflow);
    struct audio_line *next = audio_line_create(AUDIO_MICROPHONE, RATE, 1, &fault);
    atomic_store(&rig.ear->closed, true);
    assert_true(audio_join_set(rig.join, next, &fault));
    a_call_of(next, 0);
    audio_join_deadlines(rig.join, AUDIO_MICROPHONE, &ear);
    audio_join_deadlines(rig.join, AUDIO_SPEAKER, &mouth);
    assert_int_equal(ear.calls, 7);
    assert_int_equal(ear.missed, 2);
    assert_true(ear.latest_ms >= 49); /* 60 after a call of 10 */
    assert_int_equal(mouth.calls, 5);
    assert_int_equal(mouth.missed, 1);
    audio_join_destroy(rig.join);
}

static void sound_that_nobody_takes_is_counted(void **state)
{
    (void)state;
    begin(16000, 16000, 0.02);
    for (size_t k = 0; k < 100 * (AUDIO_LINE_SECONDS + 1); k++)
        call(k % 100);
    assert_true(audio_join_lost(rig.join) > 0);
    audio_join_destroy(rig.join);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_rates_come_together),
        cmocka_unit_test(pending_counts_down_to_nothing),
        cmocka_unit_test(the_queue_takes_two_seconds_and_no_more),
        cmocka_unit_test(a_line_that_is_replaced_loses_nothing_that_was_heard),
        cmocka_unit_test(deadlines_are_counted_over_lines_that_are_replaced),
        cmocka_unit_test(sound_that_nobody_takes_is_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
