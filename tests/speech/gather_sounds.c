/*
 * Sentences in noise, each 10 ms with the sound it is a part of: what speech_phonetic is taught on.
 *
 *     gather-sounds FILE FROM TO
 *
 * Utterances FROM .. TO - 1, the same every time. The voices that may be tuned on say answers,
 * chatter and common words in any order: kal16, awb, festival's ked, RHVoice's bdl and clb, Pico's
 * two women, and of eSpeak NG the American voice and four accents of its own in many variants;
 * faster and slower, higher and lower, larger and smaller, half of the time coloured, now and then
 * in a hall or by telephone. Each sentence is heard in quiet and in three noises, 30 to -3 dB under
 * the speech, as lesson.h has them, others' talk among them; now and then nobody speaks in a noise.
 * Which sound a frame is comes from an alignment of the sentence in quiet, by the acoustic model's
 * own Gaussians.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "align.h"
#include "lesson.h"
#include "level.h"
#include "sentences.h"
#include "sounds.h"
#include "speech/front.h"
#include "utterances.h"
#include "voices.h"

enum { GRAMMARS_MOST = 64, MIXES = 3, PAD_MS = 300, NOBODY = 99 };
enum { OTHERS = 2 }; /* of so many kinds of noise more, to lesson_noise, others talk */

static const double QUIET_DB = 40, LEAST_DB = -3, MOST_DB = 30, NOBODY_DB = -100;
static const double NARROW = 0.12;   /* of the sentences */
static const double SPEECH_DB = -26; /* and PAD_MS: as studio_mix has them */

struct gatherer {
    struct lesson lesson;
    struct align *align;
    struct sentences *answers[GRAMMARS_MOST]; /* of each grammar */
    size_t grammars;
    struct chatter chatter;
};

/* ---- setting up ---- */

static bool open_grammars(struct gatherer *g)
{
    for (; g->grammars < language_grammar_count() && g->grammars < GRAMMARS_MOST; g->grammars++) {
        char path[1024];
        snprintf(path, sizeof path, "%s/%s.gram", GRAMMARS, language_grammar_name(g->grammars));
        g->answers[g->grammars] = sentences_open(path);
        if (g->answers[g->grammars] == NULL)
            return false;
    }
    return g->grammars > 0;
}

static bool open_all(struct gatherer *g)
{
    g->align = align_open();
    return g->align != NULL && open_grammars(g) && chatter_read(UTTERANCES_TUNE, &g->chatter);
}

static void close_all(struct gatherer *g)
{
    for (size_t i = 0; i < g->grammars; i++)
        sentences_close(g->answers[i]);
    align_close(g->align);
}

/* ---- what is said ---- */

/* A speaker's number is its place here. */
static const struct {
    const char *name; /* NULL: one of eSpeak NG's */
    double share;     /* of the sentences */
} cast[] = {
    {"kal16", 0.10}, {"awb", 0.15}, {"ked_diphone", 0.13}, {NULL, 0.20},
    {"bdl", 0.12},   {"clb", 0.12}, {"en-US", 0.09},       {"en-GB", 0.09},
};

static bool say(struct gatherer *g, const char *said, struct recording *recording, int *speaker)
{
    static const char *const accents[] = {
        "en-us", "en-us", "en-us", "en-029", "en-gb-scotland", "en-gb-x-gbclan", "en-gb-x-gbcwmd"};
    static const char *const variants[] = {
        "",       "+m1",    "+m2",     "+m3",      "+m4",     "+m5",    "+m6",     "+m7",
        "+m8",    "+f1",    "+f2",     "+f4",      "+f5",     "+Alex",  "+Annie",  "+Andrea",
        "+Denis", "+Gene",  "+Hugo",   "+Jacky",   "+Lee",    "+Mario", "+Mike",   "+Michael",
        "+Storm", "+adam",  "+anika",  "+belinda", "+john",   "+klatt", "+klatt2", "+klatt4",
        "+linda", "+steph", "+quincy", "+paul",    "+victor", "+max"};
    enum {
        ACCENTS = sizeof accents / sizeof accents[0],
        VARIANTS = sizeof variants / sizeof variants[0],
        SPEAKERS = sizeof cast / sizeof cast[0]
    };
    char name[48];
    double share = lesson_uniform(&g->lesson);
    struct voices_manner manner = {.tempo = lesson_between(&g->lesson, 0.8, 1.25),
                                   .pitch = exp(lesson_between(&g->lesson, -0.25, 0.4)),
                                   .from_hz =
                                       (int)(16000 * lesson_between(&g->lesson, 0.86, 1.16))};
    size_t one = 0;
    for (; one + 1 < SPEAKERS && share >= cast[one].share; one++)
        share -= cast[one].share;
    *speaker = (int)one;
    if (cast[one].name != NULL)
        return voices_say_with(voices_named(cast[one].name), &manner, said, recording);
    const char *variant = variants[lesson_below(&g->lesson, VARIANTS)];
    snprintf(name, sizeof name, "%s%s", accents[lesson_below(&g->lesson, ACCENTS)], variant);
    struct voice voice = {name, VOICES_ESPEAK, true, ""};
    return voices_say_with(&voice, &manner, said, recording);
}

