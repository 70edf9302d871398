/*
 * The network of phonetic.h from within: for phonetic.c, and for phonetic_learn.c, which goes
 * through it backwards.
 */
#ifndef MIDTHROW_SPEECH_PHONETIC_NETWORK_H
#define MIDTHROW_SPEECH_PHONETIC_NETWORK_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/phonetic.h"
#include "speech/phonetic_table.h"

struct speech_phonetic {
    float *weight[PHONETIC_LAYERS_MOST]; /* [tap][input][output]; the first's noise last */
};

/* By how many rows a layer's output is shorter than its input. */
size_t phonetic_shorter(const struct phonetic_layer *layer);

/* Frames that the network reaches beyond its answer, to both sides together. */
size_t phonetic_reach(void);

/* The first layer's output, rectified, of all frames and what the layers after it reach:
 * [frames + phonetic_reach() - phonetic_shorter(first)][outputs]. False when memory runs out. */
bool phonetic_first(const struct speech_phonetic *network, const struct speech_seen *seen,
                    float *out);

/* Layer `l` over `rows` rows of output. */
void phonetic_run(const struct speech_phonetic *network, size_t l, const float *in, size_t rows,
                  bool rectify, float *out);

/* Whose answer is a sound's: silence has one for its three sounds, and for the model's two phones
 * of noises, which are nobody's speech either. */
size_t phonetic_answer_of(size_t sound);

/* How much a hidden unit counts. */
float phonetic_factor(float unit);

/* Multiplies each unit of as many rows by how much it counts. `person` may be NULL. */
void phonetic_weigh(const struct phonetic_person *person, size_t hidden, float *rows, size_t count);

#endif
