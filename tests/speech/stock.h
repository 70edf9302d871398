/* PocketSphinx as it comes, to measure against: the whole stock dictionary, its own normalisation
 * and voice activity detection, the sound as it is. Anything it returns, it believes. */
#ifndef MIDTHROW_TESTS_SPEECH_STOCK_H
#define MIDTHROW_TESTS_SPEECH_STOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct stock;

/* How it is run: with the library's own defaults (live normalisation: its estimate carries over
 * from one utterance to the next), or as pocketsphinx_batch with -cmn batch -remove_silence no (the
 * mean is that of the whole utterance, silence and all). */
enum stock_way { STOCK_LIVE, STOCK_BATCH_ALL_FRAMES, STOCK_WAYS };

struct stock *stock_create(const char *grammar_dir); /* STOCK_LIVE; NULL: cannot */
struct stock *stock_create_way(const char *grammar_dir, enum stock_way way);
const char *stock_way_options(enum stock_way way);
void stock_destroy(struct stock *stock);

/* The words it heard, "" for none. Words of the grammar that the
 * stock dictionary lacks are lent to it from shop.dict. */
bool stock_hear(struct stock *stock, const char *grammar, const int16_t *pcm, size_t frames,
                char *words, size_t size);

/* Fed as pocketsphinx_continuous feeds it: blocks of 2048 samples, its own voice activity detection
 * says when the utterance has ended. Milliseconds from sample `end` of `pcm` to the moment its
 * words are there: sound at the speed it comes, the recogniser's CPU time on top. Less than 0: no
 * utterance ended within the sound. */
double stock_reply_ms(struct stock *stock, const char *grammar, const int16_t *pcm, size_t frames,
                      size_t end);

#endif
