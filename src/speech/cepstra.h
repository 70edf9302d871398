/*
 * The sound as the searches see it: cepstra, in noise cleaned, their mean taken away, each frame
 * held against each sound of the model.
 */
#ifndef MIDTHROW_SPEECH_CEPSTRA_H
#define MIDTHROW_SPEECH_CEPSTRA_H

#include <stdbool.h>

#include <pocketsphinx.h>

#include "base/fault.h"
#include "speech/acoustic.h"
#include "speech/front.h"

struct speech_cepstra;

/* `options`: the decoder's, once ps_init has merged the model's own parameters into them. */
struct speech_cepstra *speech_cepstra_open(cmd_ln_t *options, const char *model,
                                           struct fault *fault);
void speech_cepstra_close(struct speech_cepstra *maker);

/* Each utterance for itself. The scores are to be finished (acoustic.h), even when false: memory
 * ran out, or the library failed. */
bool speech_cepstra_score(const struct speech_cepstra *maker, const struct speech_front *front,
                          struct speech_scores *scores);

#endif
