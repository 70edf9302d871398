/* Text from outside, made plain: see plain.h. */
#include "base/plain.h"

#include <string.h>

#include "base/utf8.h"

static void add_bytes(struct text *text, const char *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++)
        text_addf(text, "\\x%02X", (unsigned)(unsigned char)bytes[i]);
}

static void add(struct text *text, const char *string, bool quoted)
{
    size_t length = strlen(string);
    for (size_t i = 0; i < length;) {
        uint32_t point = 0;
        size_t n = utf8_next(string + i, length - i, &point);
        size_t taken = n == 0 ? 1 : n;
        if (n == 0 || utf8_is_control(point)) {
            add_bytes(text, string + i, taken);
        } else {
            if (point == '\\' || (quoted && point == '"'))
                text_add(text, "\\");
            text_add_n(text, string + i, taken);
        }
        i += taken;
    }
}

void plain_add(struct text *text, const char *string)
{
    add(text, string, false);
}

void plain_add_quoted(struct text *text, const char *string)
{
    text_add(text, "\"");
    add(text, string, true);
    text_add(text, "\"");
}

const char *plain_text(const char *string, char *out, size_t size)
{
    struct text text = text_into(out, size);
    plain_add(&text, string);
    return out;
}

void plain_print(FILE *out, const char *string)
{
    size_t left = strlen(string);
    while (left > 0) {
        char piece[5] = "";
        char made[4 * sizeof piece];
        uint32_t point = 0;
        size_t n = utf8_next(string, left, &point);
        size_t taken = n == 0 ? 1 : n; /* what is no UTF-8 goes a byte at a time */
        memcpy(piece, string, taken);
        struct text text = text_into(made, sizeof made);
        plain_add(&text, piece);
        fputs(made, out);
        string += taken;
        left -= taken;
    }
}
