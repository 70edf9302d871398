/*
 * The bench's own instruments: speech levels by ITU-T P.56, noise at a wanted distance below, and
 * noises that are what they are called. Expected values follow from the definitions named in
 * level.h and noises.h; the tolerances are of this test.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "level.h"
#include "noises.h"
#include "speech/recogniser.h"

enum { SECOND = SPEECH_RATE_HZ, LONG = 20 * SECOND };

static const double TURN = 6.283185307179586;
static int16_t pcm[LONG];
static double noise[LONG], other[LONG];

static void assert_near(double value, double wanted, double within)
{
    if (!(fabs(value - wanted) <= within))
        print_message("%g is not within %g of %g\n", value, within, wanted);
    assert_true(fabs(value - wanted) <= within);
}

/* ---- levels ---- */

static void sine(double amplitude, size_t from, size_t until)
{
    for (size_t i = from; i < until; i++)
        pcm[i] = (int16_t)lrint(32767 * amplitude * sin(TURN * 440 * (double)i / SECOND));
}

static void silence(void)
{
    memset(pcm, 0, sizeof pcm);
}

static void a_sine_that_never_stops_is_3_dB_under_overload(void **state)
{
    (void)state;
    double active = 0;
    sine(1, 0, LONG);
    assert_near(level_active_db(pcm, LONG, &active), -3.01, 0.02);
    assert_near(active, 1, 0.01);
    sine(0.1, 0, LONG);
    assert_near(level_active_db(pcm, LONG, &active), -23.01, 0.02);
}

/* What P.56 is for: the root mean square of the second sound is 6 dB lower, its level is not. */
static void pauses_do_not_lower_the_level(void **state)
{
    (void)state;
    double active = 0;
    silence();
    for (size_t s = 0; s < 20; s += 4)
        sine(0.1, s * SECOND, (s + 1) * SECOND);
    /* The hangover of 0.2 s after each second and the envelope's fall count as speech: 0.8 dB. */
    assert_near(level_active_db(pcm, LONG, &active), -23.01 - 10 * log10(1.2), 0.3);
    assert_near(active, 1.2 / 4, 0.03);
    double short_db = level_active_db(pcm, 4 * SECOND, NULL);
    assert_near(level_active_db(pcm, LONG, NULL), short_db, 0.05);
}

static void silence_has_no_level(void **state)
{
    (void)state;
    double active = 1;
    struct recording nothing = {pcm, LONG};
    silence();
    assert_true(level_active_db(pcm, LONG, &active) < -1000);
    assert_near(active, 0, 0);
    assert_true(level_active_db(pcm, 0, NULL) < -1000);
    assert_false(level_set(&nothing, -26));
    noise_make(noise_named("white"), 1, NULL, noise, LONG);
    assert_false(level_mix(&nothing, noise, 10));
}

static void noise_ends_up_where_it_was_wanted(void **state)
{
    (void)state;
    static int16_t clean[4 * SECOND];
    static const double wanted[] = {20, 10, 5, 0, -5};
    struct recording said = {pcm, 4 * SECOND};
    assert_true(noise_make(noise_named("engine"), 7, NULL, noise, said.frames));
    for (size_t w = 0; w < sizeof wanted / sizeof wanted[0]; w++) {
        silence();
        sine(0.3, SECOND, 3 * SECOND);
        assert_true(level_set(&said, -30));
        double speech_db = level_active_db(pcm, said.frames, NULL), power = 0;
        assert_near(speech_db, -30, 0.05);
        memcpy(clean, pcm, sizeof clean);
        assert_true(level_mix(&said, noise, wanted[w]));
        for (size_t i = 0; i < said.frames; i++)
            power += pow((pcm[i] - clean[i]) / 32768.0, 2) / (double)said.frames;
        assert_near(speech_db - 10 * log10(power), wanted[w], 0.05);
    }
}

/* ---- noises ---- */

