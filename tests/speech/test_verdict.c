/* The verdict's rules, one sign pushed at a time: what must never be believed, and what is asked.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "speech/rival.h"
#include "speech/verdict.h"

/* "ninety thou", said well. */
static const struct speech_signs clear = {
    .words = 2,
    .phones = 7,
    .talk = -0.4,
    .worst = -0.5,
    .good = -0.5,
    .least_good = -0.8,
    .familiar = HUGE_VAL,
    .frames = 60,
    .margin = 60,
    .speech_s = 0.8,
    .snr_db = 35,
    .over_db = 35,
};

static enum speech_verdict verdict(struct speech_signs signs)
{
    return speech_judge(&signs, speech_score(&signs));
}

static void clear_words_are_accepted(void **state)
{
    (void)state;
    assert_int_equal(verdict(clear), SPEECH_ACCEPTED);
    assert_true(speech_score(&clear) > 0.9 && speech_score(&clear) <= 1);
}

static void no_words_are_rejected(void **state)
{
    (void)state;
    assert_int_equal(verdict((struct speech_signs){0}), SPEECH_REJECTED);
}

static void words_that_other_talk_explains_far_better_are_rejected(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.talk = -6;
    assert_int_equal(verdict(signs), SPEECH_REJECTED);
}

static void words_that_leave_speech_unexplained_are_not_believed(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.left_out = 80; /* talk finds words beside them */
    assert_int_not_equal(verdict(signs), SPEECH_ACCEPTED);
}

static void one_word_that_does_not_fit_makes_the_sentence_less_likely(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.worst = -5; /* "ninety", and a cough for the "thou" */
    signs.talk = -1.6;
    assert_true(speech_score(&signs) < speech_score(&clear));
    signs.good = -2; /* nor does the network hear it */
    signs.least_good = -4;
    signs.snr_db = 12;
    assert_int_not_equal(verdict(signs), SPEECH_ACCEPTED);
}

static void words_that_the_network_does_not_hear_are_believed_less(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    for (signs.good = -0.5; signs.good > -4; signs.good -= 0.1) {
        struct speech_signs worse = signs;
        signs.least_good = signs.good - 0.3;
        worse.good -= 0.1;
        worse.least_good = worse.good - 0.3;
        assert_true(speech_score(&worse) < speech_score(&signs));
    }
    signs.talk = signs.worst = -1; /* "stop", in a tool that drops */
    assert_int_not_equal(verdict(signs), SPEECH_ACCEPTED);
    signs = clear;
    signs.margin = HUGE_VAL;
    signs.good = -2.6; /* however clearly it wins */
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
}

static void a_machine_that_starts_says_nothing(void **state)
{
    (void)state;
    struct speech_signs signs = clear; /* "stop", as long as a compressor is no noise yet */
    signs.words = 1;
    signs.phones = 4;
    signs.frames = 60;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.frames = 100; /* called out */
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.frames = 150;
    assert_int_equal(verdict(signs), SPEECH_REJECTED);
}

static void another_number_as_near_is_asked_about(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.margin = 17;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.tens = true; /* "sixteen", "sixty" */
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    signs.margin = 21;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.tens = false;
    signs.digit = true; /* "five", "nine" */
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.margin = 19;
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    signs.digit = false;
    signs.grown = true; /* "nine two", "two" */
    signs.margin = 63;
    signs.over_db = 20;
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    signs.over_db = HUGE_VAL; /* nobody else to have said it */
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.grown = false;
    signs.margin = 7;
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
}

static void a_command_must_be_surer(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.talk = -2;
    signs.worst = -2.1;
    assert_true(speech_score(&signs) > 0.75 && speech_score(&signs) < 0.9);
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.command = true;
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    signs = clear;
    signs.command = true;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
}

static void the_more_speech_is_besides_the_words_the_less_they_are_an_answer(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.besides = 11; /* a cough */
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.besides = 12;
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    signs.besides = 40; /* somebody talks */
    assert_int_equal(verdict(signs), SPEECH_REJECTED);
}

static void the_less_it_is_like_who_is_known_the_less_it_is_believed(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    double before = speech_score(&clear);
    for (signs.familiar = 1; signs.familiar > -4; signs.familiar -= 0.05) {
        double score = speech_score(&signs);
        assert_true(score <= before);
        assert_true(signs.familiar > 0.2 ? score == before
                                         : signs.familiar > 0.1 || score < before);
        before = score;
    }
    signs.familiar = 0; /* as it is now and then */
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.talk = signs.worst = -2; /* "say again", to somebody else */
    signs.familiar = HUGE_VAL;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.familiar = 1; /* not for its voice alone */
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    signs.talk = signs.worst = -1.6;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.familiar = -0.2;
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    double of_a_long_one = speech_score(&signs);
    signs.frames = 25; /* "no": it tells little of who says it */
    assert_true(speech_score(&signs) > of_a_long_one);
    signs = clear;
    signs.familiar = -0.7;
    assert_int_not_equal(verdict(signs), SPEECH_ACCEPTED);
}

