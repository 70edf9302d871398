/*
 * Sentences with a noise under them and without: what speech_enhance is taught on.
 *
 *     gather-parallel FILE FROM TO
 *
 * Utterances FROM .. TO - 1, the same every time. The voices that may be tuned on say answers and
 * common words in any order, in all manners; of eSpeak NG's American voice the variants as well.
 * Each sentence meets the noises that may be tuned in four times, 30 to -3 dB under the speech: one
 * or two of them at once, half of the time coloured anew, so that no noise is learned by heart.
 * Without noise is with pink noise at 40 dB, as the bench has quiet.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "level.h"
#include "noises.h"
#include "parallel.h"
#include "speech/enhance_table.h"
#include "studio.h"
#include "utterances.h"
#include "voices.h"

enum { WORDS = 4000, WORD = 32, ANSWERS = 1500, MIXES = 4 };

static const double QUIET_DB = 40, LEAST_DB = -3, MOST_DB = 30;

struct gatherer {
    uint32_t random;
    struct parallel_cepstra cepstra;
    struct studio studio;
    struct utterances *answers;
    char word[WORDS][WORD];
    size_t words;
    const struct noise_kind *kind[32];
    size_t kinds;
    FILE *out;
};

/* ---- chance ---- */

static double uniform(struct gatherer *g)
{
    return parallel_uniform(&g->random);
}

static double between(struct gatherer *g, double least, double most)
{
    return least + (most - least) * uniform(g);
}

static size_t below(struct gatherer *g, size_t count)
{
    return (size_t)(uniform(g) * (double)count);
}

/* ---- setting up ---- */

static bool read_words(struct gatherer *g)
{
    char line[128];
    FILE *file = fopen(GRAMMARS "/talk.lm", "r");
    while (file != NULL && g->words < WORDS && fgets(line, sizeof line, file) != NULL)
        if (sscanf(line, "%*f %31[a-z]", g->word[g->words]) == 1)
            g->words++;
    if (file != NULL)
        fclose(file);
    return g->words > 0;
}

static bool open_all(struct gatherer *g)
{
    if (!parallel_open(&g->cepstra))
        return false;
    g->answers = utterances_make(UTTERANCES_TUNE, GRAMMARS, ANSWERS);
    for (size_t n = 0; n < noise_count(); n++)
        if (noise_at(n)->tune)
            g->kind[g->kinds++] = noise_at(n);
    return g->answers != NULL && read_words(g) &&
           studio_open(&g->studio, UTTERANCES_TUNE, STOCK_WAYS);
}

static void close_all(struct gatherer *g)
{
    studio_close(&g->studio);
    utterances_free(g->answers);
    parallel_close(&g->cepstra);
}

/* ---- what is said ---- */

static struct voice choose_voice(struct gatherer *g)
{
    static const char *const formants[] = {"en-us",    "en-us+m1", "en-us+m3", "en-us+m5",
                                           "en-us+f1", "en-us+f2", "en-us+f5"};
    double share = uniform(g);
    if (share < 0.75)
        return *voices_named(share < 0.4 ? "awb" : "kal16");
    return (struct voice){formants[below(g, 7)], true, true, ""};
}

static void choose_words(struct gatherer *g, char *said, size_t size)
{
    size_t used = 0, count = 2 + below(g, 5);
    said[0] = '\0';
    if (uniform(g) < 0.5) {
        size_t u = below(g, utterances_count(g->answers));
        snprintf(said, size, "%s", utterances_at(g->answers, u)->words);
        return;
    }
    for (size_t w = 0; w < count && used < size; w++)
        used += (size_t)snprintf(said + used, size - used, "%s%s", w > 0 ? " " : "",
                                 g->word[below(g, g->words)]);
}

static bool copy(const struct recording *from, struct recording *to)
{
    *to = (struct recording){malloc((from->frames + 1) * sizeof *to->pcm), from->frames};
    if (to->pcm != NULL)
        memcpy(to->pcm, from->pcm, from->frames * sizeof *to->pcm);
    return to->pcm != NULL;
}

/* ---- what is under it ---- */

