/*
 * The recogniser keeps nothing of what it heard: the heap in use is the same after many sounds as
 * after a few, and after a long one in every grammar as after a short one. To be run without
 * glibc's caches of freed blocks, which count as in use (GLIBC_TUNABLES=glibc.malloc.tcache_count=0
 * in meson.build); skipped where mallinfo2 does not count, as under the sanitizers.
 */
#include <malloc.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "language/language.h"
#include "recording.h"
#include "speech/recogniser.h"
#include "voices.h"

enum {
    SOUNDS = 4,
    WARM_UP = 3,  /* rounds: the library's lists grow to what they need */
    ROUNDS = 13,  /* of SOUNDS each */
    KEPT = 4096,  /* bytes that may be on the wrong side of a count: leftovers of split blocks */
    LONG = 16384, /* the same after a longer sound, in many searches */
};

static const char *const said[SOUNDS] = {"yes", "affirmative", "say again", "no"};
static const char long_one[] = "did anybody order the gaskets for the blue one and where is the "
                               "long torque wrench";
static const char *const grammars[] = {"yesno", "number", "caution"};
enum { GRAMMARS_HEARD = sizeof grammars / sizeof grammars[0] };

static long in_use(void)
{
    struct mallinfo2 all = mallinfo2();
    return (long)(all.uordblks + all.hblkhd);
}

static bool counts(void)
{
    void *volatile block = malloc(100);
    long with = in_use();
    free(block);
    return with > 0;
}

static struct speech_recogniser *make_ear(void)
{
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = GRAMMARS,
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command,
                                   .live = true};
    struct speech_recogniser *ear = speech_recogniser_create(&config, &fault);
    assert_non_null(ear);
    return ear;
}

static void hear(struct speech_recogniser *ear, const char *grammar, const struct recording *sound)
{
    struct fault fault = {0};
    struct speech_heard heard;
    assert_true(speech_recognise(ear, grammar, sound->pcm, sound->frames, &heard, &fault));
}

static void nothing_is_left_of_fifty_answers(void **state)
{
    (void)state;
    struct recording sound[SOUNDS];
    for (size_t i = 0; i < SOUNDS; i++)
        if (!counts() || !voices_say("slt", said[i], &sound[i]))
            skip();
    struct speech_recogniser *ear = make_ear();
    long warm = 0;
    for (int round = 0; round < WARM_UP + ROUNDS; round++) {
        for (size_t i = 0; i < SOUNDS; i++)
            hear(ear, "yesno", &sound[i]);
        if (round == WARM_UP - 1)
            warm = in_use();
    }
    long left = in_use() - warm;
    print_message("%d recognitions left %ld bytes of %ld\n", ROUNDS * SOUNDS, left, warm);
    speech_recogniser_destroy(ear);
    for (size_t i = 0; i < SOUNDS; i++)
        free(sound[i].pcm);
    assert_true(left <= KEPT);
}

static void nothing_is_left_of_a_long_sound_in_any_grammar(void **state)
{
    (void)state;
    struct recording sound[2];
    if (!counts() || !voices_say("slt", "six", &sound[0]) ||
        !voices_say("slt", long_one, &sound[1]))
        skip();
    struct speech_recogniser *ear = make_ear();
    long after[2] = {0};
    for (int round = 0; round < 3; round++) { /* the first: tables grow to the longest yet */
        for (size_t g = 0; g < GRAMMARS_HEARD; g++)
            hear(ear, grammars[g], &sound[round != 1]);
        after[round != 1] = in_use();
    }
    print_message("a long sound in %d grammars left %ld bytes\n", (int)GRAMMARS_HEARD,
                  after[1] - after[0]);
    speech_recogniser_destroy(ear);
    free(sound[0].pcm);
    free(sound[1].pcm);
    assert_true(after[1] - after[0] <= LONG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_left_of_fifty_answers),
        cmocka_unit_test(nothing_is_left_of_a_long_sound_in_any_grammar),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
