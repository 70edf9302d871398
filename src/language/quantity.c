/* Fractions, decimals and mixed numbers, in words ("one and five sixteenths", "point three one",
 * digit by digit "one one point four") and in figures (1-5/16, .31): the number of a length or of a
 * turn, its unit taken off. */
#include "language/parts.h"

#include <string.h>

enum { FIGURES_MOST = 9 }; /* digits in one part, so that no product leaves int64_t */

static const struct {
    const char *one, *many;
    int denominator;
} parts_of_one[] = {
    {"half", "halves", 2},
    {"third", "thirds", 3},
    {"quarter", "quarters", 4},
    {"fourth", "fourths", 4},
    {"sixth", "sixths", 6},
    {"eighth", "eighths", 8},
    {"twelfth", "twelfths", 12},
    {"sixteenth", "sixteenths", 16},
    {"twenty fourth", "twenty fourths", 24},
    {"thirty second", "thirty seconds", 32},
    {"sixty fourth", "sixty fourths", 64},
};

/* ---- figures ------------------------------------------------------------------------------ */

/* Reads up to FIGURES_MOST digits; NULL when there are none or more. */
static const char *read_digits(const char *at, int64_t *value, int *digits)
{
    *value = 0;
    for (*digits = 0; *at >= '0' && *at <= '9'; at++) {
        if (++*digits > FIGURES_MOST)
            return NULL;
        *value = *value * 10 + (*at - '0');
    }
    return *digits == 0 ? NULL : at;
}

/* num/den, after an optional whole and "+": the fraction of a figure such as 1+5/16. */
static bool read_fraction(const char *at, int64_t whole, struct quantity *quantity)
{
    int digits;
    at = read_digits(at, &quantity->num, &digits);
    if (at == NULL || *at != '/')
        return false;
    at = read_digits(at + 1, &quantity->den, &digits);
    if (at == NULL || *at != '\0')
        return false;
    quantity->form = QUANTITY_FRACTION;
    quantity->num += whole * quantity->den;
    return true;
}

static bool read_decimals(const char *at, int64_t whole, struct quantity *quantity)
{
    int64_t decimals;
    int digits;
    at = read_digits(at, &decimals, &digits);
    if (at == NULL || *at != '\0')
        return false;
    quantity->form = QUANTITY_DECIMAL;
    for (quantity->den = 1; digits > 0; digits--)
        quantity->den *= 10;
    quantity->num = whole * quantity->den + decimals;
    return true;
}

/* One token: 4712, 7.9, .31, 5/16, 1+5/16. */
static bool read_figure(const char *token, struct quantity *quantity)
{
    if (*token == '.')
        return read_decimals(token + 1, 0, quantity);
    int64_t whole;
    int digits;
    const char *at = read_digits(token, &whole, &digits);
    if (at == NULL)
        return false;
    switch (*at) {
    case '\0':
        *quantity = (struct quantity){.form = QUANTITY_WHOLE, .num = whole, .den = 1};
        return true;
    case '.':
        return read_decimals(at + 1, whole, quantity);
    case '/':
        return read_fraction(token, 0, quantity);
    case '+':
        return read_fraction(at + 1, whole, quantity);
    default:
        return false;
    }
}

/* ---- words -------------------------------------------------------------------------------- */

static bool take_part(struct span *span, int64_t *denominator)
{
    for (size_t i = 0; i < sizeof parts_of_one / sizeof parts_of_one[0]; i++) {
        if (span_take(span, parts_of_one[i].one) || span_take(span, parts_of_one[i].many)) {
            *denominator = parts_of_one[i].denominator;
            return true;
        }
    }
    return false;
}

/* "five sixteenths", "a half", "half": the whole span. */
static bool fraction_said(struct span span, struct quantity *quantity)
{
    struct quantity said = {.form = QUANTITY_FRACTION, .num = 1};
    bool bare_half = span_is(span, "half");
    bool article = span_take(&span, "a") || span_take(&span, "an");
    if (!article && !bare_half && !number_take(&span, &said.num))
        return false;
    if (!take_part(&span, &said.den) || span_length(span) > 0)
        return false;
    said.improper = said.num >= said.den;
    *quantity = said;
    return true;
}

