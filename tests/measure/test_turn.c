/* The turn advisor: what it refuses, what it learns from one round, when it stops, what it never
 * does. */
#include "near.h"

#include <float.h>
#include <limits.h>
#include <string.h>

#include "measure/turn.h"
#include "measure/uncertainty.h"
#include "simulate.h"

static struct measure_turn_prior usual(void)
{
    return (struct measure_turn_prior){
        .gain_known = true,
        .gain_mm = 4,
        .gain_relative_u = 0.1,
        .sense = MEASURE_CLOCKWISE_FORWARD,
        .sense_trust = 0.95,
        .lock_nut_mm = 0.05,
        .step_turns = 1.0 / 32,
        .increment_turns = 1.0 / 8,
        .total_turns = 1,
        .rounds_max = 6,
    };
}

static struct measure_turn turn_with(const struct measure_turn_prior *prior)
{
    struct measure_turn turn;
    struct fault fault = {0};
    if (!measure_turn_init(&turn, prior, &fault))
        fail_msg("%s", fault.sentence);
    return turn;
}

static struct measure_turn_advice advice_at(const struct measure_turn *turn, double offset_mm,
                                            double u_mm)
{
    struct measure_turn_advice advice;
    measure_turn_advise(turn, offset_mm, u_mm, &advice);
    return advice;
}

static void assert_refused(struct measure_turn_prior prior, const char *says)
{
    struct measure_turn turn;
    struct fault fault = {0};
    assert_false(measure_turn_init(&turn, &prior, &fault));
    assert_int_equal(fault.code, FAULT_USAGE);
    if (strstr(fault.sentence, says) == NULL)
        fail_msg("told: %s", fault.sentence);
}

static void test_refuses_priors_that_make_no_sense(void **state)
{
    (void)state;
    static const double never[] = {NAN, -1, HUGE_VAL, -HUGE_VAL};
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++) {
        struct measure_turn_prior prior = usual();
        prior.gain_mm = never[i];
        assert_refused(prior, "effect");
        prior.gain_known = false;
        assert_refused(prior, "effect");
        prior = usual();
        prior.gain_relative_u = never[i];
        assert_refused(prior, "effect");
        prior = usual();
        prior.sense_trust = never[i];
        assert_refused(prior, "trust");
        prior = usual();
        prior.lock_nut_mm = never[i];
        assert_refused(prior, "lock nut");
        prior = usual();
        prior.step_turns = never[i];
        assert_refused(prior, "finest turn");
        prior = usual();
        prior.increment_turns = never[i];
        assert_refused(prior, "half a turn");
        prior = usual();
        prior.total_turns = never[i];
        assert_refused(prior, "total");
    }
    struct measure_turn_prior prior = usual();
    prior.increment_turns = 0.5;
    assert_refused(prior, "half a turn");
    prior = usual();
    prior.step_turns = 0.126;
    assert_refused(prior, "finest turn");
    prior.step_turns = 1e-5;
    assert_refused(prior, "finest turn");
    prior = usual();
    prior.gain_mm = 0;
    assert_refused(prior, "effect");
    prior = usual();
    prior.sense_trust = 0.4;
    assert_refused(prior, "trust");
    prior = usual();
    prior.sense = (enum measure_sense)17;
    assert_refused(prior, "sense");
    prior = usual();
    prior.rounds_max = -1;
    assert_refused(prior, "rounds");
    struct measure_turn turn;
    assert_false(measure_turn_init(&turn, &prior, NULL));
}

/* Offset 0.3 mm, 4 mm a turn known to 10 %, sense believed to 0.999. The first turn loses half a
 * step of a 32nd; two steps leave 0.3 - 4 * 1.5/32 = 0.11, three leave -0.01 and would be best if
 * overshooting were no dearer; with it, what lies past even by sigma 0.15 weighs more than 0.11. */
