/* Distances between sentences by their sounds: see confuse.h. */
#include "confuse.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- sounds ---- */

/* Kondrak's values for each feature (2002, p. 56), in hundredths: place from lips to throat, manner
 * from stop to open vowel. A vowel's place is the palate or, in the back, the velum. */
/* clang-format off */
enum {
    BILABIAL = 100, LABIODENTAL = 95, DENTAL = 90, ALVEOLAR = 85, PALATO_ALVEOLAR = 75,
    PALATAL = 70, VELAR = 60, GLOTTAL = 10,
    STOP = 100, AFFRICATE = 90, FRICATIVE = 80, APPROXIMANT = 60,
    HIGH_VOWEL = 40, MID_VOWEL = 20, LOW_VOWEL = 0,
    HIGH = 100, MID = 50, LOW = 0,
    FRONT = 100, CENTRAL = 50, BACK = 0,
    NO = 0, YES = 100,
};
/* clang-format on */

/* ... and their weights (p. 55). */
static const double SYLLABIC = 5, PLACE = 40, MANNER = 50, VOICE = 10, NASAL = 10, RETROFLEX = 10;
static const double LATERAL = 10, HEIGHT = 5, BACKNESS = 5, ROUND = 5, LONG = 1;
static const double SKIP = 10, LIKE = 35, VOWEL_LESS = 10; /* C_skip, C_sub, C_vwl (p. 54) */

struct sound {
    bool vowel;
    int place, manner, voice, nasal, retroflex, lateral; /* of both kinds */
    int height, backness, round, length;                 /* of vowels */
};

#define CONSONANT(place, manner, voice, nasal, retroflex, lateral)                                 \
    {                                                                                              \
        NO, place, manner, voice, nasal, retroflex, lateral, 0, 0, 0, 0                            \
    }
#define VOWEL(place, manner, retroflex, height, backness, round, length)                           \
    {                                                                                              \
        YES, place, manner, YES, NO, retroflex, NO, height, backness, round, length                \
    }
#define NO_GLIDE CONSONANT(0, 0, 0, 0, 0, 0)