/* A gentle filter of two poles, another one each time. */
static void colour(struct gatherer *g, double *noise, size_t frames)
{
    double near = between(g, -0.9, 0.9), far = -0.5 * between(g, 0, 0.5), y1 = 0, y2 = 0;
    for (size_t i = 0; i < frames; i++) {
        noise[i] += near * y1 + far * y2;
        y2 = y1;
        y1 = noise[i];
    }
}

static bool one_noise(struct gatherer *g, double *noise, size_t frames)
{
    size_t kind = below(g, g->kinds);
    uint32_t seed = (uint32_t)below(g, 1 << 24);
    bool made = noise_make(g->kind[kind], seed, &g->studio.talkers, noise, frames);
    /* nothing of a rare sound may fall into a short sentence */
    return made || noise_make(noise_named("pink"), seed, NULL, noise, frames);
}

static bool make_noise(struct gatherer *g, double *noise, double *second, size_t frames)
{
    if (!one_noise(g, noise, frames))
        return false;
    if (uniform(g) < 0.4) {
        double share = uniform(g);
        if (!one_noise(g, second, frames))
            return false;
        for (size_t i = 0; i < frames; i++)
            noise[i] = share * noise[i] + (1 - share) * second[i];
    }
    if (uniform(g) < 0.5)
        colour(g, noise, frames);
    return true;
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
    bool written = fwrite(&head, sizeof head, 1, g->out) == 1;
    for (size_t f = 0; written && f < pair->frames; f++) {
        struct parallel_frame frame = {.kind = made->kind[f]};
        memcpy(frame.cleaned, made->cleaned[f], sizeof frame.cleaned);
        memcpy(frame.reduced, made->reduced[f], sizeof frame.reduced);
        memcpy(frame.wanted, pair->wanted[f], sizeof frame.wanted);
        written = fwrite(&frame, sizeof frame, 1, g->out) == 1;
    }
    return written;
}

static bool mix_and_compare(struct gatherer *g, const struct recording *quiet, double *noise,
                            double *second, size_t utterance)
{
    struct recording noisy;
    struct parallel pair = {0};
    double snr_db = between(g, LEAST_DB, MOST_DB);
    if (!copy(quiet, &noisy))
        return false;
    bool done = make_noise(g, noise, second, noisy.frames) && level_mix(&noisy, noise, snr_db) &&
                parallel_make(g->cepstra.maker, quiet, &noisy, &g->random, &pair) &&
                write_frames(g, &pair, utterance, snr_db);
    parallel_finish(&pair);
    recording_free(&noisy);
    return done;
}

static bool gather_one(struct gatherer *g, size_t utterance)
{
    char said[256];
    struct recording quiet = {0};
    /* Knuth's multiplier, as in noises.c: an utterance is the same whichever process makes it */
    g->random = (uint32_t)(utterance + 1) * 2654435761u | 1u;
    for (int i = 0; i < 8; i++)
        uniform(g);
    struct voice voice = choose_voice(g);
    choose_words(g, said, sizeof said);
    if (!voices_say_as(&voice, below(g, VOICES_MANNERS), said, &quiet))
        return false;
    double *noise = malloc(2 * (quiet.frames + SPEECH_RATE_HZ) * sizeof *noise);
    bool done = noise != NULL &&
                studio_mix(&g->studio, &quiet, noise_named("pink"), (int)QUIET_DB, g->random);
    for (int mix = 0; done && mix < MIXES; mix++)
        done = mix_and_compare(g, &quiet, noise, noise + quiet.frames, utterance);
    free(noise);
    recording_free(&quiet);
    return done;
}

int main(int argc, char **argv)
{
    struct gatherer *g = calloc(1, sizeof *g);
    if (g == NULL || argc != 4) {
        fputs("usage: gather-parallel FILE FROM TO\n", stderr);
        free(g);
        return 2;
    }
    g->out = fopen(argv[1], "wb");
    bool done = g->out != NULL && open_all(g);
    for (size_t u = strtoul(argv[2], NULL, 10); done && u < strtoul(argv[3], NULL, 10); u++)
        done = gather_one(g, u);
    if (g->out != NULL && fclose(g->out) != 0)
        done = false;
    if (!done)
        fprintf(stderr, "'%s' could not be written in full.\n", argv[1]);
    close_all(g);
    free(g);
    return done ? 0 : 1;
}
