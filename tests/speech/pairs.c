/* Finding the most confusable pairs: see pairs.h. */
#include "pairs.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../language/jsgf.h"

enum { SENTENCES = 400, SAMPLE = 300, VOCABULARY = 128, WORDS = 24, KEY = 48 };

struct sentence {
    char words[LANGUAGE_WORDS];
    struct language_value value;
    bool command; /* of those every grammar has */
    char key[KEY];
};

struct search {
    struct confuse *confuse;
    const char *grammar;
    struct jsgf *jsgf;
    struct sentence sentence[SENTENCES];
    size_t sentences;
    char vocabulary[VOCABULARY][KEY];
    size_t words;
    struct found {
        struct pair pair;
        char a[KEY], b[KEY]; /* what makes it the same pair again */
    } found[PAIRS_MOST];
    size_t pairs;
    bool failed;
};

/* ---- keeping the nearest ---- */

static bool same_pair(const struct found *found, const char *a, const char *b)
{
    return (strcmp(found->a, a) == 0 && strcmp(found->b, b) == 0) ||
           (strcmp(found->a, b) == 0 && strcmp(found->b, a) == 0);
}

/* The place for a pair of these keys: its own, a new one, or the farthest one's; NULL when it is
 * farther than all that are kept. */
static struct found *place(struct search *search, const char *a, const char *b, double distance)
{
    struct found *farthest = NULL;
    for (size_t p = 0; p < search->pairs; p++) {
        struct found *found = &search->found[p];
        if (same_pair(found, a, b))
            return distance < found->pair.distance ? found : NULL;
        if (farthest == NULL || found->pair.distance > farthest->pair.distance)
            farthest = found;
    }
    if (search->pairs < PAIRS_MOST)
        return &search->found[search->pairs++];
    return distance < farthest->pair.distance ? farthest : NULL;
}

static void compare(struct search *search, const char *words, const char *other, const char *a,
                    const char *b)
{
    double distance = confuse_distance(search->confuse, words, other);
    if (distance < 0) {
        fprintf(stderr, "%s: cannot say '%s' or '%s'.\n", search->grammar, words, other);
        search->failed = true;
        return;
    }
    struct found *found = place(search, a, b, distance);
    if (found == NULL)
        return;
    snprintf(found->a, KEY, "%s", a);
    snprintf(found->b, KEY, "%s", b);
    snprintf(found->pair.a, LANGUAGE_WORDS, "%s", words);
    snprintf(found->pair.b, LANGUAGE_WORDS, "%s", other);
    found->pair.distance = distance;
}

/* ---- small grammars: every two sentences ---- */

static bool understand(const struct search *search, struct sentence *sentence)
{
    struct language_value *value = &sentence->value;
    if (language_parse(search->grammar, sentence->words, value, NULL) != LANGUAGE_OK)
        return false;
    sentence->command = value->type == LANGUAGE_COMMAND || value->type == LANGUAGE_DONT_KNOW ||
                        value->type == LANGUAGE_SKIP;
    return true;
}

/* Sentences of one meaning get one key: the first one's number. */
static void name_meanings(struct search *search)
{
    for (size_t i = 0; i < search->sentences; i++) {
        size_t first = 0;
        while (!language_equal(&search->sentence[first].value, &search->sentence[i].value))
            first++;
        snprintf(search->sentence[i].key, KEY, "%zu", first);
    }
}

static void compare_all(struct search *search)
{
    bool commands = strcmp(search->grammar, "command") == 0;
    for (uint64_t k = 0; k < jsgf_count(search->jsgf); k++) {
        struct sentence *sentence = &search->sentence[search->sentences];
        jsgf_sentence(search->jsgf, k, sentence->words, sizeof sentence->words);
        search->sentences += understand(search, sentence);
    }
    name_meanings(search);
    for (size_t i = 0; i < search->sentences; i++)
        for (size_t j = 0; j < i; j++) {
            const struct sentence *a = &search->sentence[i], *b = &search->sentence[j];
            if (strcmp(a->key, b->key) != 0 && (commands || !a->command || !b->command))
                compare(search, a->words, b->words, a->key, b->key);
        }
}

/* ---- large ones: what is one word away ---- */

static void learn_words(struct search *search, const char *sentence)
{
    while (*sentence != '\0' && search->words < VOCABULARY) {
        size_t length = strcspn(sentence, " "), w = 0;
        while (w < search->words && (strlen(search->vocabulary[w]) != length ||
                                     strncmp(search->vocabulary[w], sentence, length) != 0))
            w++;
        if (w == search->words && length < KEY)
            snprintf(search->vocabulary[search->words++], KEY, "%.*s", (int)length, sentence);
        sentence += length + strspn(sentence + length, " ");
    }
}

