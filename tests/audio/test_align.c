/* The offset between what is heard and what is played is found through the jitter of the reports,
 * kept still, and followed when the clocks drift or a stream breaks. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "audio/align.h"

enum { RATE = 16000, STEP = 160 }; /* 10 ms */

/* Uniform in -1 to 1. */
static double jitter(uint32_t *seed)
{
    *seed = *seed * 1664525U + 1013904223U; /* Knuth, The Art of Computer Programming 2, 3.3.4 */
    return (double)(*seed >> 8) / (double)(1 << 23) - 1;
}

struct run {
    struct audio_align align;
    uint32_t seed;
    double worst; /* frames between used and true */
    long widest;  /* the largest single move */
    long moves;
};

/* `seconds` of reports around `offset`, which drifts by `drift` frames a frame. */
static double follow(struct run *run, double offset, double drift, double jitter_frames,
                     double seconds)
{
    run->worst = 0;
    run->widest = run->moves = 0;
    for (int i = 0; i < (int)(seconds * 100); i++) {
        long before = run->align.used;
        offset += drift * STEP;
        audio_align_see(&run->align, offset + jitter_frames * jitter(&run->seed), STEP);
        long used = i % 5 == 0 ? audio_align_step(&run->align) : before;
        run->worst = fmax(run->worst, fabs((double)used - offset));
        run->moves += used != before;
        if (labs(used - before) > run->widest)
            run->widest = labs(used - before);
    }
    return offset;
}

static void jitter_does_not_move_it(void **state)
{
    (void)state;
    struct run run = {.seed = 1};
    audio_align_init(&run.align, RATE);
    follow(&run, -512, 0, 0.005 * RATE, 2); /* reports out by up to 5 ms */
    follow(&run, -512, 0, 0.005 * RATE, 60);
    print_message("worst %.1f frames, %ld moves a minute\n", run.worst, run.moves);
    assert_true(run.worst <= 0.002 * RATE);
    assert_true(run.widest <= 1);
    assert_true(run.moves < 100);
}

static void drift_is_followed_a_frame_at_a_time(void **state)
{
    (void)state;
    struct run run = {.seed = 2};
    audio_align_init(&run.align, RATE);
    double offset = follow(&run, 300, 0, 0.001 * RATE, 5);
    follow(&run, offset, 200e-6, 0.001 * RATE, 120); /* two bad crystals: 24 ms in two minutes */
    print_message("worst %.1f frames\n", run.worst);
    assert_true(run.worst <= 0.003 * RATE);
    assert_true(run.widest <= 1);
    assert_true(run.moves > 300);
}

static void a_stray_report_is_passed_over(void **state)
{
    (void)state;
    struct run run = {.seed = 3};
    audio_align_init(&run.align, RATE);
    follow(&run, 0, 0, 4, 5);
    for (int i = 0; i < 20; i++)
        audio_align_see(&run.align, 8000, STEP);
    assert_true(labs(audio_align_step(&run.align)) <= 16);
}

static void a_break_in_a_stream_is_followed_within_a_second(void **state)
{
    (void)state;
    struct run run = {.seed = 4};
    audio_align_init(&run.align, RATE);
    follow(&run, 0, 0, 16, 5);
    follow(&run, 4000, 0, 16, 1);
    follow(&run, 4000, 0, 16, 5);
    assert_true(run.worst <= 0.002 * RATE);
}

static void the_first_report_is_used_at_once(void **state)
{
    (void)state;
    struct audio_align align;
    audio_align_init(&align, RATE);
    assert_int_equal(audio_align_step(&align), 0);
    audio_align_see(&align, -1234, STEP);
    assert_int_equal(audio_align_step(&align), -1234);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(jitter_does_not_move_it),
        cmocka_unit_test(drift_is_followed_a_frame_at_a_time),
        cmocka_unit_test(a_stray_report_is_passed_over),
        cmocka_unit_test(a_break_in_a_stream_is_followed_within_a_second),
        cmocka_unit_test(the_first_report_is_used_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
