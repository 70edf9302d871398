/* Abbreviations and fractions spelt out for the voice: see spoken.h. */
#include "speech/spoken.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

/* Units are spelt out after a number only: "in" is a word of its own. */
static const struct {
    const char *written, *one, *many;
} units[] = {
    {"mm", "millimetre", "millimetres"},
    {"in", "inch", "inches"},
    {"thou", "thousandth", "thousandths"},
    {"Nm", "newton metre", "newton metres"},
    {"N·m", "newton metre", "newton metres"},
    {"s", "second", "seconds"},
    {"min", "minute", "minutes"},
    {"%", "percent", "percent"},
};

static const struct {
    const char *written, *spoken;
} words[] = {
    {"e.g.", "for example"}, {"i.e.", "that is"},    {"vs.", "against"},
    {"OK", "okay"},          {"±", "plus or minus"},
};

static const struct {
    long denominator;
    const char *one, *many;
} parts[] = {
    {2, "half", "halves"},
    {3, "third", "thirds"},
    {4, "quarter", "quarters"},
    {6, "sixth", "sixths"},
    {8, "eighth", "eighths"},
    {12, "twelfth", "twelfths"},
    {16, "sixteenth", "sixteenths"},
    {24, "twenty-fourth", "twenty-fourths"},
    {32, "thirty-second", "thirty-seconds"},
    {64, "sixty-fourth", "sixty-fourths"},
};

static bool starts(const char *at, const char *with)
{
    return strncmp(at, with, strlen(with)) == 0;
}

static bool ends_word(char c)
{
    return !isalnum((unsigned char)c);
}

static size_t number_length(const char *at)
{
    size_t length = strspn(at, "0123456789");
    if (at[length] == '.' && isdigit((unsigned char)at[length + 1]))
        length += 1 + strspn(at + length + 1, "0123456789");
    return length;
}

/* "5/16" or "1-5/16" at `at`: says it, returns its length; 0 when it is no fraction we have a word
 * for ("1/0", "3/7", dates). */
static size_t say_fraction(const char *at, struct text *out, bool *one)
{
    size_t whole = strspn(at, "0123456789");
    size_t skip = whole > 0 && whole < 5 && (at[whole] == '-' || at[whole] == '+') ? whole + 1 : 0;
    size_t over = strspn(at + skip, "0123456789");
    if (over == 0 || over > 4 || at[skip + over] != '/')
        return 0;
    const char *under = at + skip + over + 1;
    size_t length = strspn(under, "0123456789");
    if (length == 0 || length > 3 || under[length] == '/')
        return 0;
    long denominator = strtol(under, NULL, 10);
    for (size_t p = 0; p < sizeof parts / sizeof parts[0]; p++) {
        if (parts[p].denominator != denominator)
            continue;
        *one = strtol(at + skip, NULL, 10) <= 1 && skip == 0;
        if (skip > 0) {
            text_add_n(out, at, whole);
            text_add(out, " and ");
        }
        text_add_n(out, at + skip, over);
        text_add(out, " ");
        text_add(out, strtol(at + skip, NULL, 10) == 1 ? parts[p].one : parts[p].many);
        return skip + over + 1 + length;
    }
    return 0;
}

/* A unit right after a number: "mm", " mm"; its length with the space, 0 when there is none. */
static size_t say_unit(const char *at, bool one, bool fraction, struct text *out)
{
    size_t space = strspn(at, " ");
    if (space > 1)
        return 0;
    for (size_t u = 0; u < sizeof units / sizeof units[0]; u++) {
        size_t length = strlen(units[u].written);
        if (!starts(at + space, units[u].written) || !ends_word(at[space + length]))
            continue;
        bool of = fraction && strcmp(units[u].written, "in") == 0;
        text_add(out, of ? " of an " : " ");
        text_add(out, of || one ? units[u].one : units[u].many);
        return space + length;
    }
    return 0;
}

static size_t say_number(const char *at, struct text *out)
{
    bool one = false;
    size_t length = say_fraction(at, out, &one);
    bool fraction = length > 0;
    if (!fraction) {
        length = number_length(at);
        one = length == 1 && at[0] == '1';
        text_add_n(out, at, length);
    }
    /* "1-5/16 in" is inches, "5/16 in" is sixteenths of one */
    bool mixed = fraction && memchr(at, '/', length) != NULL &&
                 (memchr(at, '-', length) != NULL || memchr(at, '+', length) != NULL);
    return length + say_unit(at + length, one && !mixed, fraction && !mixed, out);
}

static size_t say_word(const char *at, struct text *out)
{
    for (size_t w = 0; w < sizeof words / sizeof words[0]; w++) {
        if (!starts(at, words[w].written))
            continue;
        text_add(out, words[w].spoken);
        return strlen(words[w].written);
    }
    size_t length = 1;
    while (isalnum((unsigned char)at[length]) && isalnum((unsigned char)at[0]))
        length++;
    text_add_n(out, at, length);
    return length;
}

bool speech_spoken(const char *written, char *out, size_t size)
{
    struct text text = text_into(out, size);
    while (*written != '\0')
        written += isdigit((unsigned char)*written) ? say_number(written, &text)
                                                    : say_word(written, &text);
    return !text.cut;
}