static void test_advice_by_hand(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.sense_trust = 1; /* taken as 0.999 */
    struct measure_turn turn = turn_with(&prior);
    struct measure_turn_advice advice = advice_at(&turn, 0.3, 0.1);
    assert_int_equal(advice.kind, MEASURE_TURN_ADJUST);
    assert_int_equal(advice.steps, 2);
    assert_int_equal(advice.numerator, 1);
    assert_int_equal(advice.denominator, 16);
    assert_true(advice.clockwise); /* rest too far back, clockwise moves it forward */
    assert_true(advice.turns == 1.0 / 16);
    assert_near(advice.expected_offset_mm, 0.3 - 0.998 * 4 * 1.5 / 32, 1e-9);
    assert_true(advice.expected_u_mm > 0.1);
    advice = advice_at(&turn, -0.3, 0.1);
    assert_true(advice.turns == -1.0 / 16);
    assert_false(advice.clockwise);
    prior.sense = MEASURE_CLOCKWISE_BACK;
    turn = turn_with(&prior);
    assert_true(advice_at(&turn, 0.3, 0.1).turns == -1.0 / 16);
}

/* What a turn is expected to cost, by numerical integration over what is left: the advice is the
 * cheapest of all turns allowed. */
static double cost_by_integration(const struct measure_turn *turn, double turns, double offset,
                                  double u)
{
    double lash = 0.5 / turn->steps_per_turn, hand = 0.25 / turn->steps_per_turn, sum = 0;
    double reach = fmax(fabs(turns) - lash, 0);
    for (int sense = 0; sense < 2; sense++) {
        double helps = (sense == 0) == (turns * offset > 0) ? 1 : -1;
        double gain = turn->gain_mm[sense], var = turn->gain_var[sense];
        double mean = fabs(offset) - helps * gain * reach;
        double sigma =
            sqrt(reach * reach * var + (gain * gain + var) * (lash * lash + hand * hand) +
                 turn->prior.lock_nut_mm * turn->prior.lock_nut_mm + u * u);
        for (double z = -8; z < 8; z += 0.01) {
            double left = mean + z * sigma, density = exp(-z * z / 2) / sqrt(2 * acos(-1));
            sum += turn->weight[sense] * 0.01 * density * left * left * (left < 0 ? 3 : 1);
        }
    }
    return sum;
}

static void test_advice_costs_least(void **state)
{
    (void)state;
    int seen[5] = {0};
    for (double gain = 1.5; gain < 10; gain *= 1.4) {
        for (double u = 0.05; u < 0.8; u *= 2) {
            for (double offset = -1.1; offset < 1.2; offset += 0.2) {
                struct measure_turn_prior prior = usual();
                prior.gain_mm = gain;
                prior.gain_relative_u = u;
                struct measure_turn turn = turn_with(&prior);
                struct measure_turn_advice advice = advice_at(&turn, offset, 0.08);
                if (advice.steps == 0)
                    continue;
                double cost = cost_by_integration(&turn, advice.turns, offset, 0.08);
                for (int steps = 1; steps <= 4; steps++) {
                    double other = copysign(steps / 32.0, advice.turns);
                    assert_true(cost <= cost_by_integration(&turn, other, offset, 0.08) * 1.0001);
                }
                seen[advice.steps]++;
            }
        }
    }
    assert_true(seen[1] > 0 && seen[2] > 0 && seen[3] > 0 && seen[4] > 0);
}

/* The less the gain is known, the shorter the turn; never beyond what the mean gain asks for and
 * the lash of a first turn. */
static void test_caution_when_the_gain_is_uncertain(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.step_turns = 1.0 / 1000;
    prior.sense_trust = 1;
    double before = 1;
    for (double u = 0.01; u < 3; u *= 1.7) {
        prior.gain_relative_u = u;
        struct measure_turn turn = turn_with(&prior);
        double size = fabs(advice_at(&turn, 0.4, 0.1).turns);
        assert_true(size <= before && size <= 0.4 / 4 + 0.001);
        assert_true(size <= 0.1 / (1 + u * u) + 0.001); /* as without the second term, or less */
        before = size;
    }
    assert_true(before < 0.02);
}

