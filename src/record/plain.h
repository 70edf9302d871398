/*
 * Text from outside, made fit for a terminal and a plain-text file: what would steer either, or is
 * not UTF-8, is written as \xNN, byte by byte, and a backslash as \\. The rest stays as it is.
 */
#ifndef MIDTHROW_RECORD_PLAIN_H
#define MIDTHROW_RECORD_PLAIN_H

#include "base/text.h"

void plain_add(struct text *text, const char *string);

/* In double quotes; a quote within as \". */
void plain_add_quoted(struct text *text, const char *string);

#endif
