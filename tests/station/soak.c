/*
 * A long day at the lift: silence, a shop's noises, chatter, midthrow's own voice with its echo,
 * and now and then a clear answer, through the live pipeline (station/live.h) in the simulated
 * room, in virtual time.
 *
 *     soak MINUTES SEED
 *
 * What can go wrong slowly: memory that grows, an ear that hears less and less, frames that get
 * lost, utterances that end later and later. A row each tenth of the run; 1 when something did, or
 * when an answer was missed. SIGINT ends the day early. The same seed makes the same day.
 *
 * Memory is the least of each tenth, from the fifth to the last: the heap in use by what glibc
 * counts (its own caches are in it, at most a quarter of a megabyte), and what is resident. By then
 * what is longest and noisiest was met, for which tables grow and stay; in less than an hour it was
 * not, and the second half is the first once more, to be held against it. What was believed though
 * nobody had said it is listed, with what a job would have made of it. The noises are those of
 * tests/speech/noises.h, the answers the recordings of audio_fixtures/demo, chatter is
 * tests/speech/chatter.txt by voices of flite.
 */
#include <fcntl.h>
#include <glob.h>
#include <malloc.h>
#include <math.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "../speech/noises.h"
#include "audio/audio.h"
#include "audio/room.h"
#include "base/text.h"
#include "language/language.h"
#include "station/live.h"
#include "strays.h"

enum {
    TALKERS = 12,
    ANSWERS = 128,
    KINDS = 16,
    PARTS = 10,
    MINUTE_MS = 60 * 1000,
    NOISE = 20 * SPEECH_RATE_HZ,
    EVERY_MS = 20 * 1000, /* from answer to answer */
    SETTLE_MS = 2500,     /* of quiet before one */
    PATIENCE_MS = 3000,   /* from the end of one to its being heard */
    HOUR = 60,            /* minutes */
};

/* What may be wrong before it counts as a fault. Delay: what the same answer's place among others
 * makes of its end. */
enum {
    HEAP_KB = 512,
    RESIDENT_KB = 12 * 1024,
    DRIFT_MS = 30,
    RIGHT_PERCENT = 90,
};

#if defined(__SANITIZE_ADDRESS__)
enum { MEMORY_COUNTS = 0 }; /* what was freed is kept */
#else
enum { MEMORY_COUNTS = 1 };
#endif

enum stretch { SILENCE, NOISES, CHATTER, VOICE, ANSWER, STRETCHES };

static const char *const own_sentences[] = {
    "Hold the stem still and loosen the lock nut. Then say: the lock nut is loose.",
    "Forward throw, reading two?",
    "I heard five sixteenths of an inch, five over one six. Is that right?",
    "Caution. The engine is off, and the key is out. Say: engine off and key out.",
    "I did not understand. Say it again, please, or use the pad.",
    "The two throws are not even. The stem is to be turned one sixteenth of a turn.",
};

struct answer {
    char grammar[48], words[LANGUAGE_WORDS];
    int16_t *pcm;
    size_t frames, end; /* speech ends at `end` */
    double delay_ms;    /* sum, of those heard */
    int heard;
};

/* One hearing of an answer. */
struct hearing {
    int64_t at_ms;
    size_t answer;
    double delay_ms;
};

struct part {
    int answers, heard, right, believed[STRETCHES], asked;
    int shown;                 /* of those heard: only shown as not understood */
    double delay_ms;           /* sum, of the others */
    long heap_kb, resident_kb; /* least; 0: not looked at */
};

struct soak {
    int64_t until_ms, next_ms;
    bool twice; /* the second half is the first once more, */
    bool again; /* and has begun */
    uint32_t from_seed;
    uint32_t seed;
    struct fault fault;
    struct speech_recogniser *recogniser;
    struct speech_voice *voice;
    struct audio_room *room;
    struct station_live *live;
    enum job_ear ear;
    int ear_changes;

    struct recording talker[TALKERS];
    struct answer answer[ANSWERS];
    size_t answers, next_answer;
    const struct noise_kind *kind[KINDS];
    float *noise[KINDS], *floor; /* NOISE samples each, root mean square 1 */
    size_t kinds, floor_at, noise_at;
    const float *loud; /* what sounds now; NULL: the floor alone */
    float gain;
    char during[64], before[64]; /* what it is, and was before */
    int64_t since_ms;            /* it is that */
    char grammar[48];
    struct strays strays;

