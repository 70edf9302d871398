/* Every word that a grammar of a folder knows. */
#ifndef MIDTHROW_TESTS_SPEECH_GRAMMAR_WORDS_H
#define MIDTHROW_TESTS_SPEECH_GRAMMAR_WORDS_H

#include <stdbool.h>
#include <stddef.h>

enum { GRAMMAR_WORDS = 1000, GRAMMAR_WORD = 48 };

struct grammar_words {
    char word[GRAMMAR_WORDS][GRAMMAR_WORD]; /* each once, as first met */
    size_t count;
};

/* All grammars that language/ knows by name. False, having said why, when one cannot be read. */
bool grammar_words_read(const char *dir, struct grammar_words *words);

#endif
