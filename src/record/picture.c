/* Where everything in the pictures goes: see picture.h. The drawing is in picture_draw.c. */
#include "record/picture.h"

#include <math.h>

#include "measure/uncertainty.h"
#include "record/picture_parts.h"
#include "record/writeup_words.h"

/* ---- axes ----------------------------------------------------------------------------------- */

double picture_at(const struct picture_axis *axis, double value)
{
    double span = axis->high - axis->low;
    double part = span > 0 ? (value - axis->low) / span : 0.5;
    return axis->low_at + part * (axis->high_at - axis->low_at);
}

double picture_step(double span, int most)
{
    if (!(span > 0) || !isfinite(span) || most < 1)
        return 1;
    double ten = pow(10, floor(log10(span / most)));
    static const double times[] = {1, 2, 5, 10};
    for (size_t i = 0; i < sizeof times / sizeof times[0]; i++)
        if (span / (times[i] * ten) <= most * (1 + 1e-9))
            return times[i] * ten;
    return 20 * ten;
}

static struct picture_bar bar_of(const struct picture_axis *axis, double value, double half)
{
    struct picture_bar bar = {.there = isfinite(half) && isfinite(value) && half > 0};
    if (!bar.there)
        return bar;
    bar.low_ends = value - half >= axis->low;
    bar.high_ends = value + half <= axis->high;
    bar.low = picture_at(axis, bar.low_ends ? value - half : axis->low);
    bar.high = picture_at(axis, bar.high_ends ? value + half : axis->high);
    return bar;
}

/* Half of the interval that holds the offset at 95 %; HUGE_VAL when that is not known. */
static double offset_expanded(const struct measure_balance *balance)
{
    double k = measure_coverage_factor(MEASURE_LEVEL, balance->difference_dof);
    return isfinite(k) ? k * balance->offset_u_mm : HUGE_VAL;
}

static double finite_or_0(double value)
{
    return isfinite(value) ? value : 0;
}

/* Rest is even within half the tolerance of the difference. 0: no tolerance is known. */
static double tolerance_of(const struct job *job)
{
    const struct profile_length *tolerance = &job->numbers.tolerance;
    double mm = tolerance->known ? measure_length_mm(tolerance->value) : 0;
    return mm > 0 && mm <= MEASURE_MM_MAX ? mm : 0;
}

static bool can_be_drawn(const struct measure_balance *balance)
{
    const double values[] = {balance->forward.mean_mm, balance->back.mean_mm, balance->offset_mm,
                             balance->sum_mm};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
        if (!isfinite(values[i]) || fabs(values[i]) > 2 * MEASURE_MM_MAX)
            return false;
    return balance->sum_mm > 0;
}

/* ---- the throws ----------------------------------------------------------------------------- */

static void find_throw(const struct job *job, int round, struct picture_throw *row)
{
    const struct measure_balance *balance = &job->round[round].balance;
    *row = (struct picture_throw){
        .round = round,
        .back_mm = balance->back.mean_mm,
        .forward_mm = balance->forward.mean_mm,
        .offset_mm = balance->offset_mm,
        .back_U_mm = balance->back.U_mm,
        .forward_U_mm = balance->forward.U_mm,
        .offset_U_mm = offset_expanded(balance),
    };
}

/* How far from the middle anything of the row reaches. */
static double reach_of(const struct picture_throw *row)
{
    double half = (row->back_mm + row->forward_mm) / 2;
    double U = fmax(finite_or_0(row->back_U_mm), finite_or_0(row->forward_U_mm));
    return half + fmin(U, half); /* a bar longer than the throw is cut */
}

/* Rest lies half the difference behind the middle when the forward throw is the longer one. */
static void place_throw(const struct picture_axis *x, struct picture_throw *row)
{
    double half = (row->back_mm + row->forward_mm) / 2;
    row->back = picture_at(x, -half);
    row->forward = picture_at(x, half);
    row->rest = picture_at(x, -row->offset_mm);
    row->back_bar = bar_of(x, -half, row->back_U_mm);
    row->forward_bar = bar_of(x, half, row->forward_U_mm);
    row->rest_bar = bar_of(x, -row->offset_mm, row->offset_U_mm);
}

bool picture_throws_of(const struct job *job, struct picture_throws *out)
{
    *out = (struct picture_throws){.rows = 0};
    int last = words_last_balanced(job);
    const int wanted[2] = {last >= 0 && job->round[0].balanced ? 0 : last, last};
    double reach = 0;
    for (int i = 0; i < 2 && last >= 0; i++) {
        if ((i == 1 && wanted[1] == wanted[0]) || !can_be_drawn(&job->round[wanted[i]].balance))
            continue;
        find_throw(job, wanted[i], &out->row[out->rows]);
        reach = fmax(reach, reach_of(&out->row[out->rows]));
        out->rows++;
    }
    if (out->rows == 0)
        return false;
    out->x = (struct picture_axis){-reach, reach, PICTURE_EDGE, PICTURE_WIDTH - PICTURE_EDGE};
    for (int i = 0; i < out->rows; i++)
        place_throw(&out->x, &out->row[i]);
    out->tolerance_mm = tolerance_of(job);
    out->has_even = out->tolerance_mm > 0 && out->tolerance_mm / 2 < reach;
    out->even_low = picture_at(&out->x, -out->tolerance_mm / 2);
    out->even_high = picture_at(&out->x, out->tolerance_mm / 2);
    out->scale_mm = picture_step(2 * reach, 10);
    return true;
}

/* ---- the rounds ----------------------------------------------------------------------------- */

