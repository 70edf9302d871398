/*
 * A sentence as it is written to a sentence as it is to be spoken: "5/16 in" is "5 sixteenths of an
 * inch", "7.9 mm" is "7.9 millimetres". Pure text; the voice calls it before it speaks.
 */
#ifndef MIDTHROW_SPEECH_SPOKEN_H
#define MIDTHROW_SPEECH_SPOKEN_H

#include <stdbool.h>
#include <stddef.h>

/* False when it did not all fit. */
bool speech_spoken(const char *written, char *out, size_t size);

#endif
