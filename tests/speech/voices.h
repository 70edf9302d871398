/*
 * Recordings made while a test or the bench runs: Debian's flite and eSpeak NG voices say a
 * sentence, each in nine manners. Which voice the recogniser may be tuned on and which is kept for
 * reporting is fixed in the table in voices.c.
 */
#ifndef MIDTHROW_TESTS_SPEECH_VOICES_H
#define MIDTHROW_TESTS_SPEECH_VOICES_H

#include <stdbool.h>
#include <stddef.h>

#include "recording.h"

enum voices_engine {
    VOICES_FLITE,
    VOICES_ESPEAK,
    VOICES_FESTIVAL,
    VOICES_RHVOICE, /* this and the next: for teaching only, from Debian's non-free */
    VOICES_PICO,
};

struct voice {
    const char *name; /* "slt", "en-gb+f3" */
    enum voices_engine engine;
    bool tune;        /* the recogniser may be tuned on it; the others only report */
    const char *what; /* a line for the reader of a table */
};

size_t voices_count(void);
const struct voice *voices_at(size_t index);
/* Of these, or one of the voices that teaching needs besides, which no test has; NULL: none of that
 * name. */
const struct voice *voices_named(const char *name);

/* Speaking slower and faster by a tenth, as the synthesiser does it, times a smaller and a larger
 * person: the sound played 0.9, 1 and 1.1 times as fast, pitch and formants with it (Ko and others
 * 2015, "Audio augmentation for speech recognition", Interspeech). Manner 0 is the voice as it is.
 */
enum { VOICES_MANNERS = 9 };

/* The manner in which the same person, as large or small, speaks at the voice's own tempo. */
size_t voices_at_rest(size_t manner);

/* False, having said why, when the synthesiser is not installed or cannot speak. */
bool voices_say_as(const struct voice *voice, size_t manner, const char *sentence,
                   struct recording *recording);

/* How a sentence is said. */
struct voices_manner {
    double tempo; /* 1: the voice's own; more: faster */
    double pitch; /* 1: the voice's own; more: higher, the formants where they are */
    int from_hz;  /* taken for SPEECH_RATE_HZ: more is a smaller person */
};

/* The same in any manner. All engines' voices. */
bool voices_say_with(const struct voice *voice, const struct voices_manner *manner,
                     const char *sentence, struct recording *recording);

/* A flite voice by its name, as it is. */
bool voices_say(const char *voice, const char *sentence, struct recording *recording);

/* The asterisk core sounds, one speaker, whichever she is called: "digits/40.g722". False: not
 * there. */
bool voices_person(const char *name, struct recording *recording);

#endif
