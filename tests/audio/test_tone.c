/* The beeps: told apart by pitch alone and by rhythm alone, inside their band, without clicks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "audio/tone.h"

enum { RATE = 16000, NOTES_MAX = 8 };
static const double pi = 3.14159265358979323846;

/* What an ear has of it: the notes' lengths, the gaps between them, and their pitches by counting
 * zero crossings. */
struct heard {
    int notes;
    int ms[NOTES_MAX], gap_ms[NOTES_MAX], hz[NOTES_MAX];
};

/* Silent where the next 4 ms are: a sine within a note is never zero for so long. */
static bool is_silent(const int16_t *pcm, size_t frames, size_t at)
{
    for (size_t i = at; i < frames && i < at + RATE / 250; i++)
        if (abs(pcm[i]) > 4)
            return false;
    return true;
}

static struct heard listen(enum audio_tone tone)
{
    static int16_t pcm[AUDIO_TONE_FRAMES_MAX];
    struct heard heard = {0};
    size_t frames = audio_tone(tone, RATE, AUDIO_TONE_LEVEL, pcm);
    for (size_t at = 0; at < frames;) {
        size_t from = at;
        while (at < frames && is_silent(pcm, frames, at))
            at++;
        if (heard.notes > 0)
            heard.gap_ms[heard.notes - 1] = (int)((at - from) * 1000 / RATE);
        size_t start = at;
        int crossings = 0;
        for (; at < frames && !is_silent(pcm, frames, at); at++)
            if (at > start && (pcm[at] >= 0) != (pcm[at - 1] >= 0))
                crossings++;
        if (at == start)
            break;
        assert_true(heard.notes < NOTES_MAX);
        heard.ms[heard.notes] = (int)((at - start) * 1000 / RATE);
        heard.hz[heard.notes++] = (int)((double)crossings / 2 * RATE / (double)(at - start));
    }
    return heard;
}

static void every_sound_has_its_own_rhythm(void **state)
{
    (void)state;
    for (int a = 0; a < AUDIO_TONE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            struct heard x = listen((enum audio_tone)a), y = listen((enum audio_tone)b);
            /* another number of notes, or a gap longer by half at the least */
            bool slower = x.notes == y.notes && x.notes > 1 &&
                          abs(x.gap_ms[0] - y.gap_ms[0]) > (x.gap_ms[0] + y.gap_ms[0]) / 4;
            assert_true(x.notes != y.notes || slower);
        }
    }
}

/* Two pitches are surely told apart from a major second, 9/8, up. */
static void every_sound_has_its_own_pitches(void **state)
{
    (void)state;
    for (int a = 0; a < AUDIO_TONE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            struct heard x = listen((enum audio_tone)a), y = listen((enum audio_tone)b);
            double first = (double)x.hz[0] / y.hz[0];
            assert_true(first > 9.0 / 8 - 0.01 || first < 8.0 / 9 + 0.01);
        }
    }
}

static void accepted_rises_and_asked_again_falls(void **state)
{
    (void)state;
    struct heard accepted = listen(AUDIO_TONE_ACCEPTED), again = listen(AUDIO_TONE_ASKED_AGAIN);
    assert_int_equal(accepted.notes, 2);
    assert_int_equal(again.notes, 2);
    assert_true(accepted.hz[1] > accepted.hz[0] * 5 / 4);
    assert_true(again.hz[1] < again.hz[0] * 4 / 5);
    assert_int_equal(listen(AUDIO_TONE_HEARD).notes, 1);
    assert_int_equal(listen(AUDIO_TONE_WRONG_KEY).notes, 3);
}

/* Power between two frequencies, by the discrete Fourier transform. */
static double power_between(const int16_t *pcm, size_t n, double low_hz, double high_hz)
{
    double sum = 0;
    for (size_t k = (size_t)(low_hz * (double)n / RATE); (double)k * RATE < high_hz * (double)n;
         k++) {
        double re = 0, im = 0;
        for (size_t i = 0; i < n; i++) {
            double angle = 2 * pi * (double)(k * i % n) / (double)n;
            re += pcm[i] * cos(angle);
            im += pcm[i] * sin(angle);
        }
        sum += re * re + im * im;
    }
    return sum;
}

static void nothing_lies_outside_the_band(void **state)
{
    (void)state;
    static int16_t pcm[AUDIO_TONE_FRAMES_MAX];
    for (int tone = 0; tone < AUDIO_TONE_COUNT; tone++) {
        size_t n = audio_tone((enum audio_tone)tone, RATE, AUDIO_TONE_LEVEL, pcm);
        double inside = power_between(pcm, n, 500, 2500);
        double outside = power_between(pcm, n, 0, 500) + power_between(pcm, n, 2500, RATE / 2.0);
        assert_true(10 * log10(outside / inside) < -35);
    }
}

static void it_begins_and_ends_softly_at_every_rate(void **state)
{
    (void)state;
    static const int rates[] = {8000, 16000, 22050, 44100, 48000};
    static int16_t pcm[AUDIO_TONE_FRAMES_MAX + 1];
    for (size_t r = 0; r < sizeof rates / sizeof rates[0]; r++) {
        for (int tone = 0; tone < AUDIO_TONE_COUNT; tone++) {
            pcm[AUDIO_TONE_FRAMES_MAX] = 77;
            size_t n = audio_tone((enum audio_tone)tone, rates[r], 1, pcm);
            assert_in_range(n, (size_t)rates[r] * 40 / 1000,
                            (size_t)rates[r] * AUDIO_TONE_MS_MAX / 1000);
            assert_int_equal(pcm[AUDIO_TONE_FRAMES_MAX], 77);
            assert_true(abs(pcm[0]) < 100 && abs(pcm[n - 1]) < 100);
            assert_true(abs(pcm[1]) < 700 && abs(pcm[n - 2]) < 700);
        }
    }
}

static void no_sense_is_no_sound(void **state)
{
    (void)state;
    int16_t pcm[1];
    assert_int_equal(audio_tone((enum audio_tone)99, RATE, 0.5, pcm), 0);
    assert_int_equal(audio_tone(AUDIO_TONE_HEARD, 0, 0.5, pcm), 0);
    assert_int_equal(audio_tone(AUDIO_TONE_HEARD, 96000, 0.5, pcm), 0);
    assert_int_equal(audio_tone(AUDIO_TONE_HEARD, RATE, 1.5, pcm), 0);
    assert_int_equal(audio_tone(AUDIO_TONE_HEARD, RATE, NAN, pcm), 0);
    assert_string_equal(audio_tone_name((enum audio_tone)99), "?");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_sound_has_its_own_rhythm),
        cmocka_unit_test(every_sound_has_its_own_pitches),
        cmocka_unit_test(accepted_rises_and_asked_again_falls),
        cmocka_unit_test(nothing_lies_outside_the_band),
        cmocka_unit_test(it_begins_and_ends_softly_at_every_rate),
        cmocka_unit_test(no_sense_is_no_sound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