static void try_other(struct search *search, const struct sentence *said, const char *words,
                      const char *from, const char *to)
{
    struct sentence other = {0};
    snprintf(other.words, sizeof other.words, "%s", words);
    if (jsgf_accepts(search->jsgf, words) && understand(search, &other) && !other.command &&
        !language_equal(&said->value, &other.value))
        compare(search, said->words, words, from, to);
}

/* `said` with `drop` words left out at `at` and `put` (may be empty) in their place. */
static bool edit(const struct sentence *said, size_t at, bool drop, const char *put,
                 char out[LANGUAGE_WORDS], char dropped[KEY])
{
    char copy[LANGUAGE_WORDS], *rest = copy;
    size_t used = 0, n = 0;
    snprintf(copy, sizeof copy, "%s", said->words);
    out[0] = dropped[0] = '\0';
    for (char *word = strtok_r(rest, " ", &rest); word != NULL || n == at; n++) {
        if (n == at && *put != '\0')
            used += (size_t)snprintf(out + used, LANGUAGE_WORDS - used, "%s%s", used > 0 ? " " : "",
                                     put);
        if (word == NULL)
            return !drop && used < LANGUAGE_WORDS;
        if (n == at && drop)
            snprintf(dropped, KEY, "%s", word);
        else if (used < LANGUAGE_WORDS)
            used += (size_t)snprintf(out + used, LANGUAGE_WORDS - used, "%s%s", used > 0 ? " " : "",
                                     word);
        if (used >= LANGUAGE_WORDS)
            return false;
        word = strtok_r(rest, " ", &rest);
    }
    return n > at;
}

static void compare_neighbours(struct search *search, const struct sentence *said)
{
    char words[LANGUAGE_WORDS], dropped[KEY];
    for (size_t at = 0; at < WORDS; at++) {
        if (edit(said, at, true, "", words, dropped))
            try_other(search, said, words, dropped, "-");
        for (size_t w = 0; w < search->words; w++) {
            if (edit(said, at, true, search->vocabulary[w], words, dropped))
                try_other(search, said, words, dropped, search->vocabulary[w]);
            if (edit(said, at, false, search->vocabulary[w], words, dropped))
                try_other(search, said, words, "-", search->vocabulary[w]);
        }
    }
}

/* xorshift64 (Marsaglia 2003, "Xorshift RNGs"), below `count`. */
static uint64_t draw(uint64_t *random, uint64_t count)
{
    *random ^= *random << 13;
    *random ^= *random >> 7;
    *random ^= *random << 17;
    return *random % count;
}

static void compare_sample(struct search *search)
{
    uint64_t random = 20260101;
    for (int tries = 0; search->sentences < SAMPLE && tries < 100 * SAMPLE; tries++) {
        struct sentence *sentence = &search->sentence[search->sentences];
        jsgf_sentence(search->jsgf, draw(&random, jsgf_count(search->jsgf)), sentence->words,
                      sizeof sentence->words);
        if (!understand(search, sentence) || sentence->command)
            continue;
        learn_words(search, sentence->words);
        search->sentences++;
    }
    for (size_t s = 0; s < search->sentences && !search->failed; s++)
        compare_neighbours(search, &search->sentence[s]);
}

/* ---- all of it ---- */

static int nearest_first(const void *a, const void *b)
{
    double x = ((const struct found *)a)->pair.distance,
           y = ((const struct found *)b)->pair.distance;
    return (x > y) - (x < y);
}

size_t pairs_find(struct confuse *confuse, const char *grammar_dir, const char *grammar,
                  struct pair pairs[PAIRS_MOST], bool *all)
{
    char why[JSGF_WHY];
    size_t count = 0;
    struct search *search = calloc(1, sizeof *search);
    if (search == NULL)
        return 0;
    search->confuse = confuse;
    search->grammar = grammar;
    search->jsgf = jsgf_load(grammar_dir, grammar, why);
    if (search->jsgf != NULL) {
        *all = jsgf_count(search->jsgf) <= SENTENCES;
        if (*all)
            compare_all(search);
        else
            compare_sample(search);
        qsort(search->found, search->pairs, sizeof search->found[0], nearest_first);
        for (; !search->failed && count < search->pairs; count++)
            pairs[count] = search->found[count].pair;
        jsgf_free(search->jsgf);
    } else {
        fprintf(stderr, "%s: %s\n", grammar, why);
    }
    free(search);
    return count;
}
