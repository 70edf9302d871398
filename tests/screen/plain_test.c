/* The plain screen, byte by byte: pipes and screen readers depend on it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>

#include "screen/screen.h"

struct bench {
    char *text;
    size_t size;
    FILE *out;
    struct screen screen;
};

static int set_up(void **state)
{
    struct bench *bench = calloc(1, sizeof *bench);
    assert_non_null(bench);
    bench->out = open_memstream(&bench->text, &bench->size);
    struct screen_config config = {.out = bench->out};
    assert_true(screen_open(&bench->screen, &screen_plain, &config, NULL));
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;
    screen_close(&bench->screen);
    fclose(bench->out);
    free(bench->text);
    free(bench);
    return 0;
}

static void a_sentence_stands_behind_a_blank_and_a_caution_behind_a_mark(void **state)
{
    struct bench *bench = *state;
    screen_said(&bench->screen, "Back throw, reading 1?", false);
    screen_said(&bench->screen, "Caution. Engine off.", true);
    assert_string_equal(bench->text, "  Back throw, reading 1?\n! Caution. Engine off.\n");
}

static void the_keys_stand_in_brackets(void **state)
{
    struct bench *bench = *state;
    screen_asked(&bench->screen, &(struct screen_question){.id = "intake.creep",
                                                           .prompt = "Does it creep?",
                                                           .grammar = "yesno",
                                                           .keys = "1 yes, 2 no"});
    assert_string_equal(bench->text, "      [1 yes, 2 no]\n");
}

static void what_was_heard_says_how(void **state)
{
    struct bench *bench = *state;
    screen_heard(&bench->screen, &(struct screen_heard){.words = "yes",
                                                        .keys = "",
                                                        .source = SCREEN_BY_EAR,
                                                        .verdict = SCREEN_UNSURE,
                                                        .score = 0.456});
    screen_heard(&bench->screen, &(struct screen_heard){.words = "five sixteenths of an inch",
                                                        .keys = "5/16",
                                                        .source = SCREEN_BY_PAD});
    screen_heard(&bench->screen,
                 &(struct screen_heard){.words = "", .keys = "", .source = SCREEN_BY_TYPING});
    assert_string_equal(bench->text, "> yes   (heard, unsure, 0.46)\n"
                                     "> five sixteenths of an inch   (pad: 5/16)\n"
                                     "> (nothing)\n");
}

static void words_from_outside_are_escaped(void **state)
{
    struct bench *bench = *state;
    screen_heard(&bench->screen, &(struct screen_heard){.words = "\033[31mred\a\x7f",
                                                        .keys = "",
                                                        .source = SCREEN_BY_TYPING});
    assert_string_equal(bench->text, "> \\x1B[31mred\\x07\\x7F\n");
}

static void the_pads_entry_is_one_line_that_is_wiped(void **state)
{
    struct bench *bench = *state;
    screen_entry(&bench->screen, "5");
    screen_entry(&bench->screen, "5/");
    screen_entry(&bench->screen, NULL);
    assert_string_equal(bench->text, "\r> 5 \b\r> 5/ \b\r\033[K");
}

static void what_it_cannot_show_it_leaves_out(void **state)
{
    struct bench *bench = *state;
    screen_level(&bench->screen, &(struct screen_level){.ear = SCREEN_EAR_OPEN});
    screen_value(&bench->screen, &(struct screen_value){
                                     .what = "taken", .number = "5/16", .unit = "in", .also = ""});
    screen_balance(&bench->screen, NULL);
    screen_progress(&bench->screen, &(struct screen_progress){.phase = "", .order = ""});
    screen_finished(&bench->screen, true);
    screen_tick(&bench->screen);
    fflush(bench->out);
    assert_int_equal(bench->size, 0);
}

static void a_screen_that_is_not_there_shows_nothing(void **state)
{
    (void)state;
    struct screen none = {0};
    screen_said(&none, "Nobody sees it.", false);
    screen_heard(&none, &(struct screen_heard){.words = "", .keys = ""});
    screen_entry(&none, "5");
    screen_close(&none);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(a_sentence_stands_behind_a_blank_and_a_caution_behind_a_mark),
        TEST(the_keys_stand_in_brackets),
        TEST(what_was_heard_says_how),
        TEST(words_from_outside_are_escaped),
        TEST(the_pads_entry_is_one_line_that_is_wiped),
        TEST(what_it_cannot_show_it_leaves_out),
        cmocka_unit_test(a_screen_that_is_not_there_shows_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
