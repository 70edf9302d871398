/*
 * Every sentence the tool says, keyed, with {placeholders}; kept apart from code in
 * prompts/NAME.ini.
 *
 *     [caution]
 *     engine_off = Engine off and key out, before a hand goes near the linkage. {how}
 *
 * is the key "caution.engine_off"; a key before the first section has no dot. Sections named
 * "caution" mark their sentences as cautions. A sentence goes on in indented lines, joined by one
 * space.
 */
#ifndef MIDTHROW_PROMPT_PROMPT_H
#define MIDTHROW_PROMPT_PROMPT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

enum { PROMPT_KEY = 64, PROMPT_SENTENCE = 1024, PROMPT_ARGUMENTS = 8, PROMPT_VALUE = 256 };

struct prompt_argument {
    const char *name; /* a static string */
    char value[PROMPT_VALUE];
};

struct prompt_catalogue;

/* Reads every *.ini of the directory (bounded: 64 KiB a file, 196 bytes a line, PROMPT_SENTENCE a
 * sentence). Refuses a key given twice, a brace without its twin, an empty sentence, a file that is
 * not UTF-8, a ';' after a space (the INI reader would cut the sentence off there). Placeholders
 * are {small_letters}. A folder without sentences is FAULT_MISSING. */
struct prompt_catalogue *prompt_load(const char *directory, struct fault *fault);
void prompt_free(struct prompt_catalogue *catalogue);

/* The sentence with its placeholders filled. An unknown key or a placeholder without its argument
 * is a fault, and `out` holds the key, so that nothing is ever silent. */
bool prompt_fill(const struct prompt_catalogue *catalogue, const char *key,
                 const struct prompt_argument *arguments, size_t n, char *out, size_t size,
                 struct fault *fault);

bool prompt_has(const struct prompt_catalogue *catalogue, const char *key);
bool prompt_is_caution(const char *key); /* in a section named "caution" */

/* For tests and translators: all keys in order, and a sentence as it stands in the file. */
size_t prompt_count(const struct prompt_catalogue *catalogue);
const char *prompt_key(const struct prompt_catalogue *catalogue, size_t index);
const char *prompt_raw(const struct prompt_catalogue *catalogue, const char *key);

#endif
