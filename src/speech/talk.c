/* Talk of any kind: see talk.h. */
#include "speech/talk.h"

#include <stdlib.h>

#include <sphinxbase/ngram_model.h>

/* Narrower than the grammars': only the best path is wanted. Wider ones find a better one seldom.
 */
static const double BEAM = 1e-48, WORD_BEAM = 1e-30;

/* The model's words but its sentence marks; false when a word has no pronunciation. */
static bool teach_words(const struct speech_lexicon *lexicon, ps_decoder_t *decoder,
                        ngram_model_t *model, struct fault *fault)
{
    size_t known = ngram_model_get_counts(model)[0], count = 0;
    const char **words = calloc(known + 1, sizeof *words);
    if (words == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    for (size_t w = 0; w < known; w++) {
        const char *word = ngram_word(model, (int32)w);
        if (word[0] != '<')
            words[count++] = word;
    }
    bool taught = speech_lexicon_teach(lexicon, decoder, words, count, fault);
    free(words);
    return taught;
}

static bool search_for(ps_decoder_t *decoder, cmd_ln_t *options, const char *name,
                       ngram_model_t *model)
{
    static const char *const beams[] = {"-beam", "-pbeam", "-wbeam"};
    double kept[3];
    for (int b = 0; b < 3; b++) {
        kept[b] = cmd_ln_float_r(options, beams[b]);
        cmd_ln_set_float_r(options, beams[b], b < 2 ? BEAM : WORD_BEAM);
    }
    bool set = ps_set_lm(decoder, name, model) == 0;
    for (int b = 0; b < 3; b++)
        cmd_ln_set_float_r(options, beams[b], kept[b]);
    return set;
}

bool speech_talk_open(ps_decoder_t *decoder, cmd_ln_t *options,
                      const struct speech_lexicon *lexicon, const char *path, const char *name,
                      struct fault *fault)
{
    ngram_model_t *model = ngram_model_read(options, path, NGRAM_AUTO, ps_get_logmath(decoder));
    if (model == NULL)
        return fault_set(
            fault, FAULT_MISSING,
            "'%s' is no list of common words that can be used: install midthrow again.", path);
    bool opened = teach_words(lexicon, decoder, model, fault);
    if (opened && !search_for(decoder, options, name, model))
        opened = fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    ngram_model_free(model);
    return opened;
}
