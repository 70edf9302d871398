/* The network's forward pass: see phonetic.h. */
#include "speech/phonetic.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/hash.h"
#include "speech/clean.h"
#include "speech/layer.h"
#include "speech/phonetic_network.h"

/* What teach_phonetic.py does to what the network sees, too. */
enum { MEAN_FRAMES = 20, NOISE_FRAMES = 5 };
static const float LEAST = -10, MOST = 6, NOISE_LEAST = -8, NOISE_MOST = 2, NOISE_UNKNOWN = -6;

enum { SILENCE = PHONETIC_STATES * PHONETIC_SILENCE };

size_t phonetic_inputs(size_t l)
{
    const struct phonetic_layer *layer = &phonetic_table[l];
    return layer->taps * layer->inputs + (l == 0 ? PHONETIC_MEL : 0);
}

size_t phonetic_weights(size_t l)
{
    return (phonetic_inputs(l) + 1) * phonetic_table[l].outputs;
}

struct speech_phonetic *phonetic_blank(void)
{
    struct speech_phonetic *network = calloc(1, sizeof *network);
    for (size_t l = 0; network != NULL && l < phonetic_layers; l++)
        if ((network->weight[l] = calloc(phonetic_weights(l), sizeof(float))) == NULL) {
            speech_phonetic_close(network);
            return NULL;
        }
    return network;
}

struct speech_phonetic *speech_phonetic_open(void)
{
    struct speech_phonetic *network = phonetic_blank();
    for (size_t l = 0; network != NULL && l < phonetic_layers; l++) {
        const struct phonetic_layer *layer = &phonetic_table[l];
        size_t inputs = phonetic_inputs(l);
        speech_layer_unpack(layer->weight, layer->step, inputs, layer->outputs, network->weight[l]);
        memcpy(network->weight[l] + inputs * layer->outputs, layer->bias,
               layer->outputs * sizeof(float));
    }
    return network;
}

void speech_phonetic_close(struct speech_phonetic *network)
{
    for (size_t l = 0; network != NULL && l < phonetic_layers; l++)
        free(network->weight[l]);
    free(network);
}

/* ---- what it sees ---- */

void speech_seen_finish(struct speech_seen *seen)
{
    free(seen->mel);
    free(seen->fit);
    free(seen->kind);
    *seen = (struct speech_seen){0};
}

static void means(const struct speech_seen *seen, float mean[PHONETIC_MEL],
                  float noise[PHONETIC_MEL])
{
    double speech[PHONETIC_MEL], quiet[PHONETIC_MEL] = {0};
    double speech_frames = MEAN_FRAMES, quiet_frames = 0;
    for (size_t b = 0; b < PHONETIC_MEL; b++)
        speech[b] = MEAN_FRAMES * (double)phonetic_mean[b];
    for (size_t f = 0; f < seen->frames; f++) {
        if (seen->kind[f] == SPEECH_FRAME_OUTSIDE)
            continue;
        double *sum = seen->kind[f] == SPEECH_FRAME_SPEECH ? speech : quiet;
        for (size_t b = 0; b < PHONETIC_MEL; b++)
            sum[b] += (double)seen->mel[f][b];
        *(seen->kind[f] == SPEECH_FRAME_SPEECH ? &speech_frames : &quiet_frames) += 1;
    }
    for (size_t b = 0; b < PHONETIC_MEL; b++) {
        mean[b] = (float)(speech[b] / speech_frames);
        noise[b] = NOISE_UNKNOWN;
        if (quiet_frames >= NOISE_FRAMES)
            noise[b] =
                fmaxf(NOISE_LEAST, fminf(NOISE_MOST, (float)(quiet[b] / quiet_frames) - mean[b]));
    }
}

size_t phonetic_shorter(const struct phonetic_layer *layer)
{
    return (layer->taps - 1) * layer->apart;
}

size_t phonetic_reach(void)
{
    size_t frames = 0;
    for (size_t l = 0; l < phonetic_layers; l++)
        frames += phonetic_shorter(&phonetic_table[l]);
    return frames;
}

/* The frames less the mean, and how little each phone fits there, the first and last repeated as
 * far as the network reaches. */
void phonetic_see(const struct speech_seen *seen, float *in, float noise[PHONETIC_MEL])
{
    float mean[PHONETIC_MEL];
    long before = (long)phonetic_reach() / 2, frames = (long)seen->frames;
    means(seen, mean, noise);
    for (long f = -before; f < frames + before; f++) {
        long at = f < 0 ? 0 : f >= frames ? frames - 1 : f;
        for (size_t b = 0; b < PHONETIC_MEL; b++)
            *in++ = fmaxf(LEAST, fminf(MOST, seen->mel[at][b] - mean[b]));
        for (size_t p = 0; p < PHONETIC_PHONES; p++)
            *in++ = -log1pf(seen->fit[at][p]);
    }
}

