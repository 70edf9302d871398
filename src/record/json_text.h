/*
 * Text from outside as a JSON string that may be looked at in a terminal: what JSON cannot hold (no
 * UTF-8) and what it does not escape (DEL) make it plain text first, as base/plain.h has it.
 */
#ifndef MIDTHROW_RECORD_JSON_TEXT_H
#define MIDTHROW_RECORD_JSON_TEXT_H

#include <jansson.h>

enum { JSON_TEXT = 4096 }; /* bytes; what is longer and must be made plain is cut */

/* The caller's to release; null for "" and NULL. */
json_t *json_text_or_null(const char *string);
json_t *json_text(const char *string);

#endif
