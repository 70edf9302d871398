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
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "align.h"
#include "level.h"
#include "noises.h"
#include "speech/enrol.h"
#include "speech/person.h"
#include "speech/phonetic_learn.h"
#include "speech/phonetic_table.h"
#include "speech/recogniser.h"
#include "voices.h"

static struct align *align;
static struct speech_phonetic *network;
static struct speech_recogniser *ear;

/* A voice the network never met, and what was learned of it. */
static const char VOICE[] = "slt";
static struct phonetic_person known;

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

static double loss(const struct phonetic_lesson *lesson, const struct phonetic_person *person)
{
    double nats = NAN;
    assert_true(phonetic_lesson_loss(lesson, network, person, &nats));
    return nats;
}

/* Central differences: each number for which the loss hangs on most, of every layer. */
static void the_slope_is_that_of_the_loss(void **state)
{
    enum { NUMBERS = sizeof(struct phonetic_person) / sizeof(float) };
    static const float STEP = 0.05f;
    struct phonetic_lesson *lesson = phonetic_lesson_open();
    struct phonetic_person at, slope;
    (void)state;
    add_to(lesson, "slt", "two millimetres");
    for (size_t h = 0; h < PHONETIC_HIDDEN; h++)
        for (size_t u = 0; u < PHONETIC_UNITS; u++)
            at.unit[h][u] = 0.3f * sinf((float)(h * PHONETIC_UNITS + u));
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        at.sound[s] = 0.3f * cosf((float)s);
    assert_true(phonetic_lesson_slope(lesson, network, &at, 0, &slope));
    const float *to = &slope.unit[0][0];
    for (size_t group = 0; group <= PHONETIC_HIDDEN; group++) {
        size_t from = group * PHONETIC_UNITS, best = from;
        size_t end = group < PHONETIC_HIDDEN ? from + PHONETIC_UNITS : NUMBERS;
        for (size_t n = from; n < end; n++)
            best = fabsf(to[n]) > fabsf(to[best]) ? n : best;
        struct phonetic_person more = at, less = at;
        (&more.unit[0][0])[best] += STEP;
        (&less.unit[0][0])[best] -= STEP;
        double by_difference = (loss(lesson, &more) - loss(lesson, &less)) / (2 * (double)STEP);
        print_message("number %zu: slope %.5f, by differences %.5f\n", best, (double)to[best],
                      by_difference);
        assert_true(fabs(by_difference) > 1e-4);
        assert_true(fabs((double)to[best] - by_difference) < 0.03 * fabs(by_difference));
    }
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
    assert_true(speech_enrolment_learn(enrolment, &known, &fault));
    speech_enrolment_close(enrolment);
}

static void what_is_read_tells_of_what_is_said(void **state)
{
    struct phonetic_person nobody = {0};
    struct phonetic_lesson *said = phonetic_lesson_open();
    (void)state;
    for (size_t o = 0; o < sizeof others / sizeof others[0]; o++)
        add_to(said, VOICE, others[o]);
    double before = loss(said, &nobody), after = loss(said, &known);
    print_message("%.3f nats a frame before, %.3f after\n", before, after);
    assert_true(after < 0.96 * before);
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
    speech_recogniser_know(ear, &known);
    assert_true(speech_recognise(ear, "millimetres", said.pcm, said.frames, &after, &fault));
    speech_recogniser_know(ear, NULL);
    assert_true(speech_recognise(ear, "millimetres", said.pcm, said.frames, &again, &fault));
    print_message("margin %.1f before, %.1f after\n", before.margin, after.margin);
    assert_string_equal(after.words, words);
    assert_true(after.margin > before.margin || strcmp(before.words, words) != 0);
    assert_true(fabs(again.score - before.score) < 1e-12);
    recording_free(&said);
}

static void nothing_is_learned_from_nothing(void **state)
{
    struct phonetic_person person;
    struct fault fault = {0};
    struct speech_enrolment *enrolment = speech_enrolment_open(ear, &fault);
    (void)state;
    assert_false(speech_enrolment_take(enrolment, "one two three", &fault));
    assert_non_null(strstr(fault.sentence, "say 'one two three' again"));
    assert_false(speech_enrolment_learn(enrolment, &person, &fault));
    speech_enrolment_close(enrolment);
}