/* "and five sixteenths", or a typed fraction, after `whole`. */
static bool mixed_said(struct span span, int64_t whole, struct quantity *quantity)
{
    bool linked = span_take(&span, "and");
    bool figure = span_length(span) == 1 && read_figure(span_first(span), quantity) &&
                  quantity->form == QUANTITY_FRACTION &&
                  (quantity->num < quantity->den || quantity->den == 0);
    if (!figure && (!linked || !fraction_said(span, quantity)))
        return false;
    quantity->num += whole * quantity->den;
    return true;
}

static bool take_point(struct span *span)
{
    return span_take(span, "point") || span_take(span, "decimal");
}

static bool starts_with_point(struct span span)
{
    return take_point(&span);
}

/* "point one eight seven" after `whole`. */
static bool decimals_said(struct span span, int64_t whole, struct quantity *quantity)
{
    char digits[FIGURES_MOST + 1];
    return take_point(&span) && digits_said(span, false, digits, sizeof digits) &&
           read_decimals(digits, whole, quantity);
}

/* "one two seven", "one two seven point five": the whole span. */
static bool digits_one_by_one_said(struct span span, struct quantity *quantity)
{
    int64_t whole;
    if (!number_take_digits(&span, &whole))
        return false;
    if (decimals_said(span, whole, quantity))
        return true;
    *quantity = (struct quantity){.form = QUANTITY_WHOLE, .num = whole, .den = 1};
    return span_length(span) == 0;
}

static bool positive_said(struct span span, struct quantity *quantity)
{
    if (span_length(span) == 1 && read_figure(span_first(span), quantity))
        return true;
    if (fraction_said(span, quantity))
        return true;
    if (digits_one_by_one_said(span, quantity))
        return true;
    if (span_take(&span, "oh") || starts_with_point(span))
        return decimals_said(span, 0, quantity);
    int64_t whole;
    if (!number_take(&span, &whole))
        return false;
    if (decimals_said(span, whole, quantity) || mixed_said(span, whole, quantity))
        return true;
    *quantity = (struct quantity){.form = QUANTITY_WHOLE, .num = whole, .den = 1};
    return span_length(span) == 0;
}

/* A minus sign stands at the front of a figure: the figure is read again without it. */
static bool signed_figure_said(struct span span, struct quantity *quantity)
{
    const char *token = span_first(span);
    return *token == '-' && span_length(span) == 1 && read_figure(token + 1, quantity);
}

bool quantity_said(struct span span, struct quantity *quantity)
{
    *quantity = (struct quantity){0};
    bool negative = span_take(&span, "minus") || span_take(&span, "negative");
    bool figure = signed_figure_said(span, quantity);
    if (!figure && !positive_said(span, quantity))
        return false;
    quantity->negative = negative || figure;
    return true;
}

/* ---- and back ----------------------------------------------------------------------------- */

bool quantity_fraction_words(struct text *text, int64_t num, int64_t den)
{
    for (size_t i = 0; i < sizeof parts_of_one / sizeof parts_of_one[0]; i++) {
        if (parts_of_one[i].denominator != den)
            continue;
        number_words(text, num);
        text_addf(text, " %s", num == 1 ? parts_of_one[i].one : parts_of_one[i].many);
        return true;
    }
    return false;
}

int64_t quantity_divisor(int64_t a, int64_t b)
{
    /* Remainders are at most as large as their divisor, so INT64_MIN is the only hard case. */
    uint64_t x = a < 0 ? 0 - (uint64_t)a : (uint64_t)a;
    uint64_t y = b < 0 ? 0 - (uint64_t)b : (uint64_t)b;
    while (y != 0) {
        uint64_t rest = x % y;
        x = y;
        y = rest;
    }
    return x == 0 || x > INT64_MAX ? 1 : (int64_t)x;
}
