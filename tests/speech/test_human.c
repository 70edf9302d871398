/*
 * A person's voice (Debian's asterisk-core-sounds-en-g722, CC-BY-SA 3.0; 16 kHz, G.722): the
 * numbers 0 to 20 and the tens to 90 are never taken for another number, and sentences that are no
 * answer are not taken for one.
 *
 * The weights of the score were not fitted on these recordings, but they are not unseen either:
 * ACCEPT_AT (verdict.c) was set with all 358 sentences in view, the share of the prior in the
 * cepstral mean (recogniser.c), the flaps in shop.dict and NEAR_TWIN with the numbers in view.
 * What this shows is that the mistakes seen once stay away, not how the next person fares. The
 * rules for noise were chosen without them.
 */
#include <glob.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "language/language.h"
#include "numbers.h"
#include "recording.h"
#include "speech/recogniser.h"
#include "stock.h"
#include "voices.h"

static struct speech_recogniser *ear;
static struct stock *stock;

#ifdef __SANITIZE_ADDRESS__
enum { PROMPTS = 1 }; /* a grammar; the sanitizers make it slow */
#else
enum { PROMPTS = 4 };
#endif

static void a_number_said_by_a_person_is_never_taken_for_another(void **state)
{
    (void)state;
    int accepted = 0, asked = 0, wrong = 0, stock_right = 0;
    print_message("said       midthrow   verdict   score  or         stock\n");
    for (size_t n = 0; n < NUMBERS; n++) {
        char name[64], plain[SPEECH_WORDS];
        struct recording recording;
        struct speech_heard heard;
        struct fault fault = {0};
        snprintf(name, sizeof name, "digits/%s.g722", numbers[n].file);
        assert_true(voices_person(name, &recording));
        assert_true(
            speech_recognise(ear, "number", recording.pcm, recording.frames, &heard, &fault));
        assert_true(
            stock_hear(stock, "number", recording.pcm, recording.frames, plain, sizeof plain));
        recording_free(&recording);
        bool right = means(heard.words, numbers[n].words);
        bool offered = right || means(heard.other, numbers[n].words);
        accepted += heard.verdict == SPEECH_ACCEPTED && right;
        asked += heard.verdict == SPEECH_UNSURE && offered;
        wrong += heard.verdict == SPEECH_ACCEPTED && !right;
        stock_right += means(plain, numbers[n].words);
        print_message("%-10s %-10s %-9s %.3f  %-10s %s\n", numbers[n].words, heard.words,
                      speech_verdict_name(heard.verdict), heard.score, heard.other, plain);
    }
    print_message(
        "of %d: accepted right %d, asked with the right one offered %d, accepted wrong %d; "
        "stock right %d\n",
        NUMBERS, accepted, asked, wrong, stock_right);
    assert_int_equal(wrong, 0);
    assert_true(accepted >= 24);
    assert_true(accepted + asked >= 26);
    assert_true(stock_right <= 24); /* else the comparison has lost its point */
}

/* Each grammar meets PROMPTS of the sentences, the next grammar the ones beside; bench-person does
 * them all, which is where the share of each grammar is seen. */
static void sentences_that_are_no_answer_are_not_taken_for_one(void **state)
{
    (void)state;
    int tried = 0, accepted = 0, asked = 0;
    glob_t prompts;
    assert_int_equal(glob("/usr/share/asterisk/sounds/*/*.g722", 0, NULL, &prompts), 0);
    assert_true(prompts.gl_pathc > 350);
    for (size_t g = 0; g < language_grammar_count(); g++)
        for (size_t n = 0; n < PROMPTS; n++) {
            size_t p = (n * prompts.gl_pathc / PROMPTS + 7 * g) % prompts.gl_pathc;
            struct recording recording;
            struct speech_heard heard;
            struct fault fault = {0};
            assert_true(recording_read(prompts.gl_pathv[p], &recording));
            assert_true(speech_recognise(ear, language_grammar_name(g), recording.pcm,
                                         recording.frames, &heard, &fault));
            recording_free(&recording);
            tried++;
            accepted += heard.verdict == SPEECH_ACCEPTED;
            asked += heard.verdict == SPEECH_UNSURE;
            if (heard.verdict == SPEECH_ACCEPTED)
                print_message("  %s taken for \"%s\" by %s\n",
                              strrchr(prompts.gl_pathv[p], '/') + 1, heard.words,
                              language_grammar_name(g));
        }
    print_message("of %d sentences accepted %d, asked about %d\n", tried, accepted, asked);
    /* 7 of 136 with the verdict of today; 2 % is wanted. It must not get worse, but for one by
     * chance.
     */
    assert_true(accepted * 100 <= tried * 6 + 100);
    globfree(&prompts);
}

int main(void)
{
    struct recording recording;
    if (!voices_person("digits/1.g722", &recording)) {
        puts("skipped: needs Debian's asterisk-core-sounds-en-g722");
        return 77;
    }
    recording_free(&recording);
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = GRAMMARS,
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command};
    ear = speech_recogniser_create(&config, &fault);
    stock = stock_create(GRAMMARS);
    if (ear == NULL || stock == NULL) {
        fprintf(stderr, "%s\n", fault.sentence);
        return 1;
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_number_said_by_a_person_is_never_taken_for_another),
        cmocka_unit_test(sentences_that_are_no_answer_are_not_taken_for_one),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    stock_destroy(stock);
    speech_recogniser_destroy(ear);
    return failed;
}
