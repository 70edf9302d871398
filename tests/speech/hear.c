/*
 * The bench's ears: every utterance in every condition through midthrow and through stock
 * PocketSphinx, a row a hearing.
 *
 *     bench-ear WORK [rows] [set=report|tune] [utterances=100] [passes=1] [jobs=1] [stop=MINUTES]
 *               [stock=live|batch|no] [voice=NAME] [instead=NAME] [part=N/OF] [enrol=yes|no]
 *
 * A condition is a noise and its distance under the speech: quiet, and 20, 10, 5 and 0 dB. In the
 * first pass utterance i meets noise i, i + 1 in the second, and so on, so that one pass has every
 * utterance at every distance and as many passes as there are noises have it in every condition.
 * Each hearing's noise has a seed of its own. Chatter (a fifth more) is heard the same way.
 *
 * What is in the folder already is not heard again (work.h), so a run that was stopped, or that
 * ended after `stop` minutes, goes on when it is started again. `rows` prints the names of the
 * files and does nothing else; bench-table reads them. `voice`: only what that voice says of the
 * list; `instead`: said by that voice instead, which may be one that no list has (voices.c);
 * `part`: only every so manieth of the list, from the N-th on; `enrol`: the ear has learned each
 * voice before (enrolled.h), `knows`: that one, whoever speaks.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "enrolled.h"
#include "rows.h"
#include "studio.h"
#include "work.h"

enum { LEVELS = 5, NOISES_MOST = 16 };

static const int levels[LEVELS] = {ROWS_QUIET_DB, 20, 10, 5, 0};

struct session {
    struct work work;
    enum utterances_set set;
    size_t utterances, passes;
    enum stock_way stock;
    bool only_names;
    const char *voice;           /* NULL: all */
    const struct voice *instead; /* NULL: as in the list */
    size_t part, parts;
    bool enrol; /* the ear has learned each voice */

    const struct noise_kind *noise[NOISES_MOST];
    size_t noises;
    struct utterances *list;
    bool *done; /* by utterance, noise (the last is quiet), level */
    struct studio studio;
};

static const struct voice *speaker_of(const struct session *session, const struct utterance *u)
{
    return session->instead != NULL ? session->instead : u->voice;
}

static bool *done_at(struct session *session, size_t utterance, size_t noise, size_t level)
{
    return &session->done[(utterance * (NOISES_MOST + 1) + noise) * LEVELS + level];
}

/* ---- one hearing ---- */

static double processor_s(void)
{
    return (double)clock() / CLOCKS_PER_SEC;
}

static bool means(const struct utterance *u, const char *words)
{
    return u->class != CLASS_CHATTER && words[0] != '\0' &&
           language_same_meaning(u->grammar, u->words, words);
}

static bool hear(struct session *session, const struct utterance *u, const struct recording *sound,
                 struct row *row)
{
    if (session->enrol &&
        !enrolled_know(&session->studio, session->work.dir, speaker_of(session, u), u->manner))
        return false;
    double start = processor_s();
    if (!studio_hear(&session->studio, u->grammar, sound->pcm, sound->frames, row))
        return false;
    row->ear_s = processor_s() - start;
    row->right = means(u, row->heard);
    row->other_right = means(u, row->other);
    if (session->studio.stock == NULL)
        return true;
    start = processor_s();
    if (!stock_hear(session->studio.stock, u->grammar, sound->pcm, sound->frames, row->stock,
                    sizeof row->stock))
        return false;
    row->stock_s = processor_s() - start;
    row->stock_right = means(u, row->stock);
    return true;
}

