/*
 * The network of phonetic.h from within: for phonetic.c, for phonetic_learn.c, which goes through
 * it backwards, and for person.c, which writes down what was learned.
 */
#ifndef MIDTHROW_SPEECH_PHONETIC_NETWORK_H
#define MIDTHROW_SPEECH_PHONETIC_NETWORK_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/phonetic.h"
#include "speech/phonetic_table.h"

struct speech_phonetic {
    /* [input][output], tap by tap; after them, in the first layer, the noise's, and in each of them
     * last what every sum begins with. */
    float *weight[PHONETIC_LAYERS_MOST];
};

enum { PHONETIC_WIDEST = 256, PHONETIC_MOST_INPUTS = 3 * 256 }; /* outputs, inputs of any layer */

/* Of as many layers and inputs, all of whose weights are 0. NULL when memory runs out. */
struct speech_phonetic *phonetic_blank(void);

/* What goes into each sum of layer `l` but for what it begins with: taps, and the noise. */
size_t phonetic_inputs(size_t l);

/* All that layer `l` has: of each output one for each of its inputs, and what it begins with. */
size_t phonetic_weights(size_t l);

/* By how many rows a layer's output is shorter than its input. */
size_t phonetic_shorter(const struct phonetic_layer *layer);

/* Frames that the network reaches beyond its answer, to both sides together. */
size_t phonetic_reach(void);

/* What the first layer gets: [frames + phonetic_reach()][PHONETIC_SEEN], and the noise. */
void phonetic_see(const struct speech_seen *seen, float *in, float noise[PHONETIC_MEL]);

/* Layer `l` over `rows` rows of output, rectified but for the last's. */
void phonetic_run(const struct speech_phonetic *network, size_t l, const float *in,
                  const float noise[PHONETIC_MEL], size_t rows, float *out);

/* Whose answer is a sound's: silence has one for its three sounds, and for the model's two phones
 * of noises, which are nobody's speech either. */
size_t phonetic_answer_of(size_t sound);

#endif
