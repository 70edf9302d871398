/*
 * The network that knows which sound is where: it computes what its table says, it knows the sounds
 * of voices and noises that it never met better than the Gaussians do, and it knows when nobody
 * speaks. Only differences between the two hearings of one sound count, so that what is expected
 * comes from no earlier run.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "align.h"
#include "level.h"
#include "noises.h"
#include "speech/clean.h"
#include "speech/phonetic_table.h"
#include "speech/recogniser.h"
#include "voices.h"

static struct align *align;
static struct speech_phonetic *network;

static int open_all(void **state)
{
    (void)state;
    align = align_open();
    network = speech_phonetic_open();
    return align != NULL && network != NULL ? 0 : -1;
}

static int close_all(void **state)
{
    (void)state;
    speech_phonetic_close(network);
    align_close(align);
    return 0;
}

/* ---- the table ---- */

enum { FRAMES = 30, ROWS = 128, WIDE = 512 };

/* One layer in doubles, as phonetic_table.h describes it: nothing unpacked, nothing joined. */
static size_t layer_of(size_t l, double (*in)[WIDE], size_t rows, const double noise[PHONETIC_MEL],
                       double (*out)[WIDE])
{
    const struct phonetic_layer *layer = &phonetic_table[l];
    size_t width = layer->taps * layer->inputs + (l == 0 ? PHONETIC_MEL : 0);
    rows -= (layer->taps - 1) * layer->apart;
    for (size_t r = 0; r < rows; r++)
        for (size_t o = 0; o < layer->outputs; o++) {
            double sum = 0;
            for (size_t w = 0; w < width; w++) {
                size_t tap = w / layer->inputs, input = w % layer->inputs;
                double seen = tap < layer->taps ? in[r + tap * layer->apart][input] : noise[input];
                sum += seen * layer->weight[o * width + w];
            }
            sum = sum * (double)layer->step[o] + (double)layer->bias[o];
            out[r][o] = l + 1 < phonetic_layers ? fmax(0, sum) : sum;
        }
    return rows;
}

static size_t reach(void)
{
    size_t frames = 0;
    for (size_t l = 0; l < phonetic_layers; l++)
        frames += (phonetic_table[l].taps - 1) * phonetic_table[l].apart;
    return frames / 2;
}

/* Frames 0 to 9 are the noise, the others speech; both known well enough that no bound is met. */
static void make_frames(struct speech_seen *seen)
{
    for (size_t f = 0; f < FRAMES; f++) {
        seen->kind[f] = f < 10 ? SPEECH_FRAME_NOISE : SPEECH_FRAME_SPEECH;
        for (size_t b = 0; b < PHONETIC_MEL; b++)
            seen->mel[f][b] = phonetic_mean[b] - (f < 10 ? 4 : 0) + sinf((float)(f * 7 + b * 3));
        for (size_t p = 0; p < PHONETIC_PHONES; p++)
            seen->fit[f][p] = (float)((f * 5 + p * 11) % 42);
    }
}

static void what_it_sees(const struct speech_seen *seen, double (*rows)[WIDE],
                         double noise[PHONETIC_MEL])
{
    for (size_t b = 0; b < PHONETIC_MEL; b++) {
        double speech = 20 * (double)phonetic_mean[b], quiet = 0;
        for (size_t f = 0; f < FRAMES; f++)
            *(f < 10 ? &quiet : &speech) += (double)seen->mel[f][b];
        double mean = speech / (20 + FRAMES - 10);
        noise[b] = quiet / 10 - mean;
        for (size_t r = 0; r < FRAMES + 2 * reach(); r++) {
            size_t f = r < reach() ? 0 : r - reach() >= FRAMES ? FRAMES - 1 : r - reach();
            rows[r][b] = (double)seen->mel[f][b] - mean;
            for (size_t p = 0; p < PHONETIC_PHONES; p++)
                rows[r][PHONETIC_MEL + p] = -log(1 + (double)seen->fit[f][p]);
        }
    }
}

