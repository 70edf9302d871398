/* The bench's studio: see studio.h. */
#include "studio.h"

#include <glob.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "language/language.h"
#include "level.h"
#include "speech/verdict.h"
#include "voices.h"

enum { PAD_MS = 300 };
static const double SPEECH_DB = -26, FLOOR_DB = -65;

static bool gather_talkers(struct studio *studio)
{
    struct chatter *chatter = malloc(sizeof *chatter);
    struct recording *said = calloc(CHATTER_MOST, sizeof *said);
    size_t count = 0;
    studio->by = calloc(CHATTER_MOST, sizeof *studio->by);
    bool gathered =
        chatter != NULL && said != NULL && studio->by != NULL && chatter_read(studio->set, chatter);
    for (size_t line = 0, v = 0; gathered && line < chatter->lines; line++, v++) {
        while (voices_at(v % voices_count())->tune != (studio->set == UTTERANCES_TUNE))
            v++;
        gathered = voices_say_as(voices_at(v % voices_count()), line % VOICES_MANNERS,
                                 chatter->line[line], &said[count]);
        studio->by[count] = voices_at(v % voices_count());
        count += gathered;
    }
    free(chatter);
    studio->talkers = (struct noise_talkers){said, count};
    return gathered;
}

bool studio_open(struct studio *studio, enum utterances_set set, enum stock_way stock)
{
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = GRAMMARS,
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command,
                                   .live = true}; /* as a job's ear is, for the cost's sake */
    *studio = (struct studio){.set = set};
    studio->ear = speech_recogniser_create(&config, &fault);
    if (studio->ear == NULL)
        fprintf(stderr, "%s\n", fault.sentence);
    if (stock != STOCK_WAYS)
        studio->stock = stock_create_way(GRAMMARS, stock);
    if (studio->ear != NULL && (studio->stock != NULL || stock == STOCK_WAYS) &&
        gather_talkers(studio))
        return true;
    studio_close(studio);
    return false;
}

void studio_close(struct studio *studio)
{
    studio_forget(&studio->talkers);
    free(studio->by);
    stock_destroy(studio->stock);
    speech_recogniser_destroy(studio->ear);
    *studio = (struct studio){0};
}

bool studio_hear(const struct studio *studio, const char *grammar, const int16_t *pcm,
                 size_t frames, struct row *row)
{
    struct speech_heard heard;
    struct fault fault = {0};
    if (!speech_measure(studio->ear, grammar, pcm, frames, &heard, &row->signs, &fault)) {
        fprintf(stderr, "%s\n", fault.sentence);
        return false;
    }
    snprintf(row->grammar, sizeof row->grammar, "%s", grammar);
    snprintf(row->verdict, sizeof row->verdict, "%s", speech_verdict_name(heard.verdict));
    snprintf(row->heard, sizeof row->heard, "%s", heard.words);
    snprintf(row->other, sizeof row->other, "%s", heard.other);
    row->score = heard.score;
    return true;
}

bool studio_person(struct noise_talkers *person)
{
    glob_t prompts;
    struct recording *said = NULL;
    size_t count = 0;
    *person = (struct noise_talkers){0};
    if (glob("/usr/share/asterisk/sounds/*/*.g722", 0, NULL, &prompts) != 0)
        return true;
    said = calloc(prompts.gl_pathc, sizeof *said);
    for (size_t p = 0; said != NULL && p < prompts.gl_pathc; p++)
        count += recording_read(prompts.gl_pathv[p], &said[count]);
    globfree(&prompts);
    *person = (struct noise_talkers){said, count};
    return said != NULL;
}

void studio_forget(struct noise_talkers *talkers)
{
    struct recording *said = (struct recording *)talkers->said; /* made by this file, only lent */
    for (size_t t = 0; t < talkers->count; t++)
        recording_free(&said[t]);
    free(said);
    *talkers = (struct noise_talkers){0};
}

bool studio_shop(const struct noise_kind *kind, const struct noise_talkers *talkers, int level_db,
                 int turn_s, uint32_t seed, int16_t *pcm, size_t frames)
{
    double *one = malloc(2 * frames * sizeof *one), *floor = one + frames;
    bool made = one != NULL && noise_make(kind, seed, talkers, one, frames) &&
                noise_make(noise_named("pink"), seed + 1000003, NULL, floor, frames);
    double gain = 32768 * pow(10, level_db / 20.0), under = 32768 * pow(10, FLOOR_DB / 20);
    size_t turn = (size_t)turn_s * SPEECH_RATE_HZ;
    for (size_t i = 0; made && i < frames; i++) {
        double on = turn == 0 || i / turn % 2 == 1 ? gain : 0;
        pcm[i] = (int16_t)lrint(fmax(-32768, fmin(32767, on * one[i] + under * floor[i])));
    }
    free(one);
    return made;
}

/* Lent, in `room` for as many as there are. */
static struct noise_talkers others_than(const struct studio *studio, const struct voice *speaker,
                                        struct recording *room)
{
    size_t count = 0;
    for (size_t t = 0; t < studio->talkers.count; t++)
        if (studio->by[t] != speaker)
            room[count++] = studio->talkers.said[t];
    return (struct noise_talkers){room, count};
}

bool studio_mix(const struct studio *studio, struct recording *said, const struct voice *speaker,
                const struct noise_kind *kind, int snr_db, uint32_t seed)
{
    struct recording room[CHATTER_MOST];
    struct noise_talkers others = others_than(studio, speaker, room);
    if (!level_set(said, SPEECH_DB) || !recording_pad(said, PAD_MS))
        return false;
    double *noise = malloc((said->frames + 1) * sizeof *noise);
    bool mixed = noise != NULL && noise_make(kind, seed, &others, noise, said->frames) &&
                 level_mix(said, noise, snr_db);
    free(noise);
    return mixed;
}
