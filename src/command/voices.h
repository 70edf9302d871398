/*
 * The voices that were learned (speech/person.h), a file each below the data directory, named after
 * the person.
 */
#ifndef MIDTHROW_COMMAND_VOICES_H
#define MIDTHROW_COMMAND_VOICES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "speech/phonetic.h"

enum { VOICES_NAME = 40 };

/* Letters, digits, '-' and '_' of ASCII, shorter than VOICES_NAME: it names a file. FAULT_USAGE
 * otherwise. */
bool voices_name_check(const char *name, struct fault *fault);

/* To be closed as a network is. FAULT_MISSING, naming those there are, when nobody of that name is
 * known. */
struct speech_phonetic *voices_load(const char *data, const char *name, struct fault *fault);

/* In place of what was known of that person, whole or not at all. */
bool voices_save(const char *data, const char *name, const struct speech_phonetic *person,
                 struct fault *fault);

bool voices_forget(const char *data, const char *name, struct fault *fault);

/* The names in order, a comma between them; "" for none. */
bool voices_list(const char *data, char *out, size_t size);

#endif