static void test_probes_while_the_sense_is_not_settled(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.sense = MEASURE_SENSE_UNKNOWN;
    prior.sense_trust = NAN; /* not read then */
    struct measure_turn turn = turn_with(&prior);
    assert_near(turn.weight[0], 0.5, 1e-12);
    struct measure_turn_advice advice = advice_at(&turn, 1.5, 0.05);
    assert_int_equal(advice.kind, MEASURE_TURN_PROBE);
    assert_true(advice.steps >= 1 && advice.steps < 4); /* a small one, though the cure is 3/8 */
    /* Under the likelier sense the probe also helps. */
    assert_true(fabs(advice.expected_offset_mm) < 1.5);

    /* It went the other way: from here on the sense is known, and used. */
    double moved = 4 * advice.turns;
    measure_turn_learn(&turn, advice.turns, 1.5, 0.05, 1.5 + moved, 0.05);
    assert_true(turn.weight[1] > 0.95);
    advice = advice_at(&turn, 1.5 + moved, 0.05);
    assert_int_equal(advice.kind, MEASURE_TURN_ADJUST);
    assert_false(advice.clockwise);
    assert_true(advice.turns == -1.0 / 8);
}

/* A statement about the sense may be wrong: a plain response turns it round. */
static void test_wrong_statement_is_unlearned(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    struct measure_turn turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 1.0, 0.05, 1.5, 0.05); /* clockwise, and it grew */
    assert_true(turn.weight[1] > 0.9);
    assert_int_equal(turn.sign_changes, 0); /* it never moved the other way */
    struct measure_turn_advice advice = advice_at(&turn, 1.5, 0.05);
    assert_int_equal(advice.kind, MEASURE_TURN_ADJUST);
    assert_false(advice.clockwise);
}

/* One Kalman step by hand, away from zero where nothing is cut: prior 4 +- 0.4 mm a turn, drift
 * 0.4, not reversed. */
static void test_one_update_by_hand(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.sense_trust = 1;
    struct measure_turn turn = turn_with(&prior);
    turn.last_turns = 0.1; /* lash is taken up already */
    measure_turn_learn(&turn, 0.125, 1.0, 0.03, 0.4, 0.04);
    double var = 0.16 + 0.16, hand = 0.25 / 32;
    double spread =
        0.125 * 0.125 * var + 0.03 * 0.03 + 0.04 * 0.04 + 0.05 * 0.05 + (16 + var) * hand * hand;
    double kalman = var * 0.125 / spread;
    assert_near(turn.gain_mm[0], 4 + kalman * (0.6 - 0.5), 1e-6);
    assert_near(turn.gain_var[0], var * (1 - kalman * 0.125), 1e-6);
    assert_true(turn.weight[0] > 0.999);
    assert_int_equal(turn.rounds, 1);
    assert_near(turn.turned_total, 0.125, 1e-12);
}

/* The same round by numerical integration over the gain's size, zero and above, under both senses:
 * what is left of each Gaussian, and the weights. Prior wide, so that much of it is cut. */
