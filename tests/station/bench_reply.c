/* Reply time: from the end of speech to the first sample of the answer, over a whole job in the
 * simulated room, midthrow's CPU time counted as time; where it goes; and stock PocketSphinx on the
 * same recordings. Then start-up, CPU while listening, and memory. What of a recording was not
 * taken is typed, so that the next one meets the question it was made for; chatter and the cough
 * are passed over. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <glob.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "../speech/stock.h"
#include "language/language.h"
#include "shop.h"

enum { REPLIES = 256, AFTER = 3 * SPEECH_RATE_HZ };

struct reply {
    char grammar[48];
    int16_t *pcm; /* the recording, and some quiet */
    size_t frames, end;
    uint64_t said_at, ended_at, audible_at; /* frames; 0: not yet */
    struct station_live_reply live;
    double stock_ms;
    char words[96]; /* from its name; "": it answers nothing */
    bool typed;
};

struct bench {
    glob_t files;
    size_t next;
    struct reply reply[REPLIES];
    size_t n;
};

static double seconds(clockid_t clock)
{
    struct timespec now;
    clock_gettime(clock, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

/* The last 10 ms within 30 dB of the loudest: what follows is the recording's own silence. */
static size_t end_of_speech(const int16_t *pcm, size_t frames)
{
    double most = 0;
    size_t end = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t at = 0; at + 160 <= frames; at += 160) {
            double power = 0;
            for (size_t i = at; i < at + 160; i++)
                power += (double)pcm[i] * pcm[i];
            if (pass == 0)
                most = fmax(most, power);
            else if (power > most / 1000)
                end = at + 160;
        }
    return end;
}

/* "013-one-sixteenth-of-an-inch.wav" to its words. */
static void words_of(const char *path, char *words, size_t size)
{
    struct language_value value;
    const char *name = strrchr(path, '/') + 5;
    snprintf(words, size, "%.*s", (int)strcspn(name, "."), name);
    for (char *c = words; *c != '\0'; c++)
        if (*c == '-')
            *c = ' ';
    for (size_t i = 0; i < language_grammar_count(); i++)
        if (strcmp(language_grammar_name(i), "order") != 0 &&
            language_parse(language_grammar_name(i), words, &value, NULL) == LANGUAGE_OK)
            return;
    words[0] = '\0';
}

static bool is_accepted(const struct reply *reply)
{
    return reply->audible_at != 0 && reply->live.utterance.heard.verdict == SPEECH_ACCEPTED;
}

/* The last one's words, if the job has not taken them: true when they were typed just now. */
static bool type_what_was_not_taken(struct shop *shop, int64_t now_ms)
{
    struct bench *bench = shop->user;
    struct reply *last = bench->n == 0 ? NULL : &bench->reply[bench->n - 1];
    if (last == NULL || last->typed || last->words[0] == '\0' || is_accepted(last))
        return false;
    last->typed = true;
    shop->said_ms = now_ms;
    shop->answered_ms = shop->station.asked_ms;
    shop_type(shop, last->words);
    return true;
}

static void speak_the_next(struct shop *shop, int64_t now_ms, bool asked)
{
    struct bench *bench = shop->user;
    if (!asked || type_what_was_not_taken(shop, now_ms))
        return;
    if (bench->next == bench->files.gl_pathc || bench->n == REPLIES) {
        shop->stop = 1;
        audio_room_interrupt(shop->room);
        return;
    }
    int16_t *pcm;
    size_t frames;
    struct reply *reply = &bench->reply[bench->n++];
    words_of(bench->files.gl_pathv[bench->next], reply->words, sizeof reply->words);
    if (!audio_read_whole(bench->files.gl_pathv[bench->next++], SPEECH_RATE_HZ, &pcm, &frames,
                          &shop->fault))
        fail_msg("%s", shop->fault.sentence);
    snprintf(reply->grammar, sizeof reply->grammar, "%s", job_grammar(shop->job));
    reply->end = end_of_speech(pcm, frames);
    reply->said_at = audio_room_at_frame(shop->room);
    reply->ended_at = reply->said_at + reply->end;
    shop_say(shop, pcm, frames);
    reply->frames = frames + AFTER;
    reply->pcm = realloc(pcm, reply->frames * sizeof *pcm);
    assert_non_null(reply->pcm);
    uint32_t seed = 5;
    for (size_t i = frames; i < reply->frames; i++) {
        seed = seed * 1664525U + 1013904223U;
        reply->pcm[i] = (int16_t)((int)(seed >> 24) % 20 - 10);
    }
}

static void watch(struct shop *shop, uint64_t at_frame, const int16_t *spoken, const int16_t *heard,
                  size_t frames)
{
    struct bench *bench = shop->user;
    (void)heard;
    if (bench->n == 0)
        return;
    struct reply *reply = &bench->reply[bench->n - 1];
    if (reply->audible_at != 0 || at_frame < reply->ended_at)
        return;
    for (size_t i = 0; i < frames; i++)
        if (abs(spoken[i]) > 30) {
            reply->audible_at = at_frame + i;
            reply->live = station_live_reply(shop->live);
            return;
        }
}

/* ---- figures --------------------------------------------------------------------------------- */

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void print_row(const char *what, double *value, size_t n)
{
    if (n == 0)
        return;
    qsort(value, n, sizeof *value, ascending);
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += value[i];
    printf("%-34s %4zu %7.0f %7.0f %7.0f\n", what, n, value[n / 2], value[n * 95 / 100],
           sum / (double)n);
}

static double ms_of(uint64_t frames)
{
    return (double)frames / 16;
}

static double reply_ms(const struct reply *reply)
{
    return ms_of(reply->audible_at) - ms_of(reply->ended_at);
}

static bool is_complete(const struct reply *reply)
{
    return reply->live.utterance.heard.verdict == SPEECH_ACCEPTED &&
           reply->live.utterance.pause_ms < 400;
}

enum part { ALL, COMPLETE, EXTENDABLE, OTHERS, WAIT, DECODE, STEP, VOICE, DEVICE, STOCK, PARTS };

static bool part_of(const struct reply *reply, enum part part, double *ms)
{
    const struct station_live_reply *live = &reply->live;
    bool accepted = is_accepted(reply);
    *ms = part == STOCK ? reply->stock_ms : reply_ms(reply);
    switch (part) {
    case COMPLETE:
        return is_complete(reply);
    case EXTENDABLE:
        return accepted && !is_complete(reply);
    case OTHERS:
        return !accepted;
    case WAIT:
        *ms = (double)live->heard_ms - ms_of(reply->ended_at);
        return is_complete(reply);
    case DECODE:
        *ms = live->utterance.decode_ms;
        return is_complete(reply);
    case STEP:
        *ms = (double)(live->said_ms - live->heard_ms);
        return is_complete(reply);
    case VOICE:
        *ms = (double)(live->written_ms - live->said_ms);
        return is_complete(reply);
    case DEVICE:
        *ms = ms_of(reply->audible_at) - (double)live->written_ms;
        return is_complete(reply);
    case STOCK:
        return reply->stock_ms >= 0;
    case ALL:
    case PARTS:
        break;
    }
    return true;
}

static void print_all(struct bench *bench)
{
    static const char *const names[PARTS] = {
        "reply, all answers",
        "reply, complete phrases",
        "reply, sentences that may go on",
        "reply, not believed at once",
        "  complete: pause and recogniser",
        "    of that the recogniser, by the wall",
        "  complete: journal and job",
        "  complete: voice",
        "  complete: device buffer, onset",
        "stock: end of speech to words",
    };
    size_t typed = 0, silent = 0;
    for (size_t i = 0; i < bench->n; i++) {
        typed += bench->reply[i].typed;
        silent += bench->reply[i].audible_at == 0;
    }
    printf("%zu recordings of %zu said; %zu got no reply by voice; %zu were typed afterwards\n",
           bench->n, (size_t)bench->files.gl_pathc, silent, typed);
    printf("%-34s %4s %7s %7s %7s\n", "milliseconds", "n", "median", "95 %", "mean");
    for (int part = 0; part < PARTS; part++) {
        double value[REPLIES];
        size_t n = 0;
        for (size_t i = 0; i < bench->n; i++)
            if (bench->reply[i].audible_at != 0 &&
                part_of(&bench->reply[i], (enum part)part, &value[n]))
                n++;
        print_row(names[part], value, n);
    }
}

static void ask_stock(struct bench *bench)
{
    struct stock *stock = stock_create(MIDTHROW_SOURCE_DIR "/grammars");
    for (size_t i = 0; i < bench->n; i++) {
        struct reply *reply = &bench->reply[i];
        reply->stock_ms = stock == NULL ? -1
                                        : stock_reply_ms(stock, reply->grammar, reply->pcm,
                                                         reply->frames, reply->end);
    }
    if (stock != NULL)
        stock_destroy(stock);
}

static long resident_kb(void)
{
    char line[128];
    long kb = 0;
    FILE *file = fopen("/proc/self/status", "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        if (sscanf(line, "VmHWM: %ld", &kb) == 1)
            break;
    if (file != NULL)
        fclose(file);
    return kb;
}

/* A shop's fan and nobody speaking. */
static void listen_for_two_minutes(void)
{
    static struct shop shop;
    shop_open(&shop, &(struct shop_setup){.mute = true, .noise_db = -50});
    shop.give_up_ms = 120 * 1000;
    double before = seconds(CLOCK_PROCESS_CPUTIME_ID);
    shop_run(&shop, false);
    double used = seconds(CLOCK_PROCESS_CPUTIME_ID) - before;
    printf("CPU while listening: %.2f %% of one core (the simulated room's own work included)\n",
           used / 120 * 100);
    shop_close(&shop);
}

static double first_word_s;

static void note_first_word(struct shop *shop, uint64_t at_frame, const int16_t *spoken,
                            const int16_t *heard, size_t frames)
{
    (void)shop;
    (void)at_frame;
    (void)heard;
    for (size_t i = 0; i < frames && first_word_s == 0; i++)
        if (abs(spoken[i]) > 30)
            first_word_s = seconds(CLOCK_MONOTONIC);
}

static void start_up(void)
{
    static struct shop shop;
    double before = seconds(CLOCK_MONOTONIC);
    shop_open(&shop, &(struct shop_setup){.counts_work = true});
    shop.witness = note_first_word;
    shop.give_up_ms = 3000;
    shop_run(&shop, false);
    printf("start-up to the first word: %.0f ms (all that a session opens but the sound card)\n",
           (first_word_s - before) * 1e3);
    shop_close(&shop);
}

int main(void)
{
    static struct shop shop;
    static struct bench bench;
    start_up();
    listen_for_two_minutes();
    assert_int_equal(glob(MIDTHROW_SOURCE_DIR "/audio_fixtures/demo/*.wav", 0, NULL, &bench.files),
                     0);
    shop_open(&shop, &(struct shop_setup){.echo_db = -30, .counts_work = true, .with_keys = true});
    shop.station.beeps = false; /* the spoken answer counts */
    shop.technician = speak_the_next;
    shop.witness = watch;
    shop.user = &bench;
    shop_run(&shop, false);
    if (getenv("SHOP_SHOW") != NULL) {
        rewind(shop.screen_file);
        for (int c; (c = fgetc(shop.screen_file)) != EOF;)
            putchar(c);
        printf("%s %lld\n", shop.fault.sentence, (long long)audio_room_now_ms(shop.room));
    }
    printf("resident memory at most: %.0f MB\n", (double)resident_kb() / 1024);
    ask_stock(&bench);
    print_all(&bench);
    shop_close(&shop);
    return 0;
}
