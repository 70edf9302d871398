/* The pictures: every mark stands where the job's numbers put it. The places are worked out here
 * once more, straight from the numbers and the width of the picture. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "measure/uncertainty.h"
#include "record/picture.h"
#include "record/picture_parts.h"
#include "simulated.h"

static struct simulated simulated;
static char svg[1 << 18];

static void assert_near(double is, double should)
{
    if (!(fabs(is - should) <= 1e-6 * fmax(1, fabs(should))))
        fail_msg("%.9f is not %.9f", is, should);
}

/* ---- axes ----------------------------------------------------------------------------------- */

static void an_axis_is_a_straight_line_through_its_ends(void **state)
{
    (void)state;
    const struct picture_axis axis = {-2, 6, 100, 20};
    assert_near(picture_at(&axis, -2), 100);
    assert_near(picture_at(&axis, 6), 20);
    assert_near(picture_at(&axis, 0), 80);
    assert_near(picture_at(&axis, 2), 60);
    const struct picture_axis none = {3, 3, 0, 10};
    assert_near(picture_at(&none, 3), 5);
}

static void a_step_is_1_2_or_5_and_never_too_fine(void **state)
{
    (void)state;
    const struct {
        double span;
        int most;
        double step;
    } cases[] = {{10, 10, 1},   {10, 5, 2},  {11, 5, 5},       {0.7, 8, 0.1},
                 {0.9, 8, 0.2}, {30, 10, 5}, {1e6, 3, 5e5},    {0.004, 8, 5e-4},
                 {16, 10, 2},   {0, 8, 1},   {HUGE_VAL, 8, 1}, {(double)NAN, 8, 1},
                 {5, 0, 1}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_near(picture_step(cases[i].span, cases[i].most), cases[i].step);
    for (double span = 1e-6; span < 1e6; span *= 1.37) {
        double step = picture_step(span, 8);
        double digits = step / pow(10, floor(log10(step) + 1e-9));
        assert_true(span / step <= 8.0001);
        assert_true(span / step > 2); /* the next finer one would have been too many */
        assert_true(fabs(digits - 1) < 1e-6 || fabs(digits - 2) < 1e-6 || fabs(digits - 5) < 1e-6);
    }
}

/* ---- the throws ----------------------------------------------------------------------------- */

/* Pixels a millimetre, from two marks whose distance is known. */
static double scale_of(const struct picture_throw *row)
{
    return (row->forward - row->back) / (row->forward_mm + row->back_mm);
}

static void assert_bar(const struct picture_bar *bar, double at, double half_mm, double scale)
{
    if (!isfinite(half_mm) || half_mm <= 0) {
        assert_false(bar->there);
        return;
    }
    assert_true(bar->there);
    if (bar->low_ends)
        assert_near(at - bar->low, half_mm * scale);
    if (bar->high_ends)
        assert_near(bar->high - at, half_mm * scale);
    assert_true(bar->low >= PICTURE_EDGE - 1e-9);
    assert_true(bar->high <= PICTURE_WIDTH - PICTURE_EDGE + 1e-9);
}

static void assert_throw(const struct picture_throws *throws, int index)
{
    const struct picture_throw *row = &throws->row[index];
    const struct measure_balance *balance = &simulated.job.round[row->round].balance;
    const double scale = scale_of(row);
    const double k = measure_coverage_factor(0.95, balance->difference_dof);
    assert_near(scale, scale_of(&throws->row[0])); /* both rows to one scale */
    assert_near((row->back + row->forward) / 2, PICTURE_WIDTH / 2.0);
    assert_near(row->rest - row->back, balance->back.mean_mm * scale);
    assert_near(row->forward - row->rest, balance->forward.mean_mm * scale);
    assert_near(PICTURE_WIDTH / 2.0 - row->rest, balance->offset_mm * scale);
    assert_bar(&row->back_bar, row->back, balance->back.U_mm, scale);
    assert_bar(&row->forward_bar, row->forward, balance->forward.U_mm, scale);
    assert_bar(&row->rest_bar, row->rest, k * balance->offset_u_mm, scale);
    assert_near(throws->even_high - throws->even_low, throws->tolerance_mm * scale);
    assert_near((throws->even_high + throws->even_low) / 2, PICTURE_WIDTH / 2.0);
    /* inside the hatched band exactly when the means are even */
    bool inside = row->rest >= throws->even_low && row->rest <= throws->even_high;
    double over_mm = fabs(balance->difference_mm) - throws->tolerance_mm;
    assert_true(inside == (over_mm <= 0) || fabs(over_mm) < 1e-9); /* or on its very edge */
}

static void the_throws_stand_to_scale(void **state)
{
    (void)state;
    int drawn = 0, twice = 0;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        struct picture_throws throws;
        simulated_work(&simulated, seed, seed % 3 == 0 ? (int)(seed % 80) : 2000);
        if (!picture_throws_of(&simulated.job, &throws))
            continue;
        drawn++;
        twice += throws.rows == 2;
        for (int i = 0; i < throws.rows; i++)
            assert_throw(&throws, i);
    }
    assert_true(drawn > 100 && twice > 50);
}

