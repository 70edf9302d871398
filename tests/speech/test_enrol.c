/*
 * Learning a voice: the slope is that of the loss (by differences of it), what is learned from
 * ten sentences tells more of others by the same voice, it is of no use to another network, and a
 * damaged file is no voice.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "align.h"
#include "base/hash.h"
#include "level.h"
#include "noises.h"
#include "speech/enrol.h"
#include "speech/person.h"
#include "speech/phonetic_learn.h"
#include "speech/phonetic_network.h"
#include "speech/recogniser.h"
#include "speech/verdict.h"
#include "voices.h"

static struct align *align;
static struct speech_phonetic *network;
static struct speech_recogniser *ear;

/* A voice the network never met, and what was learned of it. */
static const char VOICE[] = "slt";
static struct speech_phonetic *known;

static int open_all(void **state)
{
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = GRAMMARS};
    (void)state;
    align = align_open();
    network = speech_phonetic_open();
    ear = speech_recogniser_create(&config, &fault);
    return align != NULL && network != NULL && ear != NULL ? 0 : -1;
}

static int close_all(void **state)
{
    (void)state;
    speech_recogniser_destroy(ear);
    speech_phonetic_close(known);
    speech_phonetic_close(network);
    align_close(align);
    return 0;
}

/* As somebody in a quiet room. */
static void say(const char *voice, const char *words, struct recording *said)
{
    assert_true(voices_say(voice, words, said));
    assert_true(level_set(said, -26) && recording_pad(said, 300));
    assert_true(noise_put_under(said, "pink", 7, 40));
}

static void add_to(struct phonetic_lesson *lesson, const char *voice, const char *words)
{
    struct recording said;
    struct speech_front front;
    struct speech_seen seen = {0};
    struct align_sounds sounds;
    say(voice, words, &said);
    assert_true(align_words(align, &said, words, &sounds));
    assert_true(speech_front_make(said.pcm, said.frames, &front));
    assert_true(align_see(align, &front, &seen) && seen.frames == sounds.frames);
    assert_true(phonetic_lesson_add(lesson, network, &seen, sounds.sound));
    speech_seen_finish(&seen);
    speech_front_finish(&front);
    free(sounds.sound);
    recording_free(&said);
}

/* ---- the slope ---- */

static double loss(const struct phonetic_lesson *lesson, const struct speech_phonetic *of)
{
    double nats = NAN;
    assert_true(phonetic_lesson_loss(lesson, of, &nats));
    return nats;
}

/* Where the slope of some weights is steepest. */
static size_t steepest(const float *slope, size_t from, size_t end)
{
    size_t best = from;
    for (size_t n = from; n < end; n++)
        best = fabsf(slope[n]) > fabsf(slope[best]) ? n : best;
    return best;
}

/* Central differences: of every layer, the weight of a tap, and what a sum begins with, for which
 * the loss hangs on most; in the first, the noise's too. */
static void the_slope_is_that_of_the_loss(void **state)
{
    static const float STEP = 0.002f;
    struct phonetic_lesson *lesson = phonetic_lesson_open(0.3f);
    struct speech_phonetic *at = speech_phonetic_open();
    (void)state;
    add_to(lesson, "slt", "two millimetres");
    struct speech_phonetic *slope = phonetic_lesson_slope(lesson, network, 0);
    assert_non_null(slope);
    for (size_t l = 0; l < phonetic_layers; l++) {
        size_t outputs = phonetic_table[l].outputs;
        size_t end[] = {phonetic_table[l].taps * phonetic_table[l].inputs * outputs,
                        phonetic_inputs(l) * outputs, phonetic_weights(l)};
        for (size_t part = 0, from = 0; part < 3; from = end[part++]) {
            if (from == end[part])
                continue; /* no noise */
            size_t n = steepest(slope->weight[l], from, end[part]);
            float was = at->weight[l][n];
            at->weight[l][n] = was + STEP;
            double more = loss(lesson, at);
            at->weight[l][n] = was - STEP;
            double less = loss(lesson, at), to = (double)slope->weight[l][n];
            at->weight[l][n] = was;
            double by_difference = (more - less) / (2 * (double)STEP);
            print_message("layer %zu, %zu: slope %.5f, by differences %.5f\n", l, n, to,
                          by_difference);
            assert_true(fabs(by_difference) > 1e-4);
            assert_true(fabs(to - by_difference) < 0.05 * fabs(by_difference));
        }
    }
    speech_phonetic_close(slope);
    speech_phonetic_close(at);
    phonetic_lesson_close(lesson);
}

