/*
 * The bench's ears: every utterance in every condition through midthrow and through stock
 * PocketSphinx, a row a hearing.
 *   bench-ear WORK [rows] [set=report|tune] [utterances=100] [passes=1] [jobs=1] [minutes=0]
 * [stock=live|batch|no] A condition is a noise and its distance under the speech: quiet, and 20,
 * 10, 5 and 0 dB. In the first pass utterance i meets noise i, i + 1 in the second, and so on, so
 * that one pass has every utterance at every distance and as many passes as there are noises have
 * it in every condition. Each hearing's noise has a seed of its own. Chatter (a fifth more) is
 * heard the same way. Rows go to WORK/rows-SET-BUILD.JOB.tsv as they are made; what is there
 * already is not made again, so a run that was stopped, or that ran out of `minutes`, goes on when
 * it is started again. Rows of another build, or of other grammars, have another name. bench-table
 * reads them.
 */
#include <errno.h>
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "rows.h"
#include "studio.h"

enum { LEVELS = 5, NOISES_MOST = 16, JOBS_MOST = 64 };

static const int levels[LEVELS] = {ROWS_QUIET_DB, 20, 10, 5, 0};

struct session {
    char work[512];
    enum utterances_set set;
    size_t utterances, passes, jobs, job;
    double minutes; /* 0: as long as it takes */
    enum stock_way stock;
    bool only_names;
    uint32_t build;
    time_t started;

    const struct noise_kind *noise[NOISES_MOST];
    size_t noises;
    struct utterances *list;
    bool *done; /* by utterance, noise (the last is quiet), level */
    struct studio studio;
    FILE *rows;
};

static const char *set_name(const struct session *session)
{
    return session->set == UTTERANCES_TUNE ? "tune" : "report";
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
    struct speech_heard heard;
    struct fault fault = {0};
    double start = processor_s();
    if (!speech_measure(session->studio.ear, u->grammar, sound->pcm, sound->frames, &heard,
                        &row->signs, &fault)) {
        fprintf(stderr, "%s\n", fault.sentence);
        return false;
    }
    row->ear_s = processor_s() - start;
    snprintf(row->verdict, sizeof row->verdict, "%s", speech_verdict_name(heard.verdict));
    snprintf(row->heard, sizeof row->heard, "%s", heard.words);
    snprintf(row->other, sizeof row->other, "%s", heard.other);
    row->score = heard.score;
    row->right = means(u, heard.words);
    row->other_right = means(u, heard.other);
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
    snprintf(row.voice, sizeof row.voice, "%s", u->voice->name);
    snprintf(row.class, sizeof row.class, "%s", utterances_class_name(u->class));
    snprintf(row.grammar, sizeof row.grammar, "%s", u->grammar);
    snprintf(row.noise, sizeof row.noise, "%s", quiet ? "quiet" : kind->name);
    snprintf(row.said, sizeof row.said, "%s", u->words);
    bool heard = studio_mix(&session->studio, &sound, kind, levels[level], seed) &&
                 hear(session, u, &sound, &row);
    recording_free(&sound);
    if (heard) {
        rows_write(session->rows, &row);
        fflush(session->rows);
        *done_at(session, index, quiet ? NOISES_MOST : noise, level) = true;
    } else {
        fprintf(stderr, "utterance %zu, '%s' by %s in %s at %d dB, could not be heard.\n", index,
                u->words, u->voice->name, row.noise, row.snr_db);
    }
    return heard;
}

/* ---- all of them ---- */

static bool out_of_time(const struct session *session)
{
    return session->minutes > 0 && difftime(time(NULL), session->started) > 60 * session->minutes;
}

/* One utterance with the noise of this pass, at whatever levels are missing. */
static bool hear_utterance(struct session *session, size_t index, size_t pass)
{
    const struct utterance *u = utterances_at(session->list, index);
    size_t noise = (index + pass) % session->noises;
    struct recording clean = {0};
    bool heard = true;
    for (size_t level = 0; heard && level < LEVELS; level++) {
        bool quiet = levels[level] == ROWS_QUIET_DB;
        if (*done_at(session, index, quiet ? NOISES_MOST : noise, level))
            continue;
        if (clean.pcm == NULL && !voices_say_as(u->voice, u->manner, u->words, &clean))
            return false;
        heard = hear_at(session, index, &clean, noise, level);
    }
    recording_free(&clean);
    return heard;
}

