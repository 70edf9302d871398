/*
 * Pronunciations, a few at a time. Loading the whole stock dictionary costs the decoder a tenth of
 * a second and 20 MB at every start; a grammar needs some hundred words of it. So the decoder
 * starts with an empty dictionary and is given the words of a grammar when the grammar is first
 * used.
 */
#ifndef MIDTHROW_SPEECH_LEXICON_H
#define MIDTHROW_SPEECH_LEXICON_H

#include <stdbool.h>
#include <stddef.h>

#include <pocketsphinx.h>

#include "base/fault.h"

struct speech_lexicon {
    char *stock, *shop; /* both files' text */
    size_t stock_size, shop_size;
};

/* Reads both files; `shop` may be NULL or not there (then only the stock pronunciations are known).
 */
bool speech_lexicon_open(struct speech_lexicon *lexicon, const char *stock, const char *shop,
                         struct fault *fault);
void speech_lexicon_close(struct speech_lexicon *lexicon);

/* Teaches the decoder every pronunciation of these words that it does not know yet, the shop's
 * after the stock dictionary's; a word may be among them more than once. False, naming the first
 * one, when a word is in neither. */
bool speech_lexicon_teach(const struct speech_lexicon *lexicon, ps_decoder_t *decoder,
                          const char *const *words, size_t count, struct fault *fault);

#endif
