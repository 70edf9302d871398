/*
 * Which sound each 10 ms is, by a small network that has learned it from synthetic voices in noise.
 *
 *     struct speech_phonetic *network = speech_phonetic_open();
 *     float(*nats)[PHONETIC_SOUNDS] = calloc(seen.frames, sizeof *nats);
 *     if (speech_phonetic_read(network, &seen, nats)) ...
 *     speech_phonetic_close(network);
 *
 * A sound is a third of a phone: 3 x the phone's number in the acoustic model + its state, as the
 * model's own senones without context are. The network sees the log mel energies of some 140 ms to
 * either side as they are, noise and all, what the noise is like by itself, and what the Gaussians
 * (acoustic.h) make of each phone there: these were learned from many people in quiet, while it was
 * taught by few voices, but with noise under the speech, so that it knows a sound in it. Its answer
 * joins theirs.
 *
 * A time-delay network (Waibel and others 1989, "Phoneme recognition using time-delay neural
 * networks", IEEE Trans. ASSP 37; layers that skip frames: Peddinti, Povey and Khudanpur 2015, "A
 * time delay neural network architecture for efficient modeling of long temporal contexts",
 * Interspeech) over what another model made of the sound (after Hermansky, Ellis and Sharma 2000,
 * "Tandem connectionist feature extraction for conventional HMM systems", ICASSP, there the other
 * way about), its posteriors over priors taken for likelihoods (Bourlard and Morgan 1994,
 * "Connectionist speech recognition", ch. 7). All from memory. The weights are in
 * phonetic_table.c, made by tests/speech/teach.sh.
 */
#ifndef MIDTHROW_SPEECH_PHONETIC_H
#define MIDTHROW_SPEECH_PHONETIC_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    PHONETIC_MEL = 32,
    PHONETIC_PHONES = 42,
    PHONETIC_STATES = 3,
    PHONETIC_SOUNDS = PHONETIC_STATES * PHONETIC_PHONES,
    PHONETIC_SILENCE = 32, /* the phone's number; its three sounds are one */
    PHONETIC_SEEN = PHONETIC_MEL + PHONETIC_PHONES, /* numbers a frame */
    PHONETIC_NOISES = 1, /* phones up to this one are noises, taken for silence */
};

struct speech_phonetic;

/* What it gets to see: all of as many frames. */
struct speech_seen {
    size_t frames;
    float (*mel)[PHONETIC_MEL];    /* log energies */
    float (*fit)[PHONETIC_PHONES]; /* nats worse than the best phone, by the Gaussians */
    unsigned char *kind;           /* enum speech_frame of clean.h */
};

void speech_seen_finish(struct speech_seen *seen);

/* As the table has it; what it learns of a person since (phonetic_learn.h) is another. NULL when
 * memory runs out. */
struct speech_phonetic *speech_phonetic_open(void);
void speech_phonetic_close(struct speech_phonetic *network);

/* The log of how likely each frame is, were it that sound, but for a term all sounds of a frame
 * share. False only when memory runs out. */
bool speech_phonetic_read(const struct speech_phonetic *network, const struct speech_seen *seen,
                          float (*nats)[PHONETIC_SOUNDS]);

/* A number that another table of weights hardly has: what was learned of a person with one network
 * is of no use to another. */
uint32_t speech_phonetic_version(void);

/* How likely a frame is each phone, 0 .. 1, by its nats; nobody's speech, of whatever kind, is
 * PHONETIC_SILENCE. */
void speech_phonetic_chances(const float nats[PHONETIC_SOUNDS], float chance[PHONETIC_PHONES]);

/* Whether a sound is somebody's speech: not silence and none of the noises. */
bool speech_phonetic_is_speech(size_t sound);

/* The number of a phone, "AH", whose name is so many characters long; -1: none is called that. */
int speech_phonetic_phone(const char *name, size_t length);

#endif
