/* The bench's studio: see studio.h. */
#include "studio.h"

#include <glob.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "language/language.h"
#include "level.h"
#include "voices.h"

enum { PAD_MS = 300 };
static const double SPEECH_DB = -26;

static bool gather_talkers(struct studio *studio)
{
    struct chatter *chatter = malloc(sizeof *chatter);
    struct recording *said = calloc(CHATTER_MOST, sizeof *said);
    size_t count = 0;
    bool gathered = chatter != NULL && said != NULL && chatter_read(studio->set, chatter);
    for (size_t line = 0, v = 0; gathered && line < chatter->lines; line++, v++) {
        while (voices_at(v % voices_count())->tune != (studio->set == UTTERANCES_TUNE))
            v++;
        gathered = voices_say_as(voices_at(v % voices_count()), line % VOICES_MANNERS,
                                 chatter->line[line], &said[count]);
        count += gathered;
    }
    free(chatter);
    studio->talkers = (struct noise_talkers){said, count};
    return gathered;
}

bool studio_open(struct studio *studio, enum utterances_set set, enum stock_way stock)
{
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = GRAMMARS, .same_meaning = language_same_meaning};
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
    struct recording *said = (struct recording *)studio->talkers.said; /* ours: gather_talkers */
    for (size_t t = 0; t < studio->talkers.count; t++)
        recording_free(&said[t]);
    free(said);
    stock_destroy(studio->stock);
    speech_recogniser_destroy(studio->ear);
    *studio = (struct studio){0};
}

bool studio_mix(const struct studio *studio, struct recording *said, const struct noise_kind *kind,
                int snr_db, uint32_t seed)
{
    if (!level_set(said, SPEECH_DB) || !recording_pad(said, PAD_MS))
        return false;
    double *noise = malloc((said->frames + 1) * sizeof *noise);
    bool mixed = noise != NULL && noise_make(kind, seed, &studio->talkers, noise, said->frames) &&
                 level_mix(said, noise, snr_db);
    free(noise);
    return mixed;
}

/* FNV-1a (Fowler, Noll and Vo), 32 bits. */
static uint32_t hash_file(const char *path, uint32_t hash)
{
    FILE *file = fopen(path, "rb");
    for (int byte; file != NULL && (byte = getc(file)) != EOF;)
        hash = (hash ^ (uint32_t)byte) * 16777619u;
    if (file != NULL)
        fclose(file);
    return hash;
}

uint32_t studio_build(void)
{
    glob_t grammars;
    uint32_t hash = hash_file("/proc/self/exe", 2166136261u);
    if (glob(GRAMMARS "/*", 0, NULL, &grammars) != 0)
        return hash;
    for (size_t g = 0; g < grammars.gl_pathc; g++)
        hash = hash_file(grammars.gl_pathv[g], hash);
    globfree(&grammars);
    return hash;
}
