/* Walks a grammar's words as a finite automaton: see places.h. */
#include "speech/places.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>
#include <sphinxbase/jsgf.h>
#include <sphinxbase/logmath.h>

#include "base/text.h"
#include "speech/grammar_file.h"
#include "speech/recogniser.h"

enum { GRAMMARS = 64, NAME = 48, PATH = 640, FURTHER_WORDS = 6, FURTHER_SENTENCES = 64 };

struct speech_places {
    char dir[512];
    bool (*same_meaning)(const char *grammar, const char *words, const char *other);
    logmath_t *logmath;
    struct {
        char name[NAME];
        fsg_model_t *fsg;
    } grammar[GRAMMARS];
    size_t n;
};

struct speech_places *speech_places_create(const char *grammar_dir,
                                           bool (*same_meaning)(const char *grammar,
                                                                const char *words,
                                                                const char *other))
{
    struct speech_places *places = calloc(1, sizeof *places);
    err_set_logfp(NULL); /* the library writes pages to standard error */
    if (places == NULL)
        return NULL;
    text_copy(places->dir, sizeof places->dir, grammar_dir);
    places->same_meaning = same_meaning;
    places->logmath = logmath_init(1.0001, 0, FALSE);
    if (places->logmath != NULL)
        return places;
    free(places);
    return NULL;
}

void speech_places_destroy(struct speech_places *places)
{
    if (places == NULL)
        return;
    for (size_t i = 0; i < places->n; i++)
        fsg_model_free(places->grammar[i].fsg);
    logmath_free(places->logmath);
    free(places);
}

static fsg_model_t *read_grammar(const struct speech_places *places, const char *name)
{
    char path[PATH];
    struct text text = text_into(path, sizeof path);
    text_addf(&text, "%s/%s.gram", places->dir, name);
    if (text.cut || strchr(name, '/') != NULL || access(path, R_OK) != 0 ||
        !grammar_file_check(places->dir, name, NULL, NULL))
        return NULL;
    jsgf_t *jsgf = jsgf_parse_file(path, NULL);
    if (jsgf == NULL)
        return NULL;
    jsgf_rule_t *rule = jsgf_get_public_rule(jsgf);
    fsg_model_t *fsg = rule == NULL ? NULL : jsgf_build_fsg(jsgf, rule, places->logmath, 1.0f);
    jsgf_grammar_free(jsgf);
    return fsg;
}

static fsg_model_t *grammar_named(struct speech_places *places, const char *name)
{
    for (size_t i = 0; i < places->n; i++)
        if (strcmp(places->grammar[i].name, name) == 0)
            return places->grammar[i].fsg;
    if (places->n == GRAMMARS || strlen(name) >= NAME)
        return NULL;
    fsg_model_t *fsg = read_grammar(places, name);
    if (fsg != NULL) {
        text_copy(places->grammar[places->n].name, NAME, name);
        places->grammar[places->n++].fsg = fsg;
    }
    return fsg;
}

/* ---- sets of states ------------------------------------------------------------------------ */

/* Everything that is reached from there without a word. */
static void close_over(fsg_model_t *fsg, bool *in)
{
    for (bool grew = true; grew;) {
        grew = false;
        for (int s = 0; s < fsg_model_n_state(fsg); s++) {
            if (!in[s])
                continue;
            for (fsg_arciter_t *arc = fsg_model_arcs(fsg, s); arc != NULL;
                 arc = fsg_arciter_next(arc)) {
                const fsg_link_t *link = fsg_arciter_get(arc);
                if (fsg_link_wid(link) < 0 && !in[fsg_link_to_state(link)])
                    grew = in[fsg_link_to_state(link)] = true;
            }
        }
    }
}

/* From the states in `from` by one word; false when it leads nowhere. */
static bool follow(fsg_model_t *fsg, const bool *from, const char *word, size_t length, bool *to)
{
    bool anywhere = false;
    memset(to, 0, (size_t)fsg_model_n_state(fsg) * sizeof *to);
    for (int s = 0; s < fsg_model_n_state(fsg); s++) {
        if (!from[s])
            continue;
        for (fsg_arciter_t *arc = fsg_model_arcs(fsg, s); arc != NULL;
             arc = fsg_arciter_next(arc)) {
            const fsg_link_t *link = fsg_arciter_get(arc);
            if (fsg_link_wid(link) < 0)
                continue;
            const char *has = fsg_model_word_str(fsg, fsg_link_wid(link));
            if (strncmp(has, word, length) == 0 && has[length] == '\0')
                anywhere = to[fsg_link_to_state(link)] = true;
        }
    }
    close_over(fsg, to);
    return anywhere;
}

