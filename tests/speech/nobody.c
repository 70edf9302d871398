/*
 * What the ear makes of the noises to tune in while nobody speaks: the verdict is fitted on it.
 *
 *     bench-nobody WORK [rows] [minutes=4] [every=8] [jobs=1] [stop=MINUTES]
 *
 * `minutes` of each noise that may be tuned in (noises.h) at each level, switched on and off
 * (studio_shop), but for neighbours' talk: that is chatter, and bench-ear's. What the endpointer
 * takes for an utterance, as long as it was at the recogniser's first look, is heard with every
 * `every`-th grammar, the next cut with the ones beside. Rows are bench-ear's, of class "chatter";
 * minutes that are in the folder already are not heard again (work.h).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "enrolled.h"
#include "language/language.h"
#include "noises.h"
#include "rows.h"
#include "speech/endpoint.h"
#include "speech/verdict.h"
#include "studio.h"
#include "work.h"

enum {
    LEVELS = 3,
    NOISES = 32,
    MINUTES_MOST = 100,
    MINUTE = 60 * SPEECH_RATE_HZ,
    /* as the listener has them */
    BEFORE_FRAMES = 50,
    LOOK_MS = 120,
    LEAST_SPEECH_MS = 100,
    LONGEST_MS = 8000,
    TURN_S = 4, /* machines start and stop: that is when they are taken for speech */
};

static const int levels[LEVELS] = {-25, -40, -55};

struct session {
    struct work work;
    bool only_names;
    size_t minutes, every, cuts;
    struct studio studio;
    bool done[NOISES * LEVELS * MINUTES_MOST];
};

static bool hear_cut(struct session *session, const struct noise_kind *kind, size_t number,
                     const int16_t *pcm, size_t frames)
{
    size_t cut = session->cuts++;
    for (size_t g = cut % session->every; g < language_grammar_count(); g += session->every) {
        struct row row = {.utterance = (int)number,
                          .manner = (int)cut,
                          .sound_s = (double)frames / SPEECH_RATE_HZ,
                          .voice = "nobody",
                          .class = "chatter"};
        snprintf(row.noise, sizeof row.noise, "%s", kind->name);
        if (!studio_hear(&session->studio, language_grammar_name(g), pcm, frames, &row))
            return false;
        rows_write(session->work.rows, &row);
    }
    return true;
}

/* Whatever the endpointer takes for an utterance in it. */
static bool hear_minute(struct session *session, const struct noise_kind *kind, size_t number,
                        const int16_t *pcm)
{
    struct speech_endpoint end;
    speech_endpoint_init(&end);
    size_t from = 0;
    bool heard = true;
    for (size_t at = 0; heard && at + SPEECH_FRAME <= MINUTE; at += SPEECH_FRAME) {
        bool talking = end.state != SPEECH_QUIET;
        speech_endpoint_frame(&end, pcm + at, NULL);
        if (end.state == SPEECH_QUIET)
            continue;
        size_t before = BEFORE_FRAMES * SPEECH_FRAME;
        if (!talking)
            from = at > before ? at - before : 0;
        if (end.pause_ms < LOOK_MS && end.utterance_ms < LONGEST_MS)
            continue;
        if (end.speech_ms >= LEAST_SPEECH_MS)
            heard = hear_cut(session, kind, number, pcm + from, at + SPEECH_FRAME - from);
        speech_endpoint_forget(&end);
    }
    /* A row that says that the minute is done; without words it is nothing to fit on. */
    struct row last = {.utterance = (int)number, .voice = "nobody", .class = "done"};
    if (heard)
        rows_write(session->work.rows, &last);
    return heard && fflush(session->work.rows) == 0;
}

static bool hear_all(struct session *session, int16_t *pcm)
{
    size_t turn = 0;
    for (size_t n = 0; n < noise_count() * LEVELS * session->minutes; n++) {
        const struct noise_kind *kind = noise_at(n % noise_count());
        size_t level = n / noise_count() % LEVELS;
        bool heard_here = kind->tune && kind != noise_named("neighbours");
        if (!heard_here || turn++ % session->work.jobs != session->work.job || session->done[n])
            continue;
        if (work_late(&session->work))
            return true;
        if (!studio_shop(kind, &session->studio.talkers, levels[level], TURN_S, (uint32_t)n + 77777,
                         pcm, MINUTE) ||
            !hear_minute(session, kind, n, pcm))
            return false;
    }
    return true;
}

static bool do_job(void *context, bool is_new)
{
    struct session *session = context;
    int16_t *pcm = malloc(MINUTE * sizeof *pcm);
    if (is_new)
        rows_write_head(session->work.rows);
    bool done = pcm != NULL && studio_open(&session->studio, UTTERANCES_TUNE, STOCK_WAYS) &&
                enrolled_know_named(&session->studio, session->work.dir, session->work.knows) &&
                hear_all(session, pcm);
    studio_close(&session->studio);
    free(pcm);
    return done;
}

static void remember(void *context, const struct row *row)
{
    struct session *session = context;
    if (strcmp(row->class, "done") == 0 && row->utterance >= 0 &&
        (size_t)row->utterance < sizeof session->done)
        session->done[row->utterance] = true;
}

static bool recall(void *session, const char *path)
{
    return rows_read_file(path, remember, session);
}

static int run(struct session *session, const char *dir)
{
    if (!work_open(&session->work, dir, "nobody-tune"))
        return 1;
    if (session->only_names)
        return !work_print_names(&session->work);
    if (!work_each(&session->work, recall, session))
        return 1;
    return work_run(&session->work, do_job, session);
}

int main(int argc, char **argv)
{
    struct session *session = calloc(1, sizeof *session);
    if (session == NULL)
        return 1;
    session->minutes = 4;
    session->every = 8;
    bool understood = argc >= 2;
    for (int i = 2; understood && i < argc; i++)
        if (strncmp(argv[i], "minutes=", 8) == 0)
            session->minutes = strtoul(argv[i] + 8, NULL, 10);
        else if (strncmp(argv[i], "every=", 6) == 0)
            session->every = strtoul(argv[i] + 6, NULL, 10);
        else if (strcmp(argv[i], "rows") == 0)
            session->only_names = true;
        else
            understood = work_option(&session->work, argv[i]);
    understood = understood && session->every > 0 && session->minutes <= MINUTES_MOST;
    if (!understood)
        fputs("usage: bench-nobody WORK [rows] [minutes=4] [every=8] [jobs=1] [stop=MINUTES] "
              "[knows=VOICE]\n",
              stderr);
    int code = understood ? run(session, argv[1]) : 2;
    free(session);
    return code;
}
