/* Cuts what was said or typed into tokens: lower-case words and figures such as 5/16, 1+5/16, .31,
 * -4. Whatever cannot belong to an answer becomes '#', which no parser takes, so that nothing is
 * understood by leaving part of it out. */
#include "language/parts.h"

#include <string.h>

/* ASCII only and independent of the locale, unlike ctype.h. */
static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_space(char c)
{
    return c == ' ' || (c >= '\t' && c <= '\r');
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static char last(const struct text *out)
{
    return out->used == 0 ? ' ' : out->at[out->used - 1];
}

static char last_solid(const struct text *out)
{
    size_t i = out->used;
    while (i > 0 && out->at[i - 1] == ' ')
        i--;
    return i == 0 ? ' ' : out->at[i - 1];
}

static const char *skip_spaces(const char *at)
{
    while (is_space(*at))
        at++;
    return at;
}

static void add(struct text *out, char c)
{
    text_add_n(out, &c, 1);
}

static void add_space(struct text *out)
{
    if (last(out) != ' ')
        add(out, ' ');
}

/* The operator at `at` joins two figures: 5/16, 1-5/16, 1 + 5/16. A dash must have room on both
 * sides or on neither: "1 -5" is a one and a minus five. */
static bool joins_figures(const struct text *out, const char *at)
{
    if (!is_digit(last_solid(out)) || !is_digit(*skip_spaces(at + 1)))
        return false;
    return *at != '-' || is_space(at[1]) == (last(out) == ' ');
}

static const char *take_operator(struct text *out, const char *at)
{
    if (joins_figures(out, at)) {
        while (last(out) == ' ')
            out->used--;
        add(out, *at == '/' ? '/' : '+');
        return skip_spaces(at + 1);
    }
    const char *next = skip_spaces(at + 1);
    bool apart = last(out) == ' ';
    bool dash = *at == '-';
    if (dash && apart && (is_digit(*next) || *next == '.')) {
        add(out, '-');
        return next;
    }
    if (dash && (apart || is_letter(last(out)) || is_letter(at[1])))
        add_space(out);
    else
        add(out, '#');
    return at + 1;
}

/* 1,500: a comma before exactly three digits is no comma. */
static bool groups_thousands(const struct text *out, const char *at)
{
    return is_digit(last(out)) && is_digit(at[1]) && is_digit(at[2]) && is_digit(at[3]) &&
           !is_digit(at[4]);
}

static void take_mark(struct text *out, const char *at)
{
    switch (*at) {
    case '.':
        if (!is_digit(at[1])) {
            add_space(out);
            return;
        }
        if (!is_digit(last(out)) && last(out) != '-')
            add_space(out);
        add(out, '.');
        return;
    case ',':
        if (!groups_thousands(out, at))
            add_space(out);
        return;
    case '"': /* the inch mark after a figure, else a quotation mark */
        text_add(out, is_digit(last_solid(out)) ? " in " : last(out) == ' ' ? "" : " ");
        return;
    case '!':
    case '?':
    case ';':
    case ':':
        add_space(out);
        return;
    default:
        add(out, '#');
    }
}

/* The apostrophe of "don't", typed straight or as U+2019. Its length, 0 when it is none. */
static size_t apostrophe(const char *at)
{
    if (*at == '\'')
        return 1;
    return strncmp(at, "\xe2\x80\x99", 3) == 0 ? 3 : 0;
}

static const char *take_character(struct text *out, const char *at)
{
    size_t quote = apostrophe(at);
    if (quote > 0) {
        bool inside = is_letter(last(out)) && is_letter(at[quote]);
        add(out, inside ? '\'' : is_digit(last(out)) ? '#' : ' ');
        return at + quote;
    }
    if (is_letter(*at)) {
        if (is_digit(last(out)))
            add(out, ' ');
        add(out, lower(*at));
    } else if (is_digit(*at)) {
        if (is_letter(last(out)))
            add(out, ' ');
        add(out, *at);
    } else if (is_space(*at)) {
        add_space(out);
    } else if (*at == '/' || *at == '+' || *at == '-') {
        return take_operator(out, at);
    } else {
        take_mark(out, at);
    }
    return at + 1;
}

/* Short and joined forms that mean the same words. */
static const char *const same_words[][2] = {
    {"acw", "anti clockwise"},
    {"anticlockwise", "anti clockwise"},
    {"can't", "cannot"},
    {"ccw", "counter clockwise"},
    {"counterclockwise", "counter clockwise"},
    {"cw", "clockwise"},
    {"dont", "don't"},
    {"i've", "i have"},
    {"isn't", "is not"},
    {"it's", "it is"},
    {"that's", "that is"},
};

static const char *expanded(const char *token)
{
    for (size_t i = 0; i < sizeof same_words / sizeof same_words[0]; i++) {
        if (strcmp(same_words[i][0], token) == 0)
            return same_words[i][1];
    }
    return token;
}

/* Adds one token of `clean`, expanded, to `joined`; returns where the next one may begin. */
static const char *join_token(struct text *joined, const char *at)
{
    char token[WORDS_TEXT];
    size_t length = strcspn(at, " ");
    memcpy(token, at, length);
    token[length] = '\0';
    if (joined->used > 0)
        add(joined, ' ');
    text_add(joined, expanded(token));
    return at + length;
}

static void cut_to_tokens(struct words *words)
{
    text_copy(words->cells, sizeof words->cells, words->joined);
    for (char *at = words->cells; *at != '\0' && words->n < WORDS_MAX;) {
        words->token[words->n++] = at;
        at += strcspn(at, " ");
        if (*at == ' ')
            *at++ = '\0';
        else
            return;
    }
    words->too_long = true;
}

void words_read(struct words *words, const char *raw)
{
    char clean[WORDS_TEXT];
    struct text out = text_into(clean, sizeof clean);
    struct text joined = text_into(words->joined, sizeof words->joined);
    words->n = 0;
    words->too_long = false;
    for (const char *at = raw; *at != '\0' && !out.cut;)
        at = take_character(&out, at);
    for (const char *at = skip_spaces(clean); *at != '\0'; at = skip_spaces(at))
        at = join_token(&joined, at);
    if (out.cut || joined.cut)
        words->too_long = true;
    else if (joined.used > 0)
        cut_to_tokens(words);
    if (words->too_long)
        words->n = 0;
}

struct span span_of(const struct words *words)
{
    return (struct span){.words = words, .from = 0, .to = words->n};
}

size_t span_length(struct span span)
{
    return span.to - span.from;
}

const char *span_first(struct span span)
{
    return span.from < span.to ? span.words->token[span.from] : "";
}

static size_t words_in(const char *phrase)
{
    size_t n = 1;
    for (; *phrase != '\0'; phrase++)
        n += *phrase == ' ';
    return n;
}

/* `word` is the first word of `phrase`. */
static bool begins_with(const char *phrase, const char *word)
{
    while (*word != '\0' && *phrase == *word) {
        phrase++;
        word++;
    }
    return *word == '\0' && (*phrase == ' ' || *phrase == '\0');
}

/* Where the phrase ends that begins at token `at`; 0 when it does not stand there whole. */
static size_t phrase_end(const struct span *span, size_t at, const char *phrase)
{
    for (; at < span->to && begins_with(phrase, span->words->token[at]); at++) {
        phrase += strcspn(phrase, " ");
        if (*phrase++ == '\0')
            return at + 1;
    }
    return 0;
}

bool span_take(struct span *span, const char *phrase)
{
    size_t end = phrase_end(span, span->from, phrase);
    if (end > 0)
        span->from = end;
    return end > 0;
}

bool span_take_end(struct span *span, const char *phrase)
{
    size_t n = words_in(phrase);
    if (n > span_length(*span) || phrase_end(span, span->to - n, phrase) == 0)
        return false;
    span->to -= n;
    return true;
}

bool span_is(struct span span, const char *phrase)
{
    return span_take(&span, phrase) && span_length(span) == 0;
}
