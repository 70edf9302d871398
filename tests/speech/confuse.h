/*
 * How alike two sentences sound: an edit distance over their phones, each change weighted by how
 * alike the two sounds are.
 *
 * The weights are G. Kondrak's (2002), "Algorithms for Language Reconstruction", PhD thesis,
 * University of Toronto, pages 54 to 60 (ALINE): the features of each sound, a weight ("salience")
 * for each feature, and what a sound left out or put in costs. ALINE scores likeness; the distance
 * here is half of what each is alike to itself less what they are alike to each other, so that it
 * is 0 for the same sound and the feature difference otherwise, and 27.5 for a consonant and 17.5
 * for a vowel that is only in one of the two. Kondrak wanted to align kindred words, not to predict
 * a recogniser: this tells pairs that sound alike to anybody from pairs that do not, no more.
 *
 * Pronunciations are those the recogniser searches: the stock dictionary's and shop.dict's; of
 * several, the two that are nearest count.
 */
#ifndef MIDTHROW_TESTS_SPEECH_CONFUSE_H
#define MIDTHROW_TESTS_SPEECH_CONFUSE_H

#include <stdbool.h>
#include <stddef.h>

struct confuse;

/* NULL, having said why: a dictionary is missing. */
struct confuse *confuse_open(const char *stock_dictionary, const char *shop_dictionary);
void confuse_close(struct confuse *confuse);

/* 0: sounds the same. Negative: a word of them has no pronunciation, or they are too long. */
double confuse_distance(struct confuse *confuse, const char *sentence, const char *other);

/* Of two phones in the dictionaries' notation, "IY", "T". Negative: no such phone. */
double confuse_phones(const char *phone, const char *other);

#endif
