/*
 * Digital silence: a sound card's mute, a cut recording or a noise gate pads speech with exact
 * zeros, quieter than any noise there is. midthrow dithers and must not care. The same flite
 * sentences are heard as they come and between two half seconds of zeros; stock PocketSphinx is
 * printed beside.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "language/language.h"
#include "recording.h"
#include "speech/recogniser.h"
#include "stock.h"
#include "voices.h"

static struct speech_recogniser *ear;
static struct stock *stock;

static const char *const sentences[] = {
    "five sixteenths of an inch",
    "ninety thou",
    "seven point nine millimetres",
    "three eighths of an inch",
    "forty thousandths",
    "point one eight seven",
    "fifteen thou",
    "eleven sixteenths of an inch",
    "sixty two thou",
    "two point five millimetres",
};
static const char *const voices[] = {"rms", "slt"};
enum { SENTENCES = 10, VOICES = 2 };

struct errors {
    int midthrow, stock, accepted_wrong;
};

static void hear(const struct recording *recording, const char *words, struct errors *errors)
{
    char plain[SPEECH_WORDS];
    struct speech_heard heard;
    struct fault fault = {0};
    assert_true(
        speech_recognise(ear, "distance", recording->pcm, recording->frames, &heard, &fault));
    assert_true(
        stock_hear(stock, "distance", recording->pcm, recording->frames, plain, sizeof plain));
    bool right = heard.words[0] != '\0' && language_same_meaning("distance", words, heard.words);
    errors->midthrow += !right;
    errors->accepted_wrong += !right && heard.verdict == SPEECH_ACCEPTED;
    errors->stock += plain[0] == '\0' || !language_same_meaning("distance", words, plain);
}

static void exact_zeros_around_speech_change_nothing(void **state)
{
    (void)state;
    struct errors bare = {0}, padded = {0};
    for (size_t v = 0; v < VOICES; v++) {
        for (size_t s = 0; s < SENTENCES; s++) {
            struct recording recording;
            assert_true(voices_say(voices[v], sentences[s], &recording));
            hear(&recording, sentences[s], &bare);
            assert_true(recording_pad(&recording, 500));
            hear(&recording, sentences[s], &padded);
            recording_free(&recording);
        }
    }
    print_message(
        "sentence errors of %d: as spoken midthrow %d, stock %d; between zeros midthrow %d "
        "(accepted wrong %d), stock %d\n",
        SENTENCES * VOICES, bare.midthrow, bare.stock, padded.midthrow, padded.accepted_wrong,
        padded.stock);
    assert_true(padded.midthrow <= 2);
    assert_true(padded.midthrow <= bare.midthrow + 1);
    assert_int_equal(padded.accepted_wrong, 0);
}

int main(void)
{
    struct recording recording;
    if (!voices_say("kal16", "one", &recording)) {
        puts("skipped: needs Debian's flite");
        return 77;
    }
    recording_free(&recording);
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = GRAMMARS, .same_meaning = language_same_meaning};
    ear = speech_recogniser_create(&config, &fault);
    stock = stock_create(GRAMMARS);
    if (ear == NULL || stock == NULL) {
        fprintf(stderr, "%s\n", fault.sentence);
        return 1;
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exact_zeros_around_speech_change_nothing),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    stock_destroy(stock);
    speech_recogniser_destroy(ear);
    return failed;
}
