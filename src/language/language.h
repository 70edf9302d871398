/*
 * Words to values and values to words, both ways from one table.
 *
 * A question names a *grammar* (the file grammars/NAME.gram holds what the ear listens for). The
 * same name here says what kind of value those words stand for. Two promises are tested by
 * enumerating the grammar files: every sentence a grammar can produce parses, and every value the
 * tool can say is a sentence the grammar accepts.
 *
 *     struct language_value value;
 *     char why[LANGUAGE_WHY];
 *     switch (language_parse("distance", "one and five sixteenths of an inch", &value, why)) ...
 *
 * Every grammar also accepts the commands, "don't know" and "skip"; whether a question takes "skip"
 * is the job's business.
 */
#ifndef MIDTHROW_LANGUAGE_LANGUAGE_H
#define MIDTHROW_LANGUAGE_LANGUAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "measure/length.h"

enum {
    LANGUAGE_WORDS = 192, /* longest sentence, terminator counted */
    LANGUAGE_WHY = 192,
    LANGUAGE_DIGITS_MAX = 32,
};

enum language_type {
    LANGUAGE_COMMAND, /* works at every question */
    LANGUAGE_DONT_KNOW,
    LANGUAGE_SKIP,
    LANGUAGE_YESNO,
    LANGUAGE_NUMBER, /* a whole number, 0 .. 999 999 */
    LANGUAGE_DIGITS, /* a work-order number: digits as said, leading zeros kept */
    LANGUAGE_DISTANCE,
    LANGUAGE_TURN,
    LANGUAGE_CHOICE,  /* one of a named list, counted from 0 */
    LANGUAGE_CHOICES, /* any of a named list, a bit each; 0: none of them */
    LANGUAGE_PHRASE,  /* a whole phrase that confirms a caution or a step */
    LANGUAGE_AMOUNT,  /* turns of a screw, a volume, a ratio or a torque */
};

enum language_command {
    LANGUAGE_SAY_AGAIN,
    LANGUAGE_GO_BACK,
    LANGUAGE_WRONG, /* takes the last answer back, as go back does */
    LANGUAGE_STOP,
    LANGUAGE_HELP,
    LANGUAGE_WHERE_ARE_WE,
    LANGUAGE_KEYPAD,
    LANGUAGE_EXPLAIN, /* "why do you think so": what it may be, and because of what */
    LANGUAGE_LISTEN, /* the way back from LANGUAGE_KEYPAD: by keys or typed, nobody listens there */
    LANGUAGE_LOUDER, /* the voice's loudness and speed, at any question */
    LANGUAGE_QUIETER,
    LANGUAGE_FASTER,
    LANGUAGE_SLOWER,
    LANGUAGE_COMMAND_COUNT,
};

/* The phrases of the grammar "caution". Each has a two-key code of its own on the number pad, two
 * different keys, so that neither a bounce nor a habit confirms the wrong one. */
enum language_phrase {
    LANGUAGE_NOT_YET,          /* "not yet": the step is not done; the job waits */
    LANGUAGE_BIKE_STRAPPED,    /* "the bike is upright and strapped" */
    LANGUAGE_WHEEL_CLEAR,      /* "the rear wheel is just clear" */
    LANGUAGE_ENGINE_OFF,       /* "engine off and key out" */
    LANGUAGE_PARTS_COOL,       /* "the parts are cool enough" */
    LANGUAGE_THIRD_GEAR,       /* "it is in third gear" */
    LANGUAGE_ACCESS_OPEN,      /* "the access is open" */
    LANGUAGE_TOOLS_READY,      /* "the tools are ready" */
    LANGUAGE_LOCK_NUT_LOOSE,   /* "the lock nut is loose" */
    LANGUAGE_LOCK_NUT_TIGHT,   /* "the lock nut is tight" */
    LANGUAGE_SET_TO_MANUAL,    /* "it is set to the manual" */
    LANGUAGE_HANDS_CLEAR,      /* "hands and tools are clear" */
    LANGUAGE_EXHAUST_LED_AWAY, /* "the exhaust is led away" */
    LANGUAGE_COVER_BACK,       /* "the cover is back on" */
    LANGUAGE_EYES_COVERED,     /* "eyes and paint are covered" */
    LANGUAGE_BATTERY_OFF,      /* "the battery is disconnected" */
    LANGUAGE_NAMED_GEAR,       /* "it is in the gear named", where the manual's is not third */
    LANGUAGE_PHRASE_COUNT,
};

struct language_turn {
    bool as_told;    /* turned exactly as advised; the rest is then 0 */
    bool not_turned; /* the stem was not turned at all */
    int numerator;   /* otherwise numerator/denominator of a turn, lowest terms, <= 1 */
    int denominator;
    bool clockwise; /* as seen facing the stem */
};

enum language_unit {
    LANGUAGE_TURNS,
    LANGUAGE_MILLILITRES,
    LANGUAGE_FLUID_OUNCES,
    LANGUAGE_RATIO,
    LANGUAGE_NEWTON_METRES,
    LANGUAGE_FOOT_POUNDS,
    LANGUAGE_INCH_POUNDS,
    LANGUAGE_UNIT_COUNT,
};

