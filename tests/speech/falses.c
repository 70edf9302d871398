/*
 * What the ear believes while nobody answers it: false accepts per hour of a shop's sounds, through
 * the live listener (endpointer, recogniser, verdict) with one grammar after the other expected.
 *
 *     bench-false WORK [minutes=2] [jobs=1] [sound=NAME] [stop=MINUTES]
 *
 * `minutes` of each sound at each level (studio_shop). "person" is Debian's
 * asterisk-core-sounds-en-g722, the sentences that are no answers, one after the other in any
 * order; "speech", "radio" and "babble" are the report voices' half of chatter.txt. Each minute has
 * its own seed and its own row; what is in the folder already is not made again (work.h). "In a
 * job": what is left of what the ear believed where a job would not doubt it (station/watch.h) for
 * going on from talk that was no answer, or for being far quieter than who answers, somebody of the
 * report voices at the usual level. The cost is processor time for each second of sound, of all
 * that listens. Rates have the exact 95 % interval for a Poisson count (Garwood 1936, "Fiducial
 * limits for the Poisson distribution", Biometrika 28).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <gsl/gsl_cdf.h>

#include "enrolled.h"
#include "language/language.h"
#include "noises.h"
#include "recording.h"
#include "speech/listener.h"
#include "station/watch.h"
#include "studio.h"
#include "utterances.h"
#include "work.h"

enum {
    LEVELS = 3,
    SOUNDS = 10,
    MINUTES_MOST = 600,
    MINUTE = 60 * SPEECH_RATE_HZ,
    GRAMMAR_S = 15,   /* the next grammar is expected after an utterance, or after so long */
    ANSWER_MS = 8000, /* the longest answer */
    WHAT = 512,
    ANSWERS = 10, /* of who answers, before the sounds */
};

static const int levels[LEVELS] = {-25, -40, -55};

/* "person" is made as "speech" is, of other recordings. */
static const struct {
    const char *name, *kind;
} sounds[SOUNDS] = {
    {"person", "speech"},   {"speech", "speech"}, {"radio", "radio"},
    {"babble", "babble"},   {"music", "music"},   {"coughs", "coughs"},
    {"impacts", "impacts"}, {"tools", "tools"},   {"compressor", "compressor"},
    {"engine", "engine"},
};

/* One minute of one sound at one level. */
struct minute {
    bool done;
    int uttered, accepted, asked;
    int doubted;     /* of those accepted, in a job: asked about, or dropped */
    double ear_s;    /* processor time */
    char what[WHAT]; /* what was believed: "grammar: words; ..." */
};

struct session {
    struct work work;
    const char *only; /* sound; NULL: all */
    size_t minutes;
    struct studio studio;
    struct station_watch near;   /* once who answers was heard */
    struct noise_talkers person; /* none: she is not installed */
    struct minute at[SOUNDS][LEVELS][MINUTES_MOST];
};

/* ---- sound ---- */

static bool make_minute(const struct session *session, size_t sound, size_t level, size_t minute,
                        int16_t *pcm)
{
    bool person = strcmp(sounds[sound].name, "person") == 0;
    uint32_t seed = (uint32_t)((sound * LEVELS + level) * MINUTES_MOST + minute);
    return studio_shop(noise_named(sounds[sound].kind),
                       person ? &session->person : &session->studio.talkers, levels[level], 0, seed,
                       pcm, MINUTE);
}

/* ---- listening ---- */

static bool is_stop(const char *grammar, const char *words)
{
    struct language_value value;
    return language_parse(grammar, words, &value, NULL) == LANGUAGE_OK &&
           value.type == LANGUAGE_COMMAND && value.as.command == LANGUAGE_STOP;
}

