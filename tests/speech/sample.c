/*
 * Prints sentences of a grammar, chosen at random with a seed: what the bench has its voices say.
 *   sample GRAMMAR.gram COUNT SEED
 * A random walk through the grammar as the recogniser sees it; commands are left out by walking
 * again when a walk's sentence is not wanted is the caller's business (grep).
 */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <pocketsphinx.h>
#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>
#include <sphinxbase/jsgf.h>

#include "base/random.h"

static uint32_t state;

/* One arc out of `at`, all equally likely; NULL at a dead end. */
static fsg_link_t *choose(fsg_model_t *fsg, int at)
{
    fsg_link_t *chosen = NULL;
    uint32_t seen = 0;
    for (fsg_arciter_t *arc = fsg_model_arcs(fsg, at); arc != NULL; arc = fsg_arciter_next(arc))
        if (random_next(&state) % ++seen == 0)
            chosen = fsg_arciter_get(arc);
    return chosen;
}

static void walk(fsg_model_t *fsg)
{
    int at = fsg_model_start_state(fsg);
    const char *between = "";
    for (int steps = 0; steps < 1000; steps++) {
        if (at == fsg_model_final_state(fsg))
            break;
        fsg_link_t *arc = choose(fsg, at);
        if (arc == NULL)
            break;
        if (fsg_link_wid(arc) >= 0) {
            printf("%s%s", between, fsg_model_word_str(fsg, fsg_link_wid(arc)));
            between = " ";
        }
        at = fsg_link_to_state(arc);
    }
    putchar('\n');
}

int main(int argc, char **argv)
{
    if (argc != 4) {
        fputs("usage: sample GRAMMAR.gram COUNT SEED\n", stderr);
        return 2;
    }
    err_set_logfp(NULL);
    state = (uint32_t)strtoul(argv[3], NULL, 10) * 2654435761u | 1u;
    logmath_t *logs = logmath_init(1.0001, 0, 0);
    jsgf_t *jsgf = jsgf_parse_file(argv[1], NULL);
    fsg_model_t *fsg =
        jsgf == NULL ? NULL : jsgf_build_fsg(jsgf, jsgf_get_public_rule(jsgf), logs, 1.0f);
    if (fsg == NULL) {
        fprintf(stderr, "sample: cannot read '%s'.\n", argv[1]);
        return 1;
    }
    for (long i = strtol(argv[2], NULL, 10); i > 0; i--)
        walk(fsg);
    fsg_model_free(fsg);
    jsgf_grammar_free(jsgf);
    logmath_free(logs);
    return 0;
}
