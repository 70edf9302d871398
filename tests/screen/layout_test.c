/*
 * The big screen without a terminal: text and size in, cells out. What must be read from afar is in
 * big letters where a window has room for them, nothing is cut that fits, and no size of window
 * does harm.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "screen/layout.h"
#include "screen/picture.h"
#include "screen/theme.h"

static const enum screen_charset charsets[] = {SCREEN_ASCII, SCREEN_HALVES, SCREEN_QUARTERS};
enum { CHARSETS = sizeof charsets / sizeof charsets[0] };

/* ---- letters ------------------------------------------------------------------------------ */

static bool same_letter(uint32_t a, uint32_t b)
{
    if (screen_face_width(a) != screen_face_width(b))
        return false;
    for (int y = 0; y < SCREEN_FACE_CAP + SCREEN_FACE_DESCENT; y++)
        for (int x = 0; x < screen_face_width(a); x++)
            if (screen_face_dot(a, x, y) != screen_face_dot(b, x, y))
                return false;
    return true;
}

static void every_letter_is_there_and_like_no_other(void **state)
{
    (void)state;
    for (uint32_t a = '!'; a <= '~'; a++)
        for (uint32_t b = '!'; b < a; b++)
            if (same_letter(a, b))
                fail_msg("'%c' looks like '%c'", (char)a, (char)b);
}

static void capitals_and_figures_are_seven_dots_high(void **state)
{
    (void)state;
    for (const char *c = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"; *c != '\0'; c++) {
        bool top = false, bottom = false, below = false;
        for (int x = 0; x < screen_face_width((uint32_t)*c); x++) {
            top = top || screen_face_dot((uint32_t)*c, x, 0);
            bottom = bottom || screen_face_dot((uint32_t)*c, x, SCREEN_FACE_CAP - 1);
            below = below || screen_face_dot((uint32_t)*c, x, SCREEN_FACE_CAP);
        }
        assert_true(top && bottom && !below);
    }
}

/* ---- sizes -------------------------------------------------------------------------------- */

static struct screen_fit fit_of(const char *text, int rows, int cols, enum screen_charset charset)
{
    struct screen_fit fit;
    screen_fit_text(text, (struct screen_box){0, 0, rows, cols}, charset, SCREEN_SY_MAX, &fit);
    return fit;
}

/* The lines put together again, a blank between two. */
static void lines_of(const struct screen_fit *fit, char *out, size_t size)
{
    out[0] = '\0';
    for (int i = 0; i < fit->lines; i++) {
        size_t used = strlen(out);
        snprintf(out + used, size - used, "%s%s", i > 0 ? " " : "", fit->text + fit->at[i]);
    }
}

static void all_of_a_text_is_shown_in_its_box(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "Back throw, reading 1?", "5/16 in", "x",
        "Caution. Engine off and key out before a hand goes near the linkage.",
        "What is wrong: hard to find, a false neutral, or both?"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        for (int rows = 5; rows <= 60; rows += 5) {
            for (int cols = 30; cols <= 200; cols += 17) {
                for (size_t c = 0; c < CHARSETS; c++) {
                    struct screen_fit fit = fit_of(texts[i], rows, cols, charsets[c]);
                    char again[SCREEN_FIT_TEXT];
                    lines_of(&fit, again, sizeof again);
                    assert_string_equal(again, texts[i]);
                    assert_false(fit.cut);
                    assert_true(screen_fit_rows(&fit) <= rows);
                    assert_true(screen_fit_cols(&fit, charsets[c]) <= cols);
                }
            }
        }
    }
}

static void a_larger_box_never_makes_letters_smaller(void **state)
{
    (void)state;
    for (size_t c = 0; c < CHARSETS; c++) {
        double before = 0;
        for (int step = 0; step < 40; step++) {
            struct screen_fit fit =
                fit_of("Forward throw, reading 2?", 4 + step, 30 + 4 * step, charsets[c]);
            assert_true(screen_fit_capital(&fit) >= before);
            before = screen_fit_capital(&fit);
        }
        assert_true(before > 3);
    }
}

static void what_does_not_fit_says_so(void **state)
{
    (void)state;
    struct screen_fit fit = fit_of("one two three four five six seven", 2, 10, SCREEN_QUARTERS);
    assert_true(fit.cut);
    assert_int_equal(fit.lines, 2);
    assert_non_null(strstr(fit.text + fit.at[1], "..."));
}

