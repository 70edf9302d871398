/*
 * Which sound each 10 ms is, by a small network that has learned it from synthetic voices in noise.
 *
 *     struct speech_phonetic *network = speech_phonetic_open();
 *     float(*nats)[PHONETIC_SOUNDS] = calloc(frames, sizeof *nats);
 *     if (speech_phonetic_read(network, mel, kind, frames, nats)) ...
 *     speech_phonetic_close(network);
 *
 * A sound is a third of a phone: 3 x the phone's number in the acoustic model + its state, as the
 * model's own senones without context are. The network sees the log mel energies of some 80 ms to
 * either side as they are, noise and all, and what the noise is like by itself; it was taught with
 * noise under the speech, so that it knows a sound in it. Its answer joins that of the Gaussians
 * (acoustic.h), which were learned from people in quiet: each knows what the other does not.
 *
 * A time-delay network (Waibel and others 1989, "Phoneme recognition using time-delay neural
 * networks", IEEE Trans. ASSP 37; layers that skip frames: Peddinti, Povey and Khudanpur 2015, "A
 * time delay neural network architecture for efficient modeling of long temporal contexts",
 * Interspeech), its posteriors over priors taken for likelihoods (Bourlard and Morgan 1994,
 * "Connectionist speech recognition", ch. 7). All three from memory. The weights are in
 * phonetic_table.c, made by tests/speech/teach.sh.
 */
#ifndef MIDTHROW_SPEECH_PHONETIC_H
#define MIDTHROW_SPEECH_PHONETIC_H

#include <stdbool.h>
#include <stddef.h>

enum {
    PHONETIC_MEL = 32,
    PHONETIC_PHONES = 42,
    PHONETIC_STATES = 3,
    PHONETIC_SOUNDS = PHONETIC_STATES * PHONETIC_PHONES,
    PHONETIC_SILENCE = 32, /* the phone's number; its three sounds are one */
    PHONETIC_NOISES = 1,   /* phones up to this one are noises, taken for silence */
};

struct speech_phonetic;

/* NULL when memory runs out. */
struct speech_phonetic *speech_phonetic_open(void);
void speech_phonetic_close(struct speech_phonetic *network);

/* The log of how likely each frame is, were it that sound, but for a term all sounds of a frame
 * share. `kind`: enum speech_frame of clean.h, for each frame. False only when memory runs out. */
bool speech_phonetic_read(const struct speech_phonetic *network, const float (*mel)[PHONETIC_MEL],
                          const unsigned char *kind, size_t frames, float (*nats)[PHONETIC_SOUNDS]);

/* How likely a frame holds no speech at all, 0 .. 1, by its nats. */
double speech_phonetic_silence(const float nats[PHONETIC_SOUNDS]);

#endif
