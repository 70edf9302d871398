/* The turn advisor: what each round teaches about the stem, and what to turn next. The model and
 * every judgement in it are told in turn.h. */
#include "measure/turn.h"

#include <limits.h>
#include <math.h>

#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_erf.h>

#include "measure/uncertainty.h"

/* Judgement, no source: see turn.h. Lengths in millimetres, turns in steps or turns, the rest
 * sigmas, shares and probabilities. */
static const double unknown_gain_mm = 3;      /* offset per turn when nothing is known ... */
static const double unknown_gain_u = 1;       /* ... relative */
static const double trust_most = 0.999;       /* in any statement about the sense */
static const double weight_least = 1e-6;      /* so that evidence can always bring a sense back */
static const double settled_weight = 0.9;     /* the sense counts as known from here */
static const double open_weight = 0.65;       /* nothing to choose between the senses below this */
static const double hand_steps = 0.25;        /* one sigma of a turn made by eye */
static const double lash_steps = 0.5;         /* lost on a reversed turn, and its sigma */
static const double gain_drift = 0.1;         /* relative, a round */
static const double misread_share = 0.01;     /* rounds whose readings say nothing: the ... */
static const double misread_density = 0.05;   /* ... change may be anything, +-10 mm: per mm */
static const double plain_sigmas = 3.5;       /* a response this clear shows the sense */
static const double probe_sigmas = 3;         /* a probe is made large enough for this */
static const double silent_due_sigmas = 3;    /* a run of turns due to be this clear ... */
static const double silent_seen_sigmas = 1.5; /* ... that shows less than this is no response */
static const double gain_least_share = 0.25;  /* of a known gain: what follows less does not */
static const double gain_least_mm = 0.9;      /* when unknown: a turn of a 1/4-28 screw by itself */
static const double overshoot_cost = 2;       /* a square past even counts so much more */
static const double dead_share = 0.1;         /* arms that do not follow, before the first turn */
static const double slope_open = 1e3;         /* sigma of the slope before it: nothing assumed */
static const double turns_most = 10;          /* at once: more is not a turn of this stem */
static const double least_mm = 1e-6;          /* nothing measured is finer: keeps zeros out */

enum { STEPS_PER_TURN_MAX = 1000, SILENT_ROUNDS = 2 };

/* Sense 0: clockwise moves rest forward, the offset falls. */
static const double sense_sign[2] = {-1, 1};

/* ---- before the first turn -------------------------------------------------------------- */

static bool gain_is_sane(const struct measure_turn_prior *prior, struct fault *fault)
{
    bool size_ok = prior->gain_mm >= least_mm && prior->gain_mm <= MEASURE_MM_MAX;
    bool u_ok = prior->gain_relative_u >= least_mm && prior->gain_relative_u <= MEASURE_MM_MAX;
    if (!prior->gain_known) {
        /* A hint may be left at zero, but not be nonsense. */
        size_ok = size_ok || fabs(prior->gain_mm) <= 0;
        u_ok = prior->gain_relative_u >= 0 && prior->gain_relative_u <= MEASURE_MM_MAX;
    }
    if (!size_ok || !u_ok)
        return fault_set(fault, FAULT_USAGE,
                         "the stem's effect must be more than zero, with an uncertainty: check the "
                         "profile's pitch or eccentric throw and lever ratio.");
    return true;
}

static bool sense_is_sane(const struct measure_turn_prior *prior, struct fault *fault)
{
    if (prior->sense == MEASURE_SENSE_UNKNOWN)
        return true;
    if (prior->sense != MEASURE_CLOCKWISE_FORWARD && prior->sense != MEASURE_CLOCKWISE_BACK)
        return fault_set(fault, FAULT_USAGE,
                         "the stem's sense must be forward, back or unknown: check the profile.");
    if (!(prior->sense_trust >= 0.5 && prior->sense_trust <= 1))
        return fault_set(
            fault, FAULT_USAGE,
            "trust in the stem's sense must lie between 0.5 and 1: check the profile.");
    return true;
}

