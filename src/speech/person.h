/*
 * What was learned of a person (enrol.h), as text that a file can hold: with which network it was
 * learned, by how much each of its weights differs now, and a sum over it all. The sentences that
 * are read for it, too.
 */
#ifndef MIDTHROW_SPEECH_PERSON_H
#define MIDTHROW_SPEECH_PERSON_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "speech/phonetic.h"

enum { PERSON_TEXT = 1 << 20 }; /* holds any person as text */

/* The sentences to read, of grammars/enrol.gram; NULL: no more. */
const char *speech_person_sentence(size_t index);

/* The differences are rounded, each to one of 15 steps. False when `size` is too small or memory
 * runs out. */
bool speech_person_write(const struct speech_phonetic *person, char *out, size_t size);

/* To be closed as a network is. NULL: it is no such text, was damaged, or was learned with another
 * network (then the person must read again), or memory runs out. */
struct speech_phonetic *speech_person_read(const char *text, struct fault *fault);

#endif
