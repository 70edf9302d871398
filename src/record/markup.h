/*
 * Text in markup, for the page and its pictures. Whatever it holds, it stays text: made plain
 * (plain.h), then & < > " ' written as character references, so it is safe between tags and in
 * quoted attributes, of HTML and of XML alike. Markup itself goes in by text_add.
 */
#ifndef MIDTHROW_RECORD_MARKUP_H
#define MIDTHROW_RECORD_MARKUP_H

#include "base/text.h"

void markup_add(struct text *text, const char *string);

/* At most MARKUP_TEXT bytes of it; what is longer sets `cut`. */
enum { MARKUP_TEXT = 2048 };
void markup_addf(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