static bool limits_are_sane(const struct measure_turn_prior *prior, struct fault *fault)
{
    if (!(prior->lock_nut_mm >= 0 && prior->lock_nut_mm <= MEASURE_MM_MAX))
        return fault_set(fault, FAULT_USAGE,
                         "the lock nut's shift must be zero or more: check the profile.");
    if (!(prior->increment_turns > 0 && prior->increment_turns < 0.5))
        return fault_set(fault, FAULT_USAGE,
                         "the most to turn at once must be more than zero and less than half a "
                         "turn: check the profile's increment.");
    if (!(prior->step_turns >= 1.0 / STEPS_PER_TURN_MAX &&
          prior->step_turns <= prior->increment_turns))
        return fault_set(fault, FAULT_USAGE,
                         "the finest turn must lie between 1/%d of a turn and the increment: check "
                         "the profile's step.",
                         STEPS_PER_TURN_MAX);
    if (!(prior->total_turns > 0 && prior->total_turns <= MEASURE_MM_MAX))
        return fault_set(fault, FAULT_USAGE,
                         "the total turn allowed must be more than zero: check the profile.");
    if (prior->rounds_max < 0)
        return fault_set(fault, FAULT_USAGE,
                         "the number of adjusting rounds must be zero or more: check the profile.");
    return true;
}

/* The step as one over a whole number, at most what was asked for, and one of them within the
 * increment. */
static int steps_per_turn(const struct measure_turn_prior *prior)
{
    int steps = (int)ceil(1 / prior->step_turns - 1e-6);
    while (1.0 / steps > prior->increment_turns)
        steps++;
    return steps;
}

static double weight_of_forward(const struct measure_turn_prior *prior)
{
    double trust = fmin(prior->sense_trust, trust_most);
    switch (prior->sense) {
    case MEASURE_CLOCKWISE_FORWARD:
        return trust;
    case MEASURE_CLOCKWISE_BACK:
        return 1 - trust;
    case MEASURE_SENSE_UNKNOWN:
        break;
    }
    return 0.5;
}

static double prior_gain(const struct measure_turn_prior *prior)
{
    return prior->gain_known || prior->gain_mm > 0 ? prior->gain_mm : unknown_gain_mm;
}

static double prior_gain_relative_u(const struct measure_turn_prior *prior)
{
    return prior->gain_known ? prior->gain_relative_u
                             : fmax(prior->gain_relative_u, unknown_gain_u);
}

bool measure_turn_init(struct measure_turn *turn, const struct measure_turn_prior *prior,
                       struct fault *fault)
{
    if (!gain_is_sane(prior, fault) || !sense_is_sane(prior, fault) ||
        !limits_are_sane(prior, fault))
        return false;
    double gain = prior_gain(prior), gain_u = gain * prior_gain_relative_u(prior);
    *turn = (struct measure_turn){
        .prior = *prior,
        .gain_mm = {gain, gain},
        .gain_var = {gain_u * gain_u, gain_u * gain_u},
        .steps_per_turn = steps_per_turn(prior),
        .seen_sense = -1,
    };
    turn->weight[0] = weight_of_forward(prior);
    turn->weight[1] = 1 - turn->weight[0];
    turn->dead = dead_share;
    return true;
}

/* ---- learning --------------------------------------------------------------------------- */

/* One round as the update sees it. */
struct lesson {
    double turns;
    double moved_mm;
    double noise_var;  /* of moved_mm: both measurements and the lock nut */
    double turns_mean; /* of `turns`, what should have reached the arm */
    double turns_var;
};

static bool is_sane(double value, double most)
{
    return fabs(value) <= most; /* false for NaN */
}

/* What of a turn reaches the arm: mean and variance, lash and hand accounted for. */
struct reach {
    double mean, var;
};

static struct reach reach_of(const struct measure_turn *turn, double turns)
{
    double step = 1.0 / turn->steps_per_turn;
    bool reversed = !(turns * turn->last_turns > 0); /* or the first */
    double hand = hand_steps * step, lash = reversed ? lash_steps * step : 0;
    return (struct reach){
        .mean = copysign(fmax(fabs(turns) - lash, 0), turns),
        .var = hand * hand + lash * lash,
    };
}

static struct lesson lesson_of(const struct measure_turn *turn, double turns, double moved_mm,
                               double before_u_mm, double after_u_mm)
{
    double lock = turn->prior.lock_nut_mm;
    struct reach reach = reach_of(turn, turns);
    return (struct lesson){
        .turns = turns,
        .moved_mm = moved_mm,
        .noise_var =
            before_u_mm * before_u_mm + after_u_mm * after_u_mm + lock * lock + least_mm * least_mm,
        .turns_mean = reach.mean,
        .turns_var = reach.var,
    };
}

