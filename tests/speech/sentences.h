/* Sentences of a grammar, chosen at random with a seed: what the bench has its voices say. */
#ifndef MIDTHROW_TESTS_SPEECH_SENTENCES_H
#define MIDTHROW_TESTS_SPEECH_SENTENCES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sentences;

struct sentences *sentences_open(const char *path); /* NAME.gram; NULL: cannot be read */
void sentences_close(struct sentences *sentences);

/* A random walk through the grammar as the recogniser sees it, every way on equally likely. False
 * when the sentence does not fit or the walk got lost. */
bool sentences_choose(const struct sentences *sentences, uint32_t *random, char *words,
                      size_t size);

/* Every word the grammar has; NULL past the last. */
const char *sentences_word(const struct sentences *sentences, size_t index);

#endif
