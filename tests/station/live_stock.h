/* How long PocketSphinx as it comes takes to answer, fed as its own pocketsphinx_continuous feeds
 * it: blocks of 2048 samples, its own voice activity detection says when the utterance has ended.
 */
#ifndef MIDTHROW_TESTS_STATION_LIVE_STOCK_H
#define MIDTHROW_TESTS_STATION_LIVE_STOCK_H

#include <stddef.h>
#include <stdint.h>

struct live_stock;

struct live_stock *live_stock_create(const char *grammar_dir); /* NULL: cannot */
void live_stock_destroy(struct live_stock *stock);

/* Milliseconds from sample `end` of `pcm` to the moment its words are there: sound at the speed it
 * comes, the recogniser's CPU time on top. Less than 0: no utterance ended within the sound. */
double live_stock_reply_ms(struct live_stock *stock, const char *grammar, const int16_t *pcm,
                           size_t frames, size_t end);

#endif