/* True: a job would ask whether that was said. */
static bool note_believed(struct minute *result, struct station_watch *watch, const char *grammar,
                          const struct speech_utterance *utterance)
{
    const char *words = utterance->heard.words;
    size_t used = strlen(result->what);
    /* "Stop" counts from anywhere and teaches nothing, as in station/live.c. */
    bool stop = is_stop(grammar, words);
    enum station_doubt doubts =
        stop ? STATION_NO_DOUBT
             : station_watch_doubts(watch, utterance->level_db, utterance->is_tail, false);
    if (doubts == STATION_ASKS)
        station_watch_asked(watch, utterance->level_db);
    else if (doubts == STATION_NO_DOUBT && !stop)
        station_watch_believed(watch, utterance->level_db);
    result->accepted++;
    result->doubted += doubts != STATION_NO_DOUBT;
    snprintf(result->what + used, WHAT - used, "%s%s: %s (%.0f dB)", used > 0 ? "; " : "", grammar,
             words, utterance->level_db);
    return doubts == STATION_ASKS;
}

static bool note(struct minute *result, struct station_watch *watch, const char *grammar,
                 const struct speech_utterance *utterance)
{
    result->uttered++;
    result->asked += utterance->heard.verdict == SPEECH_UNSURE;
    bool is_asked = utterance->heard.verdict == SPEECH_ACCEPTED &&
                    note_believed(result, watch, grammar, utterance);
    station_watch_uttered(watch, utterance->heard.verdict == SPEECH_REJECTED, utterance->speech_ms);
    return is_asked;
}

static const int16_t nothing[SPEECH_FRAME]; /* is played */

static bool listen_to(struct speech_listener *ear, const int16_t *pcm, size_t turn,
                      struct station_watch watch, struct minute *result, struct fault *fault)
{
    struct speech_utterance utterance;
    int since = 0;
    bool sure = false; /* "Did you say ...?" is open, as in a job: until that is believed, here */
    const char *grammar = language_grammar_name(turn % language_grammar_count());
    bool heard = speech_listener_expect(ear, grammar, ANSWER_MS, 0, fault);
    for (size_t at = 0; heard && at + SPEECH_FRAME <= MINUTE; at += SPEECH_FRAME) {
        enum speech_listening now =
            speech_listener_frame(ear, true, pcm + at, nothing, &utterance, fault);
        bool idle = speech_listener_endpoint(ear)->state == SPEECH_QUIET;
        station_watch_frame(&watch, pcm + at,
                            speech_endpoint_noise_db(speech_listener_endpoint(ear)));
        since += SPEECH_FRAME;
        heard = now != SPEECH_FAILED;
        bool waited = idle && since > GRAMMAR_S * SPEECH_RATE_HZ;
        if (now == SPEECH_UTTERED && note(result, &watch, grammar, &utterance))
            sure = true;
        else if (waited || (now == SPEECH_UTTERED && utterance.heard.verdict == SPEECH_ACCEPTED))
            sure = false;
        if (now == SPEECH_UTTERED || waited) {
            grammar = sure ? "yesno" : language_grammar_name(++turn % language_grammar_count());
            heard = heard && speech_listener_expect(ear, grammar, ANSWER_MS, 0, fault);
            since = 0;
        }
    }
    return heard;
}

static struct speech_listener *listen(const struct session *session, struct fault *fault)
{
    struct speech_listener_config config = {.recogniser = session->studio.ear,
                                            .grammar_dir = GRAMMARS,
                                            .same_meaning = language_same_meaning};
    return speech_listener_create(&config, fault);
}

static bool hear_minute(struct session *session, size_t sound, size_t level, size_t minute)
{
    struct fault fault = {0};
    struct minute *result = &session->at[sound][level][minute];
    struct speech_listener *ear = listen(session, &fault);
    int16_t *pcm = malloc(MINUTE * sizeof *pcm);
    bool made = ear != NULL && pcm != NULL && make_minute(session, sound, level, minute, pcm);
    clock_t start = clock();
    /* Grammars go on from minute to minute, so that each sound meets all of them. */
    result->done =
        made && listen_to(ear, pcm, minute * 7 + level * 11 + sound, session->near, result, &fault);
    result->ear_s = (double)(clock() - start) / CLOCKS_PER_SEC;
    speech_listener_destroy(ear);
    free(pcm);
    if (!result->done)
        fprintf(stderr, "%s could not be listened to: %s\n", sounds[sound].name, fault.sentence);
    return result->done;
}

