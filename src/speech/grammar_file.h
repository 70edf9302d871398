/*
 * Is a grammar file fit to be given to the library? Its parser and its expansion (sphinxbase's
 * jsgf.c) trust what they get: a file that does not parse leaks and stays open, an import of one is
 * freed where there is nothing, a name that is there twice leaks, rules that go round or double at
 * every step cost all the stack, memory or time there is. So a file is read here first, strictly,
 * and what is let through the library certainly parses and builds:
 *
 *     #JSGF V1.0;
 *     grammar NAME;                       // the file is NAME.gram
 *     import <other.rule>;                // the public rule of other.gram beside it
 *     public <rule> = a word | <other.rule> [left out] (or | this);      // one public rule a file
 *     <rule> = ...;
 *
 * Anything else is refused with its file, its line and what to do: tags, weights, quotes, repeats
 * and ".*" too, which midthrow's grammars have no use for.
 */
#ifndef MIDTHROW_SPEECH_GRAMMAR_FILE_H
#define MIDTHROW_SPEECH_GRAMMAR_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

enum {
    GRAMMAR_BYTES = 256 * 1024, /* of one file; the largest shipped has 3 KiB */
    GRAMMAR_FILES = 16,         /* with what it imports */
    GRAMMAR_RULES = 1024,       /* in all of them */
    GRAMMAR_NESTING = 64,       /* brackets and references within one another */
    GRAMMAR_WORDS = 10000,      /* when every rule is written out; the largest shipped has 811 */
    GRAMMAR_JUMPS = 100000, /* of the search graph (grammar_size.h); the largest shipped has 5704 */
};

/* directory/name.gram and all that it imports; false with a sentence. `words` (may be NULL): how
 * many its public rule has when every rule is written out. */
bool grammar_file_check(const char *directory, const char *name, size_t *words,
                        struct fault *fault);

#endif
