/*
 * One mono stream from one rate to another, piece by piece: speexdsp's resampler at its highest
 * quality, with its delay taken out so that sample 0 out is sample 0 in.
 *
 *     struct audio_resampler *resampler = audio_resampler_create(44100, 16000, &fault);
 *     audio_resample(resampler, in, &used, out, &made);      // used, made: in = offered, out =
 * done audio_resample_flush(resampler, out, &made);           // at the end, until it makes nothing
 *     audio_resampler_destroy(resampler);
 */
#ifndef MIDTHROW_AUDIO_RESAMPLE_H
#define MIDTHROW_AUDIO_RESAMPLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

struct audio_resampler *audio_resampler_create(int from_hz, int to_hz, struct fault *fault);
void audio_resampler_destroy(struct audio_resampler *resampler);
void audio_resampler_reset(struct audio_resampler *resampler); /* as if just created */

/* Samples are floats of full scale 1. *used and *made are offered on the way in, done on return. */
void audio_resample(struct audio_resampler *resampler, const float *in, size_t *used, float *out,
                    size_t *made);

/* What is still inside once the input has ended; *made 0 when nothing is left. Together with
 * audio_resample it makes round(in * to / from) samples. */
void audio_resample_flush(struct audio_resampler *resampler, float *out, size_t *made);

#endif
