/*
 * Prints the answers of each question that sound most alike.
 *   confusable [GRAMMAR...]
 * Distances by confuse.h: below about 20 two sentences differ in no more than one sound.
 */
#include <stdio.h>
#include <stdlib.h>

#include "pairs.h"

enum { SHOWN = 8 };

static bool print_pairs(struct confuse *confuse, const char *grammar, struct pair pairs[PAIRS_MOST])
{
    bool all = false;
    size_t count = pairs_find(confuse, GRAMMARS, grammar, pairs, &all);
    printf("%s%s\n", grammar, all ? "" : " (a sample, one word apart)");
    for (size_t p = 0; p < count && p < SHOWN; p++)
        printf("  %5.1f  %s  /  %s\n", pairs[p].distance, pairs[p].a, pairs[p].b);
    return count > 0;
}

int main(int argc, char **argv)
{
    struct confuse *confuse = confuse_open(MODEL_DIR "/cmudict-en-us.dict", GRAMMARS "/shop.dict");
    struct pair *pairs = calloc(PAIRS_MOST, sizeof *pairs);
    bool printed = confuse != NULL && pairs != NULL;
    for (int a = 1; printed && a < argc; a++)
        printed = print_pairs(confuse, argv[a], pairs);
    for (size_t g = 0; printed && argc < 2 && g < language_grammar_count(); g++)
        printed = print_pairs(confuse, language_grammar_name(g), pairs);
    free(pairs);
    confuse_close(confuse);
    return printed ? 0 : 1;
}
