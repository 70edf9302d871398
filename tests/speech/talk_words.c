/*
 * Prints grammars/talk.lm, what a sentence of a grammar is weighed against (src/speech/talk.h):
 *     talk-words [WORDS] > grammars/talk.lm
 * The WORDS (2000) commonest words of the stock language model, with how often it has them, and
 * every word of the grammars, rare ones as if they were as common as RARE. To be run again when a
 * grammar has got a new word; test_talk.c says so.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <pocketsphinx.h>
#include <sphinxbase/err.h>
#include <sphinxbase/ngram_model.h>

#include "grammar_words.h"

enum { WORDS_MOST = 5000, STOCK_MOST = 200000 };
static const double RARE = 4.5e-5; /* the stock model's 2000th word, nearly */

struct word {
    const char *text;
    double chance;
};

struct list {
    struct word word[WORDS_MOST + STOCK_MOST];
    size_t count;
};

static int commonest_first(const void *a, const void *b)
{
    const struct word *x = a, *y = b;
    return x->chance != y->chance ? (x->chance < y->chance) - (x->chance > y->chance)
                                  : strcmp(x->text, y->text);
}

/* Letters and apostrophes: no sentence marks, no letters spelt one by one ("b.") */
static bool is_plain(const char *word)
{
    return word[0] != '\0' && word[strspn(word, "abcdefghijklmnopqrstuvwxyz'")] == '\0';
}

static void take_stock(ngram_model_t *model, struct list *list)
{
    logmath_t *logs = logmath_init(1.0001, 0, 0);
    const uint32 *counts = ngram_model_get_counts(model);
    for (uint32 w = 0; w < counts[0] && w < STOCK_MOST; w++) {
        int32 used = 0;
        int32 cost = ngram_ng_prob(model, (int32)w, NULL, 0, &used);
        if (is_plain(ngram_word(model, (int32)w)))
            list->word[list->count++] =
                (struct word){ngram_word(model, (int32)w), logmath_exp(logs, cost)};
    }
    logmath_free(logs);
    qsort(list->word, list->count, sizeof list->word[0], commonest_first);
}

static struct word *find(struct list *list, const char *text)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->word[i].text, text) == 0)
            return &list->word[i];
    return NULL;
}

static void take_grammars(const struct grammar_words *words, struct list *list)
{
    for (size_t i = 0; i < words->count; i++) {
        struct word *known = find(list, words->word[i]);
        if (known == NULL)
            list->word[list->count++] = (struct word){words->word[i], RARE};
        else if (known->chance < RARE)
            known->chance = RARE;
    }
}

static void print(const struct list *list)
{
    double sum = 0;
    for (size_t i = 0; i < list->count; i++)
        sum += list->word[i].chance;
    printf(
        "The commonest words of the stock language model (pocketsphinx-en-us, en-us.lm.bin) and\n"
        "the grammars' words. Made by tests/speech/talk-words: see src/speech/talk.h.\n\n"
        "\\data\\\nngram 1=%zu\n\n\\1-grams:\n-1.0\t</s>\n-99\t<s>\n",
        list->count + 2);
    for (size_t i = 0; i < list->count; i++)
        printf("%.2f\t%s\n", log10(list->word[i].chance / sum), list->word[i].text);
    printf("\n\\end\\\n");
}

int main(int argc, char **argv)
{
    size_t commonest = argc > 1 ? strtoul(argv[1], NULL, 10) : 2000;
    struct list *list = calloc(1, sizeof *list);
    struct grammar_words *words = calloc(1, sizeof *words);
    logmath_t *logs = logmath_init(1.0001, 0, 0);
    err_set_logfp(NULL);
    ngram_model_t *model = ngram_model_read(NULL, MODEL_DIR "/en-us.lm.bin", NGRAM_AUTO, logs);
    if (list == NULL || words == NULL || model == NULL || commonest > WORDS_MOST ||
        !grammar_words_read(GRAMMARS, words)) {
        fputs("usage: talk-words [WORDS]; needs pocketsphinx-en-us.\n", stderr);
        return 1;
    }
    take_stock(model, list);
    list->count = commonest < list->count ? commonest : list->count;
    take_grammars(words, list);
    print(list);
    ngram_model_free(model);
    logmath_free(logs);
    free(words);
    free(list);
    return 0;
}
