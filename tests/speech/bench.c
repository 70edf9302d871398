/*
 * How well the ear hears, measured: a list of recordings with what was said, at chosen noises,
 * through midthrow and, if asked for, through stock PocketSphinx.
 *   bench GRAMMAR_DIR [snr=clean,20,12] [noise=pink|hum|babble] [pad=MS] [signs] [stock] < LIST
 * LIST has a line a recording: path, grammar, words ("-": nothing of this grammar), and if wanted a
 * group (the voice), tab-separated. A reading is right when it means the same. Every line is heard
 * once at every level, with a noise of its own seed. Standard output gets a table, group by level;
 * or with `signs` a line a hearing for tests/speech/fit.c: right, words, the signs, and the table
 * goes to standard error.
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

enum { GROUPS = 16, LEVELS = 8, RECORDINGS = 2000, MISHEARD = 200 };

struct tally {
    int said, right, wrong, asked_right, asked_wrong, lost; /* sentences of the grammar */
    int chatter, chatter_accepted, chatter_asked;           /* what is none */
    int stock_right, stock_wrong, stock_chatter;
    double cpu_s, audio_s;
};

struct line {
    char path[512], grammar[64], words[SPEECH_WORDS];
    size_t group;
};

struct bench {
    struct speech_recogniser *ear;
    struct stock *stock;
    double level[LEVELS]; /* dB; HUGE_VAL: as recorded */
    size_t levels;
    char noise; /* 'p'ink, 'h'um, 'b'abble */
    int pad_ms;
    bool signs;
    char group[GROUPS][64];
    size_t groups;
    struct tally tally[GROUPS][LEVELS];
    struct line line[RECORDINGS];
    struct recording recording[RECORDINGS];
    size_t lines;
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
    printf("%d\t%zu\t%zu\t%.4f\t%.3f\t%d\t%.3f\t%.2f\t%.1f\t%.3f\t%s\t%s\t%s\t%s\t%s\n", right,
           s->words, s->phones, s->talk, s->margin, s->tens, s->left_out, s->speech_s, s->snr_db,
           heard->score, speech_verdict_name(heard->verdict), grammar, words, heard->words,
           heard->other);
}

static double share(int part, int whole)
{
    return whole == 0 ? 0 : 100.0 * part / whole;
}

static void level_name(double level, char name[32])
{
    if (isfinite(level))
        snprintf(name, 32, "%g dB", level);
    else
        snprintf(name, 32, "as recorded");
}

/* Accepted right, asked (of which neither reading first in line was right), rejected, accepted
 * wrong; then what is said of sentences that are no answer. */
static void print_tally(FILE *to, const char *group, double level, const struct tally *t,
                        bool stock)
{
    char name[32];
    level_name(level, name);
    fprintf(to, "%-10s %-11s %5d  %4d %5.1f %%  %4d (%3d) %5.1f %%  %4d %5.1f %%  %4d %5.2f %%",
            group, name, t->said, t->right, share(t->right, t->said),
            t->asked_right + t->asked_wrong, t->asked_wrong,
            share(t->asked_right + t->asked_wrong, t->said), t->lost, share(t->lost, t->said),
            t->wrong, share(t->wrong, t->said));
    if (t->chatter > 0)
        fprintf(to, "  chatter %d: accepted %d, asked %d", t->chatter, t->chatter_accepted,
                t->chatter_asked);
    if (stock)
        fprintf(to, "  stock: right %.1f %%, wrong %.1f %%, chatter believed %.1f %%",
                share(t->stock_right, t->said), share(t->stock_wrong, t->said),
                share(t->stock_chatter, t->chatter));
    fputc('\n', to);
}

static void print_table(const struct bench *bench)
{
    FILE *to = bench->signs ? stderr : stdout;
    double cpu_s = 0, audio_s = 0;
    fprintf(to, "%-10s %-11s %5s  %-12s  %-18s  %-12s  %s\n", "voice", "noise under", "said",
            "right", "asked (1st wrong)", "rejected", "ACCEPTED WRONG");
    for (size_t g = 0; g < bench->groups; g++)
        for (size_t l = 0; l < bench->levels; l++) {
            const struct tally *tally = &bench->tally[g][l];
            print_tally(to, bench->group[g], bench->level[l], tally, bench->stock != NULL);
            cpu_s += tally->cpu_s;
            audio_s += tally->audio_s;
        }
    fprintf(to, "%.3f s of processor a second of sound\n", audio_s > 0 ? cpu_s / audio_s : 0);
}

/* The recording as this level has it: padded, noise added. */
static bool make_sound(const struct bench *bench, size_t l, size_t level, struct recording *sound)
{
    const struct recording *as_is = &bench->recording[l];
    double snr_db = bench->level[level];
    uint32_t seed = (uint32_t)(l * LEVELS + level + 1);
    *sound = (struct recording){malloc(as_is->frames * sizeof *as_is->pcm), as_is->frames};
    if (sound->pcm == NULL)
        return false;
    memcpy(sound->pcm, as_is->pcm, as_is->frames * sizeof *as_is->pcm);
    if (bench->pad_ms > 0 && !recording_pad(sound, bench->pad_ms))
        return false;
    if (!isfinite(snr_db))
        return true;
    if (bench->noise == 'h')
        return recording_hum(sound, snr_db, seed);
    if (bench->noise == 'b')
        return recording_babble(sound, bench->recording, bench->lines, snr_db, seed);
    return recording_noise(sound, snr_db, seed);
}

