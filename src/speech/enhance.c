/* A network's forward pass: see enhance.h. */
#include "speech/enhance.h"

#include <stdlib.h>
#include <string.h>

#include "speech/clean.h"
#include "speech/enhance_table.h"
#include "speech/layer.h"

struct speech_enhancer {
    float *weight[ENHANCE_LAYERS]; /* input by input, as enhance_step wants them */
};

struct speech_enhancer *speech_enhance_open(void)
{
    struct speech_enhancer *enhancer = calloc(1, sizeof *enhancer);
    for (size_t l = 0; enhancer != NULL && l < ENHANCE_LAYERS; l++) {
        size_t inputs = enhance_inputs[l], outputs = enhance_outputs[l];
        if ((enhancer->weight[l] = malloc(inputs * outputs * sizeof(float))) == NULL) {
            speech_enhance_close(enhancer);
            return NULL;
        }
        speech_layer_unpack(enhance_table[l].weight, enhance_table[l].step, inputs, outputs,
                            enhancer->weight[l]);
    }
    return enhancer;
}

void speech_enhance_close(struct speech_enhancer *enhancer)
{
    for (size_t l = 0; enhancer != NULL && l < ENHANCE_LAYERS; l++)
        free(enhancer->weight[l]);
    free(enhancer);
}

bool enhance_noise(const float (*cepstra)[SPEECH_CEPSTRA], const unsigned char *kind, size_t frames,
                   double noise[SPEECH_CEPSTRA])
{
    size_t count = 0;
    memset(noise, 0, SPEECH_CEPSTRA * sizeof *noise);
    for (size_t f = 0; f < frames; f++) {
        if (kind[f] != SPEECH_FRAME_NOISE)
            continue;
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
            noise[c] += (double)cepstra[f][c];
        count++;
    }
    for (size_t c = 0; count > 0 && c < SPEECH_CEPSTRA; c++)
        noise[c] /= (double)count;
    return count >= ENHANCE_NOISE_FRAMES;
}

static float *add_window(const float (*cepstra)[SPEECH_CEPSTRA], size_t frames, size_t f,
                         const double mean[SPEECH_CEPSTRA], float *input)
{
    for (long k = -ENHANCE_AROUND; k <= ENHANCE_AROUND; k++) {
        long frame = (long)f + k;
        frame = frame < 0 ? 0 : frame >= (long)frames ? (long)frames - 1 : frame;
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
            *input++ = cepstra[frame][c] - (float)mean[c];
    }
    return input;
}

void enhance_input(const float (*cleaned)[SPEECH_CEPSTRA], const float (*reduced)[SPEECH_CEPSTRA],
                   size_t frames, size_t f, const double mean[SPEECH_CEPSTRA],
                   const double noise[SPEECH_CEPSTRA], float input[ENHANCE_INPUTS])
{
    float *rest = add_window(cleaned, frames, f, mean, input);
    rest = add_window(reduced, frames, f, mean, rest);
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
        rest[c] = (float)(noise[c] - mean[c]);
}

void enhance_step(const float *weight, const float *bias, const float *input, size_t inputs,
                  size_t outputs, bool rectify, float *restrict output)
{
    memcpy(output, bias, outputs * sizeof *output);
    speech_layer_add(weight, input, inputs, outputs, output);
    for (size_t o = 0; rectify && o < outputs; o++)
        output[o] = output[o] > 0 ? output[o] : 0;
}

bool speech_enhance(const struct speech_enhancer *enhancer, float (*cleaned)[SPEECH_CEPSTRA],
                    const float (*reduced)[SPEECH_CEPSTRA], const unsigned char *kind,
                    size_t frames, const double mean[SPEECH_CEPSTRA])
{
    float input[ENHANCE_INPUTS], first[ENHANCE_HIDDEN], second[ENHANCE_HIDDEN];
    float *const layer[ENHANCE_LAYERS + 1] = {input, first, second, NULL};
    double noise[SPEECH_CEPSTRA];
    float(*change)[SPEECH_CEPSTRA] = calloc(frames + 1, sizeof *change);
    bool known = change != NULL && enhance_noise(reduced, kind, frames, noise);
    for (size_t f = 0; known && f < frames; f++) {
        if (kind[f] == SPEECH_FRAME_OUTSIDE)
            continue;
        enhance_input((const float(*)[SPEECH_CEPSTRA])cleaned, reduced, frames, f, mean, noise,
                      input);
        for (size_t l = 0; l < ENHANCE_LAYERS; l++)
            enhance_step(enhancer->weight[l], enhance_table[l].bias, layer[l], enhance_inputs[l],
                         enhance_outputs[l], l + 1 < ENHANCE_LAYERS,
                         l + 1 < ENHANCE_LAYERS ? layer[l + 1] : change[f]);
    }
    for (size_t f = 0; known && f < frames; f++)
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
            cleaned[f][c] += change[f][c];
    free(change);
    return known;
}