    enum stretch now;
    int64_t spent_ms[STRETCHES];
    uint64_t read_frames;
    int64_t began_ms, ended_ms; /* of the answer being said; 0: none */
    struct hearing *hearing;
    size_t hearings;
    struct part part[PARTS];
    long most_kb; /* resident */
};

static volatile sig_atomic_t stopped;

static void stop(int signal)
{
    (void)signal;
    stopped = 1;
}

static bool trouble(const char *what)
{
    fprintf(stderr, "soak: %s\n", what);
    return false;
}

/* Knuth, The Art of Computer Programming 2, 3.3.4. */
static uint32_t below(struct soak *soak, uint32_t n)
{
    soak->seed = soak->seed * 1664525U + 1013904223U;
    return (uint32_t)((uint64_t)(soak->seed >> 8) * n >> 24);
}

static long resident_kb(void)
{
    long size = 0, resident = 0;
    FILE *file = fopen("/proc/self/statm", "r");
    if (file == NULL || fscanf(file, "%ld %ld", &size, &resident) != 2)
        resident = 0;
    if (file != NULL)
        fclose(file);
    return resident * (sysconf(_SC_PAGESIZE) / 1024);
}

static long heap_kb(void)
{
    struct mallinfo2 all = mallinfo2();
    return (long)((all.uordblks + all.hblkhd) / 1024);
}

/* ---- what sounds --------------------------------------------------------------------------- */

static void sound(void *user, uint64_t at_frame, float *pcm, size_t frames)
{
    static const float FLOOR = 0.0005f; /* -66 dB of full scale: a quiet shop's fan */
    struct soak *soak = user;
    (void)at_frame;
    for (size_t i = 0; i < frames; i++) {
        pcm[i] += FLOOR * soak->floor[soak->floor_at++ % NOISE];
        if (soak->loud != NULL)
            pcm[i] += soak->gain * soak->loud[soak->noise_at++ % NOISE];
    }
}

static void tap(void *user, int64_t now_ms, const int16_t heard[SPEECH_FRAME],
                const int16_t played[SPEECH_FRAME])
{
    struct soak *soak = user;
    (void)now_ms;
    (void)heard;
    (void)played;
    soak->read_frames += SPEECH_FRAME;
}

static void told(void *user, const char *who, const char *text, int64_t ago_ms, int64_t lasts_ms)
{
    (void)user;
    (void)who;
    (void)text;
    (void)ago_ms;
    (void)lasts_ms;
}

static float *make_noise(const struct noise_kind *kind, uint32_t seed,
                         const struct noise_talkers *talkers)
{
    double *made = malloc(NOISE * sizeof *made);
    float *noise = malloc(NOISE * sizeof *noise);
    bool ok = made != NULL && noise != NULL && noise_make(kind, seed, talkers, made, NOISE);
    for (size_t i = 0; ok && i < NOISE; i++)
        noise[i] = (float)made[i];
    free(made);
    if (ok)
        return noise;
    free(noise);
    return NULL;
}

static bool make_noises(struct soak *soak)
{
    struct noise_talkers talkers = {.said = soak->talker, .count = TALKERS};
    soak->floor = make_noise(noise_named("pink"), soak->seed + 100, NULL);
    for (size_t i = 0; i < noise_count() && soak->kinds < KINDS; i++) {
        soak->kind[soak->kinds] = noise_at(i);
        soak->noise[soak->kinds] = make_noise(noise_at(i), soak->seed + (uint32_t)i, &talkers);
        if (soak->noise[soak->kinds++] == NULL)
            return trouble("a noise could not be made.");
    }
    return soak->floor != NULL;
}

static bool flite(const char *voice, const char *words, const char *path)
{
    extern char **environ;
    char program[] = "flite", voice_is[] = "-voice", text_is[] = "-t", out_is[] = "-o";
    char *const arguments[] = {program,       voice_is, (char *)voice, text_is,
                               (char *)words, out_is,   (char *)path,  NULL};
    pid_t child;
    int status = 1;
    return posix_spawnp(&child, program, NULL, NULL, arguments, environ) == 0 &&
           waitpid(child, &status, 0) == child && status == 0;
}

