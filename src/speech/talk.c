/* Talk of any kind: see talk.h. */
#include "speech/talk.h"

#include <stdlib.h>

#include <sphinxbase/ngram_model.h>

/* The beams are narrower than the grammars': only the best path is wanted; wider ones find a better
 * one seldom. Words end within 1e-15 of the best: of 360 answers none is weighed otherwise than
 * with 1e-30, and eight seconds of babble cost half. What a word costs is the library's: the talk's
 * model was weighed with that. */
enum { OWN = 4 };
static const struct {
    const char *option;
    double value;
} own[OWN] = {{"-beam", 1e-48}, {"-pbeam", 1e-48}, {"-wbeam", 1e-15}, {"-wip", 0.65}};

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

static bool open_search(ps_decoder_t *decoder, cmd_ln_t *options,
                        const struct speech_lexicon *lexicon, const char *path, const char *name,
                        struct fault *fault)
{
    ngram_model_t *model = ngram_model_read(options, path, NGRAM_AUTO, ps_get_logmath(decoder));
    if (model == NULL)
        return fault_set(
            fault, FAULT_MISSING,
            "'%s' is no list of common words that can be used: install midthrow again.", path);
    bool opened = teach_words(lexicon, decoder, model, fault);
    if (opened && ps_set_lm(decoder, name, model) != 0)
        opened = fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    ngram_model_free(model);
    return opened;
}

bool speech_talk_open(ps_decoder_t *decoder, cmd_ln_t *options,
                      const struct speech_lexicon *lexicon, const char *path, const char *name,
                      struct fault *fault)
{
    double kept[OWN];
    for (int o = 0; o < OWN; o++) {
        kept[o] = cmd_ln_float_r(options, own[o].option);
        cmd_ln_set_float_r(options, own[o].option, own[o].value);
    }
    bool opened = open_search(decoder, options, lexicon, path, name, fault);
    for (int o = 0; o < OWN; o++)
        cmd_ln_set_float_r(options, own[o].option, kept[o]);
    return opened;
}
