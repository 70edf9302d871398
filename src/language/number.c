/* Whole numbers said as a number, digit by digit or in pairs, and the same numbers in words. */
#include "language/parts.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { NUMBER_MOST = 999999, FIGURES_MOST = 9, DIGITS_MOST = 4 };

static const char *const below_twenty[] = {
    "zero",     "one",     "two",     "three",     "four",     "five",     "six",
    "seven",    "eight",   "nine",    "ten",       "eleven",   "twelve",   "thirteen",
    "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
};
static const char *const tens[] = {"twenty", "thirty",  "forty",  "fifty",
                                   "sixty",  "seventy", "eighty", "ninety"};

/* As radiotelephony says it (ICAO Annex 10, volume II, from memory): "nine" is heard as "five",
 * "one" or "ninety". */
static const char NINER[] = "niner";

/* The place of the first token in a list, from `first` on; -1: not in it. Takes it off. */
static int take_one_of(struct span *span, const char *const *list, size_t from, size_t to)
{
    for (size_t i = from; i < to; i++) {
        if (span_take(span, list[i]))
            return (int)i;
    }
    return -1;
}

/* A number of `least` .. `most`, `most` below twenty, in one word; -1: there is none. */
static int take_below_twenty(struct span *span, size_t least, size_t most)
{
    return span_take(span, NINER) ? 9 : take_one_of(span, below_twenty, least, most + 1);
}

static int take_tens(struct span *span)
{
    int place = take_one_of(span, tens, 0, sizeof tens / sizeof tens[0]);
    return place < 0 ? -1 : 20 + 10 * place;
}

/* 1 .. 99, or -1. */
static int take_below_hundred(struct span *span)
{
    int ten = take_tens(span);
    if (ten < 0)
        return take_below_twenty(span, 1, 19);
    int one = take_below_twenty(span, 1, 9);
    return one < 0 ? ten : ten + one;
}

/* "[and] forty seven" after a hundred or a thousand; 0 when nothing of the kind follows, and then
 * the "and" is left: it may belong to "and a half". */
static int take_rest(struct span *span, int (*take)(struct span *))
{
    struct span rest = *span;
    span_take(&rest, "and");
    int value = take(&rest);
    if (value < 0)
        return 0;
    *span = rest;
    return value;
}

/* 1 .. 999, or -1. */
static int take_below_thousand(struct span *span)
{
    struct span trial = *span;
    int hundreds = span_take(&trial, "a") ? 1 : take_below_twenty(&trial, 1, 9);
    if (hundreds < 0 || !span_take(&trial, "hundred"))
        return take_below_hundred(span);
    *span = trial;
    return hundreds * 100 + take_rest(span, take_below_hundred);
}

static bool all_digits(const char *text)
{
    return text[0] != '\0' && text[strspn(text, "0123456789")] == '\0';
}

static bool take_figures(struct span *span, int64_t *number)
{
    const char *token = span_first(*span);
    if (!all_digits(token) || strlen(token) > FIGURES_MOST)
        return false;
    *number = 0;
    for (; *token != '\0'; token++)
        *number = *number * 10 + (*token - '0');
    span->from++;
    return true;
}

bool number_take(struct span *span, int64_t *number)
{
    if (take_figures(span, number))
        return true;
    if (span_take(span, "zero")) {
        *number = 0;
        return true;
    }
    struct span after = *span;
    int value = 1;
    if (!span_take(&after, "a thousand")) {
        value = take_below_thousand(&after);
        if (value < 0)
            return false;
        if (!span_take(&after, "thousand")) {
            *span = after;
            *number = value;
            return true;
        }
    }
    *number = (int64_t)value * 1000 + take_rest(&after, take_below_thousand);
    *span = after;
    return true;
}

/* ---- digits ------------------------------------------------------------------------------- */

static bool take_digit(struct span *span, struct text *digits)
{
    int value = span_take(span, "oh") ? 0 : take_below_twenty(span, 0, 9);
    const char *token = span_first(*span);
    if (value < 0 && all_digits(token) && token[1] == '\0') {
        value = token[0] - '0';
        span->from++;
    }
    if (value < 0)
        return false;
    text_addf(digits, "%d", value);
    return true;
}

bool number_take_digits(struct span *span, int64_t *number)
{
    struct span after = *span;
    int value = take_below_twenty(&after, 1, 9);
    size_t digits = 0;
    *number = 0;
    for (; value >= 0 && digits < DIGITS_MOST; digits++) {
        *number = *number * 10 + value;
        *span = after;
        value = span_take(&after, "oh") ? 0 : take_below_twenty(&after, 0, 9);
    }
    return digits >= 2 && value < 0;
}

static bool take_pair(struct span *span, struct text *digits)
{
    const char *token = span_first(*span);
    if (all_digits(token)) {
        text_add(digits, token);
        span->from++;
        return true;
    }
    int value = take_below_hundred(span);
    if (value < 0)
        return false;
    text_addf(digits, "%d", value);
    return true;
}

bool digits_said(struct span span, bool pairs, char *digits, size_t size)
{
    struct text text = text_into(digits, size);
    while (span_length(span) > 0) {
        if (pairs && take_pair(&span, &text))
            continue;
        if (!take_digit(&span, &text))
            return false;
    }
    return text.used > 0 && !text.cut;
}

/* ---- numbers into words ------------------------------------------------------------------- */

static void below_hundred_words(struct text *text, int number)
{
    if (number < 20) {
        text_add(text, below_twenty[number]);
        return;
    }
    text_add(text, tens[number / 10 - 2]);
    if (number % 10 > 0)
        text_addf(text, " %s", below_twenty[number % 10]);
}

static void below_thousand_words(struct text *text, int number)
{
    if (number >= 100)
        text_addf(text, "%s hundred", below_twenty[number / 100]);
    if (number >= 100 && number % 100 > 0)
        text_add(text, " ");
    if (number < 100 || number % 100 > 0)
        below_hundred_words(text, number % 100);
}

void number_words(struct text *text, int64_t number)
{
    if (number < 0 || number > NUMBER_MOST) {
        text_addf(text, "%" PRId64, number);
        return;
    }
    int thousands = (int)(number / 1000), rest = (int)(number % 1000);
    if (thousands > 0) {
        below_thousand_words(text, thousands);
        text_add(text, " thousand");
    }
    if (thousands > 0 && rest > 0)
        text_add(text, " ");
    if (thousands == 0 || rest > 0)
        below_thousand_words(text, rest);
}

void digits_words(struct text *text, const char *digits)
{
    for (const char *at = digits; *at != '\0'; at++) {
        if (at > digits)
            text_add(text, " ");
        if (*at >= '0' && *at <= '9')
            text_add(text, below_twenty[*at - '0']);
        else
            text_add_n(text, at, 1);
    }
}

void digit_words(struct text *text, int64_t number)
{
    char figures[24];
    snprintf(figures, sizeof figures, "%" PRId64, number);
    digits_words(text, figures);
}

bool number_has_twin(int64_t number)
{
    for (; number > 0; number /= 1000) {
        int64_t below = number % 100;
        if ((below >= 13 && below <= 19) || (below >= 30 && below % 10 == 0))
            return true;
    }
    return false;
}