/* ---- who answers ---- */

static bool hear_answer(struct session *session, struct speech_listener *ear,
                        const struct utterance *said, struct recording *sound, struct fault *fault)
{
    struct speech_utterance utterance;
    if (!studio_mix(&session->studio, sound, said->voice, noise_named("pink"), ROWS_QUIET_DB, 1) ||
        !speech_listener_expect(ear, said->grammar, ANSWER_MS, 0, fault))
        return false;
    enum speech_listening now = SPEECH_NOTHING;
    for (size_t at = 0; at + SPEECH_FRAME <= sound->frames && now != SPEECH_UTTERED;
         at += SPEECH_FRAME) {
        now = speech_listener_frame(ear, true, sound->pcm + at, nothing, &utterance, fault);
        if (now == SPEECH_FAILED)
            return false;
    }
    if (now != SPEECH_UTTERED)
        now = speech_listener_finish(ear, &utterance, fault);
    if (now == SPEECH_UTTERED && utterance.heard.verdict == SPEECH_ACCEPTED)
        station_watch_believed(&session->near, utterance.level_db);
    return now != SPEECH_FAILED;
}

static bool hear_answers(struct session *session)
{
    struct fault fault = {0};
    struct utterances *list = utterances_make(UTTERANCES_REPORT, GRAMMARS, ANSWERS);
    struct speech_listener *ear = listen(session, &fault);
    bool heard = list != NULL && ear != NULL;
    station_watch_init(&session->near);
    for (size_t i = 0; heard && i < ANSWERS; i++) {
        const struct utterance *said = utterances_at(list, i);
        struct recording sound = {0};
        heard = voices_say_as(said->voice, said->manner, said->words, &sound) &&
                hear_answer(session, ear, said, &sound, &fault);
        recording_free(&sound);
    }
    speech_listener_destroy(ear);
    utterances_free(list);
    if (heard)
        fprintf(stderr, "who answers: %d answers believed, at %.0f dB\n", session->near.believed,
                session->near.speech_db);
    else
        fprintf(stderr, "who answers could not be listened to: %s\n", fault.sentence);
    return heard;
}

/* ---- rows ---- */

static void write_row(FILE *file, size_t sound, size_t level, size_t minute,
                      const struct minute *result)
{
    fprintf(file, "%s\t%d\t%zu\t%d\t%d\t%d\t%d\t%.2f\t%s\n", sounds[sound].name, levels[level],
            minute, result->uttered, result->accepted, result->doubted, result->asked,
            result->ear_s, result->what);
    fflush(file);
}

static void read_rows(struct session *session, FILE *file)
{
    char line[1024], name[32];
    while (fgets(line, sizeof line, file) != NULL) {
        int level_db = 0, used = 0;
        size_t minute = 0;
        struct minute result = {.done = true};
        if (strchr(line, '\n') == NULL ||
            sscanf(line, "%31s\t%d\t%zu\t%d\t%d\t%d\t%d\t%lf%n", name, &level_db, &minute,
                   &result.uttered, &result.accepted, &result.doubted, &result.asked, &result.ear_s,
                   &used) != 8 ||
            minute >= MINUTES_MOST)
            continue;
        if (line[used] == '\t')
            snprintf(result.what, WHAT, "%.*s", (int)strcspn(line + used + 1, "\n"),
                     line + used + 1);
        for (size_t s = 0; s < SOUNDS; s++)
            for (size_t l = 0; l < LEVELS; l++)
                if (strcmp(sounds[s].name, name) == 0 && levels[l] == level_db)
                    session->at[s][l][minute] = result;
    }
}

static bool recall(void *session, const char *path)
{
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return false;
    read_rows(session, file);
    fclose(file);
    return true;
}

/* ---- all of it ---- */

static bool wanted(const struct session *session, size_t sound)
{
    if (session->only != NULL && strcmp(session->only, sounds[sound].name) != 0)
        return false;
    return session->person.count > 0 || strcmp(sounds[sound].name, "person") != 0;
}

