/*
 * What stands out of a noise, band by band. A sine's and a noise's energies are known, so what the
 * level is to be can be worked out; voices are to be found in noise where they are without it.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "noises.h"
#include "recording.h"
#include "speech/front.h"
#include "speech/over_floor.h"
#include "speech/recogniser.h"
#include "voices.h"

enum { STEPS = 300, FROM = 100, TO = 200, EDGE = 5 }; /* a second of a sine in three of a noise */

static const double NOISE = 1000; /* root mean square, in 16-bit steps */

/* White noise, and the sine so many dB under it in the second second. */
static void make(double hz, double under_db, int16_t *pcm)
{
    static double noise[STEPS * SPEECH_FRAME];
    double height = sqrt(2) * NOISE * pow(10, -under_db / 20);
    assert_true(noise_make(noise_named("white"), 3, NULL, noise, STEPS * SPEECH_FRAME));
    for (size_t i = 0; i < STEPS * SPEECH_FRAME; i++) {
        bool sounds = i / SPEECH_FRAME >= FROM && i / SPEECH_FRAME < TO;
        double sine = sounds ? height * sin(2 * M_PI * hz * (double)i / SPEECH_RATE_HZ) : 0;
        pcm[i] = (int16_t)lrint(NOISE * noise[i] + sine);
    }
}

static double mean(const double *level, size_t from, size_t to)
{
    double sum = 0;
    for (size_t s = from; s < to; s++)
        sum += level[s];
    return sum / (double)(to - from);
}

/*
 * Of 16 bands as wide as each other in mel the one from 388 to 554 Hz takes five bins of 31.25 Hz,
 * a 51st of the noise (8 kHz): a sine 3 dB under the noise is 14 dB over what is there, and the
 * mean over the bands rises by 10 log10((16 + 25.6) / 16) = 4.1 dB. All of the energy rises by 1.8
 * dB.
 */
static void test_a_sine_stands_out_of_its_own_band(void **state)
{
    static int16_t pcm[STEPS * SPEECH_FRAME];
    double level[STEPS];
    (void)state;
    make(437.5, 3, pcm);
    assert_true(speech_over_floor(pcm, STEPS, 6, level));
    double over = mean(level, FROM + EDGE, TO - EDGE) - mean(level, EDGE, FROM - EDGE);
    assert_true(fabs(over - 4.1) < 0.8);
}

static void test_a_steady_noise_is_level(void **state)
{
    static int16_t pcm[STEPS * SPEECH_FRAME];
    double level[STEPS];
    (void)state;
    make(1000, 100, pcm);
    assert_true(speech_over_floor(pcm, STEPS, 6, level));
    for (size_t s = EDGE; s + EDGE < STEPS; s++) /* a floor is under its band: the mean is over 0 */
        assert_true(level[s] > 0 && level[s] < 2.5);
}

static void test_nothing_at_all_is_level_too(void **state)
{
    static const int16_t zeros[STEPS * SPEECH_FRAME];
    double level[STEPS];
    (void)state;
    assert_true(speech_over_floor(zeros, STEPS, 6, level));
    for (size_t s = 0; s < STEPS; s++)
        assert_true(fabs(level[s]) < 1e-9);
}

/* ---- what the front end makes of it ---- */

enum { STEPS_MOST = 1000 };

/* The steps of the recording that the front end takes for speech. */
static size_t find(const struct recording *recording, bool speech[STEPS_MOST])
{
    struct speech_front front;
    size_t steps = recording->frames / SPEECH_FRAME;
    assert_true(steps <= STEPS_MOST);
    assert_true(speech_front_make(recording->pcm, recording->frames, &front));
    for (size_t s = 0; s < steps; s++) {
        long at = (long)s - front.from / SPEECH_FRAME;
        speech[s] = at >= 0 && at < (long)front.steps && front.speech[at];
    }
    speech_front_finish(&front);
    return steps;
}

struct found {
    double speech, of_speech, rest, of_rest; /* steps, by what they are without the noise */
};

static void compare(const char *noise, int snr_db, const struct recording *quiet,
                    struct found *found)
{
    static bool before[STEPS_MOST], after[STEPS_MOST];
    struct recording noisy;
    assert_true(recording_copy(quiet, &noisy) && noise_put_under(&noisy, noise, 5, snr_db));
    size_t steps = find(quiet, before);
    assert_int_equal(find(&noisy, after), steps);
    for (size_t s = 0; s < steps; s++) {
        *(before[s] ? &found->of_speech : &found->of_rest) += 1;
        *(before[s] ? &found->speech : &found->rest) += after[s];
    }
    recording_free(&noisy);
}

/* Of the steps that hold speech in quiet most are found in noise, and few others are taken for it.
 */
static void test_a_voice_is_found_in_noise(void **state)
{
    static const char *const said[] = {"counter clockwise", "two point one four millimetres", "no",
                                       "the lock nut is tight", "stop"};
    static const char *const noises[] = {"white", "pink", "compressor", "engine"};
    (void)state;
    for (size_t n = 0; n < sizeof noises / sizeof noises[0]; n++)
        for (int snr_db = 10; snr_db >= 0; snr_db -= 5) {
            struct found found = {0};
            for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
                struct recording quiet;
                assert_true(voices_say(i % 2 ? "awb" : "kal16", said[i], &quiet) &&
                            recording_pad(&quiet, 400) && noise_put_under(&quiet, "pink", 5, 40));
                compare(noises[n], snr_db, &quiet, &found);
                recording_free(&quiet);
            }
            double hit = found.speech / found.of_speech, false_alarm = found.rest / found.of_rest;
            print_message("%s at %d dB: %.0f %% of the speech found, %.0f %% of the rest\n",
                          noises[n], snr_db, 100 * hit, 100 * false_alarm);
            assert_true(hit > 0.65 && false_alarm < 0.1);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_sine_stands_out_of_its_own_band),
        cmocka_unit_test(test_a_steady_noise_is_level),
        cmocka_unit_test(test_nothing_at_all_is_level_too),
        cmocka_unit_test(test_a_voice_is_found_in_noise),
    };
    return cmocka_run_group_tests_name("over floor", tests, NULL, NULL);
}