static void hear(struct bench *bench, size_t l, size_t level)
{
    const struct line *line = &bench->line[l];
    struct tally *tally = &bench->tally[line->group][level];
    struct recording sound;
    struct speech_heard heard;
    struct speech_signs signs;
    struct fault fault = {0};
    if (make_sound(bench, l, level, &sound)) {
        clock_t start = clock();
        if (!speech_measure(bench->ear, line->grammar, sound.pcm, sound.frames, &heard, &signs,
                            &fault))
            fprintf(stderr, "%s\n", fault.sentence);
        tally->cpu_s += (double)(clock() - start) / CLOCKS_PER_SEC;
        tally->audio_s += heard.audio_ms / 1000;
        bool chatter = strcmp(line->words, "-") == 0;
        bool right = !chatter && heard.words[0] != '\0' &&
                     language_same_meaning(line->grammar, line->words, heard.words);
        count(tally, &heard, chatter, right);
        count_stock(tally, bench->stock, line->grammar, line->words, chatter, &sound);
        if (bench->signs)
            print_signs(&signs, right, &heard, line->grammar, line->words);
    }
    recording_free(&sound);
}

static size_t group_named(struct bench *bench, const char *name)
{
    for (size_t g = 0; g < bench->groups; g++)
        if (strcmp(bench->group[g], name) == 0)
            return g;
    if (bench->groups == GROUPS)
        return GROUPS - 1;
    snprintf(bench->group[bench->groups], sizeof bench->group[0], "%s", name);
    return bench->groups++;
}

static void read_list(struct bench *bench)
{
    char text[2048];
    while (bench->lines < RECORDINGS && fgets(text, sizeof text, stdin) != NULL) {
        struct line *line = &bench->line[bench->lines];
        char *rest = text;
        text[strcspn(text, "\n")] = '\0';
        const char *path = strtok_r(rest, "\t", &rest);
        const char *grammar = strtok_r(rest, "\t", &rest);
        const char *words = strtok_r(rest, "\t", &rest);
        const char *group = strtok_r(rest, "\t", &rest);
        if (path == NULL || grammar == NULL || words == NULL ||
            !recording_read(path, &bench->recording[bench->lines]))
            continue;
        snprintf(line->path, sizeof line->path, "%s", path);
        snprintf(line->grammar, sizeof line->grammar, "%s", grammar);
        snprintf(line->words, sizeof line->words, "%s", words);
        line->group = group_named(bench, group == NULL ? "all" : group);
        bench->lines++;
    }
}

static void read_levels(struct bench *bench, char *list)
{
    bench->levels = 0;
    for (char *rest = list, *name; (name = strtok_r(rest, ",", &rest)) != NULL;)
        if (bench->levels < LEVELS)
            bench->level[bench->levels++] =
                strcmp(name, "clean") == 0 ? HUGE_VAL : strtod(name, NULL);
}

static void read_options(struct bench *bench, int argc, char **argv, bool *stock)
{
    bench->level[0] = HUGE_VAL;
    bench->levels = 1;
    bench->noise = 'p';
    for (int i = 2; i < argc; i++) {
        if (strncmp(argv[i], "snr=", 4) == 0)
            read_levels(bench, argv[i] + 4);
        if (strncmp(argv[i], "pad=", 4) == 0)
            bench->pad_ms = (int)strtol(argv[i] + 4, NULL, 10);
        if (strncmp(argv[i], "noise=", 6) == 0)
            bench->noise = argv[i][6];
        bench->signs = bench->signs || strcmp(argv[i], "signs") == 0;
        *stock = *stock || strcmp(argv[i], "stock") == 0;
    }
}

int main(int argc, char **argv)
{
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = argc > 1 ? argv[1] : "grammars",
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command};
    struct bench *bench = calloc(1, sizeof *bench);
    bool stock = false;
    if (bench == NULL)
        return 1;
    read_options(bench, argc, argv, &stock);
    bench->ear = speech_recogniser_create(&config, &fault);
    if (bench->ear == NULL) {
        fprintf(stderr, "%s\n", fault.sentence);
        free(bench);
        return 1;
    }
    bench->stock = stock ? stock_create(config.grammar_dir) : NULL;
    read_list(bench);
    for (size_t l = 0; l < bench->lines; l++)
        for (size_t level = 0; level < bench->levels; level++)
            hear(bench, l, level);
    print_table(bench);
    for (size_t l = 0; l < bench->lines; l++)
        recording_free(&bench->recording[l]);
    stock_destroy(bench->stock);
    speech_recogniser_destroy(bench->ear);
    free(bench);
    return 0;
}
