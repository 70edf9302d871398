/* Measures of sound, on sound whose measures are known. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "survey/echo.h"
#include "survey/level.h"

enum { RATE = 16000, N = RATE * 4 };
static const double PI = 3.14159265358979323846;
static int16_t pcm[N], other[N];

static void sine(int16_t *out, size_t n, double hz, double peak)
{
    for (size_t i = 0; i < n; i++)
        out[i] = (int16_t)lrint(peak * sin(2 * PI * hz * (double)i / RATE));
}

static void noise(int16_t *out, size_t n, double peak, uint32_t seed)
{
    for (size_t i = 0; i < n; i++) {
        seed = seed * 1664525U + 1013904223U; /* Knuth, The Art of Computer Programming 2, 3.3.4 */
        out[i] = (int16_t)(peak * ((double)(seed >> 8) / (1 << 23) - 1));
    }
}

static void assert_near(double is, double should, double by)
{
    if (!(fabs(is - should) <= by))
        fail_msg("%g is not %g within %g", is, should, by);
}

/* AES17: a full-scale sine is 0 dBFS, so a square wave is 3.01 dB above. */
static void levels_are_dbfs(void **state)
{
    (void)state;
    sine(pcm, N, 997, 32767);
    assert_near(survey_level_db(pcm, N), 0, 0.01);
    sine(pcm, N, 997, 3276.7);
    assert_near(survey_level_db(pcm, N), -20, 0.02);
    for (size_t i = 0; i < N; i++)
        pcm[i] = i / 16 % 2 == 0 ? 32767 : -32767;
    assert_near(survey_level_db(pcm, N), 3.01, 0.01);
    memset(pcm, 0, sizeof pcm);
    assert_near(survey_level_db(pcm, N), SURVEY_SILENCE_DB, 0);
}

static void the_floor_is_not_the_slammed_door(void **state)
{
    (void)state;
    sine(pcm, N, 997, 32.767);
    sine(pcm + N / 2, RATE / 4, 997, 20000);
    struct survey_floor floor = survey_floor(pcm, N, RATE);
    assert_near(floor.level_db, -60, 0.3);
    assert_near(floor.peak_db, 20 * log10(20000 / 32767.0), 0.2);
    assert_false(floor.dead);
}

static void a_dead_microphone_is_told_from_a_quiet_one(void **state)
{
    (void)state;
    memset(pcm, 0, sizeof pcm);
    assert_true(survey_floor(pcm, N, RATE).dead);
    for (size_t i = 0; i < N; i++)
        pcm[i] = -37; /* an offset and nothing else */
    assert_true(survey_floor(pcm, N, RATE).dead);
    noise(pcm, N, 2, 1);
    assert_false(survey_floor(pcm, N, RATE).dead);
}

static void clipping_is_told_from_loudness(void **state)
{
    (void)state;
    sine(pcm, N, 200, 32000);
    assert_int_equal(survey_clipping(pcm, N).stretches, 0);
    for (size_t i = 0; i < N; i++) { /* 3 dB over the end */
        double value = 46000 * sin(2 * PI * 200 * (double)i / RATE);
        pcm[i] = (int16_t)lrint(fmax(-32768, fmin(32767, value)));
    }
    struct survey_clipping clipping = survey_clipping(pcm, N);
    assert_int_equal(clipping.stretches, 2 * 200 * 4); /* both tops of 200 a second */
    /* the share of a period that is over: 1 - 2/pi asin(32700/46000), by hand */
    assert_near(clipping.share, 1 - 2 / PI * asin(32700 / 46000.0), 0.03); /* 80 samples a period */
    memset(pcm, 0, sizeof pcm);
    pcm[100] = pcm[101] = 32767; /* two samples are a click */
    assert_int_equal(survey_clipping(pcm, N).stretches, 0);
}

/* P.56 leaves the pauses out: bursts of a tone of -26 dBFS, half of the time, are -26 dBFS active
 * and -29 in all. */
static void the_speech_level_leaves_pauses_out(void **state)
{
    (void)state;
    const double peak = 32767 * pow(10, -26.0 / 20);
    sine(pcm, N, 997, peak);
    struct survey_speech always = survey_speech(pcm, N, RATE);
    assert_near(always.level_db, -26, 0.2);
    assert_near(always.activity, 1, 0.02);
    for (size_t i = 0; i < N; i++)
        if (i / RATE % 2 == 1)
            pcm[i] = 0;
    struct survey_speech half = survey_speech(pcm, N, RATE);
    assert_near(survey_level_db(pcm, N), -29, 0.1);
    assert_near(half.level_db, -26.8, 0.5); /* the hangover of 200 ms counts as speech */
    assert_near(half.activity, 0.6, 0.05);
    memset(pcm, 0, sizeof pcm);
    assert_near(survey_speech(pcm, N, RATE).level_db, SURVEY_SILENCE_DB, 0);
    assert_near(survey_speech(pcm, N, RATE).activity, 0, 0);
}

static void an_echo_is_found_and_measured(void **state)
{
    (void)state;
    static const struct {
        double db;
        size_t delay;
        double noise;
    } rooms[] = {{-6, 160, 0}, {-30, 1000, 0}, {-20, 3200, 300}, {6, 0, 10}};
    for (size_t i = 0; i < sizeof rooms / sizeof rooms[0]; i++) {
        memset(pcm, 0, sizeof pcm);
        survey_sweep(pcm, RATE, RATE);
        noise(other, N, rooms[i].noise, 5);
        double floor = survey_level_db(other, N), gain = pow(10, rooms[i].db / 20);
        for (size_t k = rooms[i].delay; k < N; k++)
            other[k] = (int16_t)(other[k] + gain * pcm[k - rooms[i].delay]);
        struct survey_echo echo = survey_echo(pcm, other, RATE * 3 / 2, RATE, floor);
        assert_true(echo.heard);
        assert_near(echo.db, rooms[i].db, 0.7);
        assert_near(echo.delay_ms, 1000.0 * (double)rooms[i].delay / RATE, 0.2);
    }
}

static void noise_and_speech_are_no_echo(void **state)
{
    (void)state;
    memset(pcm, 0, sizeof pcm);
    survey_sweep(pcm, RATE, RATE);
    for (uint32_t seed = 1; seed <= 5; seed++) {
        noise(other, N, 3000, seed);
        assert_false(survey_echo(pcm, other, RATE * 3 / 2, RATE, -30).heard);
    }
    sine(other, N, 997, 10000);
    assert_false(survey_echo(pcm, other, RATE * 3 / 2, RATE, -60).heard);
    memset(other, 0, sizeof other);
    assert_false(survey_echo(pcm, other, RATE * 3 / 2, RATE, -120).heard);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(levels_are_dbfs),
        cmocka_unit_test(the_floor_is_not_the_slammed_door),
        cmocka_unit_test(a_dead_microphone_is_told_from_a_quiet_one),
        cmocka_unit_test(clipping_is_told_from_loudness),
        cmocka_unit_test(the_speech_level_leaves_pauses_out),
        cmocka_unit_test(an_echo_is_found_and_measured),
        cmocka_unit_test(noise_and_speech_are_no_echo),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