/* A Gaussian over a size, cut at zero: mean and variance of what is left; returns the log of its
 * mass (Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, 13.10.1; from
 * memory). */
static double cut_at_zero(double *mean, double *var)
{
    double sigma = sqrt(*var), at = fmax(*mean / sigma, -1e6);
    double log_mass = gsl_sf_log_erfc(-at / sqrt(2)) - log(2);
    if (at > 8) /* nothing is cut */
        return log_mass;
    double hazard = gsl_sf_hazard(-at); /* phi(at)/Phi(at) */
    double least = 1e-3 * sigma;        /* far out in the tail the differences below cancel */
    *mean = fmax(*mean + sigma * hazard, least);
    *var = fmax(*var * (1 - at * hazard - hazard * hazard), least * least);
    return log_mass;
}

/* Kalman update of the gain's size under one sense; returns how likely the round was under it. */
static double update_sense(struct measure_turn *turn, int sense, const struct lesson *lesson)
{
    double mean = turn->gain_mm[sense], drift = gain_drift * mean;
    double var = turn->gain_var[sense] + drift * drift;
    double before_mass = gsl_sf_log_erfc(-fmax(mean / sqrt(var), -1e6) / sqrt(2)) - log(2);

    double h = sense_sign[sense] * lesson->turns_mean;
    double spread = h * h * var + lesson->noise_var + (mean * mean + var) * lesson->turns_var;
    double surprise = lesson->moved_mm - h * mean;
    double kalman = var * h / spread;
    mean += kalman * surprise;
    var *= fmax(1 - kalman * h, 1e-9);

    double after_mass = cut_at_zero(&mean, &var);
    turn->gain_mm[sense] = fmax(mean, least_mm);
    turn->gain_var[sense] = fmax(var, least_mm * least_mm);
    double log_density = -surprise * surprise / (2 * spread) - log(2 * M_PI * spread) / 2;
    double density = exp(log_density + after_mass - before_mass);
    return (1 - misread_share) * density + misread_share * misread_density;
}

static void update_senses(struct measure_turn *turn, const struct lesson *lesson)
{
    double forward = turn->weight[0] * update_sense(turn, 0, lesson);
    double back = turn->weight[1] * update_sense(turn, 1, lesson);
    double share = forward / (forward + back);
    turn->weight[0] = fmin(fmax(share, weight_least), 1 - weight_least);
    turn->weight[1] = 1 - turn->weight[0];
}

/* Plain responses: which sense they show, and whether one speaks against an earlier one. */
static void note_response(struct measure_turn *turn, const struct lesson *lesson)
{
    if (fabs(lesson->moved_mm) < plain_sigmas * sqrt(lesson->noise_var))
        return;
    int shown = (lesson->moved_mm > 0) == (lesson->turns > 0) ? 1 : 0;
    if (turn->seen_sense >= 0 && turn->seen_sense != shown)
        turn->sign_changes++;
    turn->seen_sense = shown;
}

/* The least gain an arm may have that still counts as following the stem. */
static double least_gain(const struct measure_turn *turn)
{
    const struct measure_turn_prior *prior = &turn->prior;
    if (!prior->gain_known)
        return gain_least_mm;
    return prior->gain_mm * fmax(1 - 2 * prior->gain_relative_u, gain_least_share);
}

/* Keeps the run of turns made one way without a plain response. Small turns that could not have
 * been seen one by one add up in it. */
static void note_silence(struct measure_turn *turn, const struct lesson *lesson, double before_mm,
                         double before_u_mm, double after_mm, double after_u_mm)
{
    if (turn->run_rounds == 0 || lesson->turns * turn->run_turns < 0) {
        turn->run_turns = 0;
        turn->run_start_mm = before_mm;
        turn->run_start_u_mm = before_u_mm;
        turn->run_rounds = turn->unresponsive = 0;
    }
    turn->run_turns += lesson->turns;
    turn->run_rounds++;
    double lock = turn->prior.lock_nut_mm, start = turn->run_start_u_mm;
    double sigma = sqrt(start * start + after_u_mm * after_u_mm + turn->run_rounds * lock * lock +
                        least_mm * least_mm);
    double moved = fabs(after_mm - turn->run_start_mm);
    double reached = fabs(turn->run_turns) - 2 * lash_steps / turn->steps_per_turn;
    if (moved > silent_seen_sigmas * sigma)
        turn->run_rounds = turn->unresponsive = 0; /* it moved: a new run begins */
    else if (least_gain(turn) * reached >= silent_due_sigmas * sigma)
        turn->unresponsive = turn->run_rounds;
}

