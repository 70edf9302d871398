/*
 * A small reader of JSGF grammars for the tests: counts, writes out and recognises their sentences.
 *
 *     struct jsgf *grammar = jsgf_load(directory, "distance", why);
 *     for (uint64_t k = 0; k < jsgf_count(grammar); k++)
 *         jsgf_sentence(grammar, k, words, sizeof words);
 *
 * Takes what midthrow's grammars use of the JSpeech Grammar Format (W3C note of 5 June 2000):
 * sequences, alternatives, groups, optionals, rule references, imports, comments. Weights, tags,
 * repetition and recursion are refused, so that every grammar is finite.
 */
#ifndef MIDTHROW_TESTS_LANGUAGE_JSGF_H
#define MIDTHROW_TESTS_LANGUAGE_JSGF_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { JSGF_WHY = 256 };

struct jsgf;

struct jsgf *jsgf_load(const char *directory, const char *name, char why[JSGF_WHY]); /* NULL: why */
void jsgf_free(struct jsgf *jsgf);

/* Ways to say something with the grammar's public rule; two ways may give the same sentence. */
uint64_t jsgf_count(const struct jsgf *jsgf);

/* Sentence k < count. Remembers which words of the files it used. */
void jsgf_sentence(struct jsgf *jsgf, uint64_t k, char *out, size_t size);

/* A word of the files that no sentence so far has used; NULL when all were. */
const char *jsgf_unused_word(const struct jsgf *jsgf);

bool jsgf_accepts(const struct jsgf *jsgf, const char *sentence);

#endif