/* ---- what could follow --------------------------------------------------------------------- */

struct further {
    struct speech_places *places;
    fsg_model_t *fsg;
    const char *grammar, *words;
    char sentence[SPEECH_WORDS];
    int sentences;
    bool begun;     /* something could follow */
    bool different; /* and mean something else, or is too much to look at */
};

static bool another(struct further *further)
{
    if (++further->sentences > FURTHER_SENTENCES || further->places->same_meaning == NULL ||
        !further->places->same_meaning(further->grammar, further->words, further->sentence))
        further->different = true;
    return further->different;
}

/* All sentences that go on from state `s`, depth first, until one means something else. The library
 * closes the automaton over its empty steps, so that one of them in a row is enough. */
/* NOLINTNEXTLINE(misc-no-recursion): FURTHER_WORDS deep at most, and an empty step before each */
static void go_on(struct further *further, int s, size_t used, int words, bool stepped)
{
    for (fsg_arciter_t *arc = fsg_model_arcs(further->fsg, s); arc != NULL;
         arc = fsg_arciter_next(arc)) {
        if (further->different) {
            fsg_arciter_free(arc);
            return;
        }
        const fsg_link_t *link = fsg_arciter_get(arc);
        int to = fsg_link_to_state(link);
        if (fsg_link_wid(link) < 0) { /* closed over already: what it leads to is its own start */
            if (words == 0 || stepped)
                continue;
            if (to == fsg_model_final_state(further->fsg) && another(further))
                continue;
            go_on(further, to, used, words, true);
            continue;
        }
        further->begun = true;
        const char *word = fsg_model_word_str(further->fsg, fsg_link_wid(link));
        size_t length = strlen(word);
        if (words == FURTHER_WORDS || used + length + 2 > sizeof further->sentence) {
            further->different = true;
            continue;
        }
        further->sentence[used] = ' ';
        memcpy(further->sentence + used + 1, word, length + 1);
        if (to == fsg_model_final_state(further->fsg) && another(further))
            continue;
        go_on(further, to, used + 1 + length, words + 1, false);
        further->sentence[used] = '\0';
    }
}

static enum speech_place place_of(struct further *further, const bool *in)
{
    bool whole = in[fsg_model_final_state(further->fsg)];
    size_t used = strlen(further->words);
    if (!text_copy(further->sentence, sizeof further->sentence, further->words))
        return SPEECH_NOWHERE;
    for (int s = 0; s < fsg_model_n_state(further->fsg) && !further->different; s++)
        if (in[s])
            go_on(further, s, used, 0, false);
    if (!whole)
        return SPEECH_BEGUN;
    return further->begun && further->different ? SPEECH_MAY_GO_ON : SPEECH_WHOLE;
}

enum speech_place speech_place(struct speech_places *places, const char *grammar, const char *words)
{
    fsg_model_t *fsg = grammar_named(places, grammar);
    if (fsg == NULL || words[0] == '\0')
        return SPEECH_NOWHERE;
    size_t states = (size_t)fsg_model_n_state(fsg);
    bool *in = calloc(2 * states, sizeof *in);
    if (in == NULL)
        return SPEECH_NOWHERE;
    bool *from = in, *to = in + states, there = true;
    from[fsg_model_start_state(fsg)] = true;
    close_over(fsg, from);
    for (const char *word = words; there && *word != '\0';) {
        size_t length = strcspn(word, " ");
        there = follow(fsg, from, word, length, to);
        bool *swap = from;
        from = to;
        to = swap;
        word += length + strspn(word + length, " ");
    }
    struct further further = {.places = places, .fsg = fsg, .grammar = grammar, .words = words};
    enum speech_place place = there ? place_of(&further, from) : SPEECH_NOWHERE;
    free(in);
    return place;
}
