/* Recordings made while a test runs: Debian's flite voices say a sentence. */
#ifndef MIDTHROW_TESTS_SPEECH_VOICES_H
#define MIDTHROW_TESTS_SPEECH_VOICES_H

#include <stdbool.h>

#include "recording.h"

/* False when flite is not installed or cannot speak. */
bool voices_say(const char *voice, const char *sentence, struct recording *recording);

/* The asterisk core sounds, one speaker, whichever she is called: "digits/40.g722". False: not
 * there. */
bool voices_person(const char *name, struct recording *recording);

#endif
