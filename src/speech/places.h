/*
 * Where in a grammar some words end: is it a whole sentence, and could it go on? What the pause
 * after them means hangs on that: after "yes" nothing comes, after "twenty" there may be a "one".
 *
 *     struct speech_places *places = speech_places_create(grammar_dir, language_same_meaning);
 *     switch (speech_place(places, "distance", "five sixteenths")) ...
 */
#ifndef MIDTHROW_SPEECH_PLACES_H
#define MIDTHROW_SPEECH_PLACES_H

#include <stdbool.h>

enum speech_place {
    SPEECH_NOWHERE,   /* no sentence begins like this; or there is no such grammar */
    SPEECH_BEGUN,     /* the beginning of one */
    SPEECH_WHOLE,     /* a sentence, and whatever could follow would mean the same */
    SPEECH_MAY_GO_ON, /* a sentence, and the beginning of one that means something else */
};

struct speech_places;

/* Reads each grammar when it is first asked for. NULL only when out of memory. `same_meaning` as in
 * struct speech_config; NULL: every longer sentence means something else. */
struct speech_places *speech_places_create(const char *grammar_dir,
                                           bool (*same_meaning)(const char *grammar,
                                                                const char *words,
                                                                const char *other));
void speech_places_destroy(struct speech_places *places);

enum speech_place speech_place(struct speech_places *places, const char *grammar,
                               const char *words);

#endif
