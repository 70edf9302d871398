/*
 * A page of plain text, at most 80 columns wide, written into a caller's buffer.
 */
#ifndef MIDTHROW_RECORD_PAGE_H
#define MIDTHROW_RECORD_PAGE_H

#include "base/text.h"

enum { PAGE_COLUMNS = 80 };

struct page {
    struct text text;
};

struct page page_into(char *buffer, size_t size);

/* A paragraph, wrapped between words: its first line begins at column `indent`, the others at
 * `hang`. What would steer a terminal is made plain (plain.h). */
void page_put(struct page *page, size_t indent, size_t hang, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* A label at column `indent` and a paragraph beside it, which hangs at column `hang`. */
void page_label(struct page *page, size_t indent, size_t hang, const char *label,
                const char *format, ...) __attribute__((format(printf, 5, 6)));

void page_blank(struct page *page);

/* A heading with a blank line above it. */
void page_heading(struct page *page, const char *heading);

#endif