/* The dictionaries' phones. A diphthong is the two sounds it glides between. */
static const struct phone {
    const char *name;
    struct sound sound, glide; /* a glide that is no vowel: there is none */
} phones[] = {
    {"P", CONSONANT(BILABIAL, STOP, NO, NO, NO, NO), NO_GLIDE},
    {"B", CONSONANT(BILABIAL, STOP, YES, NO, NO, NO), NO_GLIDE},
    {"T", CONSONANT(ALVEOLAR, STOP, NO, NO, NO, NO), NO_GLIDE},
    {"D", CONSONANT(ALVEOLAR, STOP, YES, NO, NO, NO), NO_GLIDE},
    {"K", CONSONANT(VELAR, STOP, NO, NO, NO, NO), NO_GLIDE},
    {"G", CONSONANT(VELAR, STOP, YES, NO, NO, NO), NO_GLIDE},
    {"M", CONSONANT(BILABIAL, STOP, YES, YES, NO, NO), NO_GLIDE},
    {"N", CONSONANT(ALVEOLAR, STOP, YES, YES, NO, NO), NO_GLIDE},
    {"NG", CONSONANT(VELAR, STOP, YES, YES, NO, NO), NO_GLIDE},
    {"CH", CONSONANT(PALATO_ALVEOLAR, AFFRICATE, NO, NO, NO, NO), NO_GLIDE},
    {"JH", CONSONANT(PALATO_ALVEOLAR, AFFRICATE, YES, NO, NO, NO), NO_GLIDE},
    {"F", CONSONANT(LABIODENTAL, FRICATIVE, NO, NO, NO, NO), NO_GLIDE},
    {"V", CONSONANT(LABIODENTAL, FRICATIVE, YES, NO, NO, NO), NO_GLIDE},
    {"TH", CONSONANT(DENTAL, FRICATIVE, NO, NO, NO, NO), NO_GLIDE},
    {"DH", CONSONANT(DENTAL, FRICATIVE, YES, NO, NO, NO), NO_GLIDE},
    {"S", CONSONANT(ALVEOLAR, FRICATIVE, NO, NO, NO, NO), NO_GLIDE},
    {"Z", CONSONANT(ALVEOLAR, FRICATIVE, YES, NO, NO, NO), NO_GLIDE},
    {"SH", CONSONANT(PALATO_ALVEOLAR, FRICATIVE, NO, NO, NO, NO), NO_GLIDE},
    {"ZH", CONSONANT(PALATO_ALVEOLAR, FRICATIVE, YES, NO, NO, NO), NO_GLIDE},
    {"HH", CONSONANT(GLOTTAL, FRICATIVE, NO, NO, NO, NO), NO_GLIDE},
    {"L", CONSONANT(ALVEOLAR, APPROXIMANT, YES, NO, NO, YES), NO_GLIDE},
    {"R", CONSONANT(ALVEOLAR, APPROXIMANT, YES, NO, YES, NO), NO_GLIDE},
    {"W", CONSONANT(BILABIAL, APPROXIMANT, YES, NO, NO, NO), NO_GLIDE},
    {"Y", CONSONANT(PALATAL, APPROXIMANT, YES, NO, NO, NO), NO_GLIDE},
    {"IY", VOWEL(PALATAL, HIGH_VOWEL, NO, HIGH, FRONT, NO, YES), NO_GLIDE},
    {"IH", VOWEL(PALATAL, HIGH_VOWEL, NO, HIGH, FRONT, NO, NO), NO_GLIDE},
    {"EH", VOWEL(PALATAL, MID_VOWEL, NO, MID, FRONT, NO, NO), NO_GLIDE},
    {"AE", VOWEL(PALATAL, LOW_VOWEL, NO, LOW, FRONT, NO, NO), NO_GLIDE},
    {"AH", VOWEL(VELAR, MID_VOWEL, NO, MID, CENTRAL, NO, NO), NO_GLIDE},
    {"ER", VOWEL(VELAR, MID_VOWEL, YES, MID, CENTRAL, NO, YES), NO_GLIDE},
    {"AA", VOWEL(VELAR, LOW_VOWEL, NO, LOW, BACK, NO, YES), NO_GLIDE},
    {"AO", VOWEL(VELAR, MID_VOWEL, NO, MID, BACK, YES, YES), NO_GLIDE},
    {"UH", VOWEL(VELAR, HIGH_VOWEL, NO, HIGH, BACK, YES, NO), NO_GLIDE},
    {"UW", VOWEL(VELAR, HIGH_VOWEL, NO, HIGH, BACK, YES, YES), NO_GLIDE},
    {"AY", VOWEL(VELAR, LOW_VOWEL, NO, LOW, CENTRAL, NO, NO),
     VOWEL(PALATAL, HIGH_VOWEL, NO, HIGH, FRONT, NO, NO)},
    {"AW", VOWEL(VELAR, LOW_VOWEL, NO, LOW, CENTRAL, NO, NO),
     VOWEL(VELAR, HIGH_VOWEL, NO, HIGH, BACK, YES, NO)},
    {"EY", VOWEL(PALATAL, MID_VOWEL, NO, MID, FRONT, NO, NO),
     VOWEL(PALATAL, HIGH_VOWEL, NO, HIGH, FRONT, NO, NO)},
    {"OW", VOWEL(VELAR, MID_VOWEL, NO, MID, BACK, YES, NO),
     VOWEL(VELAR, HIGH_VOWEL, NO, HIGH, BACK, YES, NO)},
    {"OY", VOWEL(VELAR, MID_VOWEL, NO, MID, BACK, YES, NO),
     VOWEL(PALATAL, HIGH_VOWEL, NO, HIGH, FRONT, NO, NO)},
};
enum { PHONES = sizeof phones / sizeof phones[0] };

static double apart(int a, int b, double weight)
{
    return weight * abs(a - b) / 100;
}