static void test_one_update_by_integration(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.gain_relative_u = 0.8;
    prior.sense_trust = 0.7;
    struct measure_turn turn = turn_with(&prior);
    turn.last_turns = 0.1;
    const double moved = -0.2, turns = 0.125, hand = 0.25 / 32;
    measure_turn_learn(&turn, turns, 1.0, 0.03, 1.0 + moved, 0.04);
    double var = 3.2 * 3.2 + 0.4 * 0.4;
    double noise = 0.03 * 0.03 + 0.04 * 0.04 + 0.05 * 0.05 + (16 + var) * hand * hand;
    double likely[2];
    for (int sense = 0; sense < 2; sense++) {
        double h = (sense == 0 ? -1 : 1) * turns, sums[4] = {0};
        const double step = 1e-4;
        for (double gain = step / 2; gain < 30; gain += step) {
            double before = exp(-(gain - 4) * (gain - 4) / (2 * var));
            double miss = moved - h * gain;
            double both = before * exp(-miss * miss / (2 * noise)) / sqrt(2 * acos(-1) * noise);
            sums[0] += before;
            sums[1] += both;
            sums[2] += both * gain;
            sums[3] += both * gain * gain;
        }
        double mean = sums[2] / sums[1];
        assert_near(turn.gain_mm[sense], mean, 1e-4);
        assert_near(turn.gain_var[sense], sums[3] / sums[1] - mean * mean, 1e-4);
        likely[sense] = 0.99 * sums[1] / sums[0] + 0.01 * 0.05;
    }
    double forward = 0.7 * likely[0], back = 0.3 * likely[1];
    assert_near(turn.weight[0], forward / (forward + back), 1e-5);
}

/* One absurd reading, eight millimetres the wrong way, settles nothing about the sense. */
static void test_one_absurd_reading_settles_nothing(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    struct measure_turn turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 1.0, 0.05, 9.0, 0.05);
    assert_near(turn.weight[0], 0.95, 0.01);
}

/* While nothing is known of the sense, probing goes on the same way: it costs no lash and adds up.
 */
static void test_probing_does_not_waver(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.sense = MEASURE_SENSE_UNKNOWN;
    struct measure_turn turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.03125, 1.0, 0.1, 1.01, 0.1); /* a hair the other way */
    assert_true(turn.weight[1] > 0.5 && turn.weight[1] < 0.65);
    struct measure_turn_advice advice = advice_at(&turn, 1.01, 0.1);
    assert_int_equal(advice.kind, MEASURE_TURN_PROBE);
    assert_true(advice.clockwise);
}

/* Lash: a reversed turn that did little must not make the arm look lame. */
static void test_lash_on_a_reversed_turn(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    struct measure_turn same = turn_with(&prior), reversed = turn_with(&prior);
    same.last_turns = 0.1;
    reversed.last_turns = -0.1;
    measure_turn_learn(&same, 0.0625, 0.5, 0.03, 0.37, 0.03); /* half of the 0.25 mm due */
    measure_turn_learn(&reversed, 0.0625, 0.5, 0.03, 0.37, 0.03);
    assert_true(reversed.gain_mm[0] > same.gain_mm[0]);
    assert_true(reversed.gain_mm[0] > 3.6);
}

static void test_stops_when_rounds_run_out(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.rounds_max = 2;
    struct measure_turn turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 2.0, 0.05, 1.5, 0.05);
    assert_int_equal(advice_at(&turn, 1.5, 0.05).kind, MEASURE_TURN_ADJUST);
    measure_turn_learn(&turn, 0.125, 1.5, 0.05, 1.0, 0.05);
    struct measure_turn_advice advice = advice_at(&turn, 1.0, 0.05);
    assert_int_equal(advice.kind, MEASURE_STOP_ROUNDS);
    assert_int_equal(advice.steps, 0);
    assert_true(advice.turns == 0);
    turn.rounds = INT_MAX; /* counting on would be undefined */
    measure_turn_learn(&turn, 0.125, 1.0, 0.05, 0.9, 0.05);
    assert_int_equal(turn.rounds, INT_MAX);
    prior.rounds_max = 0;
    turn = turn_with(&prior);
    assert_int_equal(advice_at(&turn, 1.0, 0.05).kind, MEASURE_STOP_ROUNDS);
}