static void nothing_measured_nothing_drawn(void **state)
{
    (void)state;
    struct picture_throws throws;
    struct picture_rounds rounds;
    job_init(&simulated.job);
    assert_false(picture_throws_of(&simulated.job, &throws));
    assert_false(picture_rounds_of(&simulated.job, &rounds));
    simulated.job.rounds = 2; /* begun, not finished */
    assert_false(picture_throws_of(&simulated.job, &throws));
    assert_false(picture_rounds_of(&simulated.job, &rounds));
    struct measure_balance *balance = &simulated.job.round[0].balance;
    simulated.job.round[0].balanced = true;
    balance->sum_mm = (double)NAN; /* nothing that could be drawn */
    assert_false(picture_throws_of(&simulated.job, &throws));
}

/* One reading says nothing of its scatter: there is no bar, and words say so. */
static void what_is_not_known_has_no_bar(void **state)
{
    (void)state;
    const double forward = 8, back = 6;
    const struct measure_balance_input input = {.forward_mm = &forward,
                                                .forward_n = 1,
                                                .back_mm = &back,
                                                .back_n = 1,
                                                .tolerance_mm = 0.4,
                                                .resolution_mm = 0.1};
    struct picture_throws throws;
    job_init(&simulated.job);
    simulated.job.rounds = 1;
    assert_true(measure_balance_of(&input, &simulated.job.round[0].balance, NULL));
    simulated.job.round[0].balanced = true;
    assert_true(picture_throws_of(&simulated.job, &throws));
    assert_int_equal(throws.rows, 1);
    assert_false(throws.row[0].rest_bar.there || throws.row[0].back_bar.there);
    assert_false(throws.has_even); /* no tolerance is known */
    assert_near(throws.row[0].rest, PICTURE_WIDTH / 2.0 - (PICTURE_WIDTH / 2.0 - PICTURE_EDGE) / 7);
    struct text text = text_into(svg, sizeof svg);
    picture_throws_draw(&throws, &text);
    assert_non_null(strstr(svg, "rest too far back by 1.00 mm, uncertainty not known"));
}

/* ---- the rounds ----------------------------------------------------------------------------- */

static double y_of(const struct picture_rounds *rounds, double mm)
{
    double per_mm = (PICTURE_PLOT_BOTTOM - PICTURE_PLOT_TOP) / (rounds->y.high - rounds->y.low);
    return PICTURE_PLOT_BOTTOM - (mm - rounds->y.low) * per_mm;
}

