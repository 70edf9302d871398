/*
 * Is a grammar file fit to be given to the library? Its parser and its expansion (sphinxbase's
 * jsgf.c) trust what they get: a file that imports itself, rules that go round, brackets without
 * end or rules that double at every step cost all the stack, memory or time there is; one that
 * imports a file it cannot parse is freed where there is nothing. Counted here before it sees a
 * byte, and what is imported is tried first; whether the grammar itself is right is still the
 * library's to say.
 */
#ifndef MIDTHROW_SPEECH_GRAMMAR_FILE_H
#define MIDTHROW_SPEECH_GRAMMAR_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

enum {
    GRAMMAR_BYTES = 256 * 1024, /* of one file; the largest shipped has 3 KiB */
    GRAMMAR_FILES = 16,         /* with what it imports */
    GRAMMAR_NESTING = 64,       /* brackets within brackets */
    GRAMMAR_WORDS = 100000,     /* when every rule is written out; the largest shipped has 700 */
};

/* directory/name.gram and all that it imports; false with a sentence. `words` (may be NULL): how
 * many it has when every rule is written out. */
bool grammar_file_check(const char *directory, const char *name, size_t *words,
                        struct fault *fault);

#endif