static void choose_words(struct gatherer *g, char *said, size_t size)
{
    struct lesson *lesson = &g->lesson;
    size_t count = 2 + lesson_below(lesson, 6);
    double share = lesson_uniform(lesson);
    if (share >= 0.56) {
        lesson_choose_words(lesson, count, said, size);
        return;
    }
    if (share >= 0.5) {
        snprintf(said, size, "%s", g->chatter.line[lesson_below(lesson, g->chatter.lines)]);
        return;
    }
    while (!sentences_choose(g->answers[lesson_below(lesson, g->grammars)], &lesson->random, said,
                             size))
        ;
}

/* ---- where it is said ---- */

static int16_t clipped(double sample)
{
    return (int16_t)lrint(fmax(-32768, fmin(32767, sample)));
}

static void colour(struct lesson *lesson, double *sound, size_t frames)
{
    double tilt = lesson_between(lesson, -0.5, 0.5), last = 0;
    for (size_t i = 0; i < frames; i++) {
        double now = sound[i];
        sound[i] += tilt * last;
        last = now;
    }
}

/* Some dozens of echoes that die away; `dry` is room for as many frames. */
static void add_hall(struct lesson *lesson, double *sound, double *dry, size_t frames)
{
    enum { ECHOES = 40 };
    double tail_s = lesson_between(lesson, 0.05, 0.25), loud = lesson_between(lesson, 0.1, 0.5);
    memcpy(dry, sound, frames * sizeof *dry);
    for (size_t e = 0; e < ECHOES; e++) {
        double after_s = 0.002 - tail_s * log(1 - lesson_uniform(lesson)) * 0.5;
        size_t delay = (size_t)(after_s * SPEECH_RATE_HZ);
        double gain = loud * exp(-after_s / tail_s) * lesson_between(lesson, -1, 1) * 0.5;
        for (size_t i = delay; i < frames; i++)
            sound[i] += gain * dry[i - delay];
    }
}

/* A microphone's colour, and a hall, each now and then. */
static bool place(struct gatherer *g, struct recording *said)
{
    double *sound = malloc(2 * (said->frames + 1) * sizeof *sound), *dry = sound + said->frames;
    if (sound == NULL)
        return false;
    for (size_t i = 0; i < said->frames; i++)
        sound[i] = said->pcm[i];
    double before = level_rms(sound, said->frames);
    if (lesson_uniform(&g->lesson) < 0.5)
        colour(&g->lesson, sound, said->frames);
    if (lesson_uniform(&g->lesson) < 0.25)
        add_hall(&g->lesson, sound, dry, said->frames);
    double after = level_rms(sound, said->frames);
    for (size_t i = 0; after > 0 && i < said->frames; i++)
        said->pcm[i] = clipped(sound[i] * before / after);
    free(sound);
    return true;
}

/* What a telephone's or a headset's narrow band leaves of it, by a low pass (windowed sinc, Harris
 * 1978) without delay. */
static bool narrow(struct gatherer *g, struct recording *said)
{
    enum { HALF = 40 };
    double tap[HALF + 1], cut_off = lesson_between(&g->lesson, 3200, 4000) / SPEECH_RATE_HZ;
    int16_t *narrowed = malloc((said->frames + 1) * sizeof *narrowed);
    if (narrowed == NULL)
        return false;
    tap[0] = 2 * cut_off;
    for (int t = 1; t <= HALF; t++)
        tap[t] = sin(2 * M_PI * cut_off * t) / (M_PI * t) * (0.5 + 0.5 * cos(M_PI * t / HALF));
    for (long i = 0; i < (long)said->frames; i++) {
        double sum = tap[0] * said->pcm[i];
        for (long t = 1; t <= HALF; t++)
            sum += tap[t] * ((i >= t ? said->pcm[i - t] : 0) +
                             (i + t < (long)said->frames ? said->pcm[i + t] : 0));
        narrowed[i] = clipped(sum);
    }
    free(said->pcm);
    said->pcm = narrowed;
    return true;
}

/* ---- frames ---- */

/* The recording as the recogniser takes it, each frame with its sound; `sounds` are the quiet
 * recording's. */
static bool write_heard(struct gatherer *g, const struct recording *heard,
                        const struct align_sounds *sounds, size_t utterance, int speaker,
                        double snr_db)
{
    struct speech_front front;
    if (!speech_front_make(heard->pcm, heard->frames, &front))
        return false;
    struct speech_seen seen = {0};
    bool done = front.speech_steps == 0 || align_see(g->align, &front, &seen);
    struct sounds_head head = {(float)seen.frames, (float)utterance, (float)speaker, (float)snr_db,
                               (float)front.snr_db};
    if (done && seen.frames > 0)
        done = fwrite(&head, sizeof head, 1, g->lesson.out) == 1;
    for (size_t f = 0; done && f < seen.frames; f++) {
        struct sounds_frame frame = {.kind = seen.kind[f]};
        long at = front.from / SPEECH_FRAME + (long)f - sounds->from;
        bool known = at >= 0 && at < (long)sounds->frames;
        frame.sound = known ? sounds->sound[at] : PHONETIC_STATES * PHONETIC_SILENCE;
        memcpy(frame.mel, seen.mel[f], sizeof frame.mel);
        memcpy(frame.fit, seen.fit[f], sizeof frame.fit);
        done = fwrite(&frame, sizeof frame, 1, g->lesson.out) == 1;
    }
    speech_seen_finish(&seen);
    speech_front_finish(&front);
    return done;
}

