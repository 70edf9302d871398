/*
 * Fits the table in src/speech/verdict_table.h: logistic regression of "the reading is right" on
 * the signs.
 *   fit-verdict [from=DB] [to=DB] ROWS.tsv...
 * The rows are bench-ear's and bench-person's, of what may be tuned on; fit.sh has the whole
 * command. Only levels from `from` to `to` dB of noise under the speech are taken (0 to 40, quiet,
 * unless told). Newton's method with a small ridge (Hosmer, Lemeshow and Sturdivant 2013, Applied
 * Logistic Regression, 2.2). The signs are shaped exactly as speech_score shapes them.
 *
 * The same rows give the same digits, however many processes wrote them: rows are put in order
 * first, sums are taken in that order, and the number of steps is fixed.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "rows.h"
#include "speech/verdict_table.h"

enum {
    STEPS = 30
}; /* of Newton's method: it doubles the digits each time, so far more than enough */

/* fit.sh hears a noise with four grammars, which all find the same command in it, and one engine's
 * start is like another. */
static const double NOBODY_COUNTS = 0.04;

/* What a reading turned out to be. */
enum truth { OF_CHATTER, MISHEARD, RIGHT, TRUTHS };

struct reading {
    int utterance, snr_db;
    char voice[32], noise[32], grammar[32];
    enum truth truth;
    double counts; /* as so many readings */
    struct speech_signs signs;
    double sign[SIGN_COUNT];
};

struct readings {
    struct reading *reading;
    size_t count, room;
    int from_db, to_db;
    bool out_of_memory;
};

static void keep(void *context, const struct row *row)
{
    struct readings *all = context;
    if (row->signs.words == 0 || verdict_is_drawn_out(&row->signs) || row->snr_db < all->from_db ||
        row->snr_db > all->to_db)
        return;
    if (all->count == all->room) {
        size_t room = all->room == 0 ? 4096 : 2 * all->room;
        struct reading *grown = realloc(all->reading, room * sizeof *grown);
        if (grown == NULL) {
            all->out_of_memory = true;
            return;
        }
        all->reading = grown;
        all->room = room;
    }
    struct reading *reading = &all->reading[all->count++];
    *reading = (struct reading){
        .utterance = row->utterance,
        .snr_db = row->snr_db,
        .truth = strcmp(row->class, "chatter") == 0 ? OF_CHATTER
                 : row->right                       ? RIGHT
                                                    : MISHEARD,
        .counts = strcmp(row->voice, "nobody") == 0 ? NOBODY_COUNTS : 1,
        .signs = row->signs,
    };
    memcpy(reading->voice, row->voice, sizeof reading->voice);
    memcpy(reading->noise, row->noise, sizeof reading->noise);
    memcpy(reading->grammar, row->grammar, sizeof reading->grammar);
    verdict_shape(&reading->signs, reading->sign);
}

static int in_order(const void *a, const void *b)
{
    const struct reading *x = a, *y = b;
    if (x->utterance != y->utterance)
        return x->utterance < y->utterance ? -1 : 1;
    if (x->snr_db != y->snr_db)
        return x->snr_db < y->snr_db ? -1 : 1;
    int voice = strcmp(x->voice, y->voice), noise = strcmp(x->noise, y->noise);
    return voice != 0 ? voice : noise != 0 ? noise : strcmp(x->grammar, y->grammar);
}

static double chance(const double *sign, const double *weight)
{
    double sum = 0;
    for (size_t i = 0; i < SIGN_COUNT; i++)
        sum += weight[i] * sign[i];
    return 1 / (1 + exp(-sum));
}

/* One Newton step of one chance. Signs it does not use stay 0. "Meant" is fitted on all readings,
 * "this value and no other" on those that were meant. */
