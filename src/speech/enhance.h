/*
 * What cleaning (clean.h) leaves of the noise, and what it takes off too much, put right by a small
 * network that has learned from pairs: the same sentence with a noise under it and without.
 *
 *     speech_clean(prior, cleaned, kind, frames, ...);
 *     speech_enhance(enhancer, cleaned, reduced, kind, frames, mean);
 *
 * Cleaning takes each frame for itself and the noise for steady. The network sees 130 ms to either
 * side and how loud the noise was, so that it knows a sound that goes on from one that crackles. It
 * maps features to features, so what is speech stays what the acoustic model learned from people;
 * only the way back from noise is learned from synthetic voices. (Feature mapping by a network:
 * Sorensen 1991, "A cepstral noise reduction multi-layer neural network", ICASSP; a window of
 * frames and an estimate of the noise as its input: Seltzer, Yu and Wang 2013, "An investigation of
 * deep neural networks for noise robust speech recognition", ICASSP, "noise-aware training". Both
 * from memory.)
 *
 * Two hidden layers of rectified units, then one linear; the weights are in enhance_table.c, made
 * by tests/speech/teach.sh.
 */
#ifndef MIDTHROW_SPEECH_ENHANCE_H
#define MIDTHROW_SPEECH_ENHANCE_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/acoustic.h"

struct speech_enhancer;

/* NULL when memory runs out. */
struct speech_enhancer *speech_enhance_open(void);
void speech_enhance_close(struct speech_enhancer *enhancer);

/* `cleaned` in place, but for what lies outside of the recording. `reduced` are the cepstra before
 * they were cleaned, `mean` the mean of the cleaned speech, `kind` as clean.h has it. False, and
 * nothing changed, when memory runs out or there are too few frames of noise to know it. */
bool speech_enhance(const struct speech_enhancer *enhancer, float (*cleaned)[SPEECH_CEPSTRA],
                    const float (*reduced)[SPEECH_CEPSTRA], const unsigned char *kind,
                    size_t frames, const double mean[SPEECH_CEPSTRA]);

#endif
