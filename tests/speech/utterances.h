/*
 * What the bench has said: a list of utterances, the same for the same set and seed. Utterance i is
 * the same however many are asked for, so that a short run is the beginning of a long one.
 *
 *     struct utterances *list = utterances_make(UTTERANCES_REPORT, GRAMMARS, 1000);
 *     const struct utterance *u = utterances_at(list, i);
 *     voices_say_as(u->voice, u->manner, u->words, &recording);
 */
#ifndef MIDTHROW_TESTS_SPEECH_UTTERANCES_H
#define MIDTHROW_TESTS_SPEECH_UTTERANCES_H

#include <stdbool.h>
#include <stddef.h>

#include "language/language.h"
#include "voices.h"

enum { UTTERANCES_ROUND = 20 }; /* answers until their classes come round again */

enum utterances_set {
    UTTERANCES_TUNE,   /* voices to tune on, and half of the chatter */
    UTTERANCES_REPORT, /* the other voices, the other half */
};

/* What is counted together, from the grammars' types. */
enum utterances_class {
    CLASS_MILLIMETRES, /* digit by digit, as the questions teach it: "two zero point niner" */
    CLASS_MM_NUMBERS,  /* or with "oh", nine or whole numbers: "eleven point oh four" */
    CLASS_INCHES,      /* fractions, decimals, thousandths, where any unit is expected */
    CLASS_LENGTH,      /* millimetres where any unit is expected: the first length of a job */
    CLASS_NUMBER,      /* numbers, digits, amounts */
    CLASS_TURN,
    CLASS_YESNO,
    CLASS_CHOICE,
    CLASS_CAUTION,
    CLASS_COMMAND,
    CLASS_CHATTER, /* no answer: a sentence heard by somebody who waits for one of `grammar` */
    CLASS_COUNT,
};

struct utterance {
    const struct voice *voice;
    size_t manner; /* 0 .. VOICES_MANNERS - 1 */
    enum utterances_class class;
    char grammar[32];
    char words[LANGUAGE_WORDS];
};

struct utterances;

/* `answers` sentences with a value, all different (voice, manner, grammar or words); after them a
 * fifth as much chatter. NULL, having said why: a grammar is missing. */
struct utterances *utterances_make(enum utterances_set set, const char *grammar_dir,
                                   size_t answers);
void utterances_free(struct utterances *utterances);
size_t utterances_count(const struct utterances *utterances); /* answers and chatter */
const struct utterance *utterances_at(const struct utterances *utterances, size_t index);

const char *utterances_class_name(enum utterances_class class);
bool utterances_class_named(const char *name, enum utterances_class *class);

/* What nobody was asked for: the set's own half of chatter.txt, every other line. */
enum { CHATTER_MOST = 100 };
struct chatter {
    char line[CHATTER_MOST][LANGUAGE_WORDS];
    size_t lines;
};
bool chatter_read(enum utterances_set set, struct chatter *chatter); /* false: no such file */

#endif
