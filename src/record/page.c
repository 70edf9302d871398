/* Plain text in 80 columns: see page.h. */
#include "record/page.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/plain.h"
#include "base/utf8.h"

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

/* Is `word` a unit that stays with the figure before it? */
static bool is_unit(const char *before, const char *word, size_t length)
{
    static const char *const units[] = {"%", "mm", "in", "thou", "Nm"};
    if (before == NULL || *before < '0' || *before > '9')
        return false;
    while (length > 0 && strchr(".,;:)", word[length - 1]) != NULL)
        length--;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (strlen(units[i]) == length && memcmp(units[i], word, length) == 0)
            return true;
    return false;
}

/* Bytes of the word at `at` and of the unit behind it, if there is one. */
static size_t whole_word(const char *at)
{
    size_t length = strcspn(at, " ");
    size_t gap = strspn(at + length, " ");
    size_t next = strcspn(at + length + gap, " ");
    if (length > 0 && gap == 1 && next > 0 && is_unit(at + length - 1, at + length + gap, next))
        return length + gap + next;
    return length;
}

static void wrap(struct page *page, size_t column, size_t hang, const char *paragraph)
{
    bool first = true;
    for (const char *word = paragraph; *word != '\0';) {
        size_t length = whole_word(word);
        if (length > 0 && !first) {
            if (column + 1 + columns_of(word, length) > PAGE_COLUMNS) {
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
    size_t behind = indent + strlen(label) + 1; /* a label too long for its column pushes on */
    size_t column = behind > hang ? behind : hang;
    text_addf(&page->text, "%*s%-*s", (int)indent, "", (int)(column - indent), label);
    put(page, column, hang, format, arguments);
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
