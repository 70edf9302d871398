/*
 * Parallel frames: the same sentence with a noise under it and without, frame by frame, for
 * whoever teaches speech_enhance or tests it.
 */
#ifndef MIDTHROW_TESTS_SPEECH_PARALLEL_H
#define MIDTHROW_TESTS_SPEECH_PARALLEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <pocketsphinx.h>

#include "recording.h"
#include "speech/cepstra.h"

struct parallel_cepstra {
    struct speech_cepstra *maker;
    ps_decoder_t *decoder;
    cmd_ln_t *options;
};

bool parallel_open(struct parallel_cepstra *cepstra); /* false, having said why */
void parallel_close(struct parallel_cepstra *cepstra);

/* 0 <= x < 1, by xorshift32 (Marsaglia 2003, "Xorshift RNGs"); *random is not 0. */
double parallel_uniform(uint32_t *random);

struct parallel {
    struct speech_cleaned noisy;
    float (*wanted)[SPEECH_CEPSTRA]; /* of the sentence without the noise */
    size_t frames;                   /* of both; 0: no speech was found */
};

/* The recordings are as long as each other. False when memory runs out. */
bool parallel_make(const struct speech_cepstra *maker, const struct recording *quiet,
                   const struct recording *noisy, uint32_t *random, struct parallel *made);
void parallel_finish(struct parallel *made);

/* ---- gather-parallel's files, in the machine's own floats ---- */

/* Before the frames of each utterance. */
struct parallel_head {
    float frames, utterance, snr_db;
    float mean[SPEECH_CEPSTRA];  /* of the cleaned speech */
    float noise[SPEECH_CEPSTRA]; /* of the noise's frames, reduced */
};

struct parallel_frame {
    float kind;                                             /* enum speech_frame */
    float cleaned[SPEECH_CEPSTRA], reduced[SPEECH_CEPSTRA]; /* what speech_enhance gets */
    float wanted[SPEECH_CEPSTRA];                           /* of the sentence without the noise */
};

#endif