static bool hear_all(struct session *session)
{
    for (size_t pass = 0; pass < session->passes; pass++)
        for (size_t i = session->job; i < utterances_count(session->list); i += session->jobs) {
            if (out_of_time(session))
                return true;
            if (!hear_utterance(session, i, pass))
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

/* Every file this build has written for this set: calls `use` with each until it returns false. */
static bool each_file(struct session *session,
                      bool (*use)(struct session *session, const char *path))
{
    char pattern[600];
    glob_t found;
    bool used = true;
    snprintf(pattern, sizeof pattern, "%s/rows-%s-%08x.*.tsv", session->work, set_name(session),
             session->build);
    if (glob(pattern, 0, NULL, &found) != 0)
        return true; /* none yet */
    for (size_t f = 0; used && f < found.gl_pathc; f++)
        used = use(session, found.gl_pathv[f]);
    globfree(&found);
    return used;
}

static bool recall(struct session *session, const char *path)
{
    FILE *file = fopen(path, "r");
    bool read = file != NULL && rows_read(file, remember, session);
    if (file != NULL)
        fclose(file);
    return read;
}

static bool print_name(struct session *session, const char *path)
{
    (void)session;
    return puts(path) >= 0;
}

/* A line that was cut off when the last run was stopped must not be glued to the next. */
static bool open_rows(struct session *session)
{
    char path[600];
    long end = 0;
    snprintf(path, sizeof path, "%s/rows-%s-%08x.%zu.tsv", session->work, set_name(session),
             session->build, session->job);
    session->rows = fopen(path, "a+");
    if (session->rows == NULL || fseek(session->rows, 0, SEEK_END) != 0) {
        fprintf(stderr, "cannot write '%s': %s.\n", path, strerror(errno));
        return false;
    }
    end = ftell(session->rows);
    if (end == 0)
        rows_write_head(session->rows);
    else if (fseek(session->rows, end - 1, SEEK_SET) == 0 && getc(session->rows) != '\n')
        fputc('\n', session->rows);
    return true;
}

static int do_job(struct session *session)
{
    bool done = studio_open(&session->studio, session->set, session->stock) && open_rows(session) &&
                hear_all(session);
    if (session->rows != NULL && fclose(session->rows) != 0)
        done = false;
    studio_close(&session->studio);
    return done ? 0 : 1;
}

static int do_jobs(struct session *session)
{
    int failed = 0, status = 0;
    if (session->jobs == 1)
        return do_job(session);
    for (size_t job = 0; job < session->jobs; job++) {
        session->job = job;
        pid_t child = fork();
        if (child == 0)
            _exit(do_job(session));
        failed |= child < 0;
    }
    while (wait(&status) > 0)
        failed |= status != 0;
    return failed;
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
    if ((value = value_of(option, "set")) != NULL)
        session->set = strcmp(value, "tune") == 0 ? UTTERANCES_TUNE : UTTERANCES_REPORT;
    else if ((value = value_of(option, "utterances")) != NULL)
        session->utterances = strtoul(value, NULL, 10);
    else if ((value = value_of(option, "passes")) != NULL)
        session->passes = strtoul(value, NULL, 10);
    else if ((value = value_of(option, "jobs")) != NULL)
        session->jobs = strtoul(value, NULL, 10);
    else if ((value = value_of(option, "minutes")) != NULL)
        session->minutes = strtod(value, NULL);
    else if ((value = value_of(option, "stock")) != NULL)
        session->stock = strcmp(value, "no") == 0      ? STOCK_WAYS
                         : strcmp(value, "batch") == 0 ? STOCK_BATCH_ALL_FRAMES
                                                       : STOCK_LIVE;
    return value != NULL && session->jobs >= 1 && session->jobs <= JOBS_MOST;
}

static bool prepare(struct session *session)
{
    for (size_t n = 0; n < noise_count(); n++) {
        const struct noise_kind *kind = noise_at(n);
        if (kind->under_speech && (kind->tune || session->set == UTTERANCES_REPORT))
            session->noise[session->noises++] = kind;
    }
    session->started = time(NULL);
    session->list = utterances_make(session->set, GRAMMARS, session->utterances);
    if (session->list == NULL)
        return false;
    session->done =
        calloc(utterances_count(session->list) * (NOISES_MOST + 1) * LEVELS, sizeof *session->done);
    if (mkdir(session->work, 0777) != 0 && errno != EEXIST) {
        fprintf(stderr, "cannot make '%s': %s.\n", session->work, strerror(errno));
        return false;
    }
    return session->done != NULL && each_file(session, recall);
}

int main(int argc, char **argv)
{
    struct session *session = calloc(1, sizeof *session);
    bool understood = session != NULL && argc >= 2;
    if (session == NULL)
        return 1;
    *session = (struct session){
        .set = UTTERANCES_REPORT, .utterances = 100, .passes = 1, .jobs = 1, .stock = STOCK_LIVE};
    for (int i = 2; understood && i < argc; i++)
        understood = read_option(session, argv[i]);
    if (!understood) {
        fputs("usage: bench-ear WORK [rows] [set=report|tune] [utterances=100] [passes=1] [jobs=1] "
              "[minutes=0] [stock=live|batch|no]\n",
              stderr);
        free(session);
        return 2;
    }
    snprintf(session->work, sizeof session->work, "%s", argv[1]);
    session->build = studio_build();
    int failed = 1;
    if (session->only_names)
        failed = !each_file(session, print_name);
    else if (prepare(session))
        failed = do_jobs(session);
    utterances_free(session->list);
    free(session->done);
    free(session);
    return failed;
}
