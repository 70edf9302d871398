/* Captions against the rules of WebVTT's syntax (W3C Candidate Recommendation 2019-04-04, section
 * 4), read here by a reader of their own that knows nothing of the writer. Section numbers are
 * from memory. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "record/caption.h"
#include "seeded_event.h"

static char file[1 << 20];
static char piece[CAPTION_CUE];
static struct captions captions;

static void begin(const char *title)
{
    assert_true(captions_begin(&captions, title, piece, sizeof piece));
    snprintf(file, sizeof file, "%s", piece);
}

static void add(int64_t start_ms, int64_t end_ms, const char *who, const char *text)
{
    const struct caption caption = {start_ms, end_ms, who, text};
    assert_true(captions_add(&captions, &caption, piece, sizeof piece));
    assert_true(strlen(file) + strlen(piece) < sizeof file);
    strcat(file, piece);
}

/* ---- the reader ------------------------------------------------------------------------------ */

/* 4.1, "WebVTT timestamp": hours of two digits or more, then mm:ss.ttt. -1: none. */
static int64_t read_time(const char **at)
{
    char *end;
    if (!isdigit((unsigned char)(*at)[0]) || !isdigit((unsigned char)(*at)[1]))
        return -1;
    int64_t hours = strtoll(*at, &end, 10);
    int minutes, seconds, thousandths, n = 0;
    if (sscanf(end, ":%2d:%2d.%3d%n", &minutes, &seconds, &thousandths, &n) != 3 || n != 10 ||
        minutes > 59 || seconds > 59)
        return -1;
    *at = end + n;
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + thousandths;
}

/* 4.2.2, "WebVTT cue components": of cue text, no '&' but a character reference, no '<' but a tag.
 */
static size_t read_text(const char *at, const char *line_end, char *out)
{
    static const struct {
        const char *name, *means;
    } references[] = {{"&amp;", "&"}, {"&lt;", "<"}, {"&gt;", ">"}};
    size_t used = 0;
    while (at < line_end) {
        assert_true(*at != '<' && *at != '>');
        size_t taken = 0;
        for (size_t i = 0; *at == '&' && i < 3; i++)
            if (strncmp(at, references[i].name, strlen(references[i].name)) == 0) {
                out[used++] = references[i].means[0];
                taken = strlen(references[i].name);
            }
        if (taken == 0) {
            assert_true(*at != '&');
            out[used++] = *at;
            taken = 1;
        }
        at += taken;
    }
    out[used] = '\0';
    return used;
}

struct read_cue {
    int64_t start_ms, end_ms;
    char who[64];
    char text[65536];
};
static struct read_cue got;

static const char *line_end_of(const char *at)
{
    const char *end = strchr(at, '\n');
    assert_non_null(end);
    return end;
}

/* 4.1: "WEBVTT", a space and a title without "-->", two line terminators or more. */
static const char *read_header(void)
{
    assert_int_equal(strncmp(file, "WEBVTT ", 7), 0);
    const char *end = line_end_of(file);
    assert_int_equal(end[1], '\n');
    for (const char *at = file; at < end; at++)
        assert_true(strncmp(at, "-->", 3) != 0 && *at != '\r');
    return end + 2;
}

/* 4.1, "WebVTT cue block"; NULL at the end of the file. */
static const char *read_cue(const char *at)
{
    if (*at == '\0')
        return NULL;
    got.start_ms = read_time(&at);
    assert_true(got.start_ms >= 0);
    assert_int_equal(strncmp(at, " --> ", 5), 0);
    at += 5;
    got.end_ms = read_time(&at);
    assert_true(got.end_ms > got.start_ms); /* 4.1: greater than the cue's start */
    assert_int_equal(*at, '\n');
    const char *line = at + 1;
    const char *end = line_end_of(line);
    for (at = line; at < end; at++)
        assert_true(strncmp(at, "-->", 3) != 0 && *at != '\r');
    assert_int_equal(strncmp(line, "<v ", 3), 0);
    const char *close = memchr(line, '>', (size_t)(end - line));
    assert_non_null(close);
    assert_true((size_t)(close - line) < sizeof got.who);
    read_text(line + 3, close, got.who);
    for (size_t n = strlen(got.who); n > 0 && got.who[n - 1] == ' '; n--)
        got.who[n - 1] = '\0'; /* 6.4: a voice's name is trimmed */
    read_text(close + 1, end, got.text);
    assert_int_equal(end[1], '\n'); /* the empty line that ends the block */
    return end + 2;
}

