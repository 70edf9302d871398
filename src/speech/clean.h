/*
 * Takes steady noise off cepstra: the estimate of what the speech alone would have given, with the
 * acoustic model's own Gaussians as the idea of what speech is.
 *
 * Vector Taylor series in the feature's domain (Moreno, Raj and Stern 1996, "A vector Taylor series
 * approach for environment-independent speech recognition", ICASSP): what noise of mean n does to
 * speech x is y = x + C log(1 + exp(D(n - x))), C the cosine transform with its lifter, D its
 * inverse; each Gaussian is moved by that and widened by the noise's own spread, and the frame's
 * correction is the mean of the Gaussians' corrections, weighted by how well each, so moved, fits
 * the frame. (Equations from memory of that paper and of Acero et al. 2000, "HMM adaptation using
 * vector Taylor series for noisy speech recognition".) Nothing is taken off where there is no
 * noise: the strength follows it by itself.
 */
#ifndef MIDTHROW_SPEECH_CLEAN_H
#define MIDTHROW_SPEECH_CLEAN_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/acoustic.h"

/* How the recording's frames are to be taken. */
enum speech_frame { SPEECH_FRAME_OUTSIDE, SPEECH_FRAME_NOISE, SPEECH_FRAME_SPEECH };

/* In place. `mean` is the prior mean of clean cepstra of an utterance, counted as `mean_frames`
 * frames. False, and nothing changed, when memory runs out or
 * there are too few frames of noise to know it. */
bool speech_clean(const struct speech_prior *prior, float (*cepstra)[SPEECH_CEPSTRA],
                  const unsigned char *kind, size_t frames, const double mean[SPEECH_CEPSTRA],
                  double mean_frames);

#endif
