/*
 * Noise taken off cepstra: made-up speech (steps between the acoustic model's own Gaussians) has
 * noise's power added band by band, which is what the cleaning claims to undo.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "speech/clean.h"

enum { FRAMES = 160, EDGE = 40, BANDS = 25 };

static const double MEAN[SPEECH_CEPSTRA] = {41.00, -5.29, -0.12, 5.09,  2.48,  -4.07, -1.37,
                                            -1.78, -5.08, -2.05, -6.45, -1.42, 1.17};
static const double PI = 3.14159265358979323846;

static struct speech_acoustic *model;

struct sound {
    float clean[FRAMES][SPEECH_CEPSTRA], noisy[FRAMES][SPEECH_CEPSTRA];
    unsigned char kind[FRAMES];
};

static uint32_t random_state;

static double uniform(void)
{
    random_state = random_state * 1664525u + 1013904223u;
    return (double)(random_state >> 8) / 16777216.0;
}

static double lift(int c)
{
    return 1 + 11 * sin(PI * c / 22);
}

static double wave(int c, int band)
{
    return sqrt((c == 0 ? 1.0 : 2.0) / BANDS) * cos(PI * c * (band + 0.5) / BANDS);
}

/* Adds power `noise_nats` (log, each band, jittered) to a frame. */
static void add_noise(const float clean[SPEECH_CEPSTRA], double noise_nats,
                      float noisy[SPEECH_CEPSTRA])
{
    double band[BANDS];
    for (int b = 0; b < BANDS; b++) {
        band[b] = 0;
        for (int c = 0; c < SPEECH_CEPSTRA; c++)
            band[b] += wave(c, b) * (double)clean[c] / lift(c);
        band[b] = log(exp(band[b]) + exp(noise_nats + 0.6 * (uniform() - 0.5)));
    }
    for (int c = 0; c < SPEECH_CEPSTRA; c++) {
        double sum = 0;
        for (int b = 0; b < BANDS; b++)
            sum += wave(c, b) * lift(c) * band[b];
        noisy[c] = (float)sum;
    }
}

static void make_sound(struct sound *sound, double noise_nats)
{
    const struct speech_prior *prior = speech_acoustic_prior(model);
    random_state = 5;
    size_t k = 0;
    for (int f = 0; f < FRAMES; f++) {
        bool speech = f >= EDGE && f < FRAMES - EDGE;
        if (f % 8 == 0) /* a phone's length */
            k = (size_t)(uniform() * (double)prior->count);
        sound->kind[f] = speech ? SPEECH_FRAME_SPEECH : SPEECH_FRAME_NOISE;
        for (int c = 0; c < SPEECH_CEPSTRA; c++) {
            double spread = sqrt((double)prior->variance[c][k]) * (uniform() - 0.5);
            double level = MEAN[c] + (double)prior->mean[c][k] + spread;
            sound->clean[f][c] = (float)(speech ? level : c == 0 ? -40 : 0);
        }
        add_noise(sound->clean[f], noise_nats, sound->noisy[f]);
    }
}

/* Mean distance of the speech's frames from the clean ones. */
static double distance(const struct sound *sound, float (*cepstra)[SPEECH_CEPSTRA])
{
    double sum = 0;
    for (int f = EDGE; f < FRAMES - EDGE; f++)
        for (int c = 0; c < SPEECH_CEPSTRA; c++)
            sum += fabs((double)(cepstra[f][c] - sound->clean[f][c]));
    return sum / (FRAMES - 2 * EDGE);
}

static void noise_is_taken_off(void **state)
{
    (void)state;
    static const double levels[] = {4, 6, 8}; /* speech's bands are about 41 / sqrt(25) = 8.2 */
    for (size_t l = 0; l < 3; l++) {
        static struct sound sound;
        make_sound(&sound, levels[l]);
        double before = distance(&sound, sound.noisy);
        assert_true(
            speech_clean(speech_acoustic_prior(model), sound.noisy, sound.kind, FRAMES, MEAN, 20));
        double after = distance(&sound, sound.noisy);
        print_message("noise at %.0f: %.1f away from clean, %.1f once cleaned\n", levels[l], before,
                      after);
        assert_true(after < 0.8 * before);
    }
}

static void where_there_is_no_noise_nothing_is_taken_off(void **state)
{
    (void)state;
    static struct sound sound;
    static float noisy[FRAMES][SPEECH_CEPSTRA];
    make_sound(&sound, -12);
    memcpy(noisy, sound.noisy, sizeof noisy);
    assert_true(
        speech_clean(speech_acoustic_prior(model), sound.noisy, sound.kind, FRAMES, MEAN, 20));
    double moved = 0;
    for (int f = EDGE; f < FRAMES - EDGE; f++)
        for (int c = 0; c < SPEECH_CEPSTRA; c++)
            moved = fmax(moved, fabs((double)(sound.noisy[f][c] - noisy[f][c])));
    print_message("moved by %.4f at most\n", moved);
    assert_true(moved < 0.1);
}

static void without_noise_to_learn_from_it_keeps_its_hands_off(void **state)
{
    (void)state;
    static struct sound sound;
    static float noisy[FRAMES][SPEECH_CEPSTRA];
    make_sound(&sound, 6);
    memset(sound.kind, SPEECH_FRAME_SPEECH, sizeof sound.kind);
    sound.kind[0] = SPEECH_FRAME_NOISE;
    memcpy(noisy, sound.noisy, sizeof noisy);
    assert_false(
        speech_clean(speech_acoustic_prior(model), sound.noisy, sound.kind, FRAMES, MEAN, 20));
    assert_memory_equal(noisy, sound.noisy, sizeof noisy);
}

int main(void)
{
    struct fault fault = {0};
    model = speech_acoustic_open(MODEL_DIR "/en-us", &fault);
    if (model == NULL)
        return 1;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(noise_is_taken_off),
        cmocka_unit_test(where_there_is_no_noise_nothing_is_taken_off),
        cmocka_unit_test(without_noise_to_learn_from_it_keeps_its_hands_off),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    speech_acoustic_close(model);
    return failed;
}