/* Every other line of the file, so that all manners are there. */
static bool make_talkers(struct soak *soak)
{
    static const char *const voices[] = {"rms", "awb", "slt", "kal16"};
    char line[256], path[512];
    const char *where = getenv("TMPDIR");
    snprintf(path, sizeof path, "%s/midthrow-soak-XXXXXX", where != NULL ? where : "/tmp");
    FILE *file = fopen(MIDTHROW_SOURCE_DIR "/tests/speech/chatter.txt", "r");
    int out = mkstemp(path);
    size_t n = 0;
    bool ok = file != NULL && out >= 0;
    for (int i = 0; ok && n < TALKERS && fgets(line, sizeof line, file) != NULL; i++) {
        line[strcspn(line, "\n")] = '\0';
        if (i % 2 == 1)
            continue;
        ok = flite(voices[n % 4], line, path) &&
             audio_read_whole(path, SPEECH_RATE_HZ, &soak->talker[n].pcm, &soak->talker[n].frames,
                              &soak->fault);
        n += ok;
    }
    if (file != NULL)
        fclose(file);
    if (out >= 0) {
        close(out);
        unlink(path);
    }
    return (ok && n == TALKERS) || trouble("chatter could not be made: install flite.");
}

/* ---- answers ------------------------------------------------------------------------------- */

/* The last 10 ms within 30 dB of the loudest: what follows is the recording's own silence. */
static size_t end_of_speech(const int16_t *pcm, size_t frames)
{
    double most = 0;
    size_t end = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t at = 0; at + SPEECH_FRAME <= frames; at += SPEECH_FRAME) {
            double power = 0;
            for (size_t i = at; i < at + SPEECH_FRAME; i++)
                power += (double)pcm[i] * pcm[i];
            if (pass == 0)
                most = fmax(most, power);
            else if (power > most / 1000)
                end = at + SPEECH_FRAME;
        }
    return end;
}

/* "013-one-sixteenth-of-an-inch.wav" to its words. */
static void words_of(const char *path, char *words, size_t size)
{
    const char *name = strrchr(path, '/') + 5;
    snprintf(words, size, "%.*s", (int)strcspn(name, "."), name);
    for (char *c = words; *c != '\0'; c++)
        if (*c == '-')
            *c = ' ';
}

/* The first grammar in which the words are an answer, rather than a command that works everywhere.
 * A work order may be any word, but only typed. */
static const char *grammar_of(const char *words)
{
    struct language_value value;
    for (size_t i = 0; i < language_grammar_count(); i++) {
        const char *grammar = language_grammar_name(i);
        if (strcmp(grammar, "order") == 0 ||
            language_parse(grammar, words, &value, NULL) != LANGUAGE_OK)
            continue;
        bool command = value.type == LANGUAGE_COMMAND || value.type == LANGUAGE_SKIP;
        return command ? "yesno" : grammar;
    }
    return NULL; /* a cough, chatter */
}

static bool read_answers(struct soak *soak)
{
    glob_t files;
    if (glob(MIDTHROW_SOURCE_DIR "/audio_fixtures/demo/*.wav", 0, NULL, &files) != 0)
        return trouble("audio_fixtures/demo holds no recordings.");
    bool ok = true;
    for (size_t i = 0; ok && i < files.gl_pathc && soak->answers < ANSWERS; i++) {
        struct answer *answer = &soak->answer[soak->answers];
        words_of(files.gl_pathv[i], answer->words, sizeof answer->words);
        const char *grammar = grammar_of(answer->words);
        if (grammar == NULL)
            continue;
        snprintf(answer->grammar, sizeof answer->grammar, "%s", grammar);
        ok = audio_read_whole(files.gl_pathv[i], SPEECH_RATE_HZ, &answer->pcm, &answer->frames,
                              &soak->fault);
        answer->end = ok ? end_of_speech(answer->pcm, answer->frames) : 0;
        soak->answers += ok;
    }
    globfree(&files);
    return ok;
}