/* ---- an arm that does not follow ---------------------------------------------------------- */

/* One observation of the offset; Kalman's formulas for one of two states seen. */
static void track_observe(struct measure_turn *turn, double offset_mm, double u_mm)
{
    double noise = u_mm * u_mm + least_mm * least_mm, spread = turn->track_var + noise;
    double surprise = offset_mm - turn->track_mm;
    turn->track_mm += turn->track_var / spread * surprise;
    turn->slope_mm += turn->cross_var / spread * surprise;
    turn->slope_var -= turn->cross_var * turn->cross_var / spread;
    turn->slope_var = fmax(turn->slope_var, least_mm * least_mm);
    turn->track_var *= noise / spread;
    turn->cross_var *= noise / spread;
    turn->seen_mm = offset_mm;
}

static void track_turn(struct measure_turn *turn, const struct lesson *lesson)
{
    double turns = lesson->turns_mean, lock = turn->prior.lock_nut_mm;
    turn->track_mm += turns * turn->slope_mm;
    turn->track_var += turns * (2 * turn->cross_var + turns * turn->slope_var) + lock * lock;
    turn->track_var = fmax(turn->track_var, least_mm * least_mm);
    turn->cross_var += turns * turn->slope_var;
}

/* Log of the mass of a Gaussian above `least`. */
static double log_mass_above(double mean, double var, double least)
{
    double at = fmin(fmax((least - mean) / sqrt(2 * var), -1e6), 1e6);
    return gsl_sf_log_erfc(at) - log(2);
}

/* Log of how much likelier the slope seen is under this sense, its gain after the prior but no less
 * than the least, than with no gain at all: the product of two Gaussians, integrated from there. */
static double log_odds_of_following(const struct measure_turn *turn, int sense)
{
    double mean = prior_gain(&turn->prior), least = least_gain(turn);
    double u = mean * prior_gain_relative_u(&turn->prior), var = u * u;
    double seen = sense_sign[sense] * turn->slope_mm, seen_var = turn->slope_var;
    double both = var + seen_var;
    double middle = (mean * seen_var + seen * var) / both, middle_var = var * seen_var / both;
    return (log(seen_var / both) + seen * seen / seen_var - (seen - mean) * (seen - mean) / both) /
               2 +
           log_mass_above(middle, middle_var, least) - log_mass_above(mean, var, least);
}

static void note_dead(struct measure_turn *turn, const struct lesson *lesson, double before_mm,
                      double before_u_mm, double after_mm, double after_u_mm)
{
    if (turn->slope_var <= 0) { /* the first turn */
        turn->track_mm = before_mm;
        turn->track_var = before_u_mm * before_u_mm + least_mm * least_mm;
        turn->slope_var = slope_open * slope_open;
    } else if (fabs(before_mm - turn->seen_mm) > 0) { /* read afresh */
        track_observe(turn, before_mm, before_u_mm);
    }
    track_turn(turn, lesson);
    track_observe(turn, after_mm, after_u_mm);
    double forward = weight_of_forward(&turn->prior);
    double alive = forward * exp(log_odds_of_following(turn, 0)) +
                   (1 - forward) * exp(log_odds_of_following(turn, 1));
    turn->dead = dead_share / (dead_share + (1 - dead_share) * alive);
}

void measure_turn_learn(struct measure_turn *turn, double turns, double before_mm,
                        double before_u_mm, double after_mm, double after_u_mm)
{
    if (turn->rounds < INT_MAX)
        turn->rounds++;
    if (!is_sane(turns, turns_most))
        return;
    turn->turned_total += fabs(turns);
    bool readable = is_sane(before_mm, MEASURE_MM_MAX) && is_sane(after_mm, MEASURE_MM_MAX) &&
                    is_sane(before_u_mm, MEASURE_MM_MAX) && is_sane(after_u_mm, MEASURE_MM_MAX);
    if (!readable || !(fabs(turns) > 0))
        return;
    struct lesson lesson = lesson_of(turn, turns, after_mm - before_mm, before_u_mm, after_u_mm);
    note_response(turn, &lesson);
    note_silence(turn, &lesson, before_mm, before_u_mm, after_mm, after_u_mm);
    note_dead(turn, &lesson, before_mm, before_u_mm, after_mm, after_u_mm);
    update_senses(turn, &lesson);
    turn->taught++;
    turn->last_turns = turns;
}