static void step(const struct readings *all, double *weight, int which)
{
    static const double RIDGE = 0.5;
    gsl_matrix *hessian = gsl_matrix_calloc(SIGN_COUNT, SIGN_COUNT);
    gsl_vector *slope = gsl_vector_calloc(SIGN_COUNT);
    gsl_vector *move = gsl_vector_calloc(SIGN_COUNT);
    for (size_t i = 0; i < SIGN_COUNT; i++) {
        gsl_matrix_set(hessian, i, i, RIDGE);
        gsl_vector_set(slope, i, -RIDGE * weight[i]);
    }
    for (size_t r = 0; r < all->count; r++) {
        const struct reading *reading = &all->reading[r];
        if (which == VERDICT_VALUE && reading->truth == OF_CHATTER)
            continue;
        double p = chance(reading->sign, weight);
        double truth =
            which == VERDICT_VALUE ? reading->truth == RIGHT : reading->truth != OF_CHATTER;
        for (size_t i = 0; i < SIGN_COUNT; i++) {
            double x = verdict_uses[which][i] ? reading->sign[i] : 0;
            *gsl_vector_ptr(slope, i) += reading->counts * (truth - p) * x;
            for (size_t j = 0; j < SIGN_COUNT; j++)
                *gsl_matrix_ptr(hessian, i, j) += reading->counts * p * (1 - p) * x *
                                                  (verdict_uses[which][j] ? reading->sign[j] : 0);
        }
    }
    gsl_linalg_cholesky_decomp1(hessian);
    gsl_linalg_cholesky_solve(hessian, slope, move);
    for (size_t i = 0; i < SIGN_COUNT; i++)
        weight[i] += gsl_vector_get(move, i);
    gsl_matrix_free(hessian);
    gsl_vector_free(slope);
    gsl_vector_free(move);
}

static void print_limits(const struct readings *all, double weight[VERDICT_CHANCES][SIGN_COUNT],
                         const double count[TRUTHS])
{
    static const double limits[] = {0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 0.99};
    for (size_t l = 0; l < sizeof limits / sizeof limits[0]; l++) {
        double passed[TRUTHS] = {0};
        for (size_t r = 0; r < all->count; r++) {
            const double *sign = all->reading[r].sign;
            passed[all->reading[r].truth] +=
                chance(sign, weight[VERDICT_MEANT]) * chance(sign, weight[VERDICT_VALUE]) >=
                limits[l];
        }
        printf("score >= %.2f: %.1f %% of the right, %.1f %% of the misheard, %.1f %% of chatter\n",
               limits[l], 100 * passed[RIGHT] / count[RIGHT],
               100 * passed[MISHEARD] / count[MISHEARD],
               100 * passed[OF_CHATTER] / count[OF_CHATTER]);
    }
}

static int fit(const struct readings *all)
{
    double count[TRUTHS] = {0}, weight[VERDICT_CHANCES][SIGN_COUNT] = {{0}};
    for (size_t r = 0; r < all->count; r++)
        count[all->reading[r].truth]++;
    if (count[RIGHT] < 1 || count[MISHEARD] < 1 || count[OF_CHATTER] < 1) {
        fputs("fit-verdict: needs readings right, misheard, and of chatter.\n", stderr);
        return 1;
    }
    for (int which = 0; which < VERDICT_CHANCES; which++)
        for (int i = 0; i < STEPS; i++)
            step(all, weight[which], which);
    printf("%zu readings: %.0f right, %.0f misheard, %.0f of chatter\n", all->count, count[RIGHT],
           count[MISHEARD], count[OF_CHATTER]);
    for (size_t i = 0; i < SIGN_COUNT; i++)
        printf("    {\"%s\", {%.3f, %.3f}},\n", verdict_table[i].name, weight[VERDICT_MEANT][i],
               weight[VERDICT_VALUE][i]);
    print_limits(all, weight, count);
    return 0;
}

static bool read_file(struct readings *all, const char *path)
{
    bool read = rows_read_file(path, keep, all) && !all->out_of_memory;
    if (!read)
        fprintf(stderr, "'%s' holds no rows of this bench: run fit.sh again.\n", path);
    return read;
}

int main(int argc, char **argv)
{
    struct readings all = {.from_db = 0, .to_db = ROWS_QUIET_DB};
    int failed = argc < 2 ? 2 : 0;
    for (int a = 1; !failed && a < argc; a++) {
        if (strncmp(argv[a], "from=", 5) == 0)
            all.from_db = (int)strtol(argv[a] + 5, NULL, 10);
        else if (strncmp(argv[a], "to=", 3) == 0)
            all.to_db = (int)strtol(argv[a] + 3, NULL, 10);
        else
            failed = !read_file(&all, argv[a]);
    }
    if (failed == 2)
        fputs("usage: fit-verdict [from=DB] [to=DB] ROWS.tsv...\n", stderr);
    if (!failed) {
        qsort(all.reading, all.count, sizeof *all.reading, in_order);
        failed = fit(&all);
    }
    free(all.reading);
    return failed;
}