/* ---- hearing ------------------------------------------------------------------------------- */

static struct part *part_now(struct soak *soak)
{
    int64_t part = audio_room_now_ms(soak->room) * PARTS / soak->until_ms;
    return &soak->part[part < PARTS ? part : PARTS - 1];
}

/* Does the utterance overlap the answer that is being said or was just now? */
static bool is_the_answer(const struct soak *soak, const struct station_live_reply *reply)
{
    int64_t to = reply->heard_ms - reply->utterance.pause_ms;
    int64_t from = to - reply->utterance.speech_ms;
    return soak->ended_ms != 0 && from < soak->ended_ms && to > soak->began_ms;
}

static void note_stray(struct soak *soak, const struct job_event *event,
                       const struct station_live_reply *reply)
{
    struct stray stray = {.at_ms = audio_room_now_ms(soak->room),
                          .score = event->score,
                          .speech_ms = reply->utterance.speech_ms};
    int64_t into_ms = /* how far into what sounds now it began */
        stray.at_ms - reply->utterance.pause_ms - reply->utterance.speech_ms - soak->since_ms;
    snprintf(stray.during, sizeof stray.during, "%s%s%s", into_ms < 0 ? soak->before : "",
             into_ms < 0 ? ", then " : "", soak->during);
    text_copy(stray.grammar, sizeof stray.grammar, soak->grammar);
    text_copy(stray.words, sizeof stray.words, event->words);
    strays_add(&soak->strays, &stray);
}

/* Counts what was heard; true when it was the answer. */
static bool count(struct soak *soak, const struct job_event *event)
{
    struct station_live_reply reply = station_live_reply(soak->live);
    struct part *part = part_now(soak);
    if (!is_the_answer(soak, &reply)) {
        part->believed[soak->now] += event->verdict == JOB_ACCEPTED;
        part->asked += event->verdict == JOB_UNSURE;
        if (event->verdict == JOB_ACCEPTED)
            note_stray(soak, event, &reply);
        return false;
    }
    struct answer *answer = &soak->answer[soak->next_answer];
    double delay_ms = (double)(reply.heard_ms - soak->ended_ms);
    bool right = event->verdict == JOB_ACCEPTED &&
                 language_same_meaning(answer->grammar, answer->words, event->words);
    if (!right && getenv("SOAK_SHOW") != NULL)
        fprintf(stderr, "said \"%s\", heard \"%s\"\n", answer->words, event->words);
    part->heard++;
    part->right += right;
    part->delay_ms += delay_ms;
    answer->delay_ms += delay_ms;
    answer->heard++;
    soak->hearing[soak->hearings++] = (struct hearing){reply.heard_ms, soak->next_answer, delay_ms};
    return true;
}

/* What is not understood is told twice in a row and then now and then; in between the answer was
 * heard when it is shown as not understood. */
static bool is_shown(struct soak *soak)
{
    if (!station_live_missed(soak->live) || soak->now != ANSWER)
        return false;
    part_now(soak)->heard++;
    part_now(soak)->shown++;
    return true;
}

/* Listens for so long, or until the answer was heard. */
static bool listen_on(struct soak *soak, int64_t ms, bool *heard)
{
    int64_t until_ms = audio_room_now_ms(soak->room) + ms;
    for (int64_t left_ms = ms; left_ms > 0 && !*heard;
         left_ms = until_ms - audio_room_now_ms(soak->room)) {
        struct job_event event = {0};
        switch (station_live_wait(soak->live, NULL, 0, left_ms < 1000 ? (int)left_ms : 1000, true,
                                  soak->ear, &event, &soak->fault)) {
        case STATION_LIVE_ANSWER:
            *heard = count(soak, &event);
            break;
        case STATION_LIVE_EAR:
            soak->ear = event.ear;
            soak->ear_changes++;
            break;
        case STATION_LIVE_NOTHING:
            *heard = is_shown(soak);
            break;
        case STATION_LIVE_READY:
            break;
        case STATION_LIVE_SIGNAL:
        case STATION_LIVE_BROKEN:
            return trouble(soak->fault.sentence);
        }
    }
    return true;
}