static void assert_standing(const struct picture_rounds *rounds, const struct picture_bar *bar,
                            double mm, double half_mm)
{
    assert_true(bar->there == (isfinite(half_mm) && half_mm > 0));
    if (!bar->there)
        return;
    assert_true(bar->low_ends == (mm - half_mm >= rounds->y.low));
    assert_true(bar->high_ends == (mm + half_mm <= rounds->y.high));
    assert_near(bar->low, bar->low_ends ? y_of(rounds, mm - half_mm) : PICTURE_PLOT_BOTTOM);
    assert_near(bar->high, bar->high_ends ? y_of(rounds, mm + half_mm) : PICTURE_PLOT_TOP);
}

static void assert_round(const struct picture_rounds *rounds, int index)
{
    const struct picture_round *mark = &rounds->round[index];
    const struct job *job = &simulated.job;
    bool measured = index < job->rounds && job->round[index].balanced;
    assert_int_equal(mark->measured, measured);
    if (measured) {
        const struct measure_balance *balance = &job->round[index].balance;
        double k = measure_coverage_factor(0.95, balance->difference_dof);
        assert_near(mark->y, y_of(rounds, balance->offset_mm));
        assert_standing(rounds, &mark->bar, balance->offset_mm, k * balance->offset_u_mm);
        assert_true(mark->bar.low_ends && mark->bar.high_ends);
    }
    if (mark->foretold) {
        const struct measure_turn_advice *advice = &job->round[index - 1].advice;
        assert_near(mark->foretold_y, y_of(rounds, advice->expected_offset_mm));
        assert_standing(rounds, &mark->foretold_bar, advice->expected_offset_mm,
                        2 * advice->expected_u_mm);
        assert_true(mark->foretold_x < mark->x);
    }
    if (index > 0)
        assert_near(mark->x - rounds->round[index - 1].x, rounds->round[1].x - rounds->round[0].x);
    assert_true(mark->x >= PICTURE_PLOT_LEFT && mark->x <= PICTURE_PLOT_RIGHT);
}

static void the_rounds_stand_at_their_offsets(void **state)
{
    (void)state;
    int drawn = 0, foretold = 0, ahead = 0;
    for (uint64_t seed = 1; seed <= 240; seed++) {
        struct picture_rounds rounds;
        simulated_work(&simulated, seed, seed % 2 == 0 ? (int)(40 + seed % 70) : 2000);
        if (!picture_rounds_of(&simulated.job, &rounds))
            continue;
        drawn++;
        ahead += rounds.rounds > simulated.job.rounds;
        for (int i = 0; i < rounds.rounds; i++) {
            assert_round(&rounds, i);
            foretold += rounds.round[i].foretold;
        }
        assert_near(rounds.zero, y_of(&rounds, 0));
        assert_near(rounds.even_low, y_of(&rounds, -rounds.tolerance_mm / 2));
        assert_near(rounds.even_high, y_of(&rounds, rounds.tolerance_mm / 2));
    }
    print_message("%d pictures, %d predictions, %d of a round to come\n", drawn, foretold, ahead);
    assert_true(drawn > 60 && foretold > 200 && ahead > 3);
}

/* ---- the causes ----------------------------------------------------------------------------- */

static void the_causes_bars_are_their_probabilities(void **state)
{
    (void)state;
    const double whole = PICTURE_BARS_RIGHT - PICTURE_BARS_LEFT;
    for (uint64_t seed = 1; seed <= 60; seed++) {
        struct picture_causes causes;
        struct reason_rank before[REASON_CAUSE_COUNT], after[REASON_CAUSE_COUNT];
        struct reason empty;
        double sum_before = 0, sum_after = 0;
        simulated_work(&simulated, seed, (int)(seed * 11 % 200));
        picture_causes_of(&simulated.job, &causes);
        reason_init(&empty);
        reason_rank(&empty, before);
        reason_rank(&simulated.job.reason, after);
        for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
            const struct picture_cause *cause = &causes.cause[i];
            int j = 0;
            while (before[j].cause != cause->cause)
                j++;
            assert_int_equal(cause->cause, after[i].cause);
            assert_near(cause->before_width, whole * before[j].probability);
            assert_near(cause->after_width, whole * after[i].probability);
            assert_near(cause->y, PICTURE_CAUSES_TOP + PICTURE_CAUSE_HEIGHT * i);
            assert_int_equal(cause->confirmed, simulated.job.cause == (int)cause->cause);
            sum_before += cause->before_width;
            sum_after += cause->after_width;
        }
        assert_near(sum_before, whole);
        assert_near(sum_after, whole);
    }
}

