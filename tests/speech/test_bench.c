/*
 * The bench's bookkeeping: the list of what is said is the same every time and all different, rows
 * come back from their file as they went in, and what is counted is what was heard.
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

#include "plot.h"
#include "rows.h"
#include "tally.h"
#include "utterances.h"

enum { MANY = 400 };

/* ---- what is said ---- */

static bool alike(const struct utterance *a, const struct utterance *b)
{
    return a->voice == b->voice && a->manner == b->manner && strcmp(a->grammar, b->grammar) == 0 &&
           strcmp(a->words, b->words) == 0;
}

static void a_short_list_is_the_beginning_of_a_long_one(void **state)
{
    (void)state;
    struct utterances *brief = utterances_make(UTTERANCES_REPORT, GRAMMARS, MANY / 4);
    struct utterances *lengthy = utterances_make(UTTERANCES_REPORT, GRAMMARS, MANY);
    assert_non_null(brief);
    assert_non_null(lengthy);
    assert_int_equal(utterances_count(brief), MANY / 4 + MANY / 20);
    for (size_t i = 0; i < MANY / 4; i++)
        assert_true(alike(utterances_at(brief, i), utterances_at(lengthy, i)));
    for (size_t i = 0; i < MANY; i++)
        for (size_t j = 0; j < i; j++)
            assert_false(alike(utterances_at(lengthy, i), utterances_at(lengthy, j)));
    utterances_free(brief);
    utterances_free(lengthy);
}

static bool uses(const struct utterances *list, const char *grammar)
{
    for (size_t i = 0; i < utterances_count(list); i++)
        if (strcmp(utterances_at(list, i)->grammar, grammar) == 0)
            return true;
    return false;
}

static void every_grammar_is_asked_for_an_answer_of_its_own(void **state)
{
    (void)state;
    struct utterances *list = utterances_make(UTTERANCES_REPORT, GRAMMARS, MANY);
    assert_non_null(list);
    for (size_t g = 0; g < language_grammar_count(); g++)
        assert_true(uses(list, language_grammar_name(g)));
    for (size_t i = 0; i < MANY; i++) {
        const struct utterance *u = utterances_at(list, i);
        struct language_value value;
        assert_int_equal(language_parse(u->grammar, u->words, &value, NULL), LANGUAGE_OK);
        assert_true(u->class == CLASS_COMMAND || value.type != LANGUAGE_COMMAND);
        assert_true(value.type != LANGUAGE_SKIP && value.type != LANGUAGE_DONT_KNOW);
    }
    utterances_free(list);
}

static void nobody_speaks_in_both_sets(void **state)
{
    (void)state;
    struct utterances *tune = utterances_make(UTTERANCES_TUNE, GRAMMARS, MANY);
    struct utterances *report = utterances_make(UTTERANCES_REPORT, GRAMMARS, MANY);
    assert_true(tune != NULL && report != NULL);
    for (size_t i = 0; i < utterances_count(tune); i++) {
        assert_true(utterances_at(tune, i)->voice->tune);
        assert_false(utterances_at(report, i)->voice->tune);
    }
    for (size_t i = MANY; i < utterances_count(tune); i++)
        for (size_t j = MANY; j < utterances_count(report); j++)
            assert_string_not_equal(utterances_at(tune, i)->words, utterances_at(report, j)->words);
    utterances_free(tune);
    utterances_free(report);
}

/* ---- rows ---- */

static struct row make_row(const char *verdict, bool right, bool other_right, const char *noise,
                           int snr_db)
{
    struct row row = {.utterance = 7,
                      .snr_db = snr_db,
                      .right = right,
                      .other_right = other_right,
                      .score = 1 / 3.0,
                      .ear_s = 0.5,
                      .stock_s = 0.25,
                      .sound_s = 2,
                      .signs = {.words = 3, .talk = -1e-9, .margin = HUGE_VAL, .tens = true}};
    snprintf(row.class, sizeof row.class, "distance");
    snprintf(row.voice, sizeof row.voice, "slt");
    snprintf(row.noise, sizeof row.noise, "%s", noise);
    snprintf(row.verdict, sizeof row.verdict, "%s", verdict);
    snprintf(row.said, sizeof row.said, "%s", "forty thou");
    snprintf(row.stock, sizeof row.stock, "%s", "fourteen thou");
    return row;
}

struct taken {
    struct row row[8];
    size_t count;
};

