/* See grammar_words.h. */
#include "grammar_words.h"

#include <stdio.h>
#include <string.h>

#include <pocketsphinx.h>
#include <sphinxbase/fsg_model.h>
#include <sphinxbase/jsgf.h>

#include "language/language.h"

static bool add(struct grammar_words *words, const char *word)
{
    for (size_t i = 0; i < words->count; i++)
        if (strcmp(words->word[i], word) == 0)
            return true;
    if (words->count == GRAMMAR_WORDS || strlen(word) >= GRAMMAR_WORD)
        return false;
    strcpy(words->word[words->count++], word);
    return true;
}

static bool add_grammar(const char *path, logmath_t *logs, struct grammar_words *words)
{
    jsgf_t *jsgf = jsgf_parse_file(path, NULL);
    jsgf_rule_t *rule = jsgf == NULL ? NULL : jsgf_get_public_rule(jsgf);
    fsg_model_t *fsg = rule == NULL ? NULL : jsgf_build_fsg(jsgf, rule, logs, 1);
    bool added = fsg != NULL;
    for (int w = 0; added && w < fsg_model_n_word(fsg); w++)
        added = add(words, fsg_model_word_str(fsg, w));
    fsg_model_free(fsg);
    if (jsgf != NULL)
        jsgf_grammar_free(jsgf);
    return added;
}

bool grammar_words_read(const char *dir, struct grammar_words *words)
{
    logmath_t *logs = logmath_init(1.0001, 0, 0);
    bool read = true;
    words->count = 0;
    for (size_t g = 0; read && g < language_grammar_count(); g++) {
        char path[1024];
        snprintf(path, sizeof path, "%s/%s.gram", dir, language_grammar_name(g));
        read = add_grammar(path, logs, words);
        if (!read)
            fprintf(stderr, "'%s' cannot be read.\n", path);
    }
    logmath_free(logs);
    return read;
}