/* A shop that has learned other priors sees those. */
static void before_means_with_the_priors_the_job_had(void **state)
{
    (void)state;
    double weight[REASON_CAUSE_COUNT];
    for (size_t i = 0; i < REASON_CAUSE_COUNT; i++)
        weight[i] = i == REASON_IDLE ? REASON_CAUSE_COUNT + 1 : 1;
    struct picture_causes causes;
    job_init(&simulated.job);
    assert_true(reason_init_with(&simulated.job.reason, weight));
    reason_observe(&simulated.job.reason, REASON_THROWS, REASON_EVEN);
    picture_causes_of(&simulated.job, &causes);
    for (size_t i = 0; i < REASON_CAUSE_COUNT; i++)
        assert_near(causes.cause[i].before,
                    weight[causes.cause[i].cause] / (2.0 * REASON_CAUSE_COUNT));
}

/* ---- what is drawn -------------------------------------------------------------------------- */

static int count_of(const char *what)
{
    int n = 0;
    for (const char *at = svg; (at = strstr(at, what)) != NULL; at++)
        n++;
    return n;
}

/* The marks are in the drawing, at their places, and as many as there should be. */
static void what_was_placed_is_drawn(void **state)
{
    (void)state;
    struct picture_rounds rounds;
    struct picture_throws throws;
    struct picture_causes causes;
    char wanted[96];
    simulated_work(&simulated, 1, 2000);
    assert_true(picture_rounds_of(&simulated.job, &rounds));
    struct text text = text_into(svg, sizeof svg);
    picture_rounds_draw(&rounds, &text);
    for (int i = 0; i < rounds.rounds; i++) {
        snprintf(wanted, sizeof wanted, "<circle class=\"p-solid\" cx=\"%.2f\" cy=\"%.2f\"",
                 rounds.round[i].x, rounds.round[i].y);
        assert_int_equal(count_of(wanted), 1);
    }
    assert_int_equal(count_of("<circle"), rounds.rounds + 1); /* and one in the legend */
    assert_int_equal(count_of("class=\"p-hollow\""), rounds.rounds - 1 + 1);
    assert_true(picture_throws_of(&simulated.job, &throws));
    text = text_into(svg, sizeof svg);
    picture_throws_draw(&throws, &text);
    for (int i = 0; i < throws.rows; i++) {
        snprintf(wanted, sizeof wanted, "<path class=\"p-solid\" d=\"M%.2f ", throws.row[i].rest);
        assert_int_equal(count_of(wanted), 1);
    }
    assert_int_equal(count_of(">rest<"), 2);
    picture_causes_of(&simulated.job, &causes);
    text = text_into(svg, sizeof svg);
    picture_causes_draw(&causes, &text);
    assert_int_equal(count_of("class=\"p-solid\""), REASON_CAUSE_COUNT + 1);
    assert_int_equal(count_of("class=\"p-band\""), REASON_CAUSE_COUNT + 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_axis_is_a_straight_line_through_its_ends),
        cmocka_unit_test(a_step_is_1_2_or_5_and_never_too_fine),
        cmocka_unit_test(the_throws_stand_to_scale),
        cmocka_unit_test(nothing_measured_nothing_drawn),
        cmocka_unit_test(what_is_not_known_has_no_bar),
        cmocka_unit_test(the_rounds_stand_at_their_offsets),
        cmocka_unit_test(the_causes_bars_are_their_probabilities),
        cmocka_unit_test(before_means_with_the_priors_the_job_had),
        cmocka_unit_test(what_was_placed_is_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