static void it_computes_what_its_table_says(void **state)
{
    (void)state;
    static double layer[2][ROWS][WIDE], noise[PHONETIC_MEL];
    static float mel[FRAMES][PHONETIC_MEL], fit[FRAMES][PHONETIC_PHONES];
    static float nats[FRAMES][PHONETIC_SOUNDS];
    unsigned char kind[FRAMES];
    struct speech_seen seen = {FRAMES, mel, fit, kind};
    assert_true(FRAMES + 2 * reach() <= ROWS);
    make_frames(&seen);
    what_it_sees(&seen, layer[0], noise);
    size_t rows = FRAMES + 2 * reach();
    for (size_t l = 0; l < phonetic_layers; l++)
        rows = layer_of(l, layer[l % 2], rows, noise, layer[(l + 1) % 2]);
    assert_int_equal(rows, FRAMES);
    assert_true(speech_phonetic_read(network, &seen, nats));
    double(*sum)[WIDE] = layer[phonetic_layers % 2], silence = 0;
    for (size_t f = 0; f < FRAMES; f++) {
        double total = 0;
        for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
            total += exp(sum[f][s]);
        for (size_t s = 0; s < PHONETIC_SOUNDS; s++) {
            size_t of =
                s / 3 == PHONETIC_SILENCE || s / 3 <= PHONETIC_NOISES ? 3 * PHONETIC_SILENCE : s;
            double expected = sum[f][of] - log(total) - (double)phonetic_share[of];
            assert_true(fabs(expected - (double)nats[f][s]) < 1e-3);
        }
        silence = exp(sum[f][3 * PHONETIC_SILENCE]) / total;
        float chance[PHONETIC_PHONES];
        speech_phonetic_chances(nats[f], chance);
        assert_true(fabs(silence - (double)chance[PHONETIC_SILENCE]) < 1e-3);
    }
}

static void the_shares_are_of_one_whole(void **state)
{
    (void)state;
    double sum = 0;
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        sum += exp((double)phonetic_share[s]);
    assert_true(fabs(sum - 1) < 1e-4);
}

/* ---- sounds in noise ---- */

static struct recording said(const char *voice, const char *words)
{
    struct recording recording;
    assert_true(voices_say(voice, words, &recording));
    assert_true(level_set(&recording, -26) && recording_pad(&recording, 300));
    return recording;
}

static void a_word_said_twice_is_found_twice(void **state)
{
    (void)state;
    struct recording recording = said("slt", "eighty eighty");
    struct align_sounds sounds;
    size_t began = 0; /* EY, which "eighty" has once, each time after another sound */
    assert_true(align_words(align, &recording, "eighty eighty", &sounds));
    for (size_t f = 1; f < sounds.frames; f++)
        began += sounds.sound[f] == 3 * 14 && sounds.sound[f - 1] != 3 * 14;
    assert_int_equal(began, 2);
    free(sounds.sound);
    recording_free(&recording);
}

struct known {
    double network, gaussians, frames;
};

static size_t best_of(const float nats[PHONETIC_SOUNDS])
{
    size_t best = 0;
    for (size_t s = 1; s < PHONETIC_SOUNDS; s++)
        best = nats[s] > nats[best] ? s : best;
    return best / PHONETIC_STATES;
}

/* Counts the frames of speech in which each names the right phone of all. */
static void count_known(const struct recording *noisy, const struct align_sounds *sounds,
                        struct known *known)
{
    struct speech_front front;
    struct speech_seen seen;
    unsigned char *gaussians;
    assert_true(speech_front_make(noisy->pcm, noisy->frames, &front));
    assert_true(align_see(align, &front, &seen));
    assert_true(align_best(align, &front, &gaussians, seen.frames));
    float(*nats)[PHONETIC_SOUNDS] = malloc(seen.frames * sizeof *nats);
    assert_true(speech_phonetic_read(network, &seen, nats));
    for (size_t f = 0; f < seen.frames; f++) {
        long at = front.from / SPEECH_FRAME + (long)f - sounds->from;
        if (at < 0 || at >= (long)sounds->frames)
            continue;
        size_t phone = sounds->sound[at] / PHONETIC_STATES;
        if (phone == PHONETIC_SILENCE)
            continue;
        known->frames++;
        known->network += best_of(nats[f]) == phone;
        known->gaussians += gaussians[f] / PHONETIC_STATES == phone;
    }
    free(nats);
    free(gaussians);
    speech_seen_finish(&seen);
    speech_front_finish(&front);
}