static void numbers_that_are_mixed_up_are_known(void **state)
{
    (void)state;
    assert_true(speech_other_tens("sixteen thou", "sixty thou"));
    assert_true(speech_other_tens("a hundred and nineteen", "a hundred and ninety nine"));
    assert_false(speech_other_tens("sixteen thou", "sixteen inches"));
    assert_true(speech_other_tens("fifty nine millimetres", "thirty nine millimetres"));
    assert_true(speech_other_tens("ten point one", "eight point one"));
    assert_false(speech_other_tens("eight point one", "ten point one")); /* a word less to have */
    assert_true(speech_other_tens("one hundred and ten", "one hundred"));
    assert_false(speech_other_tens("fifty nine millimetres", "fifty five millimetres"));
    assert_false(speech_other_tens("one one point four", "one nine point four"));
    assert_false(speech_other_tens("fifty nine millimetres", "")); /* there is no other */
    assert_true(speech_other_digit("niner five point one", "niner four point one"));
    assert_true(speech_other_digit("five", "nine"));
    assert_false(speech_other_digit("five point one", "five point two three"));
    assert_false(speech_other_digit("five thou", "five inches"));
    assert_false(speech_other_digit("five", "five"));
    assert_false(speech_other_digit("five", ""));
    assert_true(speech_other_shorter("nine two millimetres", "two millimetres"));
    assert_true(speech_other_shorter("two five", "two"));
    assert_false(speech_other_shorter("two millimetres", "nine two millimetres"));
    assert_false(speech_other_shorter("nine two one", "two"));
    assert_false(speech_other_shorter("two", ""));
    assert_false(speech_other_shorter("two", "two"));
}

static void a_rival_as_good_is_never_overruled(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.margin = 1;
    assert_int_not_equal(verdict(signs), SPEECH_ACCEPTED);
}

static void the_louder_the_noise_the_clearer_a_reading_must_win(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.talk = signs.worst = -1.5; /* said less well */
    signs.words = 1;
    signs.good = -1.6;
    signs.least_good = -2.1;
    signs.margin = 13;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
    signs.snr_db = signs.over_db = 10;
    assert_int_equal(verdict(signs), SPEECH_UNSURE);
    signs.margin = 200;
    assert_int_equal(verdict(signs), SPEECH_ACCEPTED);
}

static void deafening_noise_is_rejected(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    signs.margin = HUGE_VAL;
    signs.snr_db = 3;
    assert_int_not_equal(verdict(signs), SPEECH_REJECTED);
    assert_false(speech_deafening(&signs));
    signs.snr_db = 0.9;
    assert_int_equal(verdict(signs), SPEECH_REJECTED);
    assert_true(speech_deafening(&signs));
    signs.snr_db = NAN;
    assert_int_equal(verdict(signs), SPEECH_REJECTED);
}

static void more_noise_never_makes_a_reading_more_believed(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    for (int bursts_db = 0; bursts_db <= 30; bursts_db += 10)
        for (signs.margin = 0; signs.margin < 80; signs.margin += 1) {
            enum speech_verdict before = SPEECH_ACCEPTED; /* SPEECH_ACCEPTED < UNSURE < REJECTED */
            for (signs.snr_db = 60; signs.snr_db > -10; signs.snr_db -= 0.5) {
                signs.over_db = signs.snr_db - bursts_db;
                assert_true(verdict(signs) >= before);
                before = verdict(signs);
            }
        }
}

static void others_talk_that_pauses_is_noise_all_the_same(void **state)
{
    (void)state;
    struct speech_signs quiet = clear, steady = clear, bursts = clear;
    quiet.margin = steady.margin = bursts.margin = 15;
    steady.snr_db = steady.over_db = bursts.over_db = 6;
    assert_true(speech_score(&steady) < speech_score(&quiet));
    assert_true(speech_score(&bursts) < speech_score(&steady)); /* the power in bursts */
    bursts.over_db = HUGE_VAL; /* nothing around the words to tell by */
    assert_true(speech_score(&bursts) > speech_score(&steady));
}

static void a_better_fit_never_scores_lower(void **state)
{
    (void)state;
    struct speech_signs signs = clear;
    double before = 0;
    for (signs.talk = -9; signs.talk <= 1; signs.talk += 0.25) {
        assert_true(speech_score(&signs) >= before);
        before = speech_score(&signs);
    }
    before = 0;
    for (signs.margin = -20; signs.margin <= 80; signs.margin += 1) {
        assert_true(speech_score(&signs) >= before);
        before = speech_score(&signs);
    }
}

static void signs_out_of_any_range_still_give_a_chance(void **state)
{
    (void)state;
    static const double odd[] = {HUGE_VAL, -HUGE_VAL, 1e300, -1e300, 0};
    for (size_t i = 0; i < 5; i++) {
        struct speech_signs signs = clear;
        signs.talk = signs.margin = signs.left_out = signs.over_db = odd[i];
        signs.familiar = odd[i];
        double score = speech_score(&signs);
        assert_true(score >= 0 && score <= 1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clear_words_are_accepted),
        cmocka_unit_test(no_words_are_rejected),
        cmocka_unit_test(words_that_other_talk_explains_far_better_are_rejected),
        cmocka_unit_test(words_that_leave_speech_unexplained_are_not_believed),
        cmocka_unit_test(one_word_that_does_not_fit_makes_the_sentence_less_likely),
        cmocka_unit_test(words_that_the_network_does_not_hear_are_believed_less),
        cmocka_unit_test(a_machine_that_starts_says_nothing),
        cmocka_unit_test(another_number_as_near_is_asked_about),
        cmocka_unit_test(a_command_must_be_surer),
        cmocka_unit_test(the_more_speech_is_besides_the_words_the_less_they_are_an_answer),
        cmocka_unit_test(the_less_it_is_like_who_is_known_the_less_it_is_believed),
        cmocka_unit_test(numbers_that_are_mixed_up_are_known),
        cmocka_unit_test(a_rival_as_good_is_never_overruled),
        cmocka_unit_test(the_louder_the_noise_the_clearer_a_reading_must_win),
        cmocka_unit_test(deafening_noise_is_rejected),
        cmocka_unit_test(more_noise_never_makes_a_reading_more_believed),
        cmocka_unit_test(others_talk_that_pauses_is_noise_all_the_same),
        cmocka_unit_test(a_better_fit_never_scores_lower),
        cmocka_unit_test(signs_out_of_any_range_still_give_a_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
