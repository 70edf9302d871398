/*
 * Fits the table in src/speech/verdict_table.h: logistic regression of "the reading is right" on
 * the signs. fit-verdict < SIGNS SIGNS is what `bench ... signs` prints. Newton's method with a
 * small ridge (Hosmer, Lemeshow and Sturdivant 2013, Applied Logistic Regression, 2.2); each
 * recording counts so that right and wrong readings weigh the same in sum. The signs are shaped
 * exactly as speech_score shapes them.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "speech/verdict_table.h"

enum { ROWS = 20000 };

static double sign[ROWS][SIGN_COUNT];
static bool right[ROWS], meant[ROWS];
static size_t rows;

/* The 16th field of a line: the words that were said, "-" for chatter. */
static bool was_meant(const char *line)
{
    for (int field = 1; field < 16 && line != NULL; field++)
        line = strchr(line, '\t') == NULL ? NULL : strchr(line, '\t') + 1;
    return line != NULL && strncmp(line, "-\t", 2) != 0;
}

static void read_rows(void)
{
    char line[4096];
    while (rows < ROWS && fgets(line, sizeof line, stdin) != NULL) {
        int is_right = 0, twin = 0;
        struct speech_signs s = {0};
        if (sscanf(line, "%d\t%zu\t%zu\t%lf\t%lf\t%lf\t%d\t%lf\t%lf\t%lf\t%lf", &is_right, &s.words,
                   &s.phones, &s.ratio, &s.worst_ratio, &s.margin, &twin, &s.pace, &s.covered,
                   &s.speech_s, &s.snr_db) != 11 ||
            s.words == 0)
            continue;
        s.twin = twin != 0;
        verdict_shape(&s, sign[rows]);
        right[rows] = is_right;
        meant[rows++] = was_meant(line);
    }
}

static double chance(const double *x, const double *weight)
{
    double sum = 0;
    for (size_t i = 0; i < SIGN_COUNT; i++)
        sum += weight[i] * x[i];
    return 1 / (1 + exp(-sum));
}

/* One Newton step of one chance; returns how far the weights moved. Signs it does not use stay 0.
 */
static double step(double *weight, int which)
{
    static const double RIDGE = 0.5;
    gsl_matrix *hessian = gsl_matrix_calloc(SIGN_COUNT, SIGN_COUNT);
    gsl_vector *slope = gsl_vector_calloc(SIGN_COUNT);
    gsl_vector *move = gsl_vector_calloc(SIGN_COUNT);
    for (size_t i = 0; i < SIGN_COUNT; i++) {
        gsl_matrix_set(hessian, i, i, RIDGE);
        gsl_vector_set(slope, i, -RIDGE * weight[i]);
    }
    for (size_t r = 0; r < rows; r++) {
        if (which == VERDICT_VALUE && !meant[r])
            continue;
        double p = chance(sign[r], weight);
        double truth = which == VERDICT_VALUE ? right[r] : meant[r];
        for (size_t i = 0; i < SIGN_COUNT; i++) {
            double x = verdict_uses[which][i] ? sign[r][i] : 0;
            *gsl_vector_ptr(slope, i) += (truth - p) * x;
            for (size_t j = 0; j < SIGN_COUNT; j++)
                *gsl_matrix_ptr(hessian, i, j) +=
                    p * (1 - p) * x * (verdict_uses[which][j] ? sign[r][j] : 0);
        }
    }
    gsl_linalg_cholesky_decomp1(hessian);
    gsl_linalg_cholesky_solve(hessian, slope, move);
    double moved = 0;
    for (size_t i = 0; i < SIGN_COUNT; i++) {
        weight[i] += gsl_vector_get(move, i);
        moved += fabs(gsl_vector_get(move, i));
    }
    gsl_matrix_free(hessian);
    gsl_vector_free(slope);
    gsl_vector_free(move);
    return moved;
}

int main(void)
{
    read_rows();
    double count[3] = {0, 0, 0}, weight[VERDICT_CHANCES][SIGN_COUNT] = {{0}};
    for (size_t r = 0; r < rows; r++)
        count[right[r] ? 2 : meant[r]]++;
    if (count[0] == 0 || count[1] == 0 || count[2] == 0) {
        fputs("fit-verdict: needs readings right, misheard, and of chatter.\n", stderr);
        return 1;
    }
    for (int which = 0; which < VERDICT_CHANCES; which++)
        for (int i = 0; i < 100 && step(weight[which], which) > 1e-9; i++)
            continue;
    printf("%zu readings: %.0f right, %.0f misheard, %.0f of chatter\n", rows, count[2], count[1],
           count[0]);
    for (size_t i = 0; i < SIGN_COUNT; i++)
        printf("    {\"%s\", {%.3f, %.3f}},\n", verdict_table[i].name, weight[VERDICT_MEANT][i],
               weight[VERDICT_VALUE][i]);
    static const double limits[] = {0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95};
    for (size_t l = 0; l < sizeof limits / sizeof limits[0]; l++) {
        double passed[3] = {0, 0, 0};
        for (size_t r = 0; r < rows; r++)
            passed[right[r] ? 2 : meant[r]] +=
                chance(sign[r], weight[VERDICT_MEANT]) * chance(sign[r], weight[VERDICT_VALUE]) >=
                limits[l];
        printf("score >= %.2f: %.1f %% of the right, %.1f %% of the misheard, %.1f %% of chatter\n",
               limits[l], 100 * passed[2] / count[2], 100 * passed[1] / count[1],
               100 * passed[0] / count[0]);
    }
    return 0;
}
