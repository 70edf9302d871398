/*
 * How well each sound of the acoustic model fits each 10 ms of a recording, worked out once and for
 * all: every search over the recording then reads the same table. The library would work it out
 * anew for each search, which is where three quarters of the ear's time went.
 *
 *     struct speech_acoustic *model = speech_acoustic_open("/.../en-us", &fault);
 *     struct speech_scores scores;
 *     speech_acoustic_score(model, cepstra, frames, &scores);
 *     speech_acoustic_fit(model, &scores, fit); ... speech_phonetic_read(... fit ... sounds) ...
 *     speech_acoustic_join(model, sounds, hushed, is_noisy, is_known, &scores);
 *     FILE *file = speech_scores_open(&scores); ... ps_decode_senscr(decoder, file) ...
 *     speech_scores_finish(&scores);
 *
 * The model is the library's own "phonetically tied" kind: a set of Gaussians for each phone and
 * each of three streams (cepstra, their slopes, the slopes' slopes), and for every senone (a third
 * of a phone in its context) a set of weights over them. Scores are the library's to within its
 * rounding (Huggins-Daines 2011, ptm_mgau.c of PocketSphinx 5prealpha): four best Gaussians a
 * stream, what is 9.8 nats under the frame's best held there, so that no single dimension can
 * condemn a frame. To their log likelihoods are added those of a network that was taught in noise
 * (phonetic.h), each side times an exponent (acoustic.c).
 */
#ifndef MIDTHROW_SPEECH_ACOUSTIC_H
#define MIDTHROW_SPEECH_ACOUSTIC_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "base/fault.h"
#include "speech/phonetic.h"

enum { SPEECH_CEPSTRA = 13 };

struct speech_acoustic;

/* A table in the form that ps_decode_senscr reads: a head, then for each frame the number of
 * senones and their costs (0 best), in steps of SPEECH_NATS. */
struct speech_scores {
    char *table;
    size_t size, frames;
    size_t head; /* bytes before the first frame's row; all rows are as long as each other */
    float (*chance)[PHONETIC_PHONES]; /* of each frame: speech_phonetic_chances; NULL: not known */
    float (*stranger)[PHONETIC_PHONES]; /* the same as if nobody were known; NULL: nobody is */
};

static const double SPEECH_NATS = 0.1024; /* ln 1.0001 times 2^10: one step of a score */

struct speech_acoustic *speech_acoustic_open(const char *model_dir, struct fault *fault);
void speech_acoustic_close(struct speech_acoustic *model);

/* By the Gaussians alone. `cepstra` are normalised already. False only when memory runs out. */
bool speech_acoustic_score(const struct speech_acoustic *model,
                           const float (*cepstra)[SPEECH_CEPSTRA], size_t frames,
                           struct speech_scores *scores);

/* Of each frame of the scores, by how many nats each phone fits worse than the best one: by its
 * best senone, in whatever context. */
void speech_acoustic_fit(const struct speech_acoustic *model, const struct speech_scores *scores,
                         float (*fit)[PHONETIC_PHONES]);

/* Adds what speech_phonetic_read made of the same frames, and in each frame `hushed` nats to the
 * cost of every sound of speech (front.h). In noise the network is believed more: the Gaussians
 * know none; and once it knows who speaks. False only when memory runs out. */
bool speech_acoustic_join(const struct speech_acoustic *model,
                          const float (*sounds)[PHONETIC_SOUNDS], const float *hushed,
                          bool is_noisy, bool is_known, struct speech_scores *scores);

/* speech_phonetic_chances of each frame, into memory of its own: for `chance` and `stranger` of the
 * scores, which free it. False only when memory runs out. */
bool speech_acoustic_chances(const float (*sounds)[PHONETIC_SOUNDS], size_t frames,
                             float (**chance)[PHONETIC_PHONES]);

/* What speech's cepstra are like, an utterance's mean taken away: the Gaussians of the first
 * stream, each with its phone's mean weight for it, all phones alike. Member by member along the
 * last index, phone after phone; the model's own, to be read while it lives. */
struct speech_prior {
    size_t count; /* of Gaussians */
    float *mean[SPEECH_CEPSTRA], *variance[SPEECH_CEPSTRA];
    float *log_weight;
};
const struct speech_prior *speech_acoustic_prior(const struct speech_acoustic *model);

/* To be closed before the scores are finished; NULL when memory runs out. */
FILE *speech_scores_open(const struct speech_scores *scores);
/* A frame's cost of a senone, in the scores' steps, over the frame's best; the first senones are
 * the sounds of phonetic.h. */
int speech_scores_cost(const struct speech_scores *scores, size_t frame, size_t senone);

void speech_scores_finish(struct speech_scores *scores);

#endif