static void test_stops_when_the_total_runs_out(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.total_turns = 0.2;
    struct measure_turn turn = turn_with(&prior);
    assert_true(advice_at(&turn, 2.0, 0.05).turns == 0.125);
    measure_turn_learn(&turn, 0.125, 2.0, 0.05, 1.5, 0.05);
    struct measure_turn_advice advice = advice_at(&turn, 1.5, 0.05);
    assert_true(advice.turns == 0.0625); /* 0.075 is left: two 32nds */
    measure_turn_learn(&turn, 0.0625, 1.5, 0.05, 1.25, 0.05);
    assert_int_equal(advice_at(&turn, 1.25, 0.05).kind, MEASURE_STOP_TOTAL);
    assert_int_equal(advice_at(&turn, 0.01, 0.05).kind, MEASURE_TURN_NONE); /* none is wanted */
}

static void test_stops_when_the_arm_does_not_follow(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    struct measure_turn turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 1.5, 0.05, 1.52, 0.05);
    assert_true(advice_at(&turn, 1.52, 0.05).steps > 0); /* once proves little: go on */
    measure_turn_learn(&turn, 0.125, 1.52, 0.05, 1.49, 0.05);
    assert_int_equal(turn.unresponsive, 2);
    assert_int_equal(advice_at(&turn, 1.49, 0.05).kind, MEASURE_STOP_NO_RESPONSE);

    /* The same, seen through readings too coarse to show it: not an accusation, measure better. */
    turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 1.5, 0.5, 1.52, 0.5);
    measure_turn_learn(&turn, 0.125, 1.52, 0.5, 1.49, 0.5);
    assert_true(advice_at(&turn, 1.49, 0.5).steps > 0);

    /* A reversed turn lost in the lash, then the next one bites. */
    turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 0.4, 0.05, -0.2, 0.05);
    measure_turn_learn(&turn, -0.03125, -0.2, 0.05, -0.19, 0.05);
    measure_turn_learn(&turn, -0.03125, -0.19, 0.05, -0.08, 0.05);
    assert_true(turn.unresponsive < 2);
    assert_int_equal(turn.sign_changes, 0);

    /* A stem left alone is no silent stem. */
    turn = turn_with(&prior);
    measure_turn_learn(&turn, 0, 1.5, 0.05, 1.5, 0.05);
    measure_turn_learn(&turn, 0, 1.5, 0.05, 1.5, 0.05);
    assert_int_equal(advice_at(&turn, 1.5, 0.05).kind, MEASURE_TURN_ADJUST);
    assert_int_equal(turn.rounds, 2);
}

/* The probability of a dead arm after three turns, by another way: for every slope by itself, the
 * readings' likelihood by a filter of the offset alone, then integrated over the gain's prior, cut
 * at the least gain (here 0.8 of 4 mm a turn). */
static double likelihood_of_slope(double slope, const double *turns, const double *offset, double u,
                                  double lock)
{
    double at = offset[0], var = u * u, likelihood = 1;
    for (int i = 0; i < 3; i++) {
        bool reversed = i == 0 || turns[i] * turns[i - 1] < 0;
        double reach = fmax(fabs(turns[i]) - (reversed ? 0.5 / 32 : 0), 0);
        at += slope * copysign(reach, turns[i]);
        var += lock * lock;
        double spread = var + u * u, surprise = offset[i + 1] - at;
        likelihood *= exp(-surprise * surprise / (2 * spread)) / sqrt(spread);
        at += var / spread * surprise;
        var *= u * u / spread;
    }
    return likelihood;
}

