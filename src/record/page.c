/* Plain text in 80 columns: see page.h. */
#include "record/page.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "profile/utf8.h"
#include "record/plain.h"

enum { PARAGRAPH = 2048 };

struct page page_into(char *buffer, size_t size)
{
    return (struct page){text_into(buffer, size)};
}

/* Bytes of the first `columns` letters of a word that has at least one. */
static size_t bytes_of(const char *word, size_t length, size_t columns)
{
    size_t at = 0;
    uint32_t point;
    for (size_t i = 0; i < columns && at < length; i++) {
        size_t n = utf8_next(word + at, length - at, &point);
        at += n == 0 ? 1 : n;
    }
    return at;
}

static size_t columns_of(const char *word, size_t length)
{
    size_t columns = 0;
    for (size_t at = 0; at < length; columns++)
        at += bytes_of(word + at, length - at, 1);
    return columns;
}

static size_t new_line(struct page *page, size_t hang)
{
    text_addf(&page->text, "\n%*s", (int)hang, "");
    return hang;
}

/* Sets one word at `column` and returns the column behind it; a word wider than the line is broken.
 */
static size_t set_word(struct page *page, const char *word, size_t length, size_t column,
                       size_t hang)
{
    size_t wide = columns_of(word, length);
    while (column + wide > PAGE_COLUMNS && wide > PAGE_COLUMNS - hang) {
        size_t bytes = bytes_of(word, length, PAGE_COLUMNS - column);
        text_add_n(&page->text, word, bytes);
        column = new_line(page, hang);
        word += bytes;
        length -= bytes;
        wide = columns_of(word, length);
    }
    text_add_n(&page->text, word, length);
    return column + wide;
}

static void wrap(struct page *page, size_t column, size_t hang, const char *paragraph)
{
    bool first = true;
    for (const char *word = paragraph; *word != '\0';) {
        size_t length = strcspn(word, " ");
        size_t wide = columns_of(word, length);
        if (length > 0 && !first) {
            if (column + 1 + wide > PAGE_COLUMNS) {
                column = new_line(page, hang);
            } else {
                text_add(&page->text, " ");
                column++;
            }
        }
        if (length > 0) {
            column = set_word(page, word, length, column, hang);
            first = false;
        }
        word += length;
        word += strspn(word, " ");
    }
    text_add(&page->text, "\n");
}

static void put(struct page *page, size_t column, size_t hang, const char *format,
                va_list arguments) __attribute__((format(printf, 4, 0)));

static void put(struct page *page, size_t column, size_t hang, const char *format,
                va_list arguments)
{
    char raw[PARAGRAPH];
    char plain[4 * PARAGRAPH]; /* every byte may become four */
    vsnprintf(raw, sizeof raw, format, arguments);
    struct text text = text_into(plain, sizeof plain);
    plain_add(&text, raw);
    wrap(page, column, hang, plain);
}

void page_put(struct page *page, size_t indent, size_t hang, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    text_addf(&page->text, "%*s", (int)indent, "");
    put(page, indent, hang, format, arguments);
    va_end(arguments);
}

void page_label(struct page *page, size_t indent, size_t hang, const char *label,
                const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    text_addf(&page->text, "%*s%-*s", (int)indent, "", (int)(hang - indent), label);
    put(page, hang, hang, format, arguments);
    va_end(arguments);
}

void page_blank(struct page *page)
{
    text_add(&page->text, "\n");
}

void page_heading(struct page *page, const char *heading)
{
    text_addf(&page->text, "\n%s\n", heading);
}
