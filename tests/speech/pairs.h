/* The answers of a question that sound most alike. */
#ifndef MIDTHROW_TESTS_SPEECH_PAIRS_H
#define MIDTHROW_TESTS_SPEECH_PAIRS_H

#include <stdbool.h>
#include <stddef.h>

#include "confuse.h"
#include "language/language.h"

enum { PAIRS_MOST = 400 };

struct pair {
    char a[LANGUAGE_WORDS], b[LANGUAGE_WORDS]; /* two sentences of different meaning */
    double distance;                           /* confuse.h */
};

/*
 * The nearest pairs, nearest first, at most PAIRS_MOST; returns how many. `all` gets whether every
 * two sentences of the grammar were held against each other, a pair of values kept once by its
 * nearest two sentences. A grammar of more than 400 sentences is too large for that: of 300 of its
 * sentences, drawn with a fixed seed, every other sentence that differs in one word (another, one
 * more, one less) is tried, and a pair of words that are swapped is kept once. Two commands that
 * every grammar has are a pair of the grammar "command" only. Negative distances do not occur: a
 * word that cannot be pronounced ends it with 0 pairs, having said which sentence.
 */
size_t pairs_find(struct confuse *confuse, const char *grammar_dir, const char *grammar,
                  struct pair pairs[PAIRS_MOST], bool *all);

#endif
