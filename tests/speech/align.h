/*
 * Which sound is where in a recording whose words are known: Viterbi's best way through the words'
 * phones, three states each, silence allowed between the words, by the acoustic model's own scores
 * of phones without context. (Rabiner 1989, "A tutorial on hidden Markov models", eq. 32-35, all
 * transitions alike.)
 */
#ifndef MIDTHROW_TESTS_SPEECH_ALIGN_H
#define MIDTHROW_TESTS_SPEECH_ALIGN_H

#include <stdbool.h>
#include <stddef.h>

#include "recording.h"
#include "speech/front.h"
#include "speech/phonetic.h"

struct align;

struct align *align_open(void); /* NULL, having said why */
void align_close(struct align *align);

/* A sound (3 x phone + state) each 10 ms, the first at step `from` of the recording. */
struct align_sounds {
    unsigned char *sound; /* to be freed */
    size_t frames;
    long from;
};

/* False when memory runs out, a word has no pronunciation, or the words do not fit. */
bool align_words(struct align *align, const struct recording *recording, const char *words,
                 struct align_sounds *sounds);

/* What speech_phonetic gets to see of a recording; to be finished. */
bool align_see(const struct align *align, const struct speech_front *front,
               struct speech_seen *seen);

/* The sound that the Gaussians hold for likeliest in each frame, phones without context. To be
 * freed. False when memory runs out or there are other than `frames`. */
bool align_best(const struct align *align, const struct speech_front *front, unsigned char **sound,
                size_t frames);

#endif