/* ---- learning ---- */

static const char *const others[] = {
    "six four point two millimetres", "one point eight millimetres", "it is hard to find",
    "five eighths of an inch",        "ninety thousandths",          "the battery is disconnected"};

/* Every other sentence, for time: the command's test has all of them. */
static void sentences_are_learned_from(void **state)
{
    struct fault fault = {0};
    struct speech_enrolment *enrolment = speech_enrolment_open(ear, &fault);
    (void)state;
    assert_non_null(enrolment);
    for (size_t s = 0; speech_person_sentence(s) != NULL; s += 2) {
        struct recording said;
        struct speech_heard heard;
        say(VOICE, speech_person_sentence(s), &said);
        assert_true(speech_recognise(ear, "enrol", said.pcm, said.frames, &heard, &fault));
        assert_string_equal(heard.words, speech_person_sentence(s));
        assert_true(speech_enrolment_take(enrolment, heard.words, &fault));
        recording_free(&said);
    }
    known = speech_enrolment_learn(enrolment, &fault);
    assert_non_null(known);
    speech_enrolment_close(enrolment);
}

static void what_is_read_tells_of_what_is_said(void **state)
{
    struct phonetic_lesson *said = phonetic_lesson_open(0);
    (void)state;
    for (size_t o = 0; o < sizeof others / sizeof others[0]; o++)
        add_to(said, VOICE, others[o]);
    double before = loss(said, network), after = loss(said, known);
    print_message("%.3f nats a frame before, %.3f after\n", before, after);
    assert_true(after < 0.9 * before);
    phonetic_lesson_close(said);
}

static void a_score_grows_with_who_is_known(void **state)
{
    static const char words[] = "niner four point zero six millimetres";
    struct speech_heard before, after, again;
    struct recording said;
    struct fault fault = {0};
    (void)state;
    say(VOICE, words, &said);
    assert_true(noise_put_under(&said, "engine", 3, 10));
    assert_true(speech_recognise(ear, "millimetres", said.pcm, said.frames, &before, &fault));
    speech_recogniser_know(ear, known);
    assert_true(speech_recognise(ear, "millimetres", said.pcm, said.frames, &after, &fault));
    speech_recogniser_know(ear, NULL);
    assert_true(speech_recognise(ear, "millimetres", said.pcm, said.frames, &again, &fault));
    print_message("margin %.1f before, %.1f after\n", before.margin, after.margin);
    assert_string_equal(after.words, words);
    assert_true(after.margin > before.margin || strcmp(before.words, words) != 0);
    assert_true(fabs(again.score - before.score) < 1e-12);
    recording_free(&said);
}

/* Mean familiarity of what a voice says, to the ear that knows VOICE; how many were believed. */
static double familiarity_of(const char *voice, size_t *believed)
{
    static const char *const lengths[] = {"six four point two millimetres",
                                          "one point eight millimetres",
                                          "niner four point zero six millimetres"};
    enum { LENGTHS = sizeof lengths / sizeof lengths[0] };
    double sum = 0;
    *believed = 0;
    speech_recogniser_know(ear, known);
    for (size_t i = 0; i < LENGTHS; i++) {
        struct recording said;
        struct speech_heard heard;
        struct speech_signs signs;
        struct fault fault = {0};
        say(voice, lengths[i], &said);
        assert_true(
            speech_measure(ear, "millimetres", said.pcm, said.frames, &heard, &signs, &fault));
        print_message("%s: \"%s\" %.2f, %s\n", voice, heard.words, signs.familiar,
                      speech_verdict_name(heard.verdict));
        sum += signs.familiar / LENGTHS;
        *believed += heard.verdict == SPEECH_ACCEPTED;
        recording_free(&said);
    }
    speech_recogniser_know(ear, NULL);
    return sum;
}