static void test_dead_arm_by_integration(void **state)
{
    (void)state;
    static const double turns[] = {0.09375, 0.125, -0.0625};
    static const double offsets[][4] = {{1.0, 0.93, 1.05, 1.0}, {1.0, 0.7, 0.3, 0.45}};
    for (int row = 0; row < 2; row++) {
        struct measure_turn_prior prior = usual();
        prior.gain_relative_u = 0.4;
        prior.sense_trust = 0.7;
        struct measure_turn turn = turn_with(&prior);
        assert_near(turn.dead, 0.1, 1e-12);
        for (int i = 0; i < 3; i++)
            measure_turn_learn(&turn, turns[i], offsets[row][i], 0.15, offsets[row][i + 1], 0.15);
        double mass = 0, alive = 0;
        for (double gain = 1 + 5e-4; gain < 16; gain += 1e-3) { /* 1 is a quarter of 4 */
            double prior_density = exp(-(gain - 4) * (gain - 4) / (2 * 1.6 * 1.6));
            mass += prior_density;
            alive +=
                prior_density * (0.7 * likelihood_of_slope(-gain, turns, offsets[row], 0.15, 0.05) +
                                 0.3 * likelihood_of_slope(gain, turns, offsets[row], 0.15, 0.05));
        }
        double dead = likelihood_of_slope(0, turns, offsets[row], 0.15, 0.05);
        double expected = 0.1 * dead / (0.1 * dead + 0.9 * alive / mass);
        assert_near(turn.dead, expected, 1e-4);
        assert_true(row == 0 ? expected > 0.3 : expected < 0.05);
    }
}

/* Probing either way with small turns, none of them large enough to prove anything by itself. */
static void test_dead_arm_shows_over_many_small_turns(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.sense = MEASURE_SENSE_UNKNOWN;
    prior.rounds_max = 50;
    prior.total_turns = 50;
    struct measure_turn turn = turn_with(&prior);
    int rounds = 0;
    while (advice_at(&turn, 1.0, 0.1).kind != MEASURE_STOP_NO_RESPONSE && rounds < 30) {
        double size = rounds % 3 == 0 ? -0.0625 : 0.0625;
        double reading = rounds % 2 == 0 ? 1.05 : 0.95;
        measure_turn_learn(&turn, size, reading, 0.1, 2 - reading, 0.1);
        rounds++;
    }
    assert_true(rounds >= 3 && rounds <= 20);
    assert_true(turn.unresponsive < 2); /* it is not two in a row that said so */
    /* A following one is let off, however often it is read afresh between the turns. */
    turn = turn_with(&prior);
    for (int i = 0; i < 6; i++) {
        double before = 1 - 0.125 * i;
        measure_turn_learn(&turn, 0.0625, before + 0.02, 0.1, before - 0.25 + 0.03, 0.1);
    }
    assert_true(turn.dead < 0.001);
}

static void test_stops_when_the_response_changes_sign(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    struct measure_turn turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 2.0, 0.05, 1.5, 0.05);
    assert_int_equal(turn.sign_changes, 0);
    measure_turn_learn(&turn, 0.125, 1.5, 0.05, 1.9, 0.05);
    assert_int_equal(turn.sign_changes, 1);
    assert_int_equal(advice_at(&turn, 1.9, 0.05).kind, MEASURE_STOP_SIGN_CHANGED);
    /* What noise could do is no change of sign. */
    turn = turn_with(&prior);
    measure_turn_learn(&turn, 0.125, 2.0, 0.05, 1.5, 0.05);
    measure_turn_learn(&turn, 0.03125, 1.5, 0.05, 1.6, 0.05);
    assert_int_equal(turn.sign_changes, 0);
}

static void test_nothing_to_turn(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    struct measure_turn turn = turn_with(&prior);
    /* A step moves 0.125 mm: below half of that no turn makes it better. */
    assert_int_equal(advice_at(&turn, 0.06, 0.05).kind, MEASURE_TURN_NONE);
    assert_int_equal(advice_at(&turn, 0, 0.05).kind, MEASURE_TURN_NONE);
    assert_int_equal(advice_at(&turn, 0.08, 0.05).kind, MEASURE_TURN_ADJUST);
    struct measure_turn_advice advice = advice_at(&turn, 0.06, 0.05);
    assert_near(advice.expected_offset_mm, 0.06, 1e-12);
    assert_true(advice.turns == 0 && advice.steps == 0 && advice.denominator == 1);
    prior.sense = MEASURE_SENSE_UNKNOWN;
    turn = turn_with(&prior);
    assert_int_equal(advice_at(&turn, 0.06, 0.05).kind, MEASURE_TURN_NONE);
    static const double never[] = {NAN, HUGE_VAL, -HUGE_VAL, 1e300};
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++) {
        assert_int_equal(advice_at(&turn, never[i], 0.05).kind, MEASURE_TURN_NONE);
        assert_int_equal(advice_at(&turn, 1, never[i]).kind, MEASURE_TURN_NONE);
    }
}

