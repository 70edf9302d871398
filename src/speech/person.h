/*
 * What was learned of a person (enrol.h), as text that a file can hold: the person's name, with
 * which network it was learned, and the numbers. The sentences that are read for it, too.
 */
#ifndef MIDTHROW_SPEECH_PERSON_H
#define MIDTHROW_SPEECH_PERSON_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "speech/phonetic.h"

enum { PERSON_TEXT = 32768 }; /* holds any person as text */

/* The sentences to read, of grammars/enrol.gram; NULL: no more. */
const char *speech_person_sentence(size_t index);

/* False when `size` is too small. */
bool speech_person_write(const struct phonetic_person *person, char *out, size_t size);

/* False, and nothing changed: it is no such text, was damaged, or was learned with another network:
 * then the person must read again. */
bool speech_person_read(const char *text, struct phonetic_person *person, struct fault *fault);

#endif
