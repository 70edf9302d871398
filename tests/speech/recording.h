/* What the speech tests and the bench share: recordings from files of any kind, and noise. */
#ifndef MIDTHROW_TESTS_SPEECH_RECORDING_H
#define MIDTHROW_TESTS_SPEECH_RECORDING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct recording {
    int16_t *pcm; /* mono, SPEECH_RATE_HZ */
    size_t frames;
};

/* WAV and the like by audio/, NAME.g722 (ITU-T G.722, 64 kbit/s) by spandsp. Prints why not. */
bool recording_read(const char *path, struct recording *recording);
void recording_free(struct recording *recording);
bool recording_copy(const struct recording *from, struct recording *to); /* false: no memory */

/* `ms` of exact zeros before and after. */
bool recording_pad(struct recording *recording, int ms);

/* Every sample one step up, one down or left alone: the faintest noise there is. */
void recording_dither(struct recording *recording, uint32_t seed);

/* Exact zeros wherever 10 ms are more than 35 dB under the loudest: a noise gate. */
void recording_gate(struct recording *recording);

/* `noise`, as long as the recording, added `snr_db` under the level of the speech, which is taken
 * over the 10 ms steps within 30 dB of the loudest. */
void recording_mix(struct recording *recording, const double *noise, double snr_db);

/* Pink noise (P. Kellet's three-pole filter, error under 0.5 dB from 40 Hz up), mixed in. */
bool recording_noise(struct recording *recording, double snr_db, uint32_t seed);

/* Mains hum and its odd and even harmonics up to 1.2 kHz, falling 6 dB an octave, under a fan's
 * pink noise 12 dB lower. */
bool recording_hum(struct recording *recording, double snr_db, uint32_t seed);

/* Six others talking at once, each as loud as the next. */
bool recording_babble(struct recording *recording, const struct recording *others, size_t count,
                      double snr_db, uint32_t seed);

#endif
