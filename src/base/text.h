/*
 * Bounded text: a cursor over a caller's buffer that can be appended to without ever overrunning.
 *
 *     char line[64];
 *     struct text text = text_into(line, sizeof line);
 *     text_add(&text, "offset ");
 *     text_addf(&text, "%.2f mm", offset_mm);
 *     if (text.cut) ...           // it did not all fit; `line` holds what did, terminated
 */
#ifndef MIDTHROW_BASE_TEXT_H
#define MIDTHROW_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

struct text {
    char *at;    /* the buffer, always terminated */
    size_t size; /* bytes in the buffer, the terminator counted; at least 1 */
    size_t used; /* bytes written, the terminator not counted */
    bool cut;    /* something did not fit */
};

struct text text_into(char *buffer, size_t size);
void text_add(struct text *text, const char *string);
void text_add_n(struct text *text, const char *string, size_t length);
void text_addf(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Copies `from` into `to`, always terminated; false if it had to be cut. `from` NULL copies "". */
bool text_copy(char *to, size_t size, const char *from);

/* A fault's sentence follows "midthrow: " and begins small; where it stands alone it begins as a
 * sentence does. Letters of ASCII only. */
void text_begin_sentence(char *text);

#endif