static void sounds(struct soak *soak, const char *what)
{
    if (strcmp(soak->during, what) == 0)
        return;
    text_copy(soak->before, sizeof soak->before, soak->during);
    text_copy(soak->during, sizeof soak->during, what);
    soak->since_ms = audio_room_now_ms(soak->room);
}

static bool pass(struct soak *soak, enum stretch stretch, int64_t ms)
{
    static const char *const names[] = {"silence", "noise", "chatter", "own voice", "answer"};
    bool heard = false;
    if (stretch != NOISES)
        sounds(soak, names[stretch]);
    soak->now = stretch;
    soak->spent_ms[stretch] += ms;
    return listen_on(soak, ms, &heard);
}

/* ---- the day ------------------------------------------------------------------------------- */

static bool ask(struct soak *soak, const char *grammar)
{
    struct station_question question = {.grammar = grammar};
    text_copy(soak->grammar, sizeof soak->grammar, grammar);
    return station_live_ask(soak->live, &question, &soak->fault) || trouble(soak->fault.sentence);
}

static int64_t ms_of(size_t frames)
{
    return (int64_t)frames * 1000 / SPEECH_RATE_HZ;
}

/* Root mean square -55 to -40 dB of full scale; somebody who answers is at about -26. */
static bool be_noisy(struct soak *soak)
{
    uint32_t kind = below(soak, (uint32_t)soak->kinds);
    soak->loud = soak->noise[kind];
    soak->noise_at = below(soak, NOISE);
    int db = -55 + (int)below(soak, 16);
    soak->gain = (float)pow(10, db / 20.0);
    char name[64];
    snprintf(name, sizeof name, "%s, %d dB", soak->kind[kind]->name, db);
    sounds(soak, name);
    bool ok = pass(soak, NOISES, 4000 + below(soak, 8000));
    soak->loud = NULL;
    return ok;
}

/* To somebody else, across the shop: 6 to 18 dB quieter than at the microphone. */
static bool chat(struct soak *soak)
{
    const struct recording *said = &soak->talker[below(soak, TALKERS)];
    double gain = pow(10, -(6.0 + below(soak, 13)) / 20);
    int16_t *pcm = malloc(said->frames * sizeof *pcm);
    if (pcm == NULL)
        return trouble("out of memory.");
    for (size_t i = 0; i < said->frames; i++)
        pcm[i] = (int16_t)lrint(gain * said->pcm[i]);
    bool ok = audio_room_say(soak->room, pcm, said->frames, &soak->fault);
    free(pcm);
    return ok && pass(soak, CHATTER, ms_of(said->frames) + 500 + below(soak, 1500));
}

static bool speak(struct soak *soak)
{
    size_t sentences = sizeof own_sentences / sizeof own_sentences[0];
    const char *sentence = own_sentences[below(soak, (uint32_t)sentences)];
    if (!station_live_say(soak->live, sentence, false, &soak->fault))
        return trouble(soak->fault.sentence);
    do {
        if (!pass(soak, VOICE, 200))
            return false;
    } while (station_live_speaks(soak->live));
    return pass(soak, VOICE, 500);
}

static bool answer(struct soak *soak)
{
    const struct answer *answer = &soak->answer[soak->next_answer];
    bool heard = false;
    if (!pass(soak, SILENCE, SETTLE_MS) || !ask(soak, answer->grammar))
        return false;
    station_live_missed(soak->live); /* what was before */
    soak->now = ANSWER;
    sounds(soak, "answer");
    soak->began_ms = audio_room_now_ms(soak->room);
    soak->ended_ms = soak->began_ms + ms_of(answer->end);
    int64_t ms = ms_of(answer->frames) + PATIENCE_MS;
    bool ok = audio_room_say(soak->room, answer->pcm, answer->frames, &soak->fault) &&
              listen_on(soak, ms, &heard);
    part_now(soak)->answers++;
    if (!heard)
        fprintf(stderr, "soak: missed \"%s\" at %lld ms\n", answer->words,
                (long long)soak->began_ms);
    soak->spent_ms[ANSWER] += audio_room_now_ms(soak->room) - soak->began_ms;
    soak->next_answer = (soak->next_answer + 1) % soak->answers;
    soak->began_ms = soak->ended_ms = 0;
    soak->next_ms += EVERY_MS;
    return ok;
}

