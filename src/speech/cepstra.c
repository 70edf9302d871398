/*
 * The sound as the searches see it: see cepstra.h. The cepstra are made once and normalised here,
 * so that every search sees the same and nothing is carried over from one utterance to the next.
 */
#include "speech/cepstra.h"

#include <stdlib.h>
#include <string.h>

#include <pocketsphinx.h>

#include "speech/clean.h"
#include "speech/enhance.h"

struct speech_cepstra {
    fe_t *front_end[2]; /* [1] takes noise away as well */
    fe_t *mel;
    struct speech_acoustic *acoustic;
    struct speech_enhancer *enhancer;
    struct speech_phonetic *phonetic;
    const struct speech_phonetic *person; /* NULL: nobody known */
};

/* The same frames as the cepstra's, as the log of the energy in bands of equal width to the ear. */
static fe_t *open_mel(void)
{
    cmd_ln_t *options =
        cmd_ln_init(NULL, ps_args(), TRUE, "-logspec", "yes", "-nfilt", "32", "-lowerf", "120",
                    "-upperf", "7200", "-remove_silence", "no", "-remove_noise", "no", NULL);
    fe_t *mel = options != NULL ? fe_init_auto_r(options) : NULL;
    if (options != NULL)
        cmd_ln_free_r(options);
    if (mel != NULL && fe_get_output_size(mel) == PHONETIC_MEL)
        return mel;
    fe_free(mel);
    return NULL;
}

struct speech_cepstra *speech_cepstra_open(cmd_ln_t *options, const char *model,
                                           struct fault *fault)
{
    struct speech_cepstra *maker = calloc(1, sizeof *maker);
    bool made = maker != NULL;
    for (int reduce = 0; made && reduce < 2; reduce++) {
        cmd_ln_set_boolean_r(options, "-remove_noise", reduce);
        maker->front_end[reduce] = fe_init_auto_r(options);
        made = maker->front_end[reduce] != NULL;
    }
    if (made)
        made = (maker->mel = open_mel()) != NULL &&
               (maker->enhancer = speech_enhance_open()) != NULL &&
               (maker->phonetic = speech_phonetic_open()) != NULL;
    if (!made)
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    if (made)
        maker->acoustic = speech_acoustic_open(model, fault);
    if (made && maker->acoustic != NULL)
        return maker;
    speech_cepstra_close(maker);
    return NULL;
}

void speech_cepstra_close(struct speech_cepstra *maker)
{
    if (maker == NULL)
        return;
    for (int reduce = 0; reduce < 2; reduce++)
        if (maker->front_end[reduce] != NULL)
            fe_free(maker->front_end[reduce]);
    if (maker->mel != NULL)
        fe_free(maker->mel);
    speech_acoustic_close(maker->acoustic);
    speech_enhance_close(maker->enhancer);
    speech_phonetic_close(maker->phonetic);
    free(maker);
}

void speech_cepstra_know(struct speech_cepstra *maker, const struct speech_phonetic *person)
{
    maker->person = person;
}

const struct speech_phonetic *speech_cepstra_network(const struct speech_cepstra *maker)
{
    return maker->phonetic;
}

/* The mean cepstrum is taken over the speech alone, and leans on the mean the model was trained
 * with (feat.params, -cmninit) as if that had been heard for PRIOR_FRAMES: a lone "six" is too
 * short to show what the room and the microphone do. MAP estimate of a mean, Gauvain and Lee 1994,
 * eq. 25. */
static const double PRIOR[SPEECH_CEPSTRA] = {41.00, -5.29, -0.12, 5.09,  2.48,  -4.07, -1.37,
                                             -1.78, -5.08, -2.05, -6.45, -1.42, 1.17};
static const double PRIOR_FRAMES = 20;

static void mean_of_speech(const float (*cepstra)[SPEECH_CEPSTRA], const unsigned char *kind,
                           size_t frames, double mean[SPEECH_CEPSTRA])
{
    double weight = PRIOR_FRAMES;
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
        mean[c] = PRIOR[c] * PRIOR_FRAMES;
    for (size_t f = 0; f < frames; f++) {
        if (kind[f] != SPEECH_FRAME_SPEECH)
            continue;
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
            mean[c] += (double)cepstra[f][c];
        weight += 1;
    }
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
        mean[c] /= weight;
}