/* A stretch with a syllable's rise and fall, standing in for somebody who talks. */
static struct recording talker(uint32_t seed)
{
    static int16_t said[4][2 * SECOND];
    int16_t *to = said[seed % 4];
    for (size_t i = 0; i < 2 * SECOND; i++) {
        double t = (double)i / SECOND, syllable = pow(sin(TURN * 2 * t), 2);
        to[i] =
            (int16_t)lrint(6000 * syllable * sin(TURN * (150 + 40 * seed) * t + 3 * sin(9 * t)));
    }
    return (struct recording){to, 2 * SECOND};
}

static struct noise_talkers talkers(void)
{
    static struct recording said[4];
    for (uint32_t t = 0; t < 4; t++)
        said[t] = talker(t);
    return (struct noise_talkers){said, 4};
}

static void every_noise_sounds_and_comes_again_from_its_seed(void **state)
{
    (void)state;
    struct noise_talkers people = talkers();
    for (size_t k = 0; k < noise_count(); k++) {
        const struct noise_kind *kind = noise_at(k);
        size_t frames = kind->under_speech ? 3 * SECOND / 2 : 8 * SECOND; /* as short as "no" */
        for (uint32_t seed = 1; seed <= 4; seed++) {
            assert_true(noise_make(kind, seed, &people, noise, frames));
            assert_near(level_rms(noise, frames), 1, 1e-6);
        }
        assert_true(noise_make(kind, 4, &people, other, frames));
        assert_memory_equal(noise, other, frames * sizeof *noise);
        assert_true(noise_make(kind, 5, &people, other, frames));
        assert_memory_not_equal(noise, other, frames * sizeof *noise);
        assert_ptr_equal(noise_named(kind->name), kind);
        assert_true(noise_make(kind, 1, NULL, noise, frames) != kind->people);
    }
    assert_null(noise_named("opera"));
    assert_null(noise_at(noise_count()));
}

static void some_noises_are_kept_from_the_tuning(void **state)
{
    (void)state;
    size_t kept = 0, tune = 0, single = 0;
    for (size_t k = 0; k < noise_count(); k++) {
        kept += noise_at(k)->under_speech && !noise_at(k)->tune;
        tune += noise_at(k)->under_speech && noise_at(k)->tune;
        single += !noise_at(k)->under_speech && !noise_at(k)->tune;
    }
    assert_true(kept >= 2 && tune >= 2 && single >= 2);
}

/* Power between two frequencies, dB: sums of single bins by Goertzel's recursion (Am. Math. Monthly
 * 65, 1958), every 20 Hz over a second, averaged over the stretch. */
static double band_db(const double *samples, size_t frames, double low_hz, double high_hz)
{
    double power = 0;
    for (size_t from = 0; from + SECOND <= frames; from += SECOND)
        for (double hz = low_hz; hz < high_hz; hz += 20) {
            double twice = 2 * cos(TURN * hz / SECOND), before = 0, now = 0;
            for (size_t i = from; i < from + SECOND; i++) {
                double next = samples[i] + twice * now - before;
                before = now;
                now = next;
            }
            power += now * now + before * before - twice * now * before;
        }
    return 10 * log10(power);
}

static double make_and_compare(const char *name, double low, double high, double low2, double high2)
{
    struct noise_talkers people = talkers();
    assert_true(noise_make(noise_named(name), 3, &people, noise, 3 * SECOND));
    return band_db(noise, 3 * SECOND, low, high) - band_db(noise, 3 * SECOND, low2, high2);
}

/* White: as much in each hertz, 6 dB more two octaves up. Pink: as much in each octave. */
static void white_and_pink_have_their_slopes(void **state)
{
    (void)state;
    assert_near(make_and_compare("white", 2000, 4000, 500, 1000), 6.02, 0.7);
    assert_near(make_and_compare("pink", 2000, 4000, 500, 1000), 0, 0.9);
}

static void a_compressor_hums_and_an_engine_is_low(void **state)
{
    (void)state;
    assert_true(make_and_compare("compressor", 100, 130, 1500, 4000) > 0);
    assert_true(make_and_compare("engine", 40, 500, 1000, 8000) > 3);
    assert_true(make_and_compare("radio", 200, 4000, 20, 120) > 15);
    assert_true(make_and_compare("radio", 200, 4000, 6000, 8000) > 10);
}

