/*
 * The signs as the score weighs them, and their weights. Shared by verdict.c and the tool that fits
 * the weights (tests/speech/fit.c), so that the two cannot drift apart. Private to them.
 *
 * Two chances are multiplied: that the sound was a sentence of the grammar at all, and that, being
 * one, it is this one and not another of a different value.
 */
#ifndef MIDTHROW_SPEECH_VERDICT_TABLE_H
#define MIDTHROW_SPEECH_VERDICT_TABLE_H

#include <math.h>

#include "speech/verdict.h"

enum { SIGN_COUNT = 7 };
enum { VERDICT_MEANT, VERDICT_VALUE, VERDICT_CHANCES };

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
    sign[3] = verdict_clamp(s->margin, 0, 60) / 10;
    sign[4] = verdict_clamp(1 - s->covered, 0, 0.4) * 10;
    sign[5] = verdict_clamp(s->pace - 16, 0, 10) / 5;
    sign[6] = verdict_clamp(8 - (double)s->phones, 0, 8) / 4;
}

/* Fitted, tests/speech/fit.sh: voices kal16, awb (flite) and en-us (eSpeak NG), quiet and 20 dB,
 * and tests/speech/chatter.txt in the same voices. Zero: the sign has no say there. */
static const struct {
    const char *name;
    double weight[VERDICT_CHANCES];
} verdict_table[SIGN_COUNT] = {
    {"constant", {7.689, 0.409}},    {"ratio", {1.432, 0.191}},     {"worst ratio", {0.060, 0.000}}, {"margin", {0.000, 0.787}},
    {"unexplained", {-1.182, 0.000}}, {"drawn out", {-0.008, 0.000}}, {"short", {-0.919, -0.303}},
};

/* Which signs each chance is fitted on. */
static const bool verdict_uses[VERDICT_CHANCES][SIGN_COUNT] = {
    [VERDICT_MEANT] = {true, true, true, false, true, true, true},
    [VERDICT_VALUE] = {true, true, false, true, false, false, true},
};

static inline double verdict_chance(const double sign[SIGN_COUNT], int chance)
{
    double sum = 0;
    for (size_t i = 0; i < SIGN_COUNT; i++)
        sum += verdict_table[i].weight[chance] * sign[i];
    return 1 / (1 + exp(-sum));
}

#endif