static bool hear_at(struct session *session, size_t index, const struct recording *clean,
                    size_t noise, size_t level)
{
    const struct utterance *u = utterances_at(session->list, index);
    bool quiet = levels[level] == ROWS_QUIET_DB;
    const struct noise_kind *kind = quiet ? noise_named("pink") : session->noise[noise];
    struct row row = {.utterance = (int)index,
                      .manner = (int)u->manner,
                      .snr_db = levels[level],
                      .sound_s = (double)clean->frames / SPEECH_RATE_HZ};
    struct recording sound = {malloc(clean->frames * sizeof *sound.pcm), clean->frames};
    uint32_t seed = (uint32_t)(((index * NOISES_MOST + noise) * LEVELS + level) * 2 + session->set);
    if (sound.pcm == NULL)
        return false;
    memcpy(sound.pcm, clean->pcm, clean->frames * sizeof *sound.pcm);
    snprintf(row.voice, sizeof row.voice, "%s", speaker_of(session, u)->name);
    snprintf(row.class, sizeof row.class, "%s", utterances_class_name(u->class));
    snprintf(row.noise, sizeof row.noise, "%s", quiet ? "quiet" : kind->name);
    snprintf(row.said, sizeof row.said, "%s", u->words);
    bool heard =
        studio_mix(&session->studio, &sound, speaker_of(session, u), kind, levels[level], seed) &&
        hear(session, u, &sound, &row);
    recording_free(&sound);
    if (heard) {
        rows_write(session->work.rows, &row);
        fflush(session->work.rows);
        *done_at(session, index, quiet ? NOISES_MOST : noise, level) = true;
    } else {
        fprintf(stderr, "utterance %zu, '%s' by %s in %s at %d dB, could not be heard.\n", index,
                u->words, row.voice, row.noise, row.snr_db);
    }
    return heard;
}

/* ---- all of them ---- */

/* One utterance with the noise of this pass, at whatever levels are missing. */
static bool hear_utterance(struct session *session, size_t index, size_t pass)
{
    const struct utterance *u = utterances_at(session->list, index);
    /* Seven noises in turn meet every kind of answer; of the six to tune in a kind would meet only
     * some: there each round begins one further. */
    size_t further = session->set == UTTERANCES_TUNE ? index / UTTERANCES_ROUND : 0;
    size_t noise = (index + further + pass) % session->noises;
    struct recording clean = {0};
    bool heard = true;
    if ((session->voice != NULL && strcmp(session->voice, u->voice->name) != 0) ||
        index % session->parts != session->part)
        return true;
    for (size_t level = 0; heard && level < LEVELS; level++) {
        bool quiet = levels[level] == ROWS_QUIET_DB;
        if (*done_at(session, index, quiet ? NOISES_MOST : noise, level))
            continue;
        if (clean.pcm == NULL &&
            !voices_say_as(speaker_of(session, u), u->manner, u->words, &clean))
            return false;
        heard = hear_at(session, index, &clean, noise, level);
    }
    recording_free(&clean);
    return heard;
}

/* The k-th to be heard: after five answers comes one of chatter, which is at the list's end, so
 * that a run that is stopped has some of both. */
static size_t in_turn(const struct session *session, size_t k)
{
    enum { EVERY = 6 };
    size_t answers = session->utterances, chatter = utterances_count(session->list) - answers;
    size_t before = (k + 1) / EVERY;
    if (k % EVERY == EVERY - 1 && before <= chatter)
        return answers + before - 1;
    return k - (before < chatter ? before : chatter);
}

static bool hear_all(struct session *session)
{
    size_t step = session->work.jobs;
    for (size_t pass = 0; pass < session->passes; pass++)
        for (size_t i = session->work.job; i < utterances_count(session->list); i += step) {
            if (work_late(&session->work))
                return true;
            if (!hear_utterance(session, in_turn(session, i), pass))
                return false;
        }
    return true;
}

/* ---- going on where a run ended ---- */

static void remember(void *context, const struct row *row)
{
    struct session *session = context;
    size_t index = (size_t)row->utterance, noise = NOISES_MOST;
    for (size_t n = 0; n < session->noises; n++)
        if (strcmp(session->noise[n]->name, row->noise) == 0)
            noise = n;
    for (size_t level = 0; level < LEVELS; level++)
        if (levels[level] == row->snr_db && index < utterances_count(session->list))
            *done_at(session, index, noise, level) = true;
}

static bool recall(void *session, const char *path)
{
    return rows_read_file(path, remember, session);
}