static void test_fractions_are_in_lowest_terms(void **state)
{
    (void)state;
    static const double steps[] = {1.0 / 32, 1.0 / 64, 1.0 / 12, 0.05, 0.03, 1.0 / 49, 1.0 / 1000};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        struct measure_turn_prior prior = usual();
        prior.step_turns = steps[i];
        struct measure_turn turn = turn_with(&prior);
        assert_true(1.0 / turn.steps_per_turn <= steps[i] * (1 + 1e-6));
        for (double offset = 0.01; offset < 1; offset *= 1.2) {
            struct measure_turn_advice advice = advice_at(&turn, offset, 0.02);
            if (advice.steps == 0)
                continue;
            assert_near(advice.turns, (double)advice.numerator / advice.denominator, 1e-15);
            assert_near(advice.turns, (double)advice.steps / turn.steps_per_turn, 1e-15);
            int common = advice.numerator, other = advice.denominator;
            while (other != 0) {
                int rest = common % other;
                common = other;
                other = rest;
            }
            assert_int_equal(common, 1);
        }
    }
}

/* A step that is one over a whole number but for a hair, and as large as the increment: one over
 * that number would be above it. */
static void test_step_never_grows_past_the_increment(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.step_turns = prior.increment_turns = 1 / (7 + 5e-7);
    struct measure_turn turn = turn_with(&prior);
    assert_int_equal(turn.steps_per_turn, 8);
    assert_true(fabs(advice_at(&turn, 2, 0.05).turns) <= prior.increment_turns);
}

static double any_double(struct chance *chance)
{
    static const double edges[] = {0,        -1,        1e-9, 0.03125, 0.125, 0.4999,    0.5,
                                   1,        3,         1e6,  -1e6,    1e300, DBL_MIN,   -0.05,
                                   HUGE_VAL, -HUGE_VAL, NAN,  0.7,     0.02,  0.1 + 0.2, 10};
    size_t n = sizeof edges / sizeof edges[0];
    if (chance_uniform(chance, 0, 1) < 0.3)
        return edges[(size_t)chance_uniform(chance, 0, (double)n)];
    return chance_uniform(chance, -0.2, 2);
}

static void assert_advice_is_safe(const struct measure_turn *turn,
                                  const struct measure_turn_advice *advice)
{
    double left = turn->prior.total_turns - turn->turned_total;
    bool turns = advice->kind == MEASURE_TURN_ADJUST || advice->kind == MEASURE_TURN_PROBE;
    assert_true(fabs(advice->turns) <= turn->prior.increment_turns);
    assert_true(fabs(advice->turns) < 0.5);
    assert_true((advice->steps > 0) == turns);
    assert_true(!turns || fabs(advice->turns) <= left);
    assert_true(turns || advice->turns == 0);
    assert_true(advice->denominator > 0);
    assert_true(!turns || advice->clockwise == (advice->turns > 0));
    assert_true(!turns || (isfinite(advice->expected_offset_mm) && advice->expected_u_mm >= 0));
}

/* Whatever it is told, whatever it has learned: never a NaN, never above the increment or the
 * total. */
