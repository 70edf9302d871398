/*
 * A grammar without some of its sentences. Searching it finds the best reading that is *not* one of
 * them: the rival, whose distance to the best reading says how far the best one is to be trusted.
 */
#ifndef MIDTHROW_SPEECH_RIVAL_H
#define MIDTHROW_SPEECH_RIVAL_H

#include <stdbool.h>
#include <stddef.h>

#include <sphinxbase/fsg_model.h>

enum { SPEECH_RIVALS = 8, SPEECH_RIVAL_WORDS = 64 };

/* `plain` is the grammar as parsed (no fillers, no variants added). Each sentence is its words,
 * single-spaced. NULL when memory runs out or the grammar or the sentences are too large. */
fsg_model_t *speech_rival_fsg(fsg_model_t *plain, logmath_t *logs, const char *const sentences[],
                              size_t count);

/* Does a teen, a ten, "ten", "eleven" or "twelve" of `words` sit where the other has something
 * else, or nothing: "fifty nine" where the other is "thirty nine" or "five nine"? */
bool speech_other_tens(const char *words, const char *other);

/* Are they the same but for one digit: "five point two", "nine point two"? */
bool speech_other_digit(const char *words, const char *other);

/* Is the other the same, less one word: "nine two", "two"? */
bool speech_other_shorter(const char *words, const char *other);

#endif
