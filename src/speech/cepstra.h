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
#include "speech/phonetic.h"

struct speech_cepstra;

/* `options`: the decoder's, once ps_init has merged the model's own parameters into them. */
struct speech_cepstra *speech_cepstra_open(cmd_ln_t *options, const char *model,
                                           struct fault *fault);
void speech_cepstra_close(struct speech_cepstra *maker);

/* What the network has learned of who speaks from here on, kept as long as it lasts by whoever gave
 * it; NULL: nobody known. */
void speech_cepstra_know(struct speech_cepstra *maker, const struct speech_phonetic *person);

/* Each utterance for itself. The scores are to be finished (acoustic.h), even when false: memory
 * ran out, or the library failed. */
bool speech_cepstra_score(const struct speech_cepstra *maker, const struct speech_front *front,
                          struct speech_scores *scores);

/* ---- the steps, for whoever teaches a network ---- */

const struct speech_phonetic *speech_cepstra_network(const struct speech_cepstra *maker);

/* By the acoustic model's Gaussians alone, without speech_phonetic. */
bool speech_cepstra_score_alone(const struct speech_cepstra *maker,
                                const struct speech_front *front, struct speech_scores *scores);

/* As they are. `cepstra`, of `frames`, is to be freed. */
bool speech_cepstra_take(const struct speech_cepstra *maker, const int16_t *pcm, size_t samples,
                         float (**cepstra)[SPEECH_CEPSTRA], size_t *frames);

/* What speech_phonetic gets to see, with `scores` by the Gaussians alone. False, and nothing made,
 * when memory runs out. */
bool speech_cepstra_see(const struct speech_cepstra *maker, const struct speech_front *front,
                        const struct speech_scores *scores, struct speech_seen *seen);

/* What speech_enhance gets to see. */
struct speech_cleaned {
    size_t frames;
    unsigned char *kind; /* enum speech_frame */
    float (*reduced)[SPEECH_CEPSTRA], (*cleaned)[SPEECH_CEPSTRA];
    double mean[SPEECH_CEPSTRA];
};

/* False, and nothing made, when memory runs out. */
bool speech_cepstra_clean(const struct speech_cepstra *maker, const struct speech_front *front,
                          struct speech_cleaned *made);
void speech_cleaned_finish(struct speech_cleaned *made);

#endif