static bool do_job(void *context, bool is_new)
{
    struct session *session = context;
    if (is_new)
        rows_write_head(session->work.rows);
    bool done = studio_open(&session->studio, session->set, session->stock) &&
                enrolled_know_named(&session->studio, session->work.dir, session->work.knows) &&
                hear_all(session);
    studio_close(&session->studio);
    return done;
}

/* ---- options ---- */

static const char *value_of(const char *option, const char *name)
{
    size_t length = strlen(name);
    return strncmp(option, name, length) == 0 && option[length] == '=' ? option + length + 1 : NULL;
}

static bool read_option(struct session *session, const char *option)
{
    const char *value = NULL;
    if (strcmp(option, "rows") == 0)
        return session->only_names = true;
    if (work_option(&session->work, option))
        return true;
    if ((value = value_of(option, "set")) != NULL)
        session->set = strcmp(value, "tune") == 0 ? UTTERANCES_TUNE : UTTERANCES_REPORT;
    else if ((value = value_of(option, "utterances")) != NULL)
        session->utterances = strtoul(value, NULL, 10);
    else if ((value = value_of(option, "voice")) != NULL)
        session->voice = value;
    else if ((value = value_of(option, "instead")) != NULL)
        return (session->instead = voices_named(value)) != NULL;
    else if ((value = value_of(option, "part")) != NULL)
        return sscanf(value, "%zu/%zu", &session->part, &session->parts) == 2 &&
               session->part < session->parts;
    else if ((value = value_of(option, "enrol")) != NULL)
        session->enrol = strcmp(value, "yes") == 0;
    else if ((value = value_of(option, "passes")) != NULL)
        session->passes = strtoul(value, NULL, 10);
    else if ((value = value_of(option, "stock")) != NULL)
        session->stock = strcmp(value, "no") == 0      ? STOCK_WAYS
                         : strcmp(value, "batch") == 0 ? STOCK_BATCH_ALL_FRAMES
                                                       : STOCK_LIVE;
    return value != NULL;
}

static bool prepare(struct session *session)
{
    for (size_t n = 0; n < noise_count(); n++) {
        const struct noise_kind *kind = noise_at(n);
        if (kind->under_speech && (session->set == UTTERANCES_TUNE ? kind->tune : kind->report))
            session->noise[session->noises++] = kind;
    }
    session->list = utterances_make(session->set, GRAMMARS, session->utterances);
    if (session->list == NULL)
        return false;
    session->done =
        calloc(utterances_count(session->list) * (NOISES_MOST + 1) * LEVELS, sizeof *session->done);
    return session->done != NULL && work_each(&session->work, recall, session);
}

static int run(struct session *session, const char *dir)
{
    const char *kind = session->set == UTTERANCES_TUNE
                           ? (session->enrol ? "rows-tune-enrolled" : "rows-tune")
                           : (session->enrol ? "rows-report-enrolled" : "rows-report");
    if (!work_open(&session->work, dir, kind))
        return 1;
    if (session->only_names)
        return !work_print_names(&session->work);
    return prepare(session) ? work_run(&session->work, do_job, session) : 1;
}

int main(int argc, char **argv)
{
    struct session *session = calloc(1, sizeof *session);
    if (session == NULL)
        return 1;
    *session = (struct session){
        .set = UTTERANCES_REPORT, .utterances = 100, .passes = 1, .parts = 1, .stock = STOCK_LIVE};
    bool understood = argc >= 2;
    for (int i = 2; understood && i < argc; i++)
        understood = read_option(session, argv[i]);
    if (!understood)
        fputs("usage: bench-ear WORK [rows] [set=report|tune] [utterances=100] [passes=1] [jobs=1] "
              "[stop=MINUTES] [stock=live|batch|no] [voice=NAME] [instead=NAME] [part=N/OF] "
              "[enrol=yes|no] [knows=VOICE]\n",
              stderr);
    int code = understood ? run(session, argv[1]) : 2;
    utterances_free(session->list);
    free(session->done);
    free(session);
    return code;
}