/* ---- a layer ---- */

void phonetic_run(const struct speech_phonetic *network, size_t l, const float *in,
                  const float noise[PHONETIC_MEL], size_t rows, float *out)
{
    const struct phonetic_layer *layer = &phonetic_table[l];
    size_t tap = layer->inputs * layer->outputs;
    const float *weight = network->weight[l];
    float begins[PHONETIC_WIDEST];
    memcpy(begins, weight + phonetic_inputs(l) * layer->outputs, layer->outputs * sizeof *begins);
    if (l == 0)
        speech_layer_add(weight + layer->taps * tap, noise, PHONETIC_MEL, layer->outputs, begins);
    for (size_t r = 0; r < rows; r++, out += layer->outputs) {
        memcpy(out, begins, layer->outputs * sizeof *out);
        for (size_t t = 0; t < layer->taps; t++)
            speech_layer_add(weight + t * tap, in + (r + t * layer->apart) * layer->inputs,
                             layer->inputs, layer->outputs, out);
        for (size_t o = 0; l + 1 < phonetic_layers && o < layer->outputs; o++)
            out[o] = out[o] > 0 ? out[o] : 0;
    }
}

uint32_t speech_phonetic_version(void)
{
    uint32_t hash = hash_begin();
    for (size_t l = 0; l < phonetic_layers; l++)
        hash = hash_more(hash, phonetic_table[l].weight,
                         phonetic_inputs(l) * phonetic_table[l].outputs);
    return hash;
}

/* ---- the answer ---- */

size_t phonetic_answer_of(size_t sound)
{
    size_t phone = sound / PHONETIC_STATES;
    return phone == PHONETIC_SILENCE || phone <= PHONETIC_NOISES ? SILENCE : sound;
}

bool speech_phonetic_is_speech(size_t sound)
{
    return phonetic_answer_of(sound) != SILENCE;
}

/* From the network's sums to log likelihoods. */
static void to_nats(const float *sum, float nats[PHONETIC_SOUNDS])
{
    float most = sum[0], total = 0;
    for (size_t s = 1; s < PHONETIC_SOUNDS; s++)
        most = fmaxf(most, sum[s]);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        total += expf(sum[s] - most);
    float whole = logf(total);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++) {
        size_t of = phonetic_answer_of(s);
        nats[s] = sum[of] - most - whole - phonetic_share[of];
    }
}

void speech_phonetic_chances(const float nats[PHONETIC_SOUNDS], float chance[PHONETIC_PHONES])
{
    for (size_t p = 0; p < PHONETIC_PHONES; p++)
        chance[p] = 0;
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        if (phonetic_answer_of(s) == s)
            chance[s / PHONETIC_STATES] += expf(nats[s] + phonetic_share[s]);
}

/* In the acoustic model's order. */
int speech_phonetic_phone(const char *name, size_t length)
{
    static const char *const names[PHONETIC_PHONES] = {
        "+NSN+", "+SPN+", "AA", "AE", "AH",  "AO", "AW", "AY", "B",  "CH", "D", "DH", "EH", "ER",
        "EY",    "F",     "G",  "HH", "IH",  "IY", "JH", "K",  "L",  "M",  "N", "NG", "OW", "OY",
        "P",     "R",     "S",  "SH", "SIL", "T",  "TH", "UH", "UW", "V",  "W", "Y",  "Z",  "ZH"};
    for (int p = 0; p < PHONETIC_PHONES; p++)
        if (strlen(names[p]) == length && strncmp(names[p], name, length) == 0)
            return p;
    return -1;
}

bool speech_phonetic_read(const struct speech_phonetic *network, const struct speech_seen *seen,
                          float (*nats)[PHONETIC_SOUNDS])
{
    size_t rows = seen->frames + phonetic_reach();
    float noise[PHONETIC_MEL];
    float *in = malloc(rows * PHONETIC_WIDEST * sizeof *in);
    float *out = malloc(rows * PHONETIC_WIDEST * sizeof *out);
    bool ready = in != NULL && out != NULL && seen->frames > 0;
    if (ready)
        phonetic_see(seen, in, noise);
    for (size_t l = 0; ready && l < phonetic_layers; l++) {
        rows -= phonetic_shorter(&phonetic_table[l]);
        phonetic_run(network, l, in, noise, rows, out);
        float *swap = in;
        in = out;
        out = swap;
    }
    for (size_t f = 0; ready && f < seen->frames; f++)
        to_nats(in + f * PHONETIC_SOUNDS, nats[f]);
    free(in);
    free(out);
    return ready || seen->frames == 0;
}