static void begin_again(struct soak *soak)
{
    soak->again = true;
    soak->seed = soak->from_seed;
    soak->next_answer = 0;
    soak->floor_at = 0;
    soak->next_ms = audio_room_now_ms(soak->room) + EVERY_MS / 2;
}

static void look_at_memory(struct soak *soak)
{
    struct part *part = part_now(soak);
    long heap = heap_kb(), resident = resident_kb();
    if (part->heap_kb == 0 || heap < part->heap_kb)
        part->heap_kb = heap;
    if (part->resident_kb == 0 || resident < part->resident_kb)
        part->resident_kb = resident;
    if (resident > soak->most_kb)
        soak->most_kb = resident;
}

static bool live_the_day(struct soak *soak)
{
    while (!stopped && audio_room_now_ms(soak->room) < soak->until_ms) {
        bool ok;
        if (soak->twice && !soak->again && audio_room_now_ms(soak->room) >= soak->until_ms / 2)
            begin_again(soak);
        if (audio_room_now_ms(soak->room) >= soak->next_ms)
            ok = answer(soak);
        else if (!ask(soak, language_grammar_name(below(soak, (uint32_t)language_grammar_count()))))
            ok = false;
        else
            switch (below(soak, 4)) {
            case 0:
                ok = be_noisy(soak);
                break;
            case 1:
                ok = chat(soak);
                break;
            case 2:
                ok = speak(soak);
                break;
            default:
                ok = pass(soak, SILENCE, 2000 + below(soak, 8000));
            }
        if (!ok)
            return false;
        look_at_memory(soak);
    }
    return true;
}

enum { LONGEST = 12 * SPEECH_RATE_HZ }; /* that a question lets anybody speak */

static bool hear(struct soak *soak, const int16_t *pcm)
{
    struct speech_heard heard;
    return speech_recognise(soak->recogniser, "distance", pcm, LONGEST, &heard, &soak->fault);
}

static void fill_with_talk(const struct soak *soak, int16_t *pcm)
{
    for (size_t used = 0, t = 0; used < LONGEST; t = (t + 1) % TALKERS) {
        const struct recording *said = &soak->talker[t];
        size_t more = said->frames < LONGEST - used ? said->frames : LONGEST - used;
        memcpy(pcm + used, said->pcm, more * sizeof *pcm);
        used += more;
    }
}

/* The longest of what most is made of: the tables of a search grow to it and stay. */
static bool hear_the_longest(struct soak *soak)
{
    const struct noise_kind *const kinds[] = {noise_named("babble"), noise_named("music")};
    int16_t *pcm = malloc(LONGEST * sizeof *pcm);
    if (pcm == NULL)
        return false;
    fill_with_talk(soak, pcm);
    bool heard_it = hear(soak, pcm);
    for (size_t k = 0; heard_it && k < soak->kinds; k++) {
        if (soak->kind[k] != kinds[0] && soak->kind[k] != kinds[1])
            continue;
        for (size_t i = 0; i < LONGEST; i++)
            pcm[i] =
                (int16_t)lrint(fmax(-1, fmin(1, 0.02 * (double)soak->noise[k][i])) * INT16_MAX);
        heard_it = hear(soak, pcm);
    }
    free(pcm);
    return heard_it;
}

/* Every grammar once before memory is looked at: what the recogniser keeps of each is then there.
 */
static bool warm_up(struct soak *soak)
{
    struct speech_heard heard;
    if (!hear_the_longest(soak))
        return trouble(soak->fault.sentence);
    for (size_t i = 0; i < language_grammar_count(); i++)
        if (!ask(soak, language_grammar_name(i)) ||
            !speech_recognise(soak->recogniser, language_grammar_name(i), soak->talker[0].pcm,
                              soak->talker[0].frames, &heard, &soak->fault))
            return trouble(soak->fault.sentence);
    return true;
}

/* ---- figures ------------------------------------------------------------------------------- */

/* How much later the last quarter's answers were heard than the first's, each against the mean of
 * the same recording's over the run. */
