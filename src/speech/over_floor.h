/*
 * How far a sound stands out of a steady noise, each band of hearing by itself: white noise buries
 * the hiss of a consonant and leaves a vowel alone, hum does it the other way round, and their sum
 * hides both.
 */
#ifndef MIDTHROW_SPEECH_OVER_FLOOR_H
#define MIDTHROW_SPEECH_OVER_FLOOR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* `level` gets, for each 10 ms of `pcm` (SPEECH_FRAME samples, SPEECH_RATE_HZ), the mean over the
 * bands of energy over the band's own floor, in dB, smoothed over 50 ms. The floor is what a fifth
 * of the recording is below. `hiss` is the root mean square of the noise that is taken to be in
 * any recording, in 16-bit steps. False when memory runs out. */
bool speech_over_floor(const int16_t *pcm, size_t steps, double hiss, double *level);

#endif