/* What nobody would call noise: a room's, a microphone's, or none at all. */
static bool quiet_and_write(struct gatherer *g, const struct recording *said, double *noise,
                            const struct align_sounds *sounds, size_t utterance, int speaker)
{
    struct recording heard;
    double share = lesson_uniform(&g->lesson);
    if (!recording_copy(said, &heard))
        return false;
    bool done = true;
    if (share < 0.4)
        done = noise_make(noise_named("pink"), g->lesson.random, NULL, noise, heard.frames) &&
               level_mix(&heard, noise, QUIET_DB);
    else if (share < 0.8)
        done = lesson_noise(&g->lesson, OTHERS, noise, heard.frames) &&
               level_mix(&heard, noise, lesson_between(&g->lesson, 30, 65));
    done = done && write_heard(g, &heard, sounds, utterance, speaker, QUIET_DB);
    recording_free(&heard);
    return done;
}

static bool mix_and_write(struct gatherer *g, const struct recording *quiet, double *noise,
                          const struct align_sounds *sounds, size_t utterance, int speaker)
{
    struct recording noisy;
    double snr_db = lesson_between(&g->lesson, LEAST_DB, MOST_DB);
    if (!recording_copy(quiet, &noisy))
        return false;
    bool done = lesson_noise(&g->lesson, OTHERS, noise, noisy.frames) &&
                level_mix(&noisy, noise, snr_db) &&
                write_heard(g, &noisy, sounds, utterance, speaker, snr_db);
    recording_free(&noisy);
    return done;
}

/* A machine that starts, a part that falls, a throat that is cleared: no speech in any frame. */
static bool write_nobody(struct gatherer *g, size_t utterance)
{
    const struct align_sounds nothing = {0};
    struct recording heard = {0};
    size_t kind = lesson_below(&g->lesson, g->lesson.kinds);
    double share = lesson_uniform(&g->lesson);
    const struct noise_kind *noise = share < 0.35  ? noise_named("clatter")
                                     : share < 0.7 ? noise_named("throats")
                                                   : g->lesson.kind[kind];
    if (noise->people)
        return true;
    heard.frames = (size_t)(lesson_between(&g->lesson, 1, 3.5) * SPEECH_RATE_HZ);
    heard.pcm = malloc(heard.frames * sizeof *heard.pcm);
    if (heard.pcm == NULL)
        return false;
    uint32_t seed = (uint32_t)lesson_below(&g->lesson, 1 << 24);
    int turn_s = lesson_uniform(&g->lesson) < 0.5;
    int level_db = (int)lesson_between(&g->lesson, -40, -18);
    /* nothing of a rare sound may fall into so short a stretch */
    bool made = studio_shop(noise, NULL, level_db, turn_s, seed, heard.pcm, heard.frames);
    bool done = !made || write_heard(g, &heard, &nothing, utterance, NOBODY, NOBODY_DB);
    recording_free(&heard);
    return done;
}

static bool gather_one(void *context, size_t utterance)
{
    struct gatherer *g = context;
    char said[256];
    struct recording quiet = {0};
    struct align_sounds sounds = {0};
    int speaker = 0;
    choose_words(g, said, sizeof said);
    if (!say(g, said, &quiet, &speaker))
        return false;
    double *noise = NULL;
    bool done = place(g, &quiet) && level_set(&quiet, SPEECH_DB) && recording_pad(&quiet, PAD_MS) &&
                (noise = malloc(quiet.frames * sizeof *noise)) != NULL;
    if (done && align_words(g->align, &quiet, said, &sounds)) {
        if (lesson_uniform(&g->lesson) < NARROW)
            done = narrow(g, &quiet);
        done = done && quiet_and_write(g, &quiet, noise, &sounds, utterance, speaker);
        for (int mix = 0; done && mix < MIXES; mix++)
            done = mix_and_write(g, &quiet, noise, &sounds, utterance, speaker);
    }
    if (done && lesson_uniform(&g->lesson) < 0.3)
        done = write_nobody(g, utterance);
    free(sounds.sound);
    free(noise);
    recording_free(&quiet);
    return done;
}

int main(int argc, char **argv)
{
    struct gatherer *g = calloc(1, sizeof *g);
    int code = 1;
    if (g != NULL && open_all(g))
        code = lesson_run(&g->lesson, argc, argv, gather_one, g);
    if (g != NULL)
        close_all(g);
    free(g);
    return code;
}