/* num/den of a unit, lowest terms, never negative. Turns: of halves, thirds, quarters, sixths,
 * eighths, twelfths and sixteenths, below ten. Millilitres: whole, at most 4999. Fluid ounces:
 * tenths, below a hundred. Ratios: hundredths, below a hundred. Torques: tenths, below a thousand.
 */
struct language_amount {
    int64_t num, den;
    enum language_unit unit;
};

/* One US fluid ounce in millilitres, exact: a gallon is 231 cubic inches and 128 ounces (NIST
 * Handbook 44, appendix C), an inch 25.4 mm. */
#define LANGUAGE_FLUID_OUNCE_ML 29.5735295625

/* One pound-force foot in newton metres, exact: 0.45359237 kg, 9.80665 m/s2, 0.3048 m (NIST SP 811,
 * appendix B.8 and its footnotes). */
#define LANGUAGE_FOOT_POUND_NM (0.45359237 * 9.80665 * 0.3048)

struct language_value {
    enum language_type type;
    union {
        enum language_command command;
        bool yes;
        int64_t number;
        char digits[LANGUAGE_DIGITS_MAX];
        struct measure_length length;
        struct language_turn turn;
        int choice;
        unsigned choices;
        enum language_phrase phrase;
        struct language_amount amount;
    } as;
};

enum language_outcome {
    LANGUAGE_OK,
    LANGUAGE_NONSENSE,     /* not a sentence of this grammar */
    LANGUAGE_OUT_OF_SENSE, /* a sentence, but no such value: 0/0, forty inches; `why` says it */
};

/* `words` (NULL is nothing said) is normalised first: case, punctuation, hyphens, doubled spaces.
 * Typed figures are taken too ("5/16", "7.9 mm", "4712", "1/16 clockwise"), and a few short forms
 * for the keyboard ("y", "cw"). `value` is written only when the outcome is OK; whatever parses can
 * be said again by language_say. `why` (LANGUAGE_WHY bytes, may be NULL) gets a sentence for the
 * person at the lift whenever the outcome is not OK. */
enum language_outcome language_parse(const char *grammar, const char *words,
                                     struct language_value *value, char *why);

/* The words that the grammar accepts for this value (but LANGUAGE_LISTEN is only typed); they parse
 * back to an equal value. False when
 * the value is none of this grammar's. Exact: a length comes back in its own unit. */
bool language_say(const char *grammar, const struct language_value *value, char *out, size_t size);

/* How the tool reads the value back: as language_say, but numbers with a confusable twin (teens and
 * tens, and so sixteenths and sixty fourths) are given digit by digit as well: "forty thousandths,
 * four zero"; "five sixteenths of an inch, five over one six". A work order is spelled. */
bool language_read_back(const char *grammar, const struct language_value *value, char *out,
                        size_t size);

/* Equal in meaning: lengths across units (1 in equals 25.4 mm), turns by their fraction. */
bool language_equal(const struct language_value *a, const struct language_value *b);

/* What the words of two hypotheses mean is the same (so "no margin" between them does not matter).
 * False when either is no answer of the grammar. */
bool language_same_meaning(const char *grammar, const char *words, const char *other);

/* Are the words a command, "don't know" or "skip", which may be said whatever is asked? */
bool language_is_command(const char *words);

/* Lengths and turns alone, for sentences the tool builds: "five sixteenths of an inch", "point
 * three one inch", "three hundred ten thousandths", "seven point nine millimetres", "one sixteenth
 * of a turn clockwise". Any length has words, also one that is no answer: "twelve inches", "minus
 * one quarter of an inch"; what neither a rule nor four decimals hold is rounded ("about point
 * three three three inch"). */
void language_length_words(struct measure_length length, char *out, size_t size);
void language_turn_words(int numerator, int denominator, bool clockwise, char *out, size_t size);
void language_number_words(int64_t number, char *out, size_t size);

/* The same of an amount; what cannot be said exactly is rounded: turns to sixteenths, millilitres
 * to whole ones, ratios to hundredths, the others to tenths. */
void language_amount_words(double amount, enum language_unit unit, char *out, size_t size);

/* In the unit's own measure; in millilitres for both volumes, in newton metres for all torques. */
double language_amount_value(struct language_amount amount);

/* The registry: every grammar, its type, and for choices their first (canonical) words. "command"
 * is one of them: the commands alone, for listening while the tool speaks. */
size_t language_grammar_count(void);
const char *language_grammar_name(size_t index); /* sorted by name */
bool language_grammar_type(const char *grammar, enum language_type *type);
size_t language_choice_count(const char *grammar);                  /* 0: not a choice grammar */
const char *language_choice_words(const char *grammar, int choice); /* NULL: out of range */
const char *language_phrase_words(enum language_phrase phrase);
const char *language_command_words(enum language_command command);

#endif
