/* What the networks are taught on: see lesson.h. */
#include "lesson.h"

#include <stdlib.h>
#include <string.h>

#include "level.h"
#include "parallel.h"

/* ---- chance ---- */

double lesson_uniform(struct lesson *lesson)
{
    return parallel_uniform(&lesson->random);
}

double lesson_between(struct lesson *lesson, double least, double most)
{
    return least + (most - least) * lesson_uniform(lesson);
}

size_t lesson_below(struct lesson *lesson, size_t count)
{
    return (size_t)(lesson_uniform(lesson) * (double)count);
}

/* ---- words ---- */

static bool read_words(struct lesson *lesson)
{
    char line[128];
    FILE *file = fopen(GRAMMARS "/talk.lm", "r");
    while (file != NULL && lesson->words < LESSON_WORDS && fgets(line, sizeof line, file) != NULL)
        if (sscanf(line, "%*f %31[a-z']", lesson->word[lesson->words]) == 1)
            lesson->words++;
    if (file != NULL)
        fclose(file);
    return lesson->words > 0;
}

void lesson_choose_words(struct lesson *lesson, size_t count, char *said, size_t size)
{
    size_t used = 0;
    said[0] = '\0';
    for (size_t w = 0; w < count && used < size; w++)
        used += (size_t)snprintf(said + used, size - used, "%s%s", w > 0 ? " " : "",
                                 lesson->word[lesson_below(lesson, lesson->words)]);
}

/* ---- noises ---- */

/* A gentle filter of two poles, another one each time. */
static void colour(struct lesson *lesson, double *noise, size_t frames)
{
    double near = lesson_between(lesson, -0.9, 0.9);
    double far = -0.5 * lesson_between(lesson, 0, 0.5), y1 = 0, y2 = 0;
    for (size_t i = 0; i < frames; i++) {
        noise[i] += near * y1 + far * y2;
        y2 = y1;
        y1 = noise[i];
    }
}

/* One person's chatter, sentence after sentence, from anywhere in one. */
static void add_person(struct lesson *lesson, double gain, double *noise, size_t frames)
{
    const struct noise_talkers *talkers = &lesson->studio.talkers;
    for (size_t at = 0; at < frames; at += lesson_below(lesson, SPEECH_RATE_HZ / 2)) {
        const struct recording *said = &talkers->said[lesson_below(lesson, talkers->count)];
        size_t from = at == 0 ? lesson_below(lesson, said->frames) : 0;
        for (; from < said->frames && at < frames; from++, at++)
            noise[at] += gain * said->pcm[from] / 32768.0;
    }
}

static bool add_others(struct lesson *lesson, double *noise, size_t frames)
{
    size_t people = 1 + lesson_below(lesson, 3);
    memset(noise, 0, frames * sizeof *noise);
    for (size_t p = 0; p < people; p++)
        add_person(lesson, lesson_between(lesson, 0.4, 1), noise, frames);
    double rms = level_rms(noise, frames);
    if (rms < 1e-5)
        return false; /* a pause */
    for (size_t i = 0; i < frames; i++)
        noise[i] /= rms;
    return true;
}

static bool one_noise(struct lesson *lesson, size_t others, double *noise, size_t frames)
{
    size_t kind = lesson_below(lesson, lesson->kinds + others);
    uint32_t seed = (uint32_t)lesson_below(lesson, 1 << 24);
    bool made = kind < lesson->kinds
                    ? noise_make(lesson->kind[kind], seed, &lesson->studio.talkers, noise, frames)
                    : add_others(lesson, noise, frames);
    /* nothing of a rare sound may fall into a short sentence */
    return made || noise_make(noise_named("pink"), seed, NULL, noise, frames);
}

static bool add_second(struct lesson *lesson, size_t others, double *noise, size_t frames)
{
    double share = lesson_uniform(lesson);
    double *second = malloc((frames + 1) * sizeof *second);
    bool made = second != NULL && one_noise(lesson, others, second, frames);
    for (size_t i = 0; made && i < frames; i++)
        noise[i] = share * noise[i] + (1 - share) * second[i];
    free(second);
    return made;
}

bool lesson_noise(struct lesson *lesson, size_t others, double *noise, size_t frames)
{
    if (!one_noise(lesson, others, noise, frames))
        return false;
    if (lesson_uniform(lesson) < 0.4 && !add_second(lesson, others, noise, frames))
        return false;
    if (lesson_uniform(lesson) < 0.5)
        colour(lesson, noise, frames);
    return true;
}

/* ---- all of it ---- */

static bool open_all(struct lesson *lesson)
{
    for (size_t n = 0; n < noise_count(); n++)
        if (noise_at(n)->tune)
            lesson->kind[lesson->kinds++] = noise_at(n);
    return read_words(lesson) && studio_open(&lesson->studio, UTTERANCES_TUNE, STOCK_WAYS);
}

int lesson_run(struct lesson *lesson, int argc, char **argv,
               bool (*one)(void *context, size_t utterance), void *context)
{
    if (argc != 4) {
        fprintf(stderr, "usage: %s FILE FROM TO\n", argv[0]);
        return 2;
    }
    lesson->out = fopen(argv[1], "wb");
    bool done = lesson->out != NULL && open_all(lesson);
    for (size_t u = strtoul(argv[2], NULL, 10); done && u < strtoul(argv[3], NULL, 10); u++) {
        lesson->random = (uint32_t)(u + 1) * 2654435761u | 1u; /* Knuth's multiplier */
        for (int i = 0; i < 8; i++)
            lesson_uniform(lesson);
        done = one(context, u);
    }
    if (lesson->out != NULL && fclose(lesson->out) != 0)
        done = false;
    if (!done)
        fprintf(stderr, "'%s' could not be written in full.\n", argv[1]);
    studio_close(&lesson->studio);
    return done ? 0 : 1;
}