/* Two vowels are told apart by tongue and lips, anything else by place and manner. */
static double change(const struct sound *a, const struct sound *b)
{
    double common = apart(a->nasal, b->nasal, NASAL) + apart(a->retroflex, b->retroflex, RETROFLEX);
    if (a->vowel && b->vowel)
        return common + apart(a->height, b->height, HEIGHT) +
               apart(a->backness, b->backness, BACKNESS) + apart(a->round, b->round, ROUND) +
               apart(a->length, b->length, LONG);
    return common + apart(a->vowel ? YES : NO, b->vowel ? YES : NO, SYLLABIC) +
           apart(a->place, b->place, PLACE) + apart(a->manner, b->manner, MANNER) +
           apart(a->voice, b->voice, VOICE) + apart(a->lateral, b->lateral, LATERAL);
}

static double leave_out(const struct sound *a)
{
    return SKIP + (LIKE - (a->vowel ? 2 * VOWEL_LESS : 0)) / 2;
}

static const struct phone *phone_named(const char *name, size_t length)
{
    for (size_t p = 0; p < PHONES; p++)
        if (strlen(phones[p].name) == length && strncmp(phones[p].name, name, length) == 0)
            return &phones[p];
    return NULL;
}

/* ---- pronunciations ---- */

enum { WORD = 48, SPOKEN = 96, ENTRIES_STEP = 4096 };

struct entry {
    char word[WORD];
    char phones[SPOKEN];
};

enum { NODES = 400, BEFORE = 8 };

/* Sounds in the order they may follow one another. A node without a sound joins the ways through a
 * word's pronunciations. */
struct graph {
    struct node {
        const struct sound *sound; /* NULL: a joint */
        int before[BEFORE];        /* all of them lower than its own number */
        int befores;
    } node[NODES];
    int nodes;
};

struct confuse {
    struct entry *entry; /* sorted by word */
    size_t entries;
    struct graph graph[2];
    double cost[NODES * NODES]; /* to come to a node of the one and a node of the other */
};

static int by_word(const void *a, const void *b)
{
    return strcmp(((const struct entry *)a)->word, ((const struct entry *)b)->word);
}

/* "forty(2)  F AO R D IY  # why" */
static bool read_entry(char *line, struct entry *entry)
{
    line[strcspn(line, "#\n")] = '\0';
    size_t length = strcspn(line, "( \t"), spelt = strcspn(line, " \t");
    const char *spoken = line + spelt + strspn(line + spelt, " \t");
    if (length == 0 || length >= WORD || *spoken == '\0' || strlen(spoken) >= SPOKEN)
        return false;
    memcpy(entry->word, line, length);
    entry->word[length] = '\0';
    memcpy(entry->phones, spoken, strlen(spoken) + 1);
    return true;
}

static bool read_dictionary(struct confuse *confuse, const char *path)
{
    char line[512];
    FILE *file = fopen(path, "r");
    bool read = file != NULL;
    while (read && fgets(line, sizeof line, file) != NULL) {
        if (confuse->entries % ENTRIES_STEP == 0) {
            struct entry *grown =
                realloc(confuse->entry, (confuse->entries + ENTRIES_STEP) * sizeof *confuse->entry);
            read = grown != NULL;
            confuse->entry = read ? grown : confuse->entry;
        }
        if (read)
            confuse->entries += read_entry(line, &confuse->entry[confuse->entries]);
    }
    if (file != NULL)
        fclose(file);
    return read;
}

struct confuse *confuse_open(const char *stock_dictionary, const char *shop_dictionary)
{
    struct confuse *confuse = calloc(1, sizeof *confuse);
    if (confuse == NULL)
        return NULL;
    if (!read_dictionary(confuse, stock_dictionary) || !read_dictionary(confuse, shop_dictionary)) {
        fprintf(stderr, "cannot read '%s' or '%s'.\n", stock_dictionary, shop_dictionary);
        confuse_close(confuse);
        return NULL;
    }
    qsort(confuse->entry, confuse->entries, sizeof *confuse->entry, by_word);
    return confuse;
}

void confuse_close(struct confuse *confuse)
{
    if (confuse != NULL)
        free(confuse->entry);
    free(confuse);
}

/* ---- a sentence as a graph ---- */

static int add_node(struct graph *graph, const struct sound *sound, int before)
{
    if (graph->nodes == NODES)
        return -1;
    graph->node[graph->nodes] = (struct node){.sound = sound, .before = {before}, .befores = 1};
    return graph->nodes++;
}