static void keep(void *context, const struct row *row)
{
    struct taken *taken = context;
    assert_true(taken->count < 8);
    taken->row[taken->count++] = *row;
}

static void rows_come_back_as_they_went(void **state)
{
    (void)state;
    struct row row = make_row("unsure", false, true, "engine", 10);
    struct taken taken = {0};
    FILE *file = tmpfile();
    assert_non_null(file);
    rows_write_head(file);
    rows_write(file, &row);
    rows_write(file, &row);
    fprintf(file, "7\tslt\t0\tdist"); /* the power went */
    rewind(file);
    assert_true(rows_read(file, keep, &taken));
    fclose(file);
    assert_int_equal(taken.count, 2);
    assert_memory_equal(&taken.row[1].signs, &row.signs, sizeof row.signs);
    assert_true(taken.row[1].score == row.score); /* to the last bit */
    assert_string_equal(taken.row[1].said, row.said);
    assert_string_equal(taken.row[1].heard, "");
    assert_int_equal(taken.row[1].other_right, 1);
    assert_int_equal(taken.row[1].snr_db, 10);
}

static void columns_of_another_time_are_refused(void **state)
{
    (void)state;
    struct taken taken = {0};
    FILE *file = tmpfile();
    assert_non_null(file);
    fprintf(file, "utterance\tvoice\tcolour\n7\tslt\tgreen\n");
    rewind(file);
    assert_false(rows_read(file, keep, &taken));
    fclose(file);
}

/* ---- counting ---- */

static void what_was_heard_is_counted_where_it_belongs(void **state)
{
    (void)state;
    static struct tally_book book;
    struct row rows[] = {
        make_row("accepted", true, false, "engine", 10),
        make_row("accepted", false, true, "engine", 10),
        make_row("unsure", true, false, "engine", 10),
        make_row("unsure", false, true, "pink", 10),
        make_row("unsure", false, false, "pink", 10),
        make_row("rejected", true, false, "pink", 10),
        make_row("accepted", false, false, "pink", 10),
    };
    tally_open(&book);
    snprintf(rows[6].class, sizeof rows[6].class, "chatter");
    for (size_t r = 0; r < sizeof rows / sizeof rows[0]; r++)
        tally_take(&book, &rows[r]);
    const struct tally *all = &book.way[TALLY_ALL].at[0][2];
    assert_int_equal(tally_levels[2], 10);
    assert_int_equal(all->said, 6);
    assert_int_equal(all->right, 1);
    assert_int_equal(all->wrong, 1);
    assert_int_equal(all->offered, 2);
    assert_int_equal(all->asked, 1);
    assert_int_equal(all->rejected, 1);
    assert_int_equal(all->heard, 3);
    assert_int_equal(all->stock_wrong, 6);
    assert_int_equal(book.chatter.at[0][2].wrong, 1);
    assert_int_equal(book.way[TALLY_NOISE].keys, 2);
    assert_int_equal(book.way[TALLY_NOISE].at[0][2].said, 3); /* engine */
    assert_true(book.costs.ear_s == 3.5 && book.costs.stock_s == 1.75 && book.costs.sound_s == 14);
}

static void the_picture_shows_the_shares(void **state)
{
    (void)state;
    static struct tally_book book;
    static char svg[65536];
    struct row row = make_row("accepted", true, false, "quiet", ROWS_QUIET_DB);
    FILE *file = tmpfile();
    assert_non_null(file);
    tally_open(&book);
    tally_take(&book, &row);
    plot_write(file, &book.way[TALLY_ALL]);
    rewind(file);
    svg[fread(svg, 1, sizeof svg - 1, file)] = '\0';
    fclose(file);
    assert_non_null(strstr(svg, "<title>right at once: 1 of 1</title>"));
    assert_non_null(strstr(svg, "<title>wrong, believed: 0 of 1</title>"));
    assert_non_null(strstr(svg, "</svg>"));
    assert_null(strstr(svg, "nan"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_short_list_is_the_beginning_of_a_long_one),
        cmocka_unit_test(every_grammar_is_asked_for_an_answer_of_its_own),
        cmocka_unit_test(nobody_speaks_in_both_sets),
        cmocka_unit_test(rows_come_back_as_they_went),
        cmocka_unit_test(columns_of_another_time_are_refused),
        cmocka_unit_test(what_was_heard_is_counted_where_it_belongs),
        cmocka_unit_test(the_picture_shows_the_shares),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
