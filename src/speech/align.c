/* Aligning words with the sound of them: see align.h. */
#include "speech/align.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "speech/phonetic.h"

enum { STATES = 2048, BEFORE = 40, WORDS = 40 };

/* ---- the words' states ---- */

struct states {
    int sound[STATES];
    int before[STATES][BEFORE]; /* states that may come before, but for the state itself */
    int befores[STATES];
    int count;
    int open[BEFORE]; /* states that what comes next may follow; -1: nothing yet */
    int opens;
};

/* A phone's three states after those in `from`; the number of its last. */
static int add_phone(struct states *states, int phone, const int *from, int froms)
{
    for (int s = 0; s < PHONETIC_STATES && states->count < STATES; s++) {
        int at = states->count++;
        states->sound[at] = PHONETIC_STATES * phone + s;
        states->befores[at] = s == 0 ? froms : 1;
        if (s == 0)
            memcpy(states->before[at], from, (size_t)froms * sizeof *from);
        else
            states->before[at][0] = at - 1;
    }
    return states->count - 1;
}

/* "F AO R" after what is open; its last state, -1 when it has a phone that nobody knows. */
static int add_pronunciation(struct states *states, const char *pronunciation)
{
    int last = -1;
    for (const char *at = pronunciation; *at != '\0';) {
        size_t length = strcspn(at, " ");
        int phone = speech_phonetic_phone(at, length);
        if (phone < 0)
            return -1;
        last = last < 0 ? add_phone(states, phone, states->open, states->opens)
                        : add_phone(states, phone, &last, 1);
        at += length + strspn(at + length, " ");
    }
    return last;
}

static void add_silence(struct states *states)
{
    int last = add_phone(states, PHONETIC_SILENCE, states->open, states->opens);
    if (states->opens < BEFORE)
        states->open[states->opens++] = last;
}

static bool add_word(ps_decoder_t *decoder, struct states *states, const char *word)
{
    int ends[BEFORE], count = 0;
    char name[64];
    for (int variant = 1; count < BEFORE - 1; variant++) {
        snprintf(name, sizeof name, variant == 1 ? "%s" : "%s(%d)", word, variant);
        char *pronunciation = ps_lookup_word(decoder, name);
        if (pronunciation == NULL)
            break;
        int end = add_pronunciation(states, pronunciation);
        free(pronunciation);
        if (end >= 0)
            ends[count++] = end;
    }
    memcpy(states->open, ends, (size_t)count * sizeof *ends);
    states->opens = count;
    add_silence(states);
    return count > 0;
}

static bool make_states(ps_decoder_t *decoder, const struct speech_lexicon *lexicon,
                        const char *words, struct states *states, struct fault *fault)
{
    char text[512], *rest = NULL;
    const char *list[WORDS];
    size_t count = 0;
    snprintf(text, sizeof text, "%s", words);
    for (char *word = strtok_r(text, " ", &rest); word != NULL && count < WORDS;
         word = strtok_r(NULL, " ", &rest))
        list[count++] = word;
    states->count = 0;
    states->open[0] = -1;
    states->opens = 1;
    add_silence(states);
    if (!speech_lexicon_teach(lexicon, decoder, list, count, fault))
        return false;
    for (size_t w = 0; w < count; w++)
        if (!add_word(decoder, states, list[w]))
            return false;
    return states->count < STATES;
}

/* ---- the best way through them ---- */

/* What came before state `s` at the least cost; itself, too. */
static int cheapest_before(const struct states *states, int s, const float *cost, bool first)
{
    int came = s;
    float best = first ? INFINITY : cost[s];
    for (int b = 0; b < states->befores[s]; b++) {
        int before = states->before[s][b];
        float there = before < 0 ? (first ? 0 : INFINITY) : first ? INFINITY : cost[before];
        if (there < best) {
            best = there;
            came = before;
        }
    }
    return came;
}

static bool walk_back(const struct states *states, const float *cost, const int16_t *from,
                      size_t frames, unsigned char *sound)
{
    int end = states->open[0];
    for (int o = 1; o < states->opens; o++)
        end = cost[states->open[o]] < cost[end] ? states->open[o] : end;
    if (!(cost[end] < INFINITY))
        return false;
    for (size_t f = frames; f-- > 0;) {
        sound[f] = (unsigned char)states->sound[end];
        end = from[f * (size_t)states->count + (size_t)end];
    }
    return true;
}

static bool best_way(const struct states *states, const struct speech_scores *scores,
                     unsigned char *sound)
{
    size_t frames = scores->frames, count = (size_t)states->count;
    float *cost = malloc(2 * count * sizeof *cost), *next = cost + count;
    int16_t *from = malloc((frames + 1) * count * sizeof *from);
    bool found = cost != NULL && from != NULL;
    for (size_t s = 0; found && s < count; s++)
        cost[s] = INFINITY;
    for (size_t f = 0; found && f < frames; f++) {
        for (int s = 0; s < states->count; s++) {
            int came = cheapest_before(states, s, cost, f == 0);
            float before = came < 0 ? 0 : f == 0 ? INFINITY : cost[came];
            next[s] = before + (float)speech_scores_cost(scores, f, (size_t)states->sound[s]);
            from[f * count + (size_t)s] = (int16_t)came;
        }
        memcpy(cost, next, count * sizeof *cost);
    }
    found = found && walk_back(states, cost, from, frames, sound);
    free(cost);
    free(from);
    return found;
}

bool speech_align(ps_decoder_t *decoder, const struct speech_lexicon *lexicon,
                  const struct speech_scores *scores, const char *words, unsigned char *sound,
                  struct fault *fault)
{
    struct states *states = malloc(sizeof *states);
    *fault = (struct fault){0};
    bool found = states != NULL && make_states(decoder, lexicon, words, states, fault) &&
                 best_way(states, scores, sound);
    free(states);
    if (!found && fault->code == FAULT_NONE)
        fault_set(fault, FAULT_FAILED, "'%s' does not fit what was heard: say it again.", words);
    return found;
}
