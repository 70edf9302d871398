/*
 * The network that puts cleaned cepstra right: voices and noises it never met come out nearer to
 * what they would have been without the noise, and what it does not know it leaves alone.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "level.h"
#include "noises.h"
#include "parallel.h"
#include "speech/clean.h"
#include "speech/enhance.h"
#include "speech/enhance_table.h"
#include "voices.h"

static struct parallel_cepstra cepstra;
static struct speech_enhancer *enhancer;

static bool pad(struct recording *said)
{
    return level_set(said, -26) && recording_pad(said, 300);
}

/* Mean square distance of the frames with speech, each cepstrum about the utterance's own mean, as
 * the recogniser takes them. */
static double distance(const struct parallel *pair)
{
    double sum = 0;
    size_t count = 0;
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++) {
        double mean = 0, square = 0;
        for (size_t f = 0; f < pair->frames; f++) {
            if (pair->noisy.kind[f] != SPEECH_FRAME_SPEECH)
                continue;
            double apart = (double)(pair->noisy.cleaned[f][c] - pair->wanted[f][c]);
            mean += apart;
            square += apart * apart;
            count += c == 0;
        }
        sum += square / (double)count - mean * mean / (double)count / (double)count;
    }
    return sum;
}

/* What is left of the distance that cleaning leaves. */
static double left(const char *voice, const char *kind, double snr_db)
{
    struct recording quiet, noisy;
    struct parallel pair;
    uint32_t random = 9;
    assert_true(voices_say(voice, "one seven point four millimetres", &quiet) && pad(&quiet));
    assert_true(voices_say(voice, "one seven point four millimetres", &noisy) && pad(&noisy));
    assert_true(noise_put_under(&quiet, "pink", 7, 40));
    assert_true(noise_put_under(&noisy, "pink", 7, 40));
    assert_true(noise_put_under(&noisy, kind, 7, snr_db));
    assert_true(parallel_make(cepstra.maker, &quiet, &noisy, &random, &pair));
    assert_true(pair.frames > 100);
    double cleaned = distance(&pair);
    assert_true(speech_enhance(enhancer, pair.noisy.cleaned,
                               (const float(*)[SPEECH_CEPSTRA])pair.noisy.reduced, pair.noisy.kind,
                               pair.noisy.frames, pair.noisy.mean));
    double enhanced = distance(&pair);
    print_message("%s, %s at %.0f dB: %.1f, then %.1f\n", voice, kind, snr_db, cleaned, enhanced);
    parallel_finish(&pair);
    recording_free(&quiet);
    recording_free(&noisy);
    return enhanced / cleaned;
}

/* Neither voice may be learned from, nor hammering (voices.c, noises.c). Loud noise must lose a
 * quarter of what it does to the cepstra over all, and nothing may get worse. */
static void a_strange_voice_comes_nearer_to_itself(void **state)
{
    (void)state;
    double loud = 0;
    static const char *const voices[] = {"rms", "slt"};
    static const char *const noises[] = {"pink", "compressor", "impacts"};
    for (size_t v = 0; v < 2; v++)
        for (size_t n = 0; n < 3; n++) {
            double at_5_db = left(voices[v], noises[n], 5);
            loud += at_5_db / 6;
            assert_true(at_5_db < 1.05);
            assert_true(left(voices[v], noises[n], 20) < 1.05);
        }
    assert_true(loud < 0.75);
}

/* The equations of enhance_table.h, in the order of the paper instead of the processor's. */
static double by_hand(const float input[ENHANCE_INPUTS], size_t cepstrum)
{
    static double value[ENHANCE_LAYERS + 1][ENHANCE_INPUTS];
    for (size_t i = 0; i < ENHANCE_INPUTS; i++)
        value[0][i] = (double)input[i];
    for (size_t l = 0; l < ENHANCE_LAYERS; l++)
        for (size_t o = 0; o < enhance_outputs[l]; o++) {
            const struct enhance_layer *layer = &enhance_table[l];
            double sum = 0;
            for (size_t i = 0; i < enhance_inputs[l]; i++)
                sum += value[l][i] * layer->weight[o * enhance_inputs[l] + i];
            sum = (double)layer->bias[o] + (double)layer->step[o] * sum;
            value[l + 1][o] = l + 1 < ENHANCE_LAYERS ? fmax(0, sum) : sum;
        }
    return value[ENHANCE_LAYERS][cepstrum];
}

enum { FRAMES = 40 };

static void fill(float frames[FRAMES][SPEECH_CEPSTRA], uint32_t seed)
{
    for (size_t f = 0; f < FRAMES; f++)
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
            frames[f][c] = (float)(20 * parallel_uniform(&seed) - 10);
}