static void who_is_known_is_told_from_others(void **state)
{
    size_t believed, of_anothers;
    (void)state;
    double own = familiarity_of(VOICE, &believed);
    double anothers = familiarity_of("rms", &of_anothers);
    assert_true(own > anothers + 0.1);
    assert_true(believed == 3 && of_anothers < 3);
}

static void nothing_is_learned_from_nothing(void **state)
{
    struct fault fault = {0};
    struct speech_enrolment *enrolment = speech_enrolment_open(ear, &fault);
    (void)state;
    assert_false(speech_enrolment_take(enrolment, "one two three", &fault));
    assert_non_null(strstr(fault.sentence, "say 'one two three' again"));
    assert_null(speech_enrolment_learn(enrolment, &fault));
    speech_enrolment_close(enrolment);
}

/* ---- as text ---- */

/* The largest difference between two networks' weights, and the largest from the table's. */
static void differ(const struct speech_phonetic *one, const struct speech_phonetic *other,
                   double *apart, double *learned)
{
    *apart = *learned = 0;
    for (size_t l = 0; l < phonetic_layers; l++)
        for (size_t n = 0; n < phonetic_weights(l); n++) {
            float of = one->weight[l][n];
            *apart = fmax(*apart, fabs((double)(of - other->weight[l][n])));
            *learned = fmax(*learned, fabs((double)(of - network->weight[l][n])));
        }
}

/* Rounded to a fifteenth of what an output's weights have learned, which the ear does not notice;
 * and once rounded it stays. */
static void a_person_comes_back_from_text(void **state)
{
    static char text[PERSON_TEXT], again[PERSON_TEXT];
    struct phonetic_lesson *said = phonetic_lesson_open(0);
    struct fault fault = {0};
    double apart, learned;
    (void)state;
    add_to(said, VOICE, others[0]);
    assert_true(speech_person_write(known, text, sizeof text));
    struct speech_phonetic *back = speech_person_read(text, &fault);
    assert_non_null(back);
    differ(known, back, &apart, &learned);
    print_message("learned %.4f, apart %.4f, loss %.4f and %.4f; %zu bytes\n", learned, apart,
                  loss(said, known), loss(said, back), strlen(text));
    assert_true(learned > 0.001 && apart < 0.072 * learned);
    assert_true(fabs(loss(said, known) - loss(said, back)) < 0.01 * loss(said, known));
    assert_true(speech_person_write(back, again, sizeof again));
    struct speech_phonetic *twice = speech_person_read(again, &fault);
    assert_non_null(twice);
    differ(back, twice, &apart, &learned);
    assert_true(apart < 1e-4 * learned);
    assert_false(speech_person_write(known, text, 100));
    speech_phonetic_close(back);
    speech_phonetic_close(twice);
    phonetic_lesson_close(said);
}

/* Nothing learned: the table again, to the last bit. The buffers hold its layers. */
static void nobody_is_whom_the_table_knows(void **state)
{
    static char text[PERSON_TEXT];
    struct fault fault = {0};
    (void)state;
    assert_true(speech_person_write(network, text, sizeof text));
    struct speech_phonetic *nobody = speech_person_read(text, &fault);
    assert_non_null(nobody);
    for (size_t l = 0; l < phonetic_layers; l++) {
        assert_memory_equal(nobody->weight[l], network->weight[l],
                            phonetic_weights(l) * sizeof(float));
        assert_true(phonetic_table[l].outputs <= PHONETIC_WIDEST);
        assert_true(phonetic_table[l].inputs <= PHONETIC_WIDEST);
        assert_true(phonetic_inputs(l) <= PHONETIC_MOST_INPUTS);
    }
    speech_phonetic_close(nobody);
}

