/*
 * How loud speech is, and noise added to it at a wanted distance.
 *
 * Speech: the active speech level of Recommendation ITU-T P.56 (12/2011), method B: the power over
 * the time in which somebody speaks, pauses between the words left out and short gaps within them
 * kept in. Simplified in two points: the whole band up to half the sampling rate counts, without
 * the recommendation's input filter, and the crossing between two thresholds is a straight line in
 * dB. Noise: its root mean square over the stretch that is added, P.56's method A. Speech level
 * over noise level by those two, unweighted, is the signal-to-noise ratio of Hirsch and Pearce
 * (2000), "The Aurora experimental framework", ISCA ITRW ASR2000; they filter both with G.712
 * first (telephones), which is left out here.
 */
#ifndef MIDTHROW_TESTS_SPEECH_LEVEL_H
#define MIDTHROW_TESTS_SPEECH_LEVEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "recording.h"

/* dB relative to overload (a square wave of full scale is 0); -HUGE_VAL when there is no speech.
 * `active`, unless NULL, gets the share of the time that counts as speech. */
double level_active_db(const int16_t *pcm, size_t frames, double *active);

/* Of numbers of any scale; 0 for none. */
double level_rms(const double *samples, size_t frames);

/* Scales the recording so that its active speech level is `level_db`. False: no speech in it. */
bool level_set(struct recording *recording, double level_db);

/* Adds `noise`, as long as the recording, `snr_db` under the recording's active speech level. What
 * is beyond full scale is clipped, as a converter would. False: no speech, or no noise. */
bool level_mix(struct recording *recording, const double *noise, double snr_db);

#endif
