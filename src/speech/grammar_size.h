/*
 * How large the library's search graph of a grammar becomes when every rule is written out, without
 * its being made. sphinxbase's expand_rule gives each rule and bracket a state to begin and one to
 * end with, joined to what is in them by jumps, transitions that need no word; then
 * fsg_model_null_trans_closure adds a jump for every two states between which jumps lead. It is
 * those that explode: a thousand optional words in a row are half a million jumps, and take the
 * cube of that thousand to find.
 *
 *     struct grammar_size size = {0};
 *     struct grammar_way way = grammar_way();     // an alternative: <a> [word]
 *     grammar_way_part(&way, &size_of_a);
 *     grammar_way_part(&way, &size_of_optional);
 *     grammar_size_add(&size, &way);              // and so on for each alternative
 *
 * The counts are those of the library, or more where two ways lead from one state to another. They
 * stop growing at GRAMMAR_SIZE_MOST.
 */
#ifndef MIDTHROW_SPEECH_GRAMMAR_SIZE_H
#define MIDTHROW_SPEECH_GRAMMAR_SIZE_H

#include <stdbool.h>
#include <stdint.h>

enum { GRAMMAR_SIZE_MOST = 1000000000 };

/* A rule, a bracket. */
struct grammar_size {
    uint64_t words; /* with what its references stand for */
    uint64_t jumps; /* pairs of states, the second reached from the first without a word */
    uint64_t into;  /* states so reached from where it begins */
    uint64_t out;   /* states from which its end is so reached */
    bool empty;     /* it may be left unsaid */
};

/* A sequence of words and parts that is being put together. */
struct grammar_way {
    uint64_t words, jumps;
    uint64_t into; /* states reached without a word from where it begins */
    uint64_t tail; /* states from which its last one is so reached, that one counted */
    bool empty;
};

struct grammar_way grammar_way(void);
void grammar_way_word(struct grammar_way *way);
/* A state of nothing, as the library makes one for "left out" in an optional. */
void grammar_way_nothing(struct grammar_way *way);
void grammar_way_part(struct grammar_way *way, const struct grammar_size *part);
void grammar_size_add(struct grammar_size *size, const struct grammar_way *way);

#endif
