/* Rules of thumb for turning the stem: see thumb.h. */
#include "thumb.h"

#include <math.h>

static const double nominal_gain_mm = 3; /* where the profile tells none, as the advisor takes it */

/* Turns until the rule has none left; the size is cut to the increment and to what is left. */
static void turn_by(const struct measure_turn *turn, double size, double offset_mm,
                    struct measure_turn_advice *advice)
{
    double left = turn->prior.total_turns - turn->turned_total, step = 1.0 / turn->steps_per_turn;
    double sense = turn->weight[1] > turn->weight[0] ? 1 : -1;
    advice->kind = MEASURE_TURN_ADJUST;
    if (turn->rounds >= turn->prior.rounds_max)
        advice->kind = MEASURE_STOP_ROUNDS;
    else if (left < step)
        advice->kind = MEASURE_STOP_TOTAL;
    size = fmin(fmin(size, turn->prior.increment_turns), left);
    advice->turns = advice->kind == MEASURE_TURN_ADJUST ? copysign(size, -offset_mm * sense) : 0;
}

static double half_size(const struct measure_turn *turn, double offset_mm)
{
    const struct measure_turn_prior *prior = &turn->prior;
    double gain = prior->gain_mm > 0 ? prior->gain_mm : nominal_gain_mm;
    double steps = round(turn->steps_per_turn * fabs(offset_mm) / 2 / gain);
    return fmax(steps, 1) / turn->steps_per_turn;
}

static bool is_unseen_by_thumbs(enum measure_turn_kind kind)
{
    return kind == MEASURE_TURN_ADJUST || kind == MEASURE_TURN_NONE ||
           kind == MEASURE_STOP_NO_RESPONSE || kind == MEASURE_STOP_SIGN_CHANGED;
}

void thumb_eighth(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                  struct measure_turn_advice *advice)
{
    measure_turn_advise(turn, offset_mm, offset_u_mm, advice);
    if (is_unseen_by_thumbs(advice->kind))
        turn_by(turn, 1.0 / 8, offset_mm, advice);
}

void thumb_half(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                struct measure_turn_advice *advice)
{
    measure_turn_advise(turn, offset_mm, offset_u_mm, advice);
    if (is_unseen_by_thumbs(advice->kind))
        turn_by(turn, half_size(turn, offset_mm), offset_mm, advice);
}

void thumb_eighth_with_stops(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                             struct measure_turn_advice *advice)
{
    measure_turn_advise(turn, offset_mm, offset_u_mm, advice);
    if (advice->kind == MEASURE_TURN_ADJUST || advice->kind == MEASURE_TURN_NONE)
        turn_by(turn, 1.0 / 8, offset_mm, advice);
}

void thumb_half_with_stops(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                           struct measure_turn_advice *advice)
{
    measure_turn_advise(turn, offset_mm, offset_u_mm, advice);
    if (advice->kind == MEASURE_TURN_ADJUST || advice->kind == MEASURE_TURN_NONE)
        turn_by(turn, half_size(turn, offset_mm), offset_mm, advice);
}