/* With a sum that is right all the same. */
static void what_is_no_number_is_nobody(void **state)
{
    static char text[PERSON_TEXT], spoilt[PERSON_TEXT];
    static const char *const instead[] = {"nan", "inf", "1e9", "-1.", "..."};
    struct fault fault = {0};
    (void)state;
    assert_true(speech_person_write(known, text, sizeof text));
    for (size_t i = 0; i <= sizeof instead / sizeof instead[0]; i++) {
        memcpy(spoilt, text, sizeof spoilt);
        char *line = strchr(strchr(spoilt, '\n') + 1, '\n') + 1, *sum = strstr(spoilt, "sum=");
        size_t wide = strcspn(line, " "); /* the step; what is put there ends where it does */
        if (i < sizeof instead / sizeof instead[0])
            memcpy((char *)memset(line, ' ', wide) + wide - strlen(instead[i]), instead[i],
                   strlen(instead[i]));
        else
            strchr(line, '\n')[-1] = 'p'; /* no letter of a weight */
        snprintf(sum, 16, "sum=%08lx\n",
                 (unsigned long)hash_more(hash_begin(), spoilt, (size_t)(sum - spoilt)));
        assert_null(speech_person_read(spoilt, &fault));
        assert_non_null(strstr(fault.sentence, "damaged"));
    }
}

static void what_is_damaged_is_nobody(void **state)
{
    static char text[PERSON_TEXT], spoilt[PERSON_TEXT];
    struct fault fault = {0};
    (void)state;
    assert_true(speech_person_write(network, text, sizeof text));
    size_t length = strlen(text);
    for (size_t cut = 0; cut < length; cut += cut < 60 ? 1 : 30011) {
        memcpy(spoilt, text, cut);
        spoilt[cut] = '\0';
        assert_null(speech_person_read(spoilt, &fault));
        assert_non_null(strstr(fault.sentence, "damaged"));
    }
    for (size_t at = 40; at < length; at += 30011) {
        memcpy(spoilt, text, length + 1);
        spoilt[at] = spoilt[at] == 'h' ? 'i' : 'h';
        assert_null(speech_person_read(spoilt, &fault));
        assert_non_null(strstr(fault.sentence, "damaged"));
    }
}

/* By a network of another number, or written by a midthrow that writes it otherwise. */
static void anothers_is_nobody(void **state)
{
    static char text[PERSON_TEXT];
    struct fault fault = {0};
    (void)state;
    assert_true(speech_person_write(network, text, sizeof text));
    char *version = strstr(text, "network=") + strlen("network=");
    char was = version[0];
    version[0] = was == '0' ? '1' : '0';
    assert_null(speech_person_read(text, &fault));
    assert_non_null(strstr(fault.sentence, "another midthrow"));
    version[0] = was;
    strchr(text, '\n')[-1] = '1';
    fault.sentence[0] = '\0';
    assert_null(speech_person_read(text, &fault));
    assert_non_null(strstr(fault.sentence, "another midthrow"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_slope_is_that_of_the_loss),
        cmocka_unit_test(nothing_is_learned_from_nothing),
        cmocka_unit_test(sentences_are_learned_from),
        cmocka_unit_test(what_is_read_tells_of_what_is_said),
        cmocka_unit_test(a_score_grows_with_who_is_known),
        cmocka_unit_test(who_is_known_is_told_from_others),
        cmocka_unit_test(a_person_comes_back_from_text),
        cmocka_unit_test(nobody_is_whom_the_table_knows),
        cmocka_unit_test(what_is_no_number_is_nobody),
        cmocka_unit_test(what_is_damaged_is_nobody),
        cmocka_unit_test(anothers_is_nobody),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