static bool was_foretold(const struct job *job, int round)
{
    if (round < 1 || round > job->rounds)
        return false;
    const struct job_round *before = &job->round[round - 1];
    return before->advised && words_was_turned(before) && before->advice.turns != 0 &&
           isfinite(before->advice.expected_offset_mm) &&
           fabs(before->advice.expected_offset_mm) <= MEASURE_MM_MAX;
}

static bool was_measured(const struct job *job, int round)
{
    return round < job->rounds && job->round[round].balanced &&
           can_be_drawn(&job->round[round].balance);
}

static void stretch_to(struct picture_axis *y, double low, double high)
{
    y->low = fmin(y->low, low);
    y->high = fmax(y->high, high);
}

/* The axis holds everything measured with its bars, and what was foretold without: before the stem
 * is known a prediction's bar may be longer than the arm. */
static void stretch(const struct job *job, int rounds, struct picture_axis *y)
{
    const double half = tolerance_of(job) / 2;
    *y = (struct picture_axis){-half, half, PICTURE_PLOT_BOTTOM, PICTURE_PLOT_TOP};
    for (int i = 0; i < rounds; i++) {
        if (was_measured(job, i)) {
            const struct measure_balance *balance = &job->round[i].balance;
            double U = fmin(finite_or_0(offset_expanded(balance)), balance->sum_mm);
            stretch_to(y, balance->offset_mm - U, balance->offset_mm + U);
        }
        if (was_foretold(job, i))
            stretch_to(y, job->round[i - 1].advice.expected_offset_mm,
                       job->round[i - 1].advice.expected_offset_mm);
    }
    double margin = y->high > y->low ? 0.08 * (y->high - y->low) : 1;
    y->low -= margin;
    y->high += margin;
}

static void place_round(const struct job *job, const struct picture_axis *x, int round,
                        struct picture_rounds *out)
{
    struct picture_round *mark = &out->round[round];
    *mark = (struct picture_round){.round = round, .x = picture_at(x, round)};
    if (was_measured(job, round)) {
        const struct measure_balance *balance = &job->round[round].balance;
        mark->measured = true;
        mark->offset_mm = balance->offset_mm;
        mark->y = picture_at(&out->y, balance->offset_mm);
        mark->bar = bar_of(&out->y, balance->offset_mm, offset_expanded(balance));
    }
    if (was_foretold(job, round)) {
        const struct measure_turn_advice *advice = &job->round[round - 1].advice;
        mark->foretold = true;
        mark->foretold_mm = advice->expected_offset_mm;
        mark->foretold_x = mark->x - PICTURE_ASIDE;
        mark->foretold_y = picture_at(&out->y, advice->expected_offset_mm);
        mark->foretold_bar = bar_of(&out->y, advice->expected_offset_mm, 2 * advice->expected_u_mm);
    }
    const struct picture_bar *const bars[] = {&mark->bar, &mark->foretold_bar};
    for (size_t i = 0; i < 2; i++)
        out->some_go_on |= bars[i]->there && !(bars[i]->low_ends && bars[i]->high_ends);
}

bool picture_rounds_of(const struct job *job, struct picture_rounds *out)
{
    *out = (struct picture_rounds){.rounds = job->rounds};
    if (words_turned_rounds(job) == 0 || job->rounds > JOB_ROUNDS_MAX)
        return false;
    if (was_foretold(job, job->rounds)) /* turned, and not measured since */
        out->rounds++;
    stretch(job, out->rounds, &out->y);
    const struct picture_axis x = {0, out->rounds > 1 ? out->rounds - 1 : 1,
                                   PICTURE_PLOT_LEFT + PICTURE_INSET,
                                   PICTURE_PLOT_RIGHT - PICTURE_INSET};
    for (int i = 0; i < out->rounds; i++)
        place_round(job, &x, i, out);
    out->tolerance_mm = tolerance_of(job);
    out->has_even = out->tolerance_mm > 0;
    out->zero = picture_at(&out->y, 0);
    out->even_low = picture_at(&out->y, -out->tolerance_mm / 2);
    out->even_high = picture_at(&out->y, out->tolerance_mm / 2);
    out->step_mm = picture_step(out->y.high - out->y.low, 8);
    return true;
}

/* ---- the causes ----------------------------------------------------------------------------- */

void picture_causes_of(const struct job *job, struct picture_causes *out)
{
    struct reason_rank before[REASON_CAUSE_COUNT];
    struct reason_rank after[REASON_CAUSE_COUNT];
    struct reason unseen = job->reason; /* with the priors it has: a shop may have its own */
    for (size_t i = 0; i < REASON_EVIDENCE_COUNT; i++)
        unseen.seen[i] = -1;
    reason_rank(&unseen, before);
    reason_rank(&job->reason, after);
    const struct picture_axis width = {0, 1, 0, PICTURE_BARS_RIGHT - PICTURE_BARS_LEFT};
    out->left = PICTURE_BARS_LEFT;
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        const struct reason_rank *prior = words_rank_of(before, (int)after[i].cause);
        out->cause[i] = (struct picture_cause){
            .cause = after[i].cause,
            .confirmed = job->cause == (int)after[i].cause,
            .before = prior == NULL ? 0 : prior->probability,
            .after = after[i].probability,
            .y = PICTURE_CAUSES_TOP + i * PICTURE_CAUSE_HEIGHT,
        };
        out->cause[i].before_width = picture_at(&width, out->cause[i].before);
        out->cause[i].after_width = picture_at(&width, out->cause[i].after);
    }
}