/* What is taken off a sound before it is searched. In quiet nothing: each means costs a sentence or
 * two in a hundred there. In noise the library's reduction, which follows noise that changes, then
 * what is left of it that is steady (clean.h), then what a network has learned of the rest
 * (enhance.h). First readings right of 150 sentences by the tuning voices at 20, 10, 5 and 0 dB:
 * without the network and with all frames taken for speech in loud noise 92, 77, 47 and 23 %; now
 * 95, 91, 79 and 53 %. */
static const double CLEAN_BELOW_DB = 28;

/* What each frame is; frame f begins at step f. To be freed; NULL when memory runs out. */
static unsigned char *kinds_of(const struct speech_front *front, size_t frames)
{
    unsigned char *kind = malloc(frames);
    for (size_t f = 0; kind != NULL && f < frames; f++)
        if (f >= front->steps || !front->inside[f])
            kind[f] = SPEECH_FRAME_OUTSIDE;
        else
            kind[f] = front->speech[f] ? SPEECH_FRAME_SPEECH : SPEECH_FRAME_NOISE;
    return kind;
}

/* Each utterance for itself: what the library knew of the last one's noise is forgotten. */
static float *take_rows(fe_t *front_end, const int16_t *pcm, size_t samples, size_t *frames)
{
    mfcc_t **rows = NULL, rest[PHONETIC_MEL];
    int32 count = 0, left = 0;
    size_t row = (size_t)fe_get_output_size(front_end) * sizeof(float);
    fe_start_stream(front_end);
    fe_start_utt(front_end);
    if (fe_process_utt(front_end, pcm, samples, &rows, &count) < 0)
        return NULL;
    fe_end_utt(front_end, rest, &left); /* a part of a frame: not worth having */
    *frames = (size_t)count;
    float *taken = count > 0 ? malloc(*frames * row) : NULL;
    if (taken != NULL)
        memcpy(taken, rows[0], *frames * row);
    fe_free_2d(rows);
    return taken;
}

static bool take(fe_t *front_end, const int16_t *pcm, size_t samples,
                 float (**cepstra)[SPEECH_CEPSTRA], size_t *frames)
{
    *cepstra = (float(*)[SPEECH_CEPSTRA])take_rows(front_end, pcm, samples, frames);
    return *cepstra != NULL;
}

bool speech_cepstra_see(const struct speech_cepstra *maker, const struct speech_front *front,
                        const struct speech_scores *scores, struct speech_seen *seen)
{
    *seen = (struct speech_seen){0};
    seen->mel =
        (float(*)[PHONETIC_MEL])take_rows(maker->mel, front->pcm, front->frames, &seen->frames);
    if (seen->mel != NULL)
        seen->kind = kinds_of(front, seen->frames);
    if (seen->kind != NULL)
        seen->fit = malloc(seen->frames * sizeof *seen->fit);
    if (seen->fit == NULL || seen->frames != scores->frames) {
        speech_seen_finish(seen);
        return false;
    }
    speech_acoustic_fit(maker->acoustic, scores, seen->fit);
    return true;
}

bool speech_cepstra_take(const struct speech_cepstra *maker, const int16_t *pcm, size_t samples,
                         float (**cepstra)[SPEECH_CEPSTRA], size_t *frames)
{
    return take(maker->front_end[0], pcm, samples, cepstra, frames);
}

bool speech_cepstra_clean(const struct speech_cepstra *maker, const struct speech_front *front,
                          struct speech_cleaned *made)
{
    *made = (struct speech_cleaned){0};
    if (!take(maker->front_end[1], front->pcm, front->frames, &made->reduced, &made->frames))
        return false;
    made->kind = kinds_of(front, made->frames);
    made->cleaned = malloc(made->frames * sizeof *made->cleaned);
    if (made->kind == NULL || made->cleaned == NULL) {
        speech_cleaned_finish(made);
        return false;
    }
    memcpy(made->cleaned, made->reduced, made->frames * sizeof *made->cleaned);
    speech_clean(speech_acoustic_prior(maker->acoustic), made->cleaned, made->kind, made->frames,
                 PRIOR, PRIOR_FRAMES);
    mean_of_speech((const float(*)[SPEECH_CEPSTRA])made->cleaned, made->kind, made->frames,
                   made->mean);
    return true; // NOLINT(clang-analyzer-unix.Malloc): the caller finishes what was made
}