static double crest_db(const char *name)
{
    double most = 0;
    assert_true(noise_make(noise_named(name), 5, NULL, noise, LONG));
    for (size_t i = 0; i < LONG; i++)
        most = fmax(most, fabs(noise[i]));
    return 20 * log10(most);
}

static void blows_stand_out_and_hiss_does_not(void **state)
{
    (void)state;
    assert_true(crest_db("white") < 16);
    assert_true(crest_db("impacts") > 18);
    assert_true(crest_db("tools") > 18);
}

/* How alike the loudness of the noise is to itself `lag_s` later. */
static double rhythm(double lag_s)
{
    enum { STEP = SECOND / 500, STEPS = LONG / STEP };
    static double loud[STEPS];
    double mean = 0, sum = 0;
    size_t lag = (size_t)lrint(lag_s * 500);
    for (size_t s = 0; s < STEPS; s++) {
        loud[s] = level_rms(noise + s * STEP, STEP);
        mean += loud[s] / STEPS;
    }
    for (size_t s = 0; s + lag < STEPS; s++)
        sum += (loud[s] - mean) * (loud[s + lag] - mean);
    return sum / (double)(STEPS - lag);
}

/* The same cylinder fires every 720 degrees of crank; the other one 315 after it, not half way. */
static void a_twin_fires_unevenly(void **state)
{
    (void)state;
    double uneven = 0, half = 0;
    for (uint32_t seed = 1; seed <= 5; seed++) {
        double best = 0, cycle_s = 0;
        assert_true(noise_make(noise_named("engine"), seed, NULL, noise, LONG));
        for (double lag_s = 0.09; lag_s < 0.16; lag_s += 0.002)
            if (rhythm(lag_s) > best) {
                best = rhythm(lag_s);
                cycle_s = lag_s;
            }
        uneven += rhythm(cycle_s * 315 / 720) / best;
        half += rhythm(cycle_s / 2) / best;
        print_message("a cycle of %.3f s: %.0f turns a minute\n", cycle_s, 120 / cycle_s);
        assert_true(120 / cycle_s > 820 && 120 / cycle_s < 1080);
    }
    print_message("alike after 315 degrees %.2f, after 360 %.2f\n", uneven / 5, half / 5);
    assert_true(uneven > 1.2 * half);
}

/* How alike the noise is to itself a note's period later, 70 to 400 Hz: the best lag of each 50 ms,
 * averaged. */
static double notes(const char *name)
{
    enum { STEP = SECOND / 20, LEAST = SECOND / 400, MOST = SECOND / 70 };
    double sum = 0;
    size_t steps = 0;
    assert_true(noise_make(noise_named(name), 9, NULL, noise, LONG));
    for (size_t from = 0; from + STEP + MOST < LONG; from += STEP, steps++) {
        double best = 0, power = 0;
        for (size_t i = from; i < from + STEP; i++)
            power += noise[i] * noise[i];
        for (size_t lag = LEAST; lag < MOST; lag++) {
            double alike = 0;
            for (size_t i = from; i < from + STEP; i++)
                alike += noise[i] * noise[i + lag];
            best = fmax(best, power > 0 ? alike / power : 0);
        }
        sum += best;
    }
    return sum / (double)steps;
}

static void music_is_made_of_notes(void **state)
{
    (void)state;
    print_message("music %.2f, song %.2f, white %.2f\n", notes("music"), notes("song"),
                  notes("white"));
    assert_true(notes("music") > 0.45 && notes("song") > 0.45);
    assert_true(notes("white") < 0.3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sine_that_never_stops_is_3_dB_under_overload),
        cmocka_unit_test(pauses_do_not_lower_the_level),
        cmocka_unit_test(silence_has_no_level),
        cmocka_unit_test(noise_ends_up_where_it_was_wanted),
        cmocka_unit_test(every_noise_sounds_and_comes_again_from_its_seed),
        cmocka_unit_test(some_noises_are_kept_from_the_tuning),
        cmocka_unit_test(white_and_pink_have_their_slopes),
        cmocka_unit_test(a_compressor_hums_and_an_engine_is_low),
        cmocka_unit_test(blows_stand_out_and_hiss_does_not),
        cmocka_unit_test(a_twin_fires_unevenly),
        cmocka_unit_test(music_is_made_of_notes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
