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

enum { SIGN_COUNT = 4 };
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
    sign[2] = verdict_clamp(s->margin, 0, 60) / 10;
    sign[3] = verdict_clamp(1 - s->covered, 0, 0.4) * 10;
}

/* Fitted by tests/speech/fit.sh with its own voices (flite kal16 and awb, eSpeak NG en-us), a third
 * of the sentences a second time in pink noise at 20 dB, against tests/speech/chatter.txt; an
 * earlier state of the grammars and the recogniser, and whether the noisy third was in that run is
 * not recorded. Noise is the rules' business
 * (verdict.c): the score does not know it. Zero: the sign has no say there. Tried and left out
 * because their weights came out at nothing or upside down: the ratio of the worst word, the pace,
 * how few phones there are. */
static const struct {
    const char *name;
    double weight[VERDICT_CHANCES];
} verdict_table[SIGN_COUNT] = {
    {"constant", {5.169, 2.493}},
    {"ratio", {1.609, 1.685}},
    {"margin", {0.000, 1.076}},
    {"unexplained", {-1.562, 0.000}},
};

/* Which signs each chance is fitted on. */
static const bool verdict_uses[VERDICT_CHANCES][SIGN_COUNT] = {
    [VERDICT_MEANT] = {true, true, false, true},
    [VERDICT_VALUE] = {true, true, true, false},
};

static inline double verdict_chance(const double sign[SIGN_COUNT], int chance)
{
    double sum = 0;
    for (size_t i = 0; i < SIGN_COUNT; i++)
        sum += verdict_table[i].weight[chance] * sign[i];
    return 1 / (1 + exp(-sum));
}

#endif
