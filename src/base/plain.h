/*
 * Text from outside, made fit for a terminal and a plain-text file: what would steer either, or is
 * not UTF-8, is written as \xNN, byte by byte, and a backslash as \\. The rest stays as it is.
 */
#ifndef MIDTHROW_BASE_PLAIN_H
#define MIDTHROW_BASE_PLAIN_H

#include <stdio.h>

#include "base/text.h"

void plain_add(struct text *text, const char *string);

/* In double quotes; a quote within as \". */
void plain_add_quoted(struct text *text, const char *string);

/* Into a buffer, which is returned; what does not fit is cut. */
const char *plain_text(const char *string, char *out, size_t size);

/* The same onto a stream, for what is shown on a terminal. */
void plain_print(FILE *out, const char *string);

#endif