static void the_network_is_the_table(void **state)
{
    (void)state;
    static float cleaned[FRAMES][SPEECH_CEPSTRA], before[FRAMES][SPEECH_CEPSTRA],
        reduced[FRAMES][SPEECH_CEPSTRA], input[ENHANCE_INPUTS];
    static const size_t seen[] = {0, 3, 20, FRAMES - 1};
    double noise[SPEECH_CEPSTRA], mean[SPEECH_CEPSTRA] = {1, -2, 3};
    unsigned char kind[FRAMES];
    fill(cleaned, 5);
    fill(reduced, 6);
    memcpy(before, cleaned, sizeof before);
    memset(kind, SPEECH_FRAME_SPEECH, sizeof kind);
    memset(kind, SPEECH_FRAME_NOISE, 10);
    assert_true(enhance_noise((const float(*)[SPEECH_CEPSTRA])reduced, kind, FRAMES, noise));
    assert_true(speech_enhance(enhancer, cleaned, (const float(*)[SPEECH_CEPSTRA])reduced, kind,
                               FRAMES, mean));
    for (size_t s = 0; s < sizeof seen / sizeof seen[0]; s++) {
        size_t f = seen[s];
        enhance_input((const float(*)[SPEECH_CEPSTRA])before,
                      (const float(*)[SPEECH_CEPSTRA])reduced, FRAMES, f, mean, noise, input);
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
            assert_true(fabs((double)cleaned[f][c] - (double)before[f][c] - by_hand(input, c)) <
                        1e-3);
    }
}

static void a_frame_s_input_is_its_neighbours_and_the_noise(void **state)
{
    (void)state;
    static float cleaned[FRAMES][SPEECH_CEPSTRA], reduced[FRAMES][SPEECH_CEPSTRA],
        input[ENHANCE_INPUTS];
    double mean[SPEECH_CEPSTRA] = {[3] = 2}, noise[SPEECH_CEPSTRA] = {[3] = 9};
    for (size_t f = 0; f < FRAMES; f++) {
        cleaned[f][3] = (float)f;
        reduced[f][3] = (float)(100 + f);
    }
    enhance_input((const float(*)[SPEECH_CEPSTRA])cleaned, (const float(*)[SPEECH_CEPSTRA])reduced,
                  FRAMES, 2, mean, noise, input);
    static const double first[ENHANCE_WINDOW] = {0, 0, 0, 0, 0, 1, 2, 3, 4, 5, 6, 7, 8};
    for (size_t k = 0; k < ENHANCE_WINDOW; k++) {
        assert_true((double)input[k * SPEECH_CEPSTRA + 3] == first[k] - 2);
        assert_true((double)input[(ENHANCE_WINDOW + k) * SPEECH_CEPSTRA + 3] == 98 + first[k]);
    }
    assert_true((double)input[2 * ENHANCE_WINDOW * SPEECH_CEPSTRA + 3] == 7);
}

static void what_it_does_not_know_it_leaves_alone(void **state)
{
    (void)state;
    static float cleaned[FRAMES][SPEECH_CEPSTRA], before[FRAMES][SPEECH_CEPSTRA];
    double mean[SPEECH_CEPSTRA] = {0};
    unsigned char kind[FRAMES];
    fill(cleaned, 5);
    memcpy(before, cleaned, sizeof before);
    memset(kind, SPEECH_FRAME_SPEECH, sizeof kind);
    memset(kind, SPEECH_FRAME_NOISE, ENHANCE_NOISE_FRAMES - 1);
    assert_false(speech_enhance(enhancer, cleaned, (const float(*)[SPEECH_CEPSTRA])before, kind,
                                FRAMES, mean));
    assert_memory_equal(cleaned, before, sizeof before);
    kind[ENHANCE_NOISE_FRAMES - 1] = SPEECH_FRAME_NOISE;
    kind[30] = SPEECH_FRAME_OUTSIDE;
    assert_true(speech_enhance(enhancer, cleaned, (const float(*)[SPEECH_CEPSTRA])before, kind,
                               FRAMES, mean));
    assert_memory_equal(cleaned[30], before[30], sizeof before[30]);
    assert_memory_not_equal(cleaned[31], before[31], sizeof before[31]);
}

static int open_all(void **state)
{
    (void)state;
    enhancer = speech_enhance_open();
    return enhancer != NULL && parallel_open(&cepstra) ? 0 : -1;
}

static int close_all(void **state)
{
    (void)state;
    parallel_close(&cepstra);
    speech_enhance_close(enhancer);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_strange_voice_comes_nearer_to_itself),
        cmocka_unit_test(the_network_is_the_table),
        cmocka_unit_test(a_frame_s_input_is_its_neighbours_and_the_noise),
        cmocka_unit_test(what_it_does_not_know_it_leaves_alone),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