/* Minute by minute over all sounds, so that a run that is stopped has some of each. */
static bool hear_all(struct session *session)
{
    size_t turn = 0;
    for (size_t minute = 0; minute < session->minutes; minute++)
        for (size_t sound = 0; sound < SOUNDS; sound++)
            for (size_t level = 0; level < LEVELS; level++) {
                const struct minute *result = &session->at[sound][level][minute];
                if (turn++ % session->work.jobs != session->work.job || result->done ||
                    !wanted(session, sound))
                    continue;
                if (work_late(&session->work))
                    return true;
                if (!hear_minute(session, sound, level, minute))
                    return false;
                write_row(session->work.rows, sound, level, minute, result);
            }
    return true;
}

static bool do_job(void *context, bool is_new)
{
    struct session *session = context;
    (void)is_new;
    bool done = studio_open(&session->studio, UTTERANCES_REPORT, STOCK_WAYS) &&
                enrolled_know_named(&session->studio, session->work.dir, session->work.knows) &&
                hear_answers(session) && hear_all(session);
    studio_close(&session->studio);
    return done;
}

static void print_table(const struct session *session)
{
    printf("| sound | level | hours | uttered | asked about | believed | **in a job** | an hour | "
           "cost |\n|---|---|---|---|---|---|---|---|---|\n");
    for (size_t s = 0; s < SOUNDS; s++)
        for (size_t l = 0; l < LEVELS; l++) {
            double hours = 0, ear_s = 0;
            int uttered = 0, asked = 0, believed = 0, in_job = 0;
            for (size_t m = 0; m < MINUTES_MOST; m++) {
                const struct minute *result = &session->at[s][l][m];
                hours += result->done / 60.0;
                uttered += result->uttered;
                asked += result->asked;
                believed += result->accepted;
                in_job += result->accepted - result->doubted;
                ear_s += result->ear_s;
                if (result->what[0] != '\0')
                    fprintf(stderr, "%s, %d dB: %s\n", sounds[s].name, levels[l], result->what);
            }
            if (!(hours > 0))
                continue;
            double low = in_job == 0 ? 0 : gsl_cdf_chisq_Pinv(0.025, 2.0 * in_job) / 2;
            double high = gsl_cdf_chisq_Pinv(0.975, 2.0 * in_job + 2) / 2;
            printf("| %s | %d dB | %.2f | %d | %d | %d | %d | %.1f [%.1f, %.1f] | %.2f |\n",
                   sounds[s].name, levels[l], hours, uttered, asked, believed, in_job,
                   in_job / hours, low / hours, high / hours, ear_s / (3600 * hours));
        }
}

static bool read_option(struct session *session, const char *option)
{
    if (work_option(&session->work, option))
        return true;
    if (strncmp(option, "minutes=", 8) == 0)
        session->minutes = strtoul(option + 8, NULL, 10);
    else if (strncmp(option, "sound=", 6) == 0)
        session->only = option + 6;
    else
        return false;
    return session->minutes <= MINUTES_MOST;
}

static int run(struct session *session, const char *dir)
{
    if (!work_open(&session->work, dir, "false") || !work_each(&session->work, recall, session) ||
        !studio_person(&session->person))
        return 1;
    int failed = work_run(&session->work, do_job, session);
    failed |= !work_each(&session->work, recall, session); /* what the jobs wrote */
    print_table(session);
    studio_forget(&session->person);
    return failed;
}

int main(int argc, char **argv)
{
    struct session *session = calloc(1, sizeof *session);
    if (session == NULL)
        return 1;
    session->minutes = 2;
    bool understood = argc >= 2;
    for (int i = 2; understood && i < argc; i++)
        understood = read_option(session, argv[i]);
    if (!understood)
        fputs("usage: bench-false WORK [minutes=2] [jobs=1] [sound=NAME] [stop=MINUTES] "
              "[knows=VOICE]\n",
              stderr);
    int code = understood ? run(session, argv[1]) : 2;
    free(session);
    return code;
}
