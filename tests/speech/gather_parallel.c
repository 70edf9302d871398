/*
 * Sentences with a noise under them and without: what speech_enhance is taught on.
 *
 *     gather-parallel FILE FROM TO
 *
 * Utterances FROM .. TO - 1, the same every time. The voices that may be tuned on say answers and
 * common words in any order, in all manners; of eSpeak NG's American voice the variants as well.
 * Each sentence meets the noises that may be tuned in four times, as lesson.h has them, 30 to -3 dB
 * under the speech. Without noise is with pink noise at 40 dB, as the bench has quiet.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lesson.h"
#include "level.h"
#include "parallel.h"
#include "speech/enhance_table.h"
#include "utterances.h"
#include "voices.h"

enum { ANSWERS = 1500, MIXES = 4 };

static const double QUIET_DB = 40, LEAST_DB = -3, MOST_DB = 30;

struct gatherer {
    struct lesson lesson;
    struct parallel_cepstra cepstra;
    struct utterances *answers;
};

/* ---- what is said ---- */

static struct voice choose_voice(struct gatherer *g)
{
    static const char *const formants[] = {"en-us",    "en-us+m1", "en-us+m3", "en-us+m5",
                                           "en-us+f1", "en-us+f2", "en-us+f5"};
    double share = lesson_uniform(&g->lesson);
    if (share < 0.75)
        return *voices_named(share < 0.4 ? "awb" : "kal16");
    return (struct voice){formants[lesson_below(&g->lesson, 7)], VOICES_ESPEAK, true, ""};
}

static void choose_words(struct gatherer *g, char *said, size_t size)
{
    size_t count = 2 + lesson_below(&g->lesson, 5);
    if (lesson_uniform(&g->lesson) < 0.5) {
        size_t u = lesson_below(&g->lesson, utterances_count(g->answers));
        snprintf(said, size, "%s", utterances_at(g->answers, u)->words);
        return;
    }
    lesson_choose_words(&g->lesson, count, said, size);
}

/* ---- frames ---- */

static bool write_frames(const struct gatherer *g, const struct parallel *pair, size_t utterance,
                         double snr_db)
{
    const struct speech_cleaned *made = &pair->noisy;
    struct parallel_head head = {(float)pair->frames, (float)utterance, (float)snr_db, {0}, {0}};
    double noise[SPEECH_CEPSTRA];
    if (pair->frames == 0 || !enhance_noise((const float(*)[SPEECH_CEPSTRA])made->reduced,
                                            made->kind, made->frames, noise))
        return true; /* speech_enhance leaves it alone, too */
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++) {
        head.mean[c] = (float)made->mean[c];
        head.noise[c] = (float)noise[c];
    }
    bool written = fwrite(&head, sizeof head, 1, g->lesson.out) == 1;
    for (size_t f = 0; written && f < pair->frames; f++) {
        struct parallel_frame frame = {.kind = made->kind[f]};
        memcpy(frame.cleaned, made->cleaned[f], sizeof frame.cleaned);
        memcpy(frame.reduced, made->reduced[f], sizeof frame.reduced);
        memcpy(frame.wanted, pair->wanted[f], sizeof frame.wanted);
        written = fwrite(&frame, sizeof frame, 1, g->lesson.out) == 1;
    }
    return written;
}

static bool mix_and_compare(struct gatherer *g, const struct recording *quiet, double *noise,
                            size_t utterance)
{
    struct recording noisy;
    struct parallel pair = {0};
    double snr_db = lesson_between(&g->lesson, LEAST_DB, MOST_DB);
    if (!recording_copy(quiet, &noisy))
        return false;
    bool done = lesson_noise(&g->lesson, 0, noise, noisy.frames) &&
                level_mix(&noisy, noise, snr_db) &&
                parallel_make(g->cepstra.maker, quiet, &noisy, &g->lesson.random, &pair) &&
                write_frames(g, &pair, utterance, snr_db);
    parallel_finish(&pair);
    recording_free(&noisy);
    return done;
}

static bool gather_one(void *context, size_t utterance)
{
    struct gatherer *g = context;
    char said[256];
    struct recording quiet = {0};
    struct voice voice = choose_voice(g);
    choose_words(g, said, sizeof said);
    if (!voices_say_as(&voice, lesson_below(&g->lesson, VOICES_MANNERS), said, &quiet))
        return false;
    double *noise = malloc((quiet.frames + SPEECH_RATE_HZ) * sizeof *noise);
    bool done = noise != NULL && studio_mix(&g->lesson.studio, &quiet, NULL, noise_named("pink"),
                                            (int)QUIET_DB, g->lesson.random);
    for (int mix = 0; done && mix < MIXES; mix++)
        done = mix_and_compare(g, &quiet, noise, utterance);
    free(noise);
    recording_free(&quiet);
    return done;
}

int main(int argc, char **argv)
{
    struct gatherer *g = calloc(1, sizeof *g);
    int code = 1;
    if (g != NULL && parallel_open(&g->cepstra))
        g->answers = utterances_make(UTTERANCES_TUNE, GRAMMARS, ANSWERS);
    if (g != NULL && g->answers != NULL)
        code = lesson_run(&g->lesson, argc, argv, gather_one, g);
    if (g != NULL) {
        utterances_free(g->answers);
        parallel_close(&g->cepstra);
    }
    free(g);
    return code;
}
