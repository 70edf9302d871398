/* PocketSphinx as it comes, to measure against: the whole stock dictionary, its own normalisation
 * and voice activity detection, the sound as it is. Anything it returns, it believes. */
#ifndef MIDTHROW_TESTS_SPEECH_STOCK_H
#define MIDTHROW_TESTS_SPEECH_STOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct stock;

struct stock *stock_create(const char *grammar_dir); /* NULL: cannot */
void stock_destroy(struct stock *stock);

/* The words it heard, "" for none. The grammar must be made of words the stock dictionary has. */
bool stock_hear(struct stock *stock, const char *grammar, const int16_t *pcm, size_t frames,
                char *words, size_t size);

#endif