static void a_word_longer_than_the_line_is_broken_not_lost(void **state)
{
    (void)state;
    struct screen_fit fit = fit_of("abcdefghijklmnopqrstuvwxyz", 9, 10, SCREEN_QUARTERS);
    assert_int_equal(fit.sx, 0);
    assert_int_equal(fit.lines, 3);
    assert_false(fit.cut);
}

/* ---- windows ------------------------------------------------------------------------------ */

static const char caution[] = "Caution. Engine off and key out before a hand goes near the "
                              "linkage. Then say: engine off and key out.";

static void ask(struct screen_view *view, const char *prompt, const char *keys, bool is_caution)
{
    screen_view_said(view, prompt, is_caution);
    screen_view_asked(
        view,
        &(struct screen_question){
            .id = "x", .prompt = prompt, .grammar = "x", .keys = keys, .caution = is_caution});
}

static void measure(struct screen_view *view)
{
    static const double forward_mm[] = {8.33, 8.35}, back_mm[] = {7.14, 7.10};
    struct measure_balance balance;
    struct measure_balance_input input = {.forward_mm = forward_mm,
                                          .forward_n = 2,
                                          .back_mm = back_mm,
                                          .back_n = 2,
                                          .tolerance_mm = 0.4,
                                          .resolution_mm = 0.05};
    assert_true(measure_balance_of(&input, &balance, NULL));
    screen_view_heard(view, &(struct screen_heard){.words = "nine thirty seconds of an inch",
                                                   .keys = "",
                                                   .source = SCREEN_BY_EAR,
                                                   .score = 0.9});
    screen_view_value(
        view,
        &(struct screen_value){.what = "taken", .number = "9/32", .unit = "in", .also = "7.14 mm"});
    screen_view_balance(view, &(struct screen_balance){.balance = &balance,
                                                       .forward_mm = forward_mm,
                                                       .forward_n = 2,
                                                       .back_mm = back_mm,
                                                       .back_n = 2,
                                                       .tolerance_mm = 0.4});
    ask(view, "Back throw, reading 2?",
        "5/16 or 1+5/16 or .31 inches, 310 minus thousandths, 7.9 star millimetres", false);
}

static void row_text(const struct screen_grid *grid, int row, char *out)
{
    int used = 0;
    for (int col = 0; col < grid->cols; col++) {
        uint32_t glyph = grid->cell[row * grid->cols + col].glyph;
        out[used++] = (char)(glyph < 128 ? glyph : '#');
    }
    out[used] = '\0';
}

static bool shows(const struct screen_grid *grid, const char *words)
{
    char row[SCREEN_COLS_MAX + 1];
    for (int i = 0; i < grid->rows; i++) {
        row_text(grid, i, row);
        if (strstr(row, words) != NULL)
            return true;
    }
    return false;
}

static void no_window_does_harm(void **state)
{
    (void)state;
    static struct screen_view views[3];
    measure(&views[0]);
    ask(&views[1], caution, "56 engine off and key out, 0 not yet", true);
    struct screen_level level = {
        .ear = SCREEN_EAR_OPEN, .level_db = -INFINITY, .noise_db = NAN, .clipping = true};
    screen_view_level(&views[0], &level);
    for (size_t v = 0; v < 3; v++) {
        for (int rows = 0; rows <= 70; rows += rows < 14 ? 1 : 7) {
            for (int cols = 0; cols <= 220; cols += cols < 44 ? 1 : 22) {
                for (size_t c = 0; c < CHARSETS; c++) {
                    struct screen_grid grid = {.charset = charsets[c]};
                    assert_true(screen_grid_resize(&grid, rows, cols));
                    screen_layout(&views[v], &grid, NULL);
                    screen_grid_free(&grid);
                }
            }
        }
    }
}

static void a_window_beyond_all_sizes_is_used_in_part(void **state)
{
    (void)state;
    struct screen_grid grid = {0};
    assert_true(screen_grid_resize(&grid, 100000, 100000));
    assert_int_equal(grid.rows, SCREEN_ROWS_MAX);
    assert_int_equal(grid.cols, SCREEN_COLS_MAX);
    screen_grid_free(&grid);
}

static struct screen_layout laid_out(const struct screen_view *view, int rows, int cols,
                                     enum screen_charset charset, struct screen_grid *grid)
{
    struct screen_layout layout;
    memset(grid, 0, sizeof *grid);
    grid->charset = charset;
    assert_true(screen_grid_resize(grid, rows, cols));
    screen_layout(view, grid, &layout);
    return layout;
}

/* At 80 by 24 a capital of the question, of the number, and of a caution's keys is at least three
 * rows high: one eighth of the window. */
