/* The simulated stem and the technician who follows the advice: see simulate.h. */
#include "simulate.h"

#include <math.h>

static const double tau = 6.283185307179586;

/* xorshift64*, Vigna 2016. */
static uint64_t chance_next(struct chance *chance)
{
    chance->state ^= chance->state >> 12;
    chance->state ^= chance->state << 25;
    chance->state ^= chance->state >> 27;
    return chance->state * UINT64_C(2685821657736338717);
}

double chance_uniform(struct chance *chance, double low, double high)
{
    return low + (high - low) * ((double)(chance_next(chance) >> 11) / 9007199254740992.0);
}

double chance_normal(struct chance *chance) /* Box and Muller */
{
    double radius = sqrt(-2 * log(1 - chance_uniform(chance, 0, 1)));
    return radius * cos(tau * chance_uniform(chance, 0, 1));
}

static double position(const struct stem *stem)
{
    double turns = stem->angle;
    if (stem->kind == STEM_DEAD)
        return stem->middle_mm;
    if (stem->kind == STEM_ECCENTRIC || stem->kind == STEM_SHORT)
        turns = sin(tau * stem->angle) / tau;
    return stem->middle_mm + stem->sense * stem->gain_mm * turns;
}

static void turn_stem(struct stem *stem, double turns)
{
    turns += stem->hand_turns * chance_normal(&stem->chance);
    double slack = fmin(fmax(stem->slack + turns, 0), stem->lash_turns);
    double before = position(stem);
    stem->angle += turns - (slack - stem->slack);
    stem->slack = slack;
    stem->offset_mm += position(stem) - before;
    stem->offset_mm += stem->lock_mm * chance_normal(&stem->chance); /* tightening the lock nut */
}

static double read_throw(struct stem *stem, double true_mm)
{
    double seen = fmax(true_mm + stem->read_mm * chance_normal(&stem->chance), 0);
    return stem->resolution_mm * round(seen / stem->resolution_mm);
}

/* What is known of the scatter from all rounds: of both throws, and of each. */
struct known_scatter {
    double s_mm, dof;
};
struct bench {
    struct known_scatter both, forward, back;
};

/* Reads both throws twice, then as often as the verdict says it should help, at most six times. */
static struct measure_balance measure(struct stem *stem, double tolerance_mm, struct bench *bench)
{
    double forward[MEASURE_READINGS_MAX], back[MEASURE_READINGS_MAX];
    struct measure_balance balance = {.readings_needed = 2};
    size_t n = 0;
    while (n < 6 && balance.readings_needed > 0) {
        for (int more = balance.readings_needed; more > 0 && n < 6; more--, n++) {
            double wear = stem->wear_mm > 0 ? chance_uniform(&stem->chance, 0, stem->wear_mm) : 0;
            forward[n] = read_throw(stem, stem->half_travel_mm + stem->offset_mm + wear);
            back[n] = read_throw(stem, stem->half_travel_mm - stem->offset_mm);
        }
        struct measure_balance_input input = {
            .forward_mm = forward,
            .forward_n = n,
            .back_mm = back,
            .back_n = n,
            .tolerance_mm = tolerance_mm,
            .resolution_mm = stem->resolution_mm,
            .pooled_s_mm = bench->both.s_mm,
            .pooled_dof = bench->both.dof,
        };
        if (!measure_balance_of(&input, &balance, NULL))
            break;
    }
    struct measure_balance forward_only = balance, back_only = balance;
    forward_only.back.n = back_only.forward.n = 1; /* a single reading adds nothing */
    measure_balance_pool(&balance, &bench->both.s_mm, &bench->both.dof);
    measure_balance_pool(&forward_only, &bench->forward.s_mm, &bench->forward.dof);
    measure_balance_pool(&back_only, &bench->back.s_mm, &bench->back.dof);
    return balance;
}

static bool scatters(const struct stem *stem, const struct bench *bench)
{
    return measure_scatter_suspect(bench->forward.s_mm, bench->forward.dof, stem->resolution_mm) ||
           measure_scatter_suspect(bench->back.s_mm, bench->back.dof, stem->resolution_mm);
}

struct stem stem_random(uint64_t seed, enum stem_kind kind, struct measure_turn_prior *prior)
{
    struct stem stem = {.kind = kind, .chance = {seed * UINT64_C(0x9e3779b97f4a7c15) + 1}};
    struct chance *chance = &stem.chance;
    for (int i = 0; i < 8; i++)
        chance_next(chance);
    static const double resolutions_mm[] = {25.4 / 64, 25.4 / 128, 0.1};
    stem.gain_mm = 1.5 * exp(chance_uniform(chance, 0, 1) * log(6)); /* 1.5 to 9 mm a turn */
    stem.sense = chance_uniform(chance, 0, 1) < 0.5 ? -1 : 1;
    stem.lash_turns = chance_uniform(chance, 0, 1.0 / 32);
    stem.slack = chance_uniform(chance, 0, stem.lash_turns);
    stem.lock_mm = chance_uniform(chance, 0, 0.12);
    stem.hand_turns = 1.0 / 128;
    stem.read_mm = chance_uniform(chance, 0.03, 0.2);
    stem.resolution_mm = resolutions_mm[(int)chance_uniform(chance, 0, 3)];
    stem.half_travel_mm = chance_uniform(chance, 6, 9);