static double drift_ms(const struct soak *soak)
{
    double sum[2] = {0, 0};
    int n[2] = {0, 0};
    int64_t all_ms = audio_room_now_ms(soak->room);
    for (size_t i = 0; i < soak->hearings; i++) {
        const struct hearing *hearing = &soak->hearing[i];
        const struct answer *answer = &soak->answer[hearing->answer];
        bool first = hearing->at_ms < all_ms / 4;
        bool last = hearing->at_ms > all_ms * 3 / 4;
        if (answer->heard < 2 || !(first || last))
            continue;
        sum[last] += hearing->delay_ms - answer->delay_ms / answer->heard;
        n[last]++;
    }
    return n[0] > 0 && n[1] > 0 ? sum[1] / n[1] - sum[0] / n[0] : 0;
}

static void print_row(const char *name, const struct part *part)
{
    int told = part->heard - part->shown;
    printf("| %s | %d | %d | %d | %d | %d | %d | %d | %d | %.0f | %ld | %ld |\n", name,
           part->answers, part->heard, part->right, part->asked, part->believed[SILENCE],
           part->believed[NOISES], part->believed[CHATTER], part->believed[VOICE],
           told > 0 ? part->delay_ms / told : 0, part->heap_kb, part->resident_kb);
}

static struct part print_table(const struct soak *soak)
{
    struct part all = {0};
    puts("| tenth | answers | heard | right at once | asked without one | believed in silence | in "
         "noise | in chatter | in own voice | heard after, ms | heap in use, kB | resident, kB |\n"
         "|---|---|---|---|---|---|---|---|---|---|---|---|");
    for (int i = 0; i < PARTS; i++) {
        const struct part *part = &soak->part[i];
        char name[16];
        snprintf(name, sizeof name, "%d", i + 1);
        print_row(name, part);
        all.answers += part->answers;
        all.heard += part->heard;
        all.shown += part->shown;
        all.right += part->right;
        all.asked += part->asked;
        all.delay_ms += part->delay_ms;
        all.heap_kb = part->heap_kb > 0 ? part->heap_kb : all.heap_kb;
        all.resident_kb = part->resident_kb > 0 ? part->resident_kb : all.resident_kb;
        for (int s = 0; s < STRETCHES; s++)
            all.believed[s] += part->believed[s];
    }
    print_row("all", &all);
    return all;
}

static bool check(bool good, const char *what)
{
    if (!good)
        printf("FAULT: %s\n", what);
    return good;
}

static bool judge_memory(const struct soak *soak, const struct part *last)
{
    const struct part *first = &soak->part[PARTS / 2 - 1];
    if (first->heap_kb == 0) { /* ended before there was anything to compare */
        puts("memory: too short a run to say");
        return true;
    }
    long heap = last->heap_kb - first->heap_kb, resident = last->resident_kb - first->resident_kb;
    printf(
        "memory: heap in use %+ld kB, resident %+ld kB, from the fifth tenth to the last; at most "
        "%ld kB resident\n",
        heap, resident, soak->most_kb);
    bool good = check(!MEMORY_COUNTS || heap <= HEAP_KB, "the heap in use grows");
    return check(!MEMORY_COUNTS || resident <= RESIDENT_KB, "resident memory grows") && good;
}