static void what_must_be_read_from_afar_is_big_at_80_by_24(void **state)
{
    (void)state;
    static struct screen_view reading, warned, choice;
    struct screen_grid grid;
    measure(&reading);
    struct screen_layout layout = laid_out(&reading, 24, 80, SCREEN_QUARTERS, &grid);
    assert_true(layout.question >= 3 && layout.heard >= 3);
    assert_true(shows(&grid, "UNEVEN"));
    assert_true(shows(&grid, "310- thousandths"));
    screen_grid_free(&grid);
    ask(&warned, caution, "56 engine off and key out, 0 not yet", true);
    layout = laid_out(&warned, 24, 80, SCREEN_QUARTERS, &grid);
    assert_true(layout.question >= 3 && layout.keys >= 3);
    assert_true(shows(&grid, " CAUTION "));
    screen_grid_free(&grid);
    ask(&choice, "What is wrong: hard to find, a false neutral, or both?",
        "1 hard to find, 2 false neutral, 3 both", false);
    layout = laid_out(&choice, 24, 80, SCREEN_QUARTERS, &grid);
    assert_true(layout.question >= 3 && layout.keys >= 3);
    screen_grid_free(&grid);
}

/* The angle that a capital is seen under three metres away, in minutes of arc, on a screen of 24
 * inches (16 to 9: 299 mm high) that the window fills. */
static double minutes_at_three_metres(double capital, int rows)
{
    return atan(capital / rows * 299 / 3000) * 180 / 3.14159265358979 * 60;
}

/* ISO 9241-303 wants a character's height to be 16 minutes of arc at least and recommends 22 (from
 * memory). */
static void it_is_read_from_three_metres(void **state)
{
    (void)state;
    static const int windows[][2] = {{24, 80}, {43, 132}, {60, 200}};
    static struct screen_view choice, reading;
    ask(&choice, "What is wrong: hard to find, a false neutral, or both?",
        "1 hard to find, 2 false neutral, 3 both", false);
    measure(&reading);
    for (size_t i = 0; i < sizeof windows / sizeof windows[0]; i++) {
        struct screen_grid grid;
        int rows = windows[i][0], cols = windows[i][1];
        struct screen_layout one = laid_out(&choice, rows, cols, SCREEN_QUARTERS, &grid);
        screen_grid_free(&grid);
        struct screen_layout two = laid_out(&reading, rows, cols, SCREEN_QUARTERS, &grid);
        screen_grid_free(&grid);
        print_message("%dx%d rows of a capital: question %.1f, keys %.1f; measuring: question "
                      "%.1f, number %.1f, keys %.1f\n",
                      cols, rows, one.question, one.keys, two.question, two.heard, two.keys);
        assert_true(minutes_at_three_metres(one.question, rows) >= 22);
        assert_true(minutes_at_three_metres(one.keys, rows) >= 16);
        assert_true(minutes_at_three_metres(two.question, rows) >= 16);
        assert_true(minutes_at_three_metres(two.heard, rows) >= 22);
    }
}

static void a_caution_keeps_its_word_and_its_frame_on_every_terminal(void **state)
{
    (void)state;
    static struct screen_view view;
    ask(&view, caution, "56 engine off and key out, 0 not yet", true);
    for (size_t c = 0; c < CHARSETS; c++) {
        struct screen_grid grid;
        laid_out(&view, 24, 80, charsets[c], &grid);
        assert_true(shows(&grid, "// CAUTION ////"));
        screen_grid_free(&grid);
        laid_out(&view, 8, 20, charsets[c], &grid);
        assert_true(shows(&grid, "! Caution."));
        screen_grid_free(&grid);
    }
}

/* The frame may leave the phrase to the keys below it only when it stands there. */
static void the_phrase_of_a_caution_is_always_shown(void **state)
{
    (void)state;
    static struct screen_view with, without;
    struct screen_grid grid;
    ask(&with, caution, "56 engine off and key out, 0 not yet", true);
    laid_out(&with, 24, 80, SCREEN_ASCII, &grid);
    assert_true(shows(&grid, "56 engine off and key out"));
    screen_grid_free(&grid);
    ask(&without, caution, "0 not yet", true);
    laid_out(&without, 24, 80, SCREEN_ASCII, &grid);
    assert_true(shows(&grid, "engine off and key out."));
    screen_grid_free(&grid);
}

static void a_tiny_window_shows_question_keys_and_entry(void **state)
{
    (void)state;
    static struct screen_view view;
    struct screen_grid grid;
    ask(&view, "Does it creep?", "1 yes, 2 no", false);
    screen_view_entry(&view, "1");
    laid_out(&view, 8, 20, SCREEN_QUARTERS, &grid);
    assert_true(shows(&grid, "Does it creep?") && shows(&grid, "1 yes") && shows(&grid, "> 1"));
    screen_grid_free(&grid);
}