static void it_knows_sounds_in_noise_better_than_the_gaussians(void **state)
{
    (void)state;
    static const char *const voices[] = {"slt", "rms"}; /* for reporting only: voices.c */
    static const char *const noises[] = {"pink", "engine", "impacts"};
    static const char *const sentences[] = {"seven sixteenths of an inch", "it is hard to find",
                                            "the bike is strapped and upright"};
    for (size_t n = 0; n < 3; n++) {
        struct known known = {0};
        for (size_t v = 0; v < 2; v++)
            for (size_t s = 0; s < 3; s++) {
                struct recording recording = said(voices[v], sentences[s]);
                struct align_sounds sounds;
                assert_true(align_words(align, &recording, sentences[s], &sounds));
                assert_true(noise_put_under(&recording, noises[n], 11, 5));
                count_known(&recording, &sounds, &known);
                free(sounds.sound);
                recording_free(&recording);
            }
        print_message(
            "%s at 5 dB: right phone of %.0f frames: network %.0f %%, Gaussians %.0f %%\n",
            noises[n], known.frames, 100 * known.network / known.frames,
            100 * known.gaussians / known.frames);
        assert_true(known.network > known.gaussians);
    }
}

/* ---- nobody ---- */

/* The mean chance of silence over the frames that the front end takes for speech. */
static double silence_in(const struct recording *recording)
{
    struct speech_front front;
    struct speech_seen seen;
    double sum = 0, count = 0;
    assert_true(speech_front_make(recording->pcm, recording->frames, &front));
    assert_true(front.speech_steps > 0 && align_see(align, &front, &seen));
    float(*nats)[PHONETIC_SOUNDS] = malloc(seen.frames * sizeof *nats);
    assert_true(speech_phonetic_read(network, &seen, nats));
    for (size_t f = 0; f < seen.frames; f++)
        if (seen.kind[f] == SPEECH_FRAME_SPEECH) {
            float chance[PHONETIC_PHONES];
            speech_phonetic_chances(nats[f], chance);
            sum += (double)chance[PHONETIC_SILENCE];
            count++;
        }
    free(nats);
    speech_seen_finish(&seen);
    speech_front_finish(&front);
    return sum / count;
}

static void it_knows_a_dropped_tool_from_a_word(void **state)
{
    (void)state;
    enum { LONG = 3 * SPEECH_RATE_HZ };
    struct recording word = said("slt", "seventeen"), tool = {malloc(LONG * 2), LONG};
    double *noise = malloc(LONG * sizeof *noise);
    assert_true(noise != NULL && tool.pcm != NULL);
    assert_true(noise_make(noise_named("tools"), 3, NULL, noise, LONG)); /* for reporting only */
    for (size_t i = 0; i < LONG; i++)
        tool.pcm[i] = (int16_t)fmax(-32768, fmin(32767, 1600 * noise[i]));
    double of_word = silence_in(&word), of_tool = silence_in(&tool);
    print_message("taken for nobody's speech: %.2f of a word, %.2f of tools dropped\n", of_word,
                  of_tool);
    assert_true(of_word < 0.2 && of_tool > 0.6);
    free(noise);
    recording_free(&word);
    recording_free(&tool);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_computes_what_its_table_says),
        cmocka_unit_test(the_shares_are_of_one_whole),
        cmocka_unit_test(a_word_said_twice_is_found_twice),
        cmocka_unit_test(it_knows_sounds_in_noise_better_than_the_gaussians),
        cmocka_unit_test(it_knows_a_dropped_tool_from_a_word),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
