/* Learning a voice: see enrol.h. */
#include "speech/enrol.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/random.h"
#include "speech/align.h"
#include "speech/front.h"
#include "speech/phonetic_learn.h"
#include "speech/recogniser_inside.h"
#include "speech/voice.h"

struct speech_enrolment {
    struct speech_recogniser *recogniser;
    struct phonetic_lesson *lesson;
    float *others; /* people talking, root mean square 1 */
    size_t others_frames, others_at;
};

/* With a prototype, seven voices that the network was taught without: see DEVELOPERS.md. */
static const float AS_BEFORE = 0.3f;

struct speech_enrolment *speech_enrolment_open(struct speech_recogniser *recogniser,
                                               struct fault *fault)
{
    struct speech_enrolment *enrolment = calloc(1, sizeof *enrolment);
    if (enrolment != NULL)
        *enrolment = (struct speech_enrolment){.recogniser = recogniser,
                                               .lesson = phonetic_lesson_open(AS_BEFORE)};
    if (enrolment == NULL || enrolment->lesson == NULL) {
        free(enrolment);
        fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
        return NULL;
    }
    if (!speech_voice_others(&enrolment->others, &enrolment->others_frames, fault)) {
        speech_enrolment_close(enrolment);
        return NULL;
    }
    recogniser->keeps = true;
    return enrolment;
}

void speech_enrolment_close(struct speech_enrolment *enrolment)
{
    if (enrolment == NULL)
        return;
    enrolment->recogniser->keeps = false;
    free(enrolment->recogniser->kept);
    enrolment->recogniser->kept = NULL;
    phonetic_lesson_close(enrolment->lesson);
    free(enrolment->others);
    free(enrolment);
}

/* ---- one sentence, as it was read and in noise ---- */

/* Which sound each 10 ms is, the first at step `from` of the sound. */
struct sounds {
    unsigned char *sound;
    size_t frames;
    long from;
};

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
}

/* Which sound is where, by the Gaussians' scores alone: it must not hang on what the network made
 * of it. */
static bool align(struct speech_recogniser *recogniser, const struct speech_front *front,
                  const struct speech_scores *scores, const char *words, struct sounds *sounds,
                  struct fault *fault)
{
    *sounds =
        (struct sounds){malloc(scores->frames + 1), scores->frames, front->from / SPEECH_FRAME};
    return sounds->sound != NULL ? speech_align(recogniser->decoder, &recogniser->lexicon, scores,
                                                words, sounds->sound, fault)
                                 : out_of_memory(fault);
}

static bool add_scored(struct speech_enrolment *enrolment, const struct speech_front *front,
                       const struct speech_scores *scores, const struct sounds *sounds)
{
    struct speech_cepstra *cepstra = enrolment->recogniser->cepstra;
    struct speech_seen seen = {0};
    unsigned char *sound = NULL;
    bool made = speech_cepstra_see(cepstra, front, scores, &seen) &&
                (sound = malloc(seen.frames + 1)) != NULL;
    for (size_t f = 0; made && f < seen.frames; f++) {
        long at = front->from / SPEECH_FRAME + (long)f - sounds->from;
        bool known = at >= 0 && at < (long)sounds->frames;
        sound[f] = known ? sounds->sound[at] : PHONETIC_STATES * PHONETIC_SILENCE;
    }
    made = made &&
           phonetic_lesson_add(enrolment->lesson, speech_cepstra_network(cepstra), &seen, sound);
    free(sound);
    speech_seen_finish(&seen);
    return made;
}

static bool add_seen(struct speech_enrolment *enrolment, const struct speech_front *front,
                     const struct sounds *sounds)
{
    struct speech_scores scores = {0};
    bool made = speech_cepstra_score_alone(enrolment->recogniser->cepstra, front, &scores) &&
                add_scored(enrolment, front, &scores, sounds);
    speech_scores_finish(&scores);
    return made;
}

/* As loud as the speech in the steps that hold some. */
static double speech_rms(const struct speech_front *front, const int16_t *pcm, size_t frames)
{
    double power = 0, count = 0;
    for (size_t step = 0; step < front->steps; step++)
        for (size_t i = 0; front->speech[step] && i < SPEECH_FRAME; i++) {
            long at = front->from + (long)(step * SPEECH_FRAME + i);
            if (at < 0 || at >= (long)frames)
                continue;
            power += (double)pcm[at] * pcm[at];
            count++;
        }
    return sqrt(power / fmax(count, 1));
}

/* A rush with more in the low: white noise and four times as much of it through one pole at 270 Hz;
 * root mean square 1.2. */
