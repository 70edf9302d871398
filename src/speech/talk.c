/* Talk of any kind: see talk.h. */
#include "speech/talk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { WORDS = 6000, WORD = 48 };

/* Narrower than the grammars': only the best path is wanted. Wider ones find a better one seldom.
 */
static const double BEAM = 1e-48, WORD_BEAM = 1e-30;

struct words {
    char text[WORDS][WORD];
    const char *word[WORDS];
    size_t count;
};

/* The words of an ARPA file's 1-grams, sentence marks left out. */
static bool read_words(FILE *file, struct words *words)
{
    char line[256];
    bool within = false;
    while (fgets(line, sizeof line, file) != NULL) {
        char *word = strchr(line, '\t');
        line[strcspn(line, "\r\n")] = '\0';
        if (line[0] == '\\')
            within = strcmp(line, "\\1-grams:") == 0;
        if (!within || word == NULL || word[1] == '<')
            continue;
        word++;
        word[strcspn(word, " \t")] = '\0';
        if (words->count == WORDS || !text_copy(words->text[words->count], WORD, word))
            return false;
        words->word[words->count] = words->text[words->count];
        words->count++;
    }
    return words->count > 0;
}

static bool search_for(ps_decoder_t *decoder, cmd_ln_t *options, const char *path, const char *name)
{
    static const char *const beams[] = {"-beam", "-pbeam", "-wbeam"};
    double kept[3];
    for (int b = 0; b < 3; b++) {
        kept[b] = cmd_ln_float_r(options, beams[b]);
        cmd_ln_set_float_r(options, beams[b], b < 2 ? BEAM : WORD_BEAM);
    }
    bool set = ps_set_lm_file(decoder, name, path) == 0;
    for (int b = 0; b < 3; b++)
        cmd_ln_set_float_r(options, beams[b], kept[b]);
    return set;
}

bool speech_talk_open(ps_decoder_t *decoder, cmd_ln_t *options,
                      const struct speech_lexicon *lexicon, const char *path, const char *name,
                      struct fault *fault)
{
    struct words *words = calloc(1, sizeof *words);
    FILE *file = fopen(path, "r");
    bool read = words != NULL && file != NULL && read_words(file, words);
    if (file != NULL)
        fclose(file);
    bool opened = read && speech_lexicon_teach(lexicon, decoder, words->word, words->count, fault);
    free(words);
    if (read && !opened)
        return false; /* a word that nobody can pronounce */
    if (opened && search_for(decoder, options, path, name))
        return true;
    return fault_set(fault, FAULT_MISSING,
                     "'%s' is no list of common words that can be used: install midthrow again.",
                     path);
}
