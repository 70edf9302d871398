/*
 * The network of enhance.h: its shape, its input, its weights. Shared by enhance.c and the program
 * that teaches it (tests/speech/teach.c), so that the two cannot drift apart. Private to them.
 */
#ifndef MIDTHROW_SPEECH_ENHANCE_TABLE_H
#define MIDTHROW_SPEECH_ENHANCE_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "speech/acoustic.h"

enum {
    ENHANCE_AROUND = 6, /* frames to either side */
    ENHANCE_WINDOW = 2 * ENHANCE_AROUND + 1,
    ENHANCE_INPUTS = (2 * ENHANCE_WINDOW + 1) * SPEECH_CEPSTRA,
    ENHANCE_HIDDEN = 192,
    ENHANCE_LAYERS = 3,
    ENHANCE_NOISE_FRAMES = 8, /* fewer say too little about the noise */
};

/* Inputs and outputs of each layer. */
static const size_t enhance_inputs[ENHANCE_LAYERS] = {ENHANCE_INPUTS, ENHANCE_HIDDEN,
                                                      ENHANCE_HIDDEN};
static const size_t enhance_outputs[ENHANCE_LAYERS] = {ENHANCE_HIDDEN, ENHANCE_HIDDEN,
                                                       SPEECH_CEPSTRA};

/* A layer's weights: those of output o lie together, input by input, and are to be multiplied by
 * step[o]. */
struct enhance_layer {
    const int8_t *weight;
    const float *step, *bias;
};
extern const struct enhance_layer enhance_table[ENHANCE_LAYERS];

/* The mean of the noise's frames; false: too few. */
bool enhance_noise(const float (*cepstra)[SPEECH_CEPSTRA], const unsigned char *kind, size_t frames,
                   double noise[SPEECH_CEPSTRA]);

/* What the network sees of frame f: cleaned and reduced cepstra around it and the noise, less the
 * mean of the speech. The ends are repeated. */
void enhance_input(const float (*cleaned)[SPEECH_CEPSTRA], const float (*reduced)[SPEECH_CEPSTRA],
                   size_t frames, size_t f, const double mean[SPEECH_CEPSTRA],
                   const double noise[SPEECH_CEPSTRA], float input[ENHANCE_INPUTS]);

/* One layer: output[o] = bias[o] + sum over i of input[i] weight[i][o], below 0 made 0 if
 * `rectify`. `weight`: those of input i lie together, so that the loop over outputs becomes
 * vectors. */
void enhance_step(const float *weight, const float *bias, const float *input, size_t inputs,
                  size_t outputs, bool rectify, float *output);

#endif
