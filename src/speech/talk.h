/*
 * Talk of any kind: what a sentence of a grammar is weighed against. Whoever chats with a colleague
 * says common words in some order; a search over those explains what was said better than the
 * grammar's sentence that happens to be nearest, and does so for a voice that the acoustic model
 * knows badly, too, since both suffer alike. (Against a loop of single phones, which bends to any
 * voice, a strange voice's answers look like chatter.)
 *
 * The model is an ARPA file of single words and how often they are said: grammars/talk.lm, made by
 * tests/speech/talk-words. It holds the grammars' own words as well, so that an answer heard right
 * loses nothing against it.
 */
#ifndef MIDTHROW_SPEECH_TALK_H
#define MIDTHROW_SPEECH_TALK_H

#include <stdbool.h>

#include <pocketsphinx.h>

#include "base/fault.h"
#include "speech/lexicon.h"

/* Teaches the decoder the model's words and gives it a search of that `name`. `options` are the
 * decoder's; they are as before afterwards. */
bool speech_talk_open(ps_decoder_t *decoder, cmd_ln_t *options,
                      const struct speech_lexicon *lexicon, const char *path, const char *name,
                      struct fault *fault);

#endif