/* ---- advising --------------------------------------------------------------------------- */

static enum measure_turn_kind stop_reason(const struct measure_turn *turn)
{
    if (turn->sign_changes > 0)
        return MEASURE_STOP_SIGN_CHANGED;
    bool dead = turn->taught >= SILENT_ROUNDS && turn->dead >= MEASURE_LEVEL;
    if (dead || turn->unresponsive >= SILENT_ROUNDS)
        return MEASURE_STOP_NO_RESPONSE;
    if (turn->rounds >= turn->prior.rounds_max)
        return MEASURE_STOP_ROUNDS;
    return MEASURE_TURN_ADJUST;
}

/* E[size^2] of one sense's gain. */
static double gain_square(const struct measure_turn *turn, int sense)
{
    return turn->gain_mm[sense] * turn->gain_mm[sense] + turn->gain_var[sense];
}

/* The most whole steps that stay within the increment and what is left of the total. Compared as
 * the very number that will be said, so that rounding cannot carry it over. */
static int steps_allowed(const struct measure_turn *turn)
{
    double left = turn->prior.total_turns - turn->turned_total;
    double most = fmin(turn->prior.increment_turns, left);
    int steps = 0;
    while ((double)(steps + 1) / turn->steps_per_turn <= most)
        steps++;
    return steps;
}

static int likelier_sense(const struct measure_turn *turn)
{
    return turn->weight[1] > turn->weight[0] ? 1 : 0;
}

/* The size of turn that would do best if this sense were the true one. */
static double best_size(const struct measure_turn *turn, int sense, double offset_mm)
{
    return fabs(offset_mm) * turn->gain_mm[sense] / gain_square(turn, sense);
}

/* The turn that makes the expected square of the offset smallest, over both senses. */
static double best_turn(const struct measure_turn *turn, double offset_mm)
{
    double mean = 0, square = 0;
    for (int sense = 0; sense < 2; sense++) {
        mean += turn->weight[sense] * sense_sign[sense] * turn->gain_mm[sense];
        square += turn->weight[sense] * gain_square(turn, sense);
    }
    return -offset_mm * mean / square;
}

/* E[min(r, 0)^2] of r ~ N(mean, sigma^2): by parts, (mean^2 + sigma^2) P(-mean/sigma) - mean sigma
 * p(mean/sigma), with p and P the standard normal's density and distribution. */
static double square_below_zero(double mean, double sigma)
{
    double z = fmin(fmax(mean / sigma, -1e6), 1e6);
    double tail = gsl_sf_erfc(z / sqrt(2)) / 2, density = exp(-z * z / 2) / sqrt(2 * M_PI);
    return fmax((mean * mean + sigma * sigma) * tail - mean * sigma * density, 0);
}

/* What is to be expected of a turn: the square of what is left, and what of it lies past even
 * again, so many times over as overshooting is dearer. */
static double cost_of(const struct measure_turn *turn, double turns, double offset_mm,
                      double offset_u_mm)
{
    struct reach reach = reach_of(turn, turns);
    double lock = turn->prior.lock_nut_mm, side = offset_mm > 0 ? 1 : -1, cost = 0;
    for (int sense = 0; sense < 2; sense++) {
        double moves = side * sense_sign[sense] * turn->gain_mm[sense] * reach.mean;
        double mean = fabs(offset_mm) + moves;
        double var = reach.mean * reach.mean * turn->gain_var[sense] +
                     reach.var * gain_square(turn, sense) + lock * lock +
                     offset_u_mm * offset_u_mm + least_mm * least_mm;
        double past = square_below_zero(mean, sqrt(var));
        cost += turn->weight[sense] * (mean * mean + var + overshoot_cost * past);
    }
    return cost;
}