/* ---- tests ----------------------------------------------------------------------------------- */

static void a_file_is_as_the_standard_writes_it(void **state)
{
    (void)state;
    begin("midthrow, job 12");
    add(2360, 5000, "ear", "\"five sixteenths\"");
    add(3600000 * 101 + 59999, 3600000 * 101 + 60000, "tool", "a < b & c > d --> e");
    assert_string_equal(file, "WEBVTT midthrow, job 12\n\n"
                              "00:00:02.360 --> 00:00:05.000\n<v ear>\"five sixteenths\"\n\n"
                              "101:00:59.999 --> 101:01:00.000\n"
                              "<v tool>a &lt; b &amp; c &gt; d --&gt; e\n\n");
}

static void times_never_go_back(void **state)
{
    (void)state;
    static const int64_t odd[] = {INT64_MIN, -1, 0, 1, 999, 1000, 3599999, 3600000, INT64_MAX};
    enum { ODD = sizeof odd / sizeof odd[0] };
    for (size_t i = 0; i < ODD; i++)
        for (size_t j = 0; j < ODD; j++)
            for (size_t k = 0; k < ODD; k++) {
                begin("t");
                add(odd[i], odd[j], "a", "x");
                add(odd[k], odd[i], "b", "y");
                int64_t first_ms = -1;
                int cues = 0;
                for (const char *at = read_header(); (at = read_cue(at)) != NULL; cues++) {
                    assert_true(got.start_ms >= first_ms);
                    first_ms = got.start_ms;
                }
                assert_int_equal(cues, 2);
            }
}

static void whatever_is_said_comes_back_as_it_was(void **state)
{
    (void)state;
    static const char letters[] = "a-->&<>\n\r;ampltg v/\xC3\xA9";
    uint64_t seed = 5;
    for (int i = 0; i < 3000; i++) {
        char text[64];
        char who[8];
        size_t n = seeded_below(&seed, sizeof text);
        for (size_t j = 0; j < n; j++)
            text[j] = letters[seeded_below(&seed, sizeof letters - 1)];
        text[n] = '\0';
        n = seeded_below(&seed, sizeof who);
        for (size_t j = 0; j < n; j++)
            who[j] = letters[seeded_below(&seed, sizeof letters - 1)];
        who[n] = '\0';
        begin(text);
        add((int64_t)seeded_below(&seed, 5000), (int64_t)seeded_below(&seed, 9000), who, text);
        assert_true(read_cue(read_header()) != NULL);
        for (char *at = text; *at != '\0'; at++)
            *at = *at == '\n' || *at == '\r' ? ' ' : *at;
        for (char *at = who; *at != '\0'; at++)
            *at = *at == '\n' || *at == '\r' ? ' ' : *at;
        assert_string_equal(got.text, text);
        for (n = strlen(who); n > 0 && who[n - 1] == ' '; n--)
            who[n - 1] = '\0';
        assert_string_equal(got.who, who);
    }
}

static void what_does_not_fit_is_said_so(void **state)
{
    (void)state;
    char small[24];
    const struct caption caption = {0, 1000, "tool", "Forward throw, please."};
    assert_false(captions_begin(&captions, "a title that is long", small, sizeof small));
    assert_false(captions_add(&captions, &caption, small, sizeof small));
    assert_int_equal(strlen(small), sizeof small - 1);
}

static void long_lines_stand_longer(void **state)
{
    (void)state;
    char text[400];
    int64_t before = 0;
    for (size_t n = 0; n < sizeof text; n++) {
        memset(text, 'x', n);
        text[n] = '\0';
        int64_t now = caption_reading_ms(text);
        assert_true(now >= before && now >= 1000 && now <= 10000);
        before = now;
    }
    assert_int_equal(before, 10000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_file_is_as_the_standard_writes_it),
        cmocka_unit_test(times_never_go_back),
        cmocka_unit_test(whatever_is_said_comes_back_as_it_was),
        cmocka_unit_test(what_does_not_fit_is_said_so),
        cmocka_unit_test(long_lines_stand_longer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