static double rush(uint32_t *random, double *low)
{
    double white = (double)random_next(random) / 2147483648.0 - 1;
    *low = 0.9 * *low + 0.1 * white;
    return 1.3 * (white + 4 * *low);
}

/* What is under the speech in one more hearing of a sentence. */
struct under {
    double snr_db;
    bool talk; /* others', else a rush */
    size_t around_ms;
};

static double under_next(struct speech_enrolment *enrolment, const struct under *under,
                         uint32_t *random, double *low)
{
    if (!under->talk)
        return rush(random, low);
    enrolment->others_at = (enrolment->others_at + 1) % enrolment->others_frames;
    return (double)enrolment->others[enrolment->others_at];
}

/* The sentence with that under it, and as much of it alone before and after as under->around_ms. */
static int16_t *put_over(struct speech_enrolment *enrolment, const struct under *under,
                         double speech, size_t *frames)
{
    const struct speech_recogniser *recogniser = enrolment->recogniser;
    size_t around = under->around_ms * SPEECH_RATE_HZ / 1000, kept = recogniser->kept_frames;
    double gain = speech * pow(10, -under->snr_db / 20), low = 0;
    uint32_t random = 1 + (uint32_t)kept;
    *frames = kept + 2 * around;
    int16_t *noisy = malloc((*frames + 1) * sizeof *noisy);
    for (size_t i = 0; noisy != NULL && i < *frames; i++) {
        double said = i >= around && i - around < kept ? recogniser->kept[i - around] : 0;
        double sample = said + gain * under_next(enrolment, under, &random, &low);
        noisy[i] = (int16_t)lrint(fmax(-32768, fmin(32767, sample)));
    }
    return noisy;
}

static bool add_over(struct speech_enrolment *enrolment, const struct under *under, double speech,
                     const struct sounds *sounds)
{
    size_t frames = 0;
    int16_t *noisy = put_over(enrolment, under, speech, &frames);
    struct sounds later = *sounds;
    struct speech_front front;
    later.from += (long)(under->around_ms * SPEECH_RATE_HZ / 1000 / SPEECH_FRAME);
    bool made = noisy != NULL && speech_front_make(noisy, frames, &front);
    free(noisy);
    if (!made)
        return false;
    made = front.speech_steps == 0 || add_seen(enrolment, &front, &later);
    speech_front_finish(&front);
    return made;
}

/* With what was learned in quiet alone more of a noise was taken for speech, and more of others'
 * talk for the person's. */
static const struct under unders[] = {{15, false, 0}, {5, false, 0}, {10, true, 800}};
enum { UNDERS = sizeof unders / sizeof unders[0] };

static bool take(struct speech_enrolment *enrolment, const struct speech_front *front,
                 const char *words, struct fault *fault)
{
    struct speech_recogniser *recogniser = enrolment->recogniser;
    struct sounds sounds = {0};
    struct speech_scores scores = {0};
    bool scored = speech_cepstra_score_alone(recogniser->cepstra, front, &scores);
    bool taken =
        scored ? align(recogniser, front, &scores, words, &sounds, fault) : out_of_memory(fault);
    if (taken) {
        double speech = speech_rms(front, recogniser->kept, recogniser->kept_frames);
        taken = add_scored(enrolment, front, &scores, &sounds);
        for (size_t u = 0; taken && u < UNDERS; u++)
            taken = add_over(enrolment, &unders[u], speech, &sounds);
        if (!taken)
            fault_set(fault, FAULT_FAILED, "no room for another sentence: begin again.");
    }
    free(sounds.sound);
    speech_scores_finish(&scores);
    return taken;
}

bool speech_enrolment_take(struct speech_enrolment *enrolment, const char *words,
                           struct fault *fault)
{
    const struct speech_recogniser *recogniser = enrolment->recogniser;
    struct speech_front front;
    if (recogniser->kept == NULL)
        return fault_set(fault, FAULT_FAILED, "nothing was heard: say '%s' again.", words);
    if (!speech_front_make(recogniser->kept, recogniser->kept_frames, &front))
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    bool taken = front.speech_steps > 0
                     ? take(enrolment, &front, words, fault)
                     : fault_set(fault, FAULT_FAILED, "nobody spoke there: say '%s' again.", words);
    speech_front_finish(&front);
    return taken;
}

struct speech_phonetic *speech_enrolment_learn(const struct speech_enrolment *enrolment,
                                               struct fault *fault)
{
    struct speech_phonetic *person = phonetic_lesson_learn(enrolment->lesson);
    if (person == NULL)
        fault_set(fault, FAULT_FAILED,
                  "the voice could not be learned: nothing was heard, or memory ran out.");
    return person;
}
