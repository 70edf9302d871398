/* Text in markup: see markup.h. */
#include "record/markup.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/plain.h"

static const char *reference_of(char letter)
{
    switch (letter) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    default:
        return "&#39;";
    }
}

void markup_add(struct text *text, const char *string)
{
    char plain[4 * MARKUP_TEXT]; /* every byte may become four */
    struct text made = text_into(plain, sizeof plain);
    plain_add(&made, string);
    text->cut |= made.cut;
    for (const char *at = plain; *at != '\0';) {
        size_t n = strcspn(at, "&<>\"'");
        text_add_n(text, at, n);
        at += n;
        if (*at != '\0')
            text_add(text, reference_of(*at++));
    }
}

void markup_addf(struct text *text, const char *format, ...)
{
    char raw[MARKUP_TEXT];
    va_list arguments;
    va_start(arguments, format);
    int n = vsnprintf(raw, sizeof raw, format, arguments);
    va_end(arguments);
    text->cut |= n < 0 || (size_t)n >= sizeof raw;
    markup_add(text, raw);
}
