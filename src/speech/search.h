/*
 * One search of the decoder over an utterance's scores: what it found, word by word, and what the
 * verdict wants to know of it. The decoder's searches go by name: a grammar, talk (talk.h), a
 * grammar without some sentences (rival.h).
 */
#ifndef MIDTHROW_SPEECH_SEARCH_H
#define MIDTHROW_SPEECH_SEARCH_H

#include <stdbool.h>
#include <stddef.h>

#include <pocketsphinx.h>

#include "speech/acoustic.h"
#include "speech/recogniser.h"
#include "speech/verdict.h"

enum { SPEECH_PATH_WORDS = 128, SPEECH_WORD = 48 };

/* One reading: its words in order, when, and how well each fits; what is longer than can be held is
 * cut. */
struct speech_path {
    size_t count;
    struct speech_word {
        char text[SPEECH_WORD]; /* as the dictionary has it, "forty(2)" */
        bool filler;
        int from, to; /* frames, both included */
        double nats;  /* acoustic log likelihood */
    } word[SPEECH_PATH_WORDS];
    char words[SPEECH_WORDS];
    double nats; /* of the whole */
};

/* False when there is no such search, or it failed. */
bool speech_search(ps_decoder_t *decoder, const char *search, const struct speech_scores *scores);

/* What the last search found; false when it found no complete sentence. */
bool speech_path_read(ps_decoder_t *decoder, struct speech_path *path);

/* The log likelihood, in nats, of each of `count` frames on the path that the last search found. */
void speech_path_frames(ps_decoder_t *decoder, double *nats, size_t count);

/* Fills words, phones, frames, talk, worst, good, least_good, familiar, left_out,
 * besides and over_db. `talk`:
 * speech_path_frames of talk; `loud_db`: front.h's, of the same frames. */
void speech_path_weigh(ps_decoder_t *decoder, const struct speech_path *path, const double *talk,
                       const struct speech_scores *scores, const float *loud_db,
                       struct speech_signs *signs);

#endif
