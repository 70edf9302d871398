/* Bounded text: see text.h. */
#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct text text_into(char *buffer, size_t size)
{
    buffer[0] = '\0';
    return (struct text){.at = buffer, .size = size};
}

void text_add_n(struct text *text, const char *string, size_t length)
{
    size_t room = text->size - 1 - text->used;
    if (length > room) {
        length = room;
        text->cut = true;
    }
    memcpy(text->at + text->used, string, length);
    text->used += length;
    text->at[text->used] = '\0';
}

void text_add(struct text *text, const char *string)
{
    text_add_n(text, string, strlen(string));
}

void text_addf(struct text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    size_t room = text->size - text->used;
    int wanted = vsnprintf(text->at + text->used, room, format, arguments);
    va_end(arguments);
    if (wanted < 0) {
        text->at[text->used] = '\0';
        text->cut = true;
    } else if ((size_t)wanted >= room) {
        text->used = text->size - 1;
        text->cut = true;
    } else {
        text->used += (size_t)wanted;
    }
}

bool text_copy(char *to, size_t size, const char *from)
{
    struct text text = text_into(to, size);
    text_add(&text, from == NULL ? "" : from);
    return !text.cut;
}

void text_begin_sentence(char *text)
{
    if (text[0] >= 'a' && text[0] <= 'z')
        text[0] = (char)(text[0] - 'a' + 'A');
}
