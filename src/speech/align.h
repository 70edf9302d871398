/*
 * Which sound is where in a sentence whose words are known: Viterbi's best way through the words'
 * phones, three states each, silence allowed between the words, by the acoustic model's own scores
 * of phones without context. (Rabiner 1989, "A tutorial on hidden Markov models", eq. 32-35, all
 * transitions alike.)
 */
#ifndef MIDTHROW_SPEECH_ALIGN_H
#define MIDTHROW_SPEECH_ALIGN_H

#include <stdbool.h>

#include <pocketsphinx.h>

#include "base/fault.h"
#include "speech/acoustic.h"
#include "speech/lexicon.h"

/* A sound, 3 x phone + state, for each of the scores' frames, by the Gaussians alone. The decoder
 * is taught the words. False when a word has no pronunciation, the words do not fit in the frames,
 * or memory runs out. */
bool speech_align(ps_decoder_t *decoder, const struct speech_lexicon *lexicon,
                  const struct speech_scores *scores, const char *words, unsigned char *sound,
                  struct fault *fault);

#endif
