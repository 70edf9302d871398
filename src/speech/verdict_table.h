/*
 * The signs as the score weighs them, and their weights. Shared by verdict.c and the tool that fits
 * the weights (tests/speech/fit.c), so that the two cannot drift apart. Private to them.
 */
#ifndef MIDTHROW_SPEECH_VERDICT_TABLE_H
#define MIDTHROW_SPEECH_VERDICT_TABLE_H

#include <math.h>

#include "speech/verdict.h"

enum { SIGN_COUNT = 8 };

static inline double verdict_clamp(double value, double least, double most)
{
    return fmax(least, fmin(most, value));
}

/* Signs in the table's order. Clamped where more would mean nothing. */
static inline void verdict_shape(const struct speech_signs *s, double sign[SIGN_COUNT])
{
    sign[0] = 1;
    sign[1] = verdict_clamp(s->ratio, -12, 0);
    sign[2] = verdict_clamp(s->worst_ratio, -15, 0);
    sign[3] = verdict_clamp(s->margin, -10, 60) / 10;
    sign[4] = verdict_clamp(1 - s->covered, 0, 0.3) * 10;
    sign[5] = verdict_clamp(6.5 - s->pace, 0, 3);
    sign[6] = verdict_clamp(s->pace - 16, 0, 10) / 5;
    sign[7] = verdict_clamp(8 - (double)s->phones, 0, 8) / 4;
}

static const struct {
    const char *name;
    double weight;
} verdict_table[SIGN_COUNT] = {
    {"constant", 0},    {"ratio", 0},   {"worst ratio", 0}, {"margin", 0},
    {"unexplained", 0}, {"hurried", 0}, {"drawn out", 0},   {"short", 0},
};

#endif
