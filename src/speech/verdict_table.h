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

enum { SIGN_COUNT = 11 };
enum { VERDICT_MEANT, VERDICT_VALUE, VERDICT_CHANCES };

static inline double verdict_clamp(double value, double least, double most)
{
    return fmax(least, fmin(most, value));
}

/* Signs in the table's order. Clamped where more would mean nothing. Two longer words fit talk as
 * badly as one short one only when both are wrong: talk counts by how long the sentence is. */
static inline void verdict_shape(const struct speech_signs *s, double sign[SIGN_COUNT])
{
    double over_db = s->over_db == HUGE_VAL ? s->snr_db : s->over_db;
    double margin = s->margin == HUGE_VAL ? 0 : log1p(verdict_clamp(s->margin, 0, 300) / 5);
    double talk = verdict_clamp(s->talk, -8, 1);
    sign[0] = 1;
    sign[1] = talk * log1p((double)s->phones);
    sign[2] = log(2 + (double)s->phones);
    sign[3] = verdict_clamp(s->left_out, -10, 60) / 10;
    sign[4] = margin;
    sign[5] = s->margin == HUGE_VAL;
    sign[6] = 4 - verdict_clamp(over_db, 0, 40) / 10;
    sign[7] = verdict_clamp(s->worst, -8, 1) - talk;
    sign[8] = verdict_clamp(s->good, -5, 0);
    sign[9] = verdict_clamp(s->least_good, -5, 0);
    sign[10] = verdict_clamp(s->snr_db - over_db, 0, 40) / 10;
}

/* Which signs each chance is fitted on. Louder noise must never make anything more believed, so it
 * has no say in whether the words were meant. Noise is what is around the words, however it comes;
 * in bursts it is worse than steady noise of the same power. */
static const bool verdict_uses[VERDICT_CHANCES][SIGN_COUNT] = {
    [VERDICT_MEANT] = {[0] = true, [1] = true, [2] = true, [3] = true, [7] = true, [8] = true},
    [VERDICT_VALUE] =
        {[0] = true, [4] = true, [5] = true, [6] = true, [8] = true, [9] = true, [10] = true},
};

/* Printed by
 *     fit.sh BUILD WORK BUILD_1 BUILD_2 2
 * from flite kal16 and awb, festival's ked, RHVoice's bdl and clb and Pico's two voices, each as a
 * network hears it that was taught without it, and eSpeak NG's en-us, in the noises to tune in and
 * in quiet, from every other sentence of a person that answers nothing, and from those noises with
 * nobody speaking. Zero: the sign has no say there. */
static const struct {
    const char *name;
    double weight[VERDICT_CHANCES];
} verdict_table[SIGN_COUNT] = {
    {"constant", {-2.494, 2.117}}, {"talk by length", {0.823, 0.000}},
    {"length", {3.730, 0.000}},    {"left out", {-0.054, 0.000}},
    {"margin", {0.000, 1.891}},    {"no rival", {0.000, 6.287}},
    {"noise", {0.000, -0.330}},    {"worst over talk", {0.269, 0.000}},
    {"goodness", {0.682, 0.602}},  {"least goodness", {0.000, 0.637}},
    {"bursts", {0.000, -0.588}},
};

/* Longer than anybody says it, in frames. A machine that starts is one sound that lasts, and "stop"
 * is drawn out over all of it until it counts as the shop's noise. Of 995 right readings of the
 * tuning voices, slow manners included, none is so long; of 364 readings of noise that were
 * believed without this all but 2 are. Nothing so long is fitted on. */
static inline bool verdict_is_drawn_out(const struct speech_signs *s)
{
    return s->frames > 20 + 22 * s->phones;
}

static inline double verdict_chance(const double sign[SIGN_COUNT], int chance)
{
    double sum = 0;
    for (size_t i = 0; i < SIGN_COUNT; i++)
        sum += verdict_table[i].weight[chance] * sign[i];
    return 1 / (1 + exp(-sum));
}

#endif