static void test_never_above_the_increment(void **state)
{
    (void)state;
    struct chance chance = {20240607};
    int inits = 0, turns = 0;
    for (int round = 0; round < 60000; round++) {
        struct measure_turn_prior prior = usual();
        double *const numbers[] = {
            &prior.gain_mm,    &prior.gain_relative_u, &prior.sense_trust, &prior.lock_nut_mm,
            &prior.step_turns, &prior.increment_turns, &prior.total_turns};
        for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
            if (chance_uniform(&chance, 0, 1) < 0.25)
                *numbers[i] = any_double(&chance);
        prior.gain_known = chance_uniform(&chance, 0, 1) < 0.5;
        prior.sense = (enum measure_sense)chance_uniform(&chance, 0, 3);
        prior.rounds_max = 1000;
        struct measure_turn turn;
        if (!measure_turn_init(&turn, &prior, NULL))
            continue;
        inits++;
        for (int i = 0; i < 8; i++) {
            double offset = any_double(&chance), u = any_double(&chance);
            struct measure_turn_advice advice = advice_at(&turn, offset, u);
            assert_advice_is_safe(&turn, &advice);
            turns += advice.steps > 0;
            double made = chance_uniform(&chance, 0, 1) < 0.7 ? advice.turns : any_double(&chance);
            measure_turn_learn(&turn, made, offset, u, any_double(&chance), any_double(&chance));
            assert_true(turn.weight[0] > 0 && turn.weight[1] > 0);
            assert_true(turn.gain_mm[0] > 0 && turn.gain_mm[1] > 0);
            assert_true(turn.gain_var[0] > 0 && turn.gain_var[1] > 0);
            assert_true(turn.dead >= 0 && turn.dead <= 1);
        }
    }
    assert_true(inits > 5000 && turns > 5000);
}

/* A long job must not wear the numbers out. */
static void test_stays_sound_over_many_rounds(void **state)
{
    (void)state;
    struct measure_turn_prior prior = usual();
    prior.rounds_max = 1000000;
    prior.total_turns = 1e6;
    struct measure_turn turn = turn_with(&prior);
    for (int i = 0; i < 5000; i++) {
        double size = i % 2 == 0 ? 0.125 : -0.125;
        measure_turn_learn(&turn, size, 0, 0, 0, 0); /* dead and without noise */
        assert_true(turn.gain_mm[0] > 0 && turn.gain_var[0] > 0);
        struct measure_turn_advice advice = advice_at(&turn, 1, 0);
        assert_true(fabs(advice.turns) <= 0.125);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_refuses_priors_that_make_no_sense),
        cmocka_unit_test(test_advice_by_hand),
        cmocka_unit_test(test_advice_costs_least),
        cmocka_unit_test(test_caution_when_the_gain_is_uncertain),
        cmocka_unit_test(test_probes_while_the_sense_is_not_settled),
        cmocka_unit_test(test_wrong_statement_is_unlearned),
        cmocka_unit_test(test_one_update_by_hand),
        cmocka_unit_test(test_one_update_by_integration),
        cmocka_unit_test(test_one_absurd_reading_settles_nothing),
        cmocka_unit_test(test_probing_does_not_waver),
        cmocka_unit_test(test_lash_on_a_reversed_turn),
        cmocka_unit_test(test_stops_when_rounds_run_out),
        cmocka_unit_test(test_stops_when_the_total_runs_out),
        cmocka_unit_test(test_stops_when_the_arm_does_not_follow),
        cmocka_unit_test(test_dead_arm_by_integration),
        cmocka_unit_test(test_dead_arm_shows_over_many_small_turns),
        cmocka_unit_test(test_stops_when_the_response_changes_sign),
        cmocka_unit_test(test_nothing_to_turn),
        cmocka_unit_test(test_fractions_are_in_lowest_terms),
        cmocka_unit_test(test_step_never_grows_past_the_increment),
        cmocka_unit_test(test_never_above_the_increment),
        cmocka_unit_test(test_stays_sound_over_many_rounds),
    };
    return cmocka_run_group_tests_name("measure: turn", tests, NULL, NULL);
}