static bool judge(struct soak *soak, double cpu_s)
{
    struct part all = print_table(soak);
    strays_print(&soak->strays);
    struct audio_live_status status;
    station_live_status(soak->live, &status);
    int64_t behind = (int64_t)(audio_room_at_frame(soak->room) - soak->read_frames);
    double drift = drift_ms(soak), hours = (double)audio_room_now_ms(soak->room) / 3.6e6;
    printf("%.2f hours in %.0f s of CPU, %.0f times real time: silence %.0f %%, noise %.0f %%, "
           "chatter %.0f %%, own voice %.0f %%, answers %.0f %%\n",
           hours, cpu_s, hours * 3600 / cpu_s, (double)soak->spent_ms[SILENCE] / hours / 36000,
           (double)soak->spent_ms[NOISES] / hours / 36000,
           (double)soak->spent_ms[CHATTER] / hours / 36000,
           (double)soak->spent_ms[VOICE] / hours / 36000,
           (double)soak->spent_ms[ANSWER] / hours / 36000);
    printf("missed %d; frames %lld behind the clock, %llu lost; speaker starved %llu times; ear "
           "given up or taken back %d times\n",
           all.answers - all.heard, (long long)behind, (unsigned long long)status.lost_frames,
           (unsigned long long)status.starved_calls, soak->ear_changes);
    printf("answers heard %+.1f ms later in the last quarter than in the first\n", drift);
    bool good = judge_memory(soak, &all);
    good &= check(all.heard == all.answers && all.answers > 0, "an answer was missed");
    good &= check(all.right * 100 >= all.answers * RIGHT_PERCENT, "too many were not understood");
    good &= check(behind >= 0 && behind <= SPEECH_FRAME, "frames and the clock went apart");
    good &= check(status.lost_frames == 0, "frames were lost");
    good &= check(fabs(drift) <= DRIFT_MS, "answers are heard later and later, or sooner");
    return good;
}

/* ---- opening and closing ------------------------------------------------------------------- */

static bool open_ear(struct soak *soak)
{
    struct speech_config ear = {.grammar_dir = MIDTHROW_SOURCE_DIR "/grammars",
                                .same_meaning = language_same_meaning,
                                .is_command = language_is_command,
                                .live = true};
    struct audio_room_setup room = {.seed = soak->seed,
                                    .echo_db = -12,
                                    .delay_ms = 25,
                                    .rt60_ms = 100,
                                    .lead_ms = 10,
                                    .noise = sound,
                                    .user = soak};
    soak->room = audio_room_create(&room, &soak->fault);
    soak->voice = speech_voice_create(165, &soak->fault);
    soak->recogniser = speech_recogniser_create(&ear, &soak->fault);
    if (soak->room == NULL || soak->voice == NULL || soak->recogniser == NULL)
        return trouble(soak->fault.sentence);
    struct station_live_config live = {
        .driver = &audio_live_room,
        .audio = {.rate_hz = SPEECH_RATE_HZ, .setup = soak->room},
        .recogniser = soak->recogniser,
        .grammar_dir = MIDTHROW_SOURCE_DIR "/grammars",
        .voice = soak->voice,
        .tap = tap,
        .told = told,
        .tap_context = soak,
    };
    soak->live = station_live_create(&live, &soak->fault);
    return soak->live != NULL || trouble(soak->fault.sentence);
}

static void close_all(struct soak *soak)
{
    station_live_destroy(soak->live);
    audio_room_destroy(soak->room);
    speech_voice_destroy(soak->voice);
    speech_recogniser_destroy(soak->recogniser);
    for (size_t i = 0; i < TALKERS; i++)
        free(soak->talker[i].pcm);
    for (size_t i = 0; i < soak->answers; i++)
        free(soak->answer[i].pcm);
    for (size_t i = 0; i < soak->kinds; i++)
        free(soak->noise[i]);
    free(soak->floor);
    free(soak->hearing);
    free(soak);
}

static double cpu_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

int main(int argc, char **argv)
{
    long minutes = argc == 3 ? strtol(argv[1], NULL, 10) : 0;
    struct soak *soak = calloc(1, sizeof *soak);
    if (soak == NULL || minutes < 1 || minutes > 10000) {
        free(soak);
        fputs("usage: soak MINUTES SEED\n", stderr);
        return 2;
    }
    soak->seed = (uint32_t)strtoul(argv[2], NULL, 10);
    soak->until_ms = minutes * MINUTE_MS;
    soak->next_ms = EVERY_MS / 2;
    soak->from_seed = soak->seed;
    soak->twice = minutes < HOUR;
    signal(SIGINT, stop);
    soak->hearing = calloc((size_t)(soak->until_ms / EVERY_MS) + 2, sizeof *soak->hearing);
    bool good = soak->hearing != NULL && make_talkers(soak) && read_answers(soak) &&
                make_noises(soak) && open_ear(soak) && warm_up(soak);
    double before_s = cpu_s();
    good = good && live_the_day(soak) && judge(soak, cpu_s() - before_s);
    close_all(soak);
    return good ? 0 : 1;
}