/* The last node of the pronunciation; -1: no such phone, or too long. */
static int add_spoken(struct graph *graph, const char *spoken, int at)
{
    while (*spoken != '\0' && at >= 0) {
        size_t length = strcspn(spoken, " \t");
        const struct phone *phone = phone_named(spoken, length);
        at = phone == NULL ? -1 : add_node(graph, &phone->sound, at);
        if (at >= 0 && phone->glide.vowel)
            at = add_node(graph, &phone->glide, at);
        spoken += length + strspn(spoken + length, " \t");
    }
    return at;
}

static int add_word(struct graph *graph, const struct confuse *confuse, const char *word, int at)
{
    struct entry wanted = {{0}, {0}};
    int end[BEFORE], ends = 0;
    snprintf(wanted.word, WORD, "%s", word);
    const struct entry *found =
        bsearch(&wanted, confuse->entry, confuse->entries, sizeof *confuse->entry, by_word);
    if (found == NULL)
        return -1;
    while (found > confuse->entry && strcmp(found[-1].word, word) == 0)
        found--;
    for (; found < confuse->entry + confuse->entries && strcmp(found->word, word) == 0; found++)
        if (ends < BEFORE && (end[ends] = add_spoken(graph, found->phones, at)) >= 0)
            ends++;
    int joint = ends == 0 ? -1 : add_node(graph, NULL, end[0]);
    for (int e = 1; joint >= 0 && e < ends; e++)
        graph->node[joint].before[graph->node[joint].befores++] = end[e];
    return joint;
}

static bool make_graph(struct graph *graph, const struct confuse *confuse, const char *sentence)
{
    int at = 0;
    graph->nodes = 1;
    graph->node[0] = (struct node){0}; /* before anything is said */
    while (*sentence != '\0' && at >= 0) {
        char word[WORD];
        size_t length = strcspn(sentence, " ");
        snprintf(word, WORD, "%.*s", (int)length, sentence);
        at = length < WORD ? add_word(graph, confuse, word, at) : -1;
        sentence += length + strspn(sentence + length, " ");
    }
    return at >= 0;
}

/* ---- distances ---- */

/* The cheapest way to come to node i of one and node j of the other. */
static double come_to(const struct graph *a, const struct graph *b, const double *cost, int i,
                      int j)
{
    const struct node *x = &a->node[i], *y = &b->node[j];
    double best = i == 0 && j == 0 ? 0 : HUGE_VAL;
    for (int p = 0; p < x->befores; p++)
        best = fmin(best,
                    cost[x->before[p] * NODES + j] + (x->sound == NULL ? 0 : leave_out(x->sound)));
    for (int q = 0; q < y->befores; q++)
        best = fmin(best,
                    cost[i * NODES + y->before[q]] + (y->sound == NULL ? 0 : leave_out(y->sound)));
    if (x->sound == NULL || y->sound == NULL)
        return best;
    double step = change(x->sound, y->sound);
    for (int p = 0; p < x->befores; p++)
        for (int q = 0; q < y->befores; q++)
            best = fmin(best, cost[x->before[p] * NODES + y->before[q]] + step);
    return best;
}

double confuse_distance(struct confuse *confuse, const char *sentence, const char *other)
{
    const struct graph *a = &confuse->graph[0], *b = &confuse->graph[1];
    if (!make_graph(&confuse->graph[0], confuse, sentence) ||
        !make_graph(&confuse->graph[1], confuse, other))
        return -1;
    for (int i = 0; i < a->nodes; i++)
        for (int j = 0; j < b->nodes; j++)
            confuse->cost[i * NODES + j] = come_to(a, b, confuse->cost, i, j);
    return confuse->cost[(a->nodes - 1) * NODES + b->nodes - 1];
}

double confuse_phones(const char *phone, const char *other)
{
    const struct phone *a = phone_named(phone, strlen(phone));
    const struct phone *b = phone_named(other, strlen(other));
    return a == NULL || b == NULL ? -1 : change(&a->sound, &b->sound);
}