void speech_cleaned_finish(struct speech_cleaned *made)
{
    free(made->kind);
    free(made->reduced);
    free(made->cleaned);
    *made = (struct speech_cleaned){0};
}

static bool make_quiet(const struct speech_cepstra *maker, const struct speech_front *front,
                       struct speech_cleaned *made)
{
    *made = (struct speech_cleaned){0};
    if (!take(maker->front_end[0], front->pcm, front->frames, &made->cleaned, &made->frames))
        return false;
    made->kind = kinds_of(front, made->frames);
    return made->kind != NULL; // NOLINT(clang-analyzer-unix.Malloc): as above
}

static bool make_noisy(const struct speech_cepstra *maker, const struct speech_front *front,
                       struct speech_cleaned *made)
{
    if (!speech_cepstra_clean(maker, front, made))
        return false;
    speech_enhance(maker->enhancer, made->cleaned, (const float(*)[SPEECH_CEPSTRA])made->reduced,
                   made->kind, made->frames, made->mean);
    return true;
}

static void take_mean_away(struct speech_cleaned *made)
{
    mean_of_speech((const float(*)[SPEECH_CEPSTRA])made->cleaned, made->kind, made->frames,
                   made->mean);
    for (size_t f = 0; f < made->frames; f++) // NOLINT(clang-analyzer-unix.Malloc): as above
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
            made->cleaned[f][c] -= (float)made->mean[c];
}

static bool is_noisy(const struct speech_front *front)
{
    return front->snr_db < CLEAN_BELOW_DB;
}

bool speech_cepstra_score_alone(const struct speech_cepstra *maker,
                                const struct speech_front *front, struct speech_scores *scores)
{
    struct speech_cleaned made;
    *scores = (struct speech_scores){0};
    bool scored =
        is_noisy(front) ? make_noisy(maker, front, &made) : make_quiet(maker, front, &made);
    if (scored) {
        take_mean_away(&made);
        scored = speech_acoustic_score(
            maker->acoustic, (const float(*)[SPEECH_CEPSTRA])made.cleaned, made.frames, scores);
    }
    speech_cleaned_finish(&made);
    return scored;
}

/* Reads it again, by the network that knows nobody. */
static bool as_a_stranger(const struct speech_cepstra *maker, const struct speech_seen *seen,
                          float (*sounds)[PHONETIC_SOUNDS], struct speech_scores *scores)
{
    return speech_phonetic_read(maker->phonetic, seen, sounds) &&
           speech_acoustic_chances((const float(*)[PHONETIC_SOUNDS])sounds, scores->frames,
                                   &scores->stranger);
}

bool speech_cepstra_score(const struct speech_cepstra *maker, const struct speech_front *front,
                          struct speech_scores *scores)
{
    struct speech_seen seen = {0};
    float(*sounds)[PHONETIC_SOUNDS] = NULL;
    const struct speech_phonetic *network = maker->person != NULL ? maker->person : maker->phonetic;
    bool scored =
        speech_cepstra_score_alone(maker, front, scores) &&
        speech_cepstra_see(maker, front, scores, &seen) &&
        (sounds = malloc(seen.frames * sizeof *sounds)) != NULL &&
        speech_phonetic_read(network, &seen, sounds) &&
        speech_acoustic_join(maker->acoustic, (const float(*)[PHONETIC_SOUNDS])sounds,
                             front->hushed, is_noisy(front), maker->person != NULL, scores) &&
        (maker->person == NULL || as_a_stranger(maker, &seen, sounds, scores));
    free(sounds);
    speech_seen_finish(&seen);
    return scored;
}
