/*
 * Fits the table in src/speech/verdict.c: logistic regression of "the reading is right" on the
 * signs. fit-verdict < SIGNS SIGNS is what `bench ... signs` prints. Newton's method with a small
 * ridge (Hosmer, Lemeshow and Sturdivant 2013, Applied Logistic Regression, 2.2); each recording
 * counts so that right and wrong readings weigh the same in sum. The signs are shaped exactly as
 * speech_score shapes them.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "speech/verdict_table.h"

enum { ROWS = 20000 };

static double sign[ROWS][SIGN_COUNT];
static double right[ROWS];
static size_t rows;

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
        right[rows++] = is_right;
    }
}

static double chance(const double *x, const double *weight)
{
    double sum = 0;
    for (size_t i = 0; i < SIGN_COUNT; i++)
        sum += weight[i] * x[i];
    return 1 / (1 + exp(-sum));
}

/* One Newton step; returns how far the weights moved. */
static double step(double *weight, const double balance[2])
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
        double p = chance(sign[r], weight), w = balance[right[r] > 0];
        for (size_t i = 0; i < SIGN_COUNT; i++) {
            *gsl_vector_ptr(slope, i) += w * (right[r] - p) * sign[r][i];
            for (size_t j = 0; j < SIGN_COUNT; j++)
                *gsl_matrix_ptr(hessian, i, j) += w * p * (1 - p) * sign[r][i] * sign[r][j];
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
    double count[2] = {0, 0}, weight[SIGN_COUNT] = {0};
    for (size_t r = 0; r < rows; r++)
        count[right[r] > 0]++;
    if (count[0] == 0 || count[1] == 0) {
        fputs("fit-verdict: needs readings both right and wrong.\n", stderr);
        return 1;
    }
    const double balance[2] = {(double)rows / 2 / count[0], (double)rows / 2 / count[1]};
    for (int i = 0; i < 100 && step(weight, balance) > 1e-9; i++)
        continue;
    printf("%zu readings, %.0f right\n", rows, count[1]);
    for (size_t i = 0; i < SIGN_COUNT; i++)
        printf("    {\"%s\", %.3f},\n", verdict_table[i].name, weight[i]);
    for (double limit = 0.1; limit < 0.995; limit += limit < 0.85 ? 0.1 : 0.03) {
        double kept = 0, let_in = 0;
        for (size_t r = 0; r < rows; r++)
            *(right[r] > 0 ? &kept : &let_in) += chance(sign[r], weight) >= limit;
        printf("score >= %.2f: %.1f %% of the right, %.1f %% of the wrong\n", limit,
               100 * kept / count[1], 100 * let_in / count[0]);
    }
    return 0;
}