/* The steps, at least one, that cost least. */
static int cheapest_steps(const struct measure_turn *turn, double way, int allowed,
                          double offset_mm, double offset_u_mm)
{
    int best = 1;
    double least = HUGE_VAL;
    for (int steps = 1; steps <= allowed; steps++) {
        double turns = copysign((double)steps / turn->steps_per_turn, way);
        double cost = cost_of(turn, turns, offset_mm, offset_u_mm);
        if (cost < least) {
            least = cost;
            best = steps;
        }
    }
    return best;
}

/* A probe: large enough to be seen, no larger than would cure it if the likelier sense is true, and
 * towards that cure, unless the odds are nearly even: then on the way it was turned last, which
 * loses nothing to lash and adds up. */
static double probing_turn(const struct measure_turn *turn, double offset_mm, double offset_u_mm)
{
    int sense = likelier_sense(turn);
    double lock = turn->prior.lock_nut_mm;
    double sigma = sqrt(2 * offset_u_mm * offset_u_mm + lock * lock);
    double size = fmin(probe_sigmas * sigma / sqrt(gain_square(turn, sense)),
                       best_size(turn, sense, offset_mm));
    size = fmax(size, 1.0 / turn->steps_per_turn);
    bool open = turn->weight[sense] < open_weight;
    if (open && fabs(turn->last_turns) > 0)
        return copysign(size, turn->last_turns);
    return copysign(size, -offset_mm * sense_sign[sense]);
}

static int gcd(int a, int b)
{
    while (b != 0) {
        int rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* What is to be expected after the turn: over both senses for an adjustment, under the likelier one
 * for a probe. */
static void expect(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                   struct measure_turn_advice *advice)
{
    double mean = 0, square = 0;
    for (int sense = 0; sense < 2; sense++) {
        double weight = turn->weight[sense];
        if (advice->kind == MEASURE_TURN_PROBE)
            weight = sense == likelier_sense(turn) ? 1 : 0;
        mean += weight * sense_sign[sense] * turn->gain_mm[sense];
        square += weight * gain_square(turn, sense);
    }
    struct reach reach = reach_of(turn, advice->turns);
    double lock = turn->prior.lock_nut_mm;
    double spread = reach.mean * reach.mean * fmax(square - mean * mean, 0) + square * reach.var +
                    lock * lock + offset_u_mm * offset_u_mm;
    advice->expected_offset_mm = offset_mm + mean * reach.mean;
    advice->expected_u_mm = sqrt(spread);
}

static void say_steps(const struct measure_turn *turn, int steps, bool clockwise,
                      struct measure_turn_advice *advice)
{
    int common = gcd(steps, turn->steps_per_turn);
    advice->steps = steps;
    advice->numerator = steps / common;
    advice->denominator = turn->steps_per_turn / common;
    advice->clockwise = clockwise;
    advice->turns = (clockwise ? 1 : -1) * ((double)steps / turn->steps_per_turn);
}

void measure_turn_advise(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                         struct measure_turn_advice *advice)
{
    *advice = (struct measure_turn_advice){
        .kind = MEASURE_TURN_NONE,
        .denominator = 1,
        .expected_offset_mm = offset_mm,
        .expected_u_mm = offset_u_mm,
    };
    if (!is_sane(offset_mm, MEASURE_MM_MAX) || !is_sane(offset_u_mm, MEASURE_MM_MAX))
        return;
    enum measure_turn_kind kind = stop_reason(turn);
    if (kind != MEASURE_TURN_ADJUST) {
        advice->kind = kind;
        return;
    }
    int sense = likelier_sense(turn);
    double wanted = best_turn(turn, offset_mm), half_step = 0.5 / turn->steps_per_turn;
    if (turn->weight[sense] < settled_weight) {
        if (best_size(turn, sense, offset_mm) < half_step)
            return; /* even the right sense would leave nothing to turn */
        kind = MEASURE_TURN_PROBE;
        wanted = probing_turn(turn, offset_mm, offset_u_mm);
    }
    if (fabs(wanted) < half_step)
        return;
    int allowed = steps_allowed(turn);
    if (allowed == 0) {
        advice->kind = MEASURE_STOP_TOTAL;
        return;
    }
    int steps = (int)fmin(round(fabs(wanted) * turn->steps_per_turn), allowed);
    if (kind == MEASURE_TURN_ADJUST)
        steps = cheapest_steps(turn, wanted, allowed, offset_mm, offset_u_mm);
    advice->kind = kind;
    say_steps(turn, steps, wanted > 0, advice);
    expect(turn, offset_mm, offset_u_mm, advice);
}
