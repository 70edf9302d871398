/*
 * The network of phonetic.h: its shape and its weights, which tests/speech/teach_phonetic.py
 * prints. Private to phonetic.c and its test.
 */
#ifndef MIDTHROW_SPEECH_PHONETIC_TABLE_H
#define MIDTHROW_SPEECH_PHONETIC_TABLE_H

#include <stddef.h>
#include <stdint.h>

#include "speech/phonetic.h"

enum { PHONETIC_LAYERS_MOST = 8 };

/* What a layer makes of the rows `apart` frames from each other, `taps` of them. The weights of
 * output o lie together, tap by tap and input by input (after them, in the first layer, those of
 * the noise, PHONETIC_MEL), and are to be multiplied by step[o]. */
struct phonetic_layer {
    size_t taps, apart, inputs, outputs;
    const int8_t *weight;
    const float *step, *bias;
};
extern const struct phonetic_layer phonetic_table[];
extern const size_t phonetic_layers;

/* Of the speech it was taught on, in quiet: the mean energies; and the log of each sound's share.
 */
extern const float phonetic_mean[PHONETIC_MEL];
extern const float phonetic_share[PHONETIC_SOUNDS];

#endif