/* Of all 0 each unit counts as the table has it. */
static void nobody_is_whom_the_table_knows(void **state)
{
    struct phonetic_person nobody = {0};
    struct recording said;
    struct speech_front front;
    struct speech_seen seen = {0};
    (void)state;
    say("rms", "seven", &said);
    assert_true(speech_front_make(said.pcm, said.frames, &front));
    assert_true(align_see(align, &front, &seen));
    float(*of_table)[PHONETIC_SOUNDS] = calloc(seen.frames, sizeof *of_table);
    float(*of_nobody)[PHONETIC_SOUNDS] = calloc(seen.frames, sizeof *of_nobody);
    assert_true(speech_phonetic_read(network, NULL, &seen, of_table));
    assert_true(speech_phonetic_read(network, &nobody, &seen, of_nobody));
    assert_memory_equal(of_table, of_nobody, seen.frames * sizeof *of_table);
    free(of_table);
    free(of_nobody);
    speech_seen_finish(&seen);
    speech_front_finish(&front);
    recording_free(&said);
    assert_int_equal(phonetic_layers, PHONETIC_HIDDEN + 1);
    for (size_t h = 0; h < PHONETIC_HIDDEN; h++)
        assert_int_equal(phonetic_table[h].outputs, PHONETIC_UNITS);
}

/* ---- as text ---- */

static void fill(struct phonetic_person *filled)
{
    for (size_t h = 0; h < PHONETIC_HIDDEN; h++)
        for (size_t u = 0; u < PHONETIC_UNITS; u++)
            filled->unit[h][u] = 0.25f * (float)((int)u % 9 - 4);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        filled->sound[s] = -0.5f * (float)(s % 5);
}

static void a_person_comes_back_from_text(void **state)
{
    static char text[PERSON_TEXT];
    struct phonetic_person filled, back;
    struct fault fault = {0};
    (void)state;
    fill(&filled);
    assert_true(speech_person_write(&filled, text, sizeof text));
    assert_true(speech_person_read(text, &back, &fault));
    assert_memory_equal(&filled, &back, sizeof filled);
    assert_false(speech_person_write(&filled, text, 100));
}

static void what_is_damaged_is_nobody(void **state)
{
    static char text[PERSON_TEXT], spoilt[PERSON_TEXT];
    struct phonetic_person filled, back = {0}, before = {0};
    struct fault fault = {0};
    (void)state;
    fill(&filled);
    assert_true(speech_person_write(&filled, text, sizeof text));
    size_t length = strlen(text);
    for (size_t cut = 0; cut < length; cut += 97) {
        memcpy(spoilt, text, cut);
        spoilt[cut] = '\0';
        assert_false(speech_person_read(spoilt, &back, &fault));
    }
    static const char *const instead[] = {"nan", "inf", "1e9", "..."};
    for (size_t i = 0; i < 4; i++) {
        memcpy(spoilt, text, length + 1);
        char *number = strstr(spoilt, "0.2500");
        memcpy(number, "      ", 6);
        memcpy(number, instead[i], strlen(instead[i]));
        assert_false(speech_person_read(spoilt, &back, &fault));
        assert_non_null(strstr(fault.sentence, "damaged"));
    }
    assert_memory_equal(&back, &before, sizeof back);
    memcpy(spoilt, text, length + 1);
    char *version = strstr(spoilt, "network=") + strlen("network=");
    version[0] = version[0] == '0' ? '1' : '0';
    assert_false(speech_person_read(spoilt, &back, &fault));
    assert_non_null(strstr(fault.sentence, "another midthrow"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_slope_is_that_of_the_loss),
        cmocka_unit_test(nobody_is_whom_the_table_knows),
        cmocka_unit_test(nothing_is_learned_from_nothing),
        cmocka_unit_test(sentences_are_learned_from),
        cmocka_unit_test(what_is_read_tells_of_what_is_said),
        cmocka_unit_test(a_score_grows_with_who_is_known),
        cmocka_unit_test(a_person_comes_back_from_text),
        cmocka_unit_test(what_is_damaged_is_nobody),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
