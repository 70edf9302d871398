/* Voices that the ear has learned, as somebody who enrolled: each reads the sentences of person.h
 * once, in quiet and at its own tempo, as large or small as it is to be. */
#ifndef MIDTHROW_TESTS_SPEECH_ENROLLED_H
#define MIDTHROW_TESTS_SPEECH_ENROLLED_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/phonetic.h"
#include "studio.h"
#include "voices.h"

/* What the ear learned of a voice in a manner; kept in a file below `dir`, so that it is learned
 * once. To be closed as a network is; NULL, having said why. */
struct speech_phonetic *enrolled_learn(const struct studio *studio, const char *dir,
                                       const struct voice *voice, size_t manner);

/* The ear knows that voice at rest, whoever speaks; "": nobody. */
bool enrolled_know_named(const struct studio *studio, const char *dir, const char *name);

/* The ear knows whoever speaks next; what was learned of a voice before is remembered. */
bool enrolled_know(const struct studio *studio, const char *dir, const struct voice *voice,
                   size_t manner);

#endif