static void words_from_outside_cannot_reach_the_terminal(void **state)
{
    (void)state;
    static struct screen_view view;
    struct screen_grid grid;
    screen_view_progress(&view, &(struct screen_progress){.phase = "\033[2J", .order = "\a\xff"});
    screen_view_heard(&view, &(struct screen_heard){.words = "\033]0;x\a\xc2\x9b",
                                                    .keys = "\033[31m",
                                                    .source = SCREEN_BY_PAD});
    ask(&view, "\x1b[31mred\xe2\x80\xae", "\b1", false);
    for (int rows = 5; rows <= 45; rows += 20) {
        for (size_t c = 0; c < CHARSETS; c++) {
            laid_out(&view, rows, 80, charsets[c], &grid);
            for (int i = 0; i < grid.rows * grid.cols; i++) {
                bool reverse;
                uint32_t glyph = screen_grid_glyph(&grid, &grid.cell[i], &reverse);
                assert_true(glyph >= ' ' && (glyph < 0x7f || glyph >= 0xa1));
                assert_true(glyph < 0x250 || (glyph >= 0x2500 && glyph < 0x2600));
                assert_true(charsets[c] != SCREEN_ASCII || glyph < 0x7f);
            }
            screen_grid_free(&grid);
        }
    }
}

static void an_aside_leaves_the_question_standing(void **state)
{
    (void)state;
    static struct screen_view view;
    ask(&view, "Does it creep?", "1 yes, 2 no", false);
    screen_view_said(&view, "Use the number pad.", false);
    screen_view_asked(&view, &(struct screen_question){.prompt = NULL, .keys = "1 yes, 2 no"});
    assert_string_equal(view.sentence, "Does it creep?");
    assert_string_equal(view.before, "Use the number pad.");
}

static void at_the_end_nothing_is_asked(void **state)
{
    (void)state;
    static struct screen_view view;
    struct screen_grid grid;
    ask(&view, "Is it fixed?", "1 yes, 2 no", false);
    screen_view_said(&view, "Closed as fixed.", false);
    screen_view_finished(&view, true);
    laid_out(&view, 8, 30, SCREEN_ASCII, &grid);
    assert_true(shows(&grid, "Closed as fixed.") && !shows(&grid, "1 yes"));
    screen_grid_free(&grid);
    laid_out(&view, 24, 80, SCREEN_ASCII, &grid);
    assert_true(shows(&grid, "job closed"));
    screen_grid_free(&grid);
}

static void keys_are_named_for_the_eye(void **state)
{
    (void)state;
    char out[128];
    screen_keys_for_the_eye("310 minus thousandths, 7.9 star millimetres", out, sizeof out);
    assert_string_equal(out, "310- thousandths, 7.9* millimetres");
    screen_keys_for_the_eye("minus go back, plus plus why, minus minus stop", out, sizeof out);
    assert_string_equal(out, "- go back, ++ why, -- stop");
}

/* ---- the picture -------------------------------------------------------------------------- */

static struct screen_picture picture_of(double forward_mm, double back_mm, double tolerance_mm)
{
    static struct screen_view view;
    struct screen_picture picture;
    screen_view_balance(&view, &(struct screen_balance){.forward_mm = &forward_mm,
                                                        .forward_n = 1,
                                                        .back_mm = &back_mm,
                                                        .back_n = 1,
                                                        .tolerance_mm = tolerance_mm});
    assert_true(screen_picture_of(&view, 101, &picture));
    return picture;
}

/* By hand: 101 cells over 10 mm are 0.1 mm a cell, the back pin at 0. */
static void the_picture_is_to_scale(void **state)
{
    (void)state;
    struct screen_picture even = picture_of(5, 5, 0.8);
    assert_int_equal(even.rest, 50);
    assert_int_equal(even.middle, 50);
    assert_int_equal(even.even_low, 46);
    assert_int_equal(even.even_high, 54);
    struct screen_picture uneven = picture_of(6, 4, 0.8);
    assert_int_equal(uneven.rest, 40);
    assert_int_equal(uneven.middle, 50);
    assert_int_equal(uneven.back, 0);
    assert_int_equal(uneven.forward, 100);
}