    bool known = chance_uniform(chance, 0, 1) < 0.5, told = chance_uniform(chance, 0, 1) < 0.5;
    bool told_right = chance_uniform(chance, 0, 1) < 0.95;
    int said = told_right ? stem.sense : -stem.sense;
    *prior = (struct measure_turn_prior){
        .gain_known = known,
        .gain_mm = known ? stem.gain_mm * exp(0.2 * chance_normal(chance)) : 0,
        .gain_relative_u = !known                                         ? 0
                           : kind == STEM_ECCENTRIC || kind == STEM_SHORT ? 0.4
                                                                          : 0.25,
        .sense = !told      ? MEASURE_SENSE_UNKNOWN
                 : said > 0 ? MEASURE_CLOCKWISE_BACK
                            : MEASURE_CLOCKWISE_FORWARD,
        .sense_trust = 0.95,
        .lock_nut_mm = 0.1,
        .step_turns = 1.0 / 32,
        .increment_turns = 1.0 / 8,
        .total_turns = 1,
        .rounds_max = 6,
    };
    /* Out of centre by what the rounds allowed could cure with something to spare. */
    double reach = fmin(0.4 * stem.gain_mm, 3);
    double side = chance_uniform(chance, 0, 1) < 0.5 ? -1 : 1;
    if (kind == STEM_ECCENTRIC)
        reach = fmin(reach, stem.gain_mm * sin(tau * 0.16) / tau);
    stem.offset_mm = side * chance_uniform(chance, 0.4, fmax(reach, 0.5));
    if (kind == STEM_ECCENTRIC) /* even is reached at mid range, which is where it is meant to be */
        stem.angle =
            asin(fmin(tau * fabs(stem.offset_mm) / stem.gain_mm, 1)) / tau * side * stem.sense;
    if (kind == STEM_SHORT) {
        double throw_mm = stem.gain_mm / tau;
        stem.angle = chance_uniform(chance, -0.15, 0.15);
        stem.middle_mm = side * (throw_mm + chance_uniform(chance, 0.7, 1.5));
        stem.offset_mm = position(&stem);
    }
    if (kind == STEM_WORN)
        stem.wear_mm = chance_uniform(chance, 1, 3);
    return stem;
}

static struct job_end do_job(struct stem stem, const struct measure_turn_prior *prior,
                             double tolerance_mm, advisor advise, bool watching)
{
    struct job_end end = {.first_mm = stem.offset_mm};
    struct measure_turn turn;
    if (!measure_turn_init(&turn, prior, NULL))
        return end;
    struct bench bench = {0};
    struct measure_balance now = measure(&stem, tolerance_mm, &bench);
    for (;;) {
        struct measure_turn_advice advice;
        end.scattered = watching && scatters(&stem, &bench);
        if (end.scattered || now.verdict == MEASURE_EVEN)
            break;
        advise(&turn, now.offset_mm, now.offset_u_mm, &advice);
        end.stop = advice.kind;
        if (advice.kind != MEASURE_TURN_ADJUST && advice.kind != MEASURE_TURN_PROBE)
            break;
        end.most_turns = fmax(end.most_turns, fabs(advice.turns));
        double before_mm = stem.offset_mm;
        turn_stem(&stem, advice.turns);
        end.overshoots += before_mm * stem.offset_mm < 0 && 2 * fabs(stem.offset_mm) > tolerance_mm;
        struct measure_balance then = measure(&stem, tolerance_mm, &bench);
        measure_turn_learn(&turn, advice.turns, now.offset_mm, now.offset_u_mm, then.offset_mm,
                           then.offset_u_mm);
        now = then;
        end.rounds++;
    }
    end.even = !end.scattered && now.verdict == MEASURE_EVEN;
    /* With a worn hook there is no one throw to be even with. */
    end.truly_even = stem.kind != STEM_WORN && 2 * fabs(stem.offset_mm) <= tolerance_mm;
    end.turned = turn.turned_total;
    end.last_mm = stem.offset_mm;
    return end;
}

struct job_end simulate(struct stem stem, const struct measure_turn_prior *prior,
                        double tolerance_mm, advisor advise)
{
    return do_job(stem, prior, tolerance_mm, advise, false);
}

struct job_end simulate_watching(struct stem stem, const struct measure_turn_prior *prior,
                                 double tolerance_mm, advisor advise)
{
    return do_job(stem, prior, tolerance_mm, advise, true);
}
