/* A walk through a grammar's automaton: see sentences.h. */
#include "sentences.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <pocketsphinx.h>
#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>
#include <sphinxbase/jsgf.h>

#include "base/random.h"

struct sentences {
    logmath_t *logs;
    jsgf_t *jsgf;
    fsg_model_t *fsg;
};

struct sentences *sentences_open(const char *path)
{
    struct sentences *sentences = calloc(1, sizeof *sentences);
    if (sentences == NULL)
        return NULL;
    err_set_logfp(NULL);
    sentences->logs = logmath_init(1.0001, 0, 0);
    sentences->jsgf = jsgf_parse_file(path, NULL);
    if (sentences->jsgf != NULL)
        sentences->fsg = jsgf_build_fsg(sentences->jsgf, jsgf_get_public_rule(sentences->jsgf),
                                        sentences->logs, 1.0f);
    if (sentences->fsg != NULL)
        return sentences;
    fprintf(stderr, "the grammar '%s' cannot be read.\n", path);
    sentences_close(sentences);
    return NULL;
}

void sentences_close(struct sentences *sentences)
{
    if (sentences == NULL)
        return;
    if (sentences->fsg != NULL)
        fsg_model_free(sentences->fsg);
    if (sentences->jsgf != NULL)
        jsgf_grammar_free(sentences->jsgf);
    logmath_free(sentences->logs);
    free(sentences);
}

/* One arc out of `at`, all equally likely; NULL at a dead end. */
static fsg_link_t *choose(fsg_model_t *fsg, int at, uint32_t *random)
{
    fsg_link_t *chosen = NULL;
    uint32_t seen = 0;
    for (fsg_arciter_t *arc = fsg_model_arcs(fsg, at); arc != NULL; arc = fsg_arciter_next(arc))
        if (random_next(random) % ++seen == 0)
            chosen = fsg_arciter_get(arc);
    return chosen;
}

bool sentences_choose(const struct sentences *sentences, uint32_t *random, char *words, size_t size)
{
    fsg_model_t *fsg = sentences->fsg;
    int at = fsg_model_start_state(fsg);
    size_t used = 0;
    words[0] = '\0';
    for (int steps = 0; steps < 1000; steps++) {
        if (at == fsg_model_final_state(fsg))
            return used > 0;
        fsg_link_t *arc = choose(fsg, at, random);
        if (arc == NULL)
            return false;
        if (fsg_link_wid(arc) >= 0) {
            int more = snprintf(words + used, size - used, "%s%s", used > 0 ? " " : "",
                                fsg_model_word_str(fsg, fsg_link_wid(arc)));
            if (more < 0 || (size_t)more >= size - used)
                return false;
            used += (size_t)more;
        }
        at = fsg_link_to_state(arc);
    }
    return false;
}

const char *sentences_word(const struct sentences *sentences, size_t index)
{
    if (index >= (size_t)fsg_model_n_word(sentences->fsg))
        return NULL;
    return fsg_model_word_str(sentences->fsg, (int)index);
}
