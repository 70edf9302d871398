/*
 * How well the ear hears, measured: a list of recordings with what was said, at a chosen noise,
 * through midthrow and, if asked for, through stock PocketSphinx. bench GRAMMAR_DIR [snr=DB]
 * [pad=MS] [signs] [stock] < LIST LIST has a line a recording: path, grammar, words ("-": nothing
 * of this grammar), tab-separated. A reading is right when it means the same. With `signs`,
 * standard output gets a line a recording for tests/speech/fit.c: right, words, the signs; the
 * summary goes to standard error.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "language/language.h"
#include "recording.h"
#include "speech/recogniser.h"
#include "speech/verdict.h"
#include "stock.h"

struct tally {
    int said, right, wrong, asked_right, asked_wrong, lost; /* sentences of the grammar */
    int chatter, chatter_accepted, chatter_asked;           /* what is none */
    int stock_right, stock_wrong, stock_chatter;
    double cpu_s, audio_s;
};

static void count(struct tally *tally, const struct speech_heard *heard, bool chatter, bool right)
{
    if (chatter) {
        tally->chatter++;
        tally->chatter_accepted += heard->verdict == SPEECH_ACCEPTED;
        tally->chatter_asked += heard->verdict == SPEECH_UNSURE;
        return;
    }
    tally->said++;
    if (heard->verdict == SPEECH_ACCEPTED)
        *(right ? &tally->right : &tally->wrong) += 1;
    else if (heard->verdict == SPEECH_UNSURE)
        *(right ? &tally->asked_right : &tally->asked_wrong) += 1;
    else
        tally->lost++;
}

static void count_stock(struct tally *tally, struct stock *stock, const char *grammar,
                        const char *words, bool chatter, const struct recording *recording)
{
    char heard[SPEECH_WORDS];
    if (stock == NULL ||
        !stock_hear(stock, grammar, recording->pcm, recording->frames, heard, sizeof heard))
        return;
    bool right = heard[0] != '\0' && language_same_meaning(grammar, words, heard);
    tally->stock_chatter += chatter && heard[0] != '\0';
    tally->stock_right += !chatter && right;
    tally->stock_wrong += !chatter && !right && heard[0] != '\0';
}

static void print_signs(const struct speech_signs *s, bool right, const struct speech_heard *heard,
                        const char *grammar, const char *words)
{
    printf("%d\t%zu\t%zu\t%.4f\t%.4f\t%.3f\t%d\t%.3f\t%.3f\t%.2f\t%.1f\t%.3f\t%s\t%s\t%s\t%s\t%s\n",
           right, s->words, s->phones, s->ratio, s->worst_ratio, s->margin, s->twin, s->pace,
           s->covered, s->speech_s, s->snr_db, heard->score, speech_verdict_name(heard->verdict),
           grammar, words, heard->words, heard->other);
}

static double share(int part, int whole)
{
    return whole == 0 ? 0 : 100.0 * part / whole;
}

static void print_tally(const struct tally *t, bool stock)
{
    fprintf(stderr,
            "said %d: accepted right %.1f %%, asked right %.1f %%, asked wrong %.1f %%, not heard "
            "%.1f %%, ACCEPTED WRONG %.1f %%\n",
            t->said, share(t->right, t->said), share(t->asked_right, t->said),
            share(t->asked_wrong, t->said), share(t->lost, t->said), share(t->wrong, t->said));
    fprintf(stderr, "chatter %d: accepted %.1f %%, asked %.1f %%; %.3f s of processor a second\n",
            t->chatter, share(t->chatter_accepted, t->chatter), share(t->chatter_asked, t->chatter),
            t->audio_s > 0 ? t->cpu_s / t->audio_s : 0);
    if (stock)
        fprintf(stderr, "stock: right %.1f %%, wrong %.1f %%, chatter believed %.1f %%\n",
                share(t->stock_right, t->said), share(t->stock_wrong, t->said),
                share(t->stock_chatter, t->chatter));
}

int main(int argc, char **argv)
{
    double snr_db = HUGE_VAL;
    int pad_ms = 0;
    bool signs_wanted = false, stock_wanted = false;
    for (int i = 2; i < argc; i++) {
        if (strncmp(argv[i], "snr=", 4) == 0)
            snr_db = strtod(argv[i] + 4, NULL);
        if (strncmp(argv[i], "pad=", 4) == 0)
            pad_ms = (int)strtol(argv[i] + 4, NULL, 10);
        signs_wanted = signs_wanted || strcmp(argv[i], "signs") == 0;
        stock_wanted = stock_wanted || strcmp(argv[i], "stock") == 0;
    }
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = argc > 1 ? argv[1] : "grammars",
                                   .same_meaning = language_same_meaning};
    struct speech_recogniser *ear = speech_recogniser_create(&config, &fault);
    struct stock *stock = stock_wanted ? stock_create(config.grammar_dir) : NULL;
    if (ear == NULL) {
        fprintf(stderr, "%s\n", fault.sentence);
        return 1;
    }
    struct tally tally = {0};
    char line[2048];
    for (uint32_t seed = 1; fgets(line, sizeof line, stdin) != NULL; seed++) {
        char *rest = line;
        line[strcspn(line, "\n")] = '\0';
        const char *path = strtok_r(rest, "\t", &rest);
        const char *grammar = strtok_r(rest, "\t", &rest);
        const char *words = strtok_r(rest, "\t", &rest);
        struct recording recording;
        if (path == NULL || grammar == NULL || words == NULL || !recording_read(path, &recording))
            continue;
        if (pad_ms > 0)
            recording_pad(&recording, pad_ms);
        if (isfinite(snr_db))
            recording_noise(&recording, snr_db, seed);
        struct speech_heard heard;
        struct speech_signs signs;
        clock_t start = clock();
        if (!speech_measure(ear, grammar, recording.pcm, recording.frames, &heard, &signs, &fault))
            fprintf(stderr, "%s\n", fault.sentence);
        tally.cpu_s += (double)(clock() - start) / CLOCKS_PER_SEC;
        tally.audio_s += heard.audio_ms / 1000;
        bool chatter = strcmp(words, "-") == 0;
        bool right = !chatter && heard.words[0] != '\0' &&
                     language_same_meaning(grammar, words, heard.words);
        count(&tally, &heard, chatter, right);
        count_stock(&tally, stock, grammar, words, chatter, &recording);
        if (signs_wanted)
            print_signs(&signs, right, &heard, grammar, words);
        recording_free(&recording);
    }
    print_tally(&tally, stock != NULL);
    stock_destroy(stock);
    speech_recogniser_destroy(ear);
    return 0;
}