static void one_throw_alone_is_no_picture(void **state)
{
    (void)state;
    static struct screen_view view;
    struct screen_picture picture;
    double mm = 5;
    screen_view_balance(&view, &(struct screen_balance){.forward_mm = &mm, .forward_n = 1});
    assert_false(screen_picture_of(&view, 80, &picture));
}

/* ---- colours ------------------------------------------------------------------------------ */

/* xterm's palette: 16 .. 231 a cube of six levels, 232 .. 255 greys (256colres.pl in xterm). */
static double channel(int colour, int which)
{
    static const int levels[] = {0, 95, 135, 175, 215, 255};
    static const int steps[] = {36, 6, 1};
    if (colour >= 232)
        return (8 + 10 * (colour - 232)) / 255.0;
    return levels[(colour - 16) / steps[which] % 6] / 255.0;
}

/* Relative luminance and contrast ratio: W3C, WCAG 2.1, definitions. */
static double luminance(int colour)
{
    static const double weights[] = {0.2126, 0.7152, 0.0722};
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        double c = channel(colour, i);
        sum += weights[i] * (c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4));
    }
    return sum;
}

static double contrast(int a, int b)
{
    double la = luminance(a), lb = luminance(b);
    return (fmax(la, lb) + 0.05) / (fmin(la, lb) + 0.05);
}

/* WCAG 2.1, success criterion 1.4.6 (enhanced): at least 7 to 1. The rail holds no words: 3 to 1
 * against its ground would do (1.4.11), and it repeats what the large letters say. */
static void light_and_dark_have_contrast(void **state)
{
    (void)state;
    for (int light = 0; light < 2; light++) {
        const struct screen_ink *inks = screen_theme(256, light != 0);
        for (int style = 0; style < SCREEN_STYLES; style++)
            if (style != SCREEN_RAIL)
                assert_true(contrast(inks[style].front, inks[style].back) >= 7);
    }
}

/* Without colours a caution, a key and the rail are still told from words. */
static void no_meaning_is_by_colour_alone(void **state)
{
    (void)state;
    const struct screen_ink *inks = screen_theme(0, false);
    assert_true(inks[SCREEN_WARNING].reverse && inks[SCREEN_KEY].reverse);
    assert_true(inks[SCREEN_RAIL].reverse && inks[SCREEN_STRONG].bold);
}

static void light_or_dark_is_chosen_or_told_by_the_terminal(void **state)
{
    (void)state;
    assert_false(screen_theme_is_light(SCREEN_BY_ITSELF, NULL));
    assert_true(screen_theme_is_light(SCREEN_BY_ITSELF, "0;15"));
    assert_true(screen_theme_is_light(SCREEN_BY_ITSELF, "0;default;7"));
    assert_false(screen_theme_is_light(SCREEN_BY_ITSELF, "15;0"));
    assert_false(screen_theme_is_light(SCREEN_BY_ITSELF, "x"));
    assert_true(screen_theme_is_light(SCREEN_LIGHT, "15;0"));
    assert_false(screen_theme_is_light(SCREEN_DARK, "0;15"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_letter_is_there_and_like_no_other),
        cmocka_unit_test(capitals_and_figures_are_seven_dots_high),
        cmocka_unit_test(all_of_a_text_is_shown_in_its_box),
        cmocka_unit_test(a_larger_box_never_makes_letters_smaller),
        cmocka_unit_test(what_does_not_fit_says_so),
        cmocka_unit_test(a_word_longer_than_the_line_is_broken_not_lost),
        cmocka_unit_test(no_window_does_harm),
        cmocka_unit_test(a_window_beyond_all_sizes_is_used_in_part),
        cmocka_unit_test(what_must_be_read_from_afar_is_big_at_80_by_24),
        cmocka_unit_test(it_is_read_from_three_metres),
        cmocka_unit_test(a_caution_keeps_its_word_and_its_frame_on_every_terminal),
        cmocka_unit_test(the_phrase_of_a_caution_is_always_shown),
        cmocka_unit_test(a_tiny_window_shows_question_keys_and_entry),
        cmocka_unit_test(words_from_outside_cannot_reach_the_terminal),
        cmocka_unit_test(an_aside_leaves_the_question_standing),
        cmocka_unit_test(at_the_end_nothing_is_asked),
        cmocka_unit_test(keys_are_named_for_the_eye),
        cmocka_unit_test(the_picture_is_to_scale),
        cmocka_unit_test(one_throw_alone_is_no_picture),
        cmocka_unit_test(light_and_dark_have_contrast),
        cmocka_unit_test(no_meaning_is_by_colour_alone),
        cmocka_unit_test(light_or_dark_is_chosen_or_told_by_the_terminal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
