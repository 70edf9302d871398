/*
 * What the files of language/ share and nobody else sees: words cut to tokens, numbers, quantities,
 * and the lists of whole phrases.
 */
#ifndef MIDTHROW_LANGUAGE_PARTS_H
#define MIDTHROW_LANGUAGE_PARTS_H

#include "base/text.h"
#include "language/language.h"

/* ---- words.c: what was said or typed, cut to tokens --------------------------------------------
 */

enum { WORDS_TEXT = 256, WORDS_MAX = 64 };

/* Points into itself: pass by pointer, never copy. */
struct words {
    char joined[WORDS_TEXT]; /* lower case, one space between tokens */
    char cells[WORDS_TEXT];  /* the same, each token terminated */
    const char *token[WORDS_MAX];
    size_t n;
    bool too_long; /* longer than any answer: no tokens */
};

/* Part of the tokens: from <= to <= words->n. */
struct span {
    const struct words *words;
    size_t from, to;
};

void words_read(struct words *words, const char *raw);
struct span span_of(const struct words *words);
size_t span_length(struct span span);
const char *span_first(struct span span); /* "" when there is none */

/* Take `phrase` (words with single spaces) off the front or the end; false, and nothing taken, when
 * it does not stand there. */
bool span_take(struct span *span, const char *phrase);
bool span_take_end(struct span *span, const char *phrase);
bool span_is(struct span span, const char *phrase);

/* ---- number.c: whole numbers -------------------------------------------------------------- */

/* The longest number, 0 .. 999 999, at the front of the span, in words or as one typed figure. */
bool number_take(struct span *span, int64_t *number);

/* Two to four digits said one by one in words, the first not zero, at the front of the span: "one
 * one" of "one one point four". Typed figures do not count: "7 9 mm" may want its point. False: the
 * span and the number are of no use. */
bool number_take_digits(struct span *span, int64_t *number);

/* The whole span as digits said one by one. `pairs` takes "forty seven" and "twelve" too, and typed
 * figures of any length. False when it is anything else or there are more than `size` - 1 digits.
 */
bool digits_said(struct span span, bool pairs, char *digits, size_t size);

/* "twenty three thousand four hundred twelve"; numbers out of 0 .. 999 999 in figures. */
void number_words(struct text *text, int64_t number);
void digit_words(struct text *text, int64_t number);      /* "four zero" */
void digits_words(struct text *text, const char *digits); /* other characters stand as they are */

/* Could be taken for another number by ear: a teen for a ten or a ten for a teen. */
bool number_has_twin(int64_t number);

/* ---- quantity.c: fractions, decimals, mixed numbers --------------------------------------- */

enum quantity_form {
    QUANTITY_WHOLE,
    QUANTITY_DECIMAL,
    QUANTITY_FRACTION, /* mixed numbers too */
};

/* num/den as it was said, not reduced; both below 2e18. den is 0 when it was said so. */
struct quantity {
    enum quantity_form form;
    bool negative;
    bool improper; /* in words, numerator not below the denominator: "twenty fourths" */
    int64_t num, den;
};

/* The whole span as one quantity. */
bool quantity_said(struct span span, struct quantity *quantity);

/* "five sixteenths", "one half"; false when there are no words for the denominator. */
bool quantity_fraction_words(struct text *text, int64_t num, int64_t den);
int64_t quantity_divisor(int64_t a, int64_t b); /* of |a| and |b|; 1 when both are 0 */

/* ---- phrases.c: whole phrases ------------------------------------------------------------- */

/* The first row of a value is its canonical wording. A list ends with a row without words. */
struct said {
    int value;
    const char *words;
    enum { HEARD, TYPED } by; /* typed: a short form that the ear does not listen for */
};

/* Commands, "don't know" and "skip" share one list: value is type * COMMAND_STEP + command. */
enum { COMMAND_STEP = 16 };
extern const struct said said_command[];
extern const struct said said_yesno[];
extern const struct said said_caution[];
extern const struct said said_cable[];
extern const struct said said_clutch[];
extern const struct said said_complaint[];
extern const struct said said_condition[];
extern const struct said said_course[];
extern const struct said said_either[];
extern const struct said said_engine[];
extern const struct said said_fasteners[];
extern const struct said said_feel[];
extern const struct said said_hook[];
extern const struct said said_level[];
extern const struct said said_motion[];
extern const struct said said_onset[];
extern const struct said said_resume[];
extern const struct said said_sense[];
extern const struct said said_service[]; /* values are bits */
extern const struct said said_start[];
extern const struct said said_stem[];
extern const struct said said_temperature[];
extern const struct said said_turn[]; /* 1: as told, 0: not turned */

const struct said *said_find(const struct said *list, struct span span); /* NULL: not in it */
const char *said_words(const struct said *list, int value);              /* NULL: no such value */

/* Any of a list joined by "and": the bits of each. "fluid clutch and linkage" */
bool said_bits(const struct said *list, struct span span, unsigned *bits);
bool said_bits_words(const struct said *list, unsigned bits, struct text *text);

/* ---- the kinds of answer ------------------------------------------------------------------ */

struct grammar {
    const char *name;
    enum language_type type;
    const struct said *said; /* of choices and phrases */
    int64_t low, high;       /* of numbers */
    const char *ask;         /* what to say instead, after "Say "; NULL: built from `said` */
};

const struct grammar *grammar_find(const char *name); /* NULL: none of that name */

enum language_outcome distance_parse(struct span span, struct language_value *value,
                                     struct text *why);
enum language_outcome turn_parse(struct span span, struct language_value *value, struct text *why);
enum language_outcome turns_parse(struct span span, struct language_value *value, struct text *why);
enum language_outcome volume_parse(struct span span, struct language_value *value,
                                   struct text *why);
enum language_outcome ratio_parse(struct span span, struct language_value *value, struct text *why);
enum language_outcome torque_parse(struct span span, struct language_value *value,
                                   struct text *why);
enum language_outcome order_parse(struct span span, const char *raw, struct language_value *value,
                                  struct text *why);

void distance_words(struct text *text, struct measure_length length);
void turn_words(struct text *text, int64_t numerator, int64_t denominator, bool clockwise);
void turn_value_words(struct text *text, const struct language_turn *turn);
void order_words(struct text *text, const char *digits);
void amount_words(struct text *text, struct language_amount amount);

/* The digits to read after a value with a confusable twin; nothing is added when it has none. */
void distance_digits(struct text *text, struct measure_length length);
void turn_digits(struct text *text, const struct language_turn *turn);
void amount_digits(struct text *text, struct language_amount amount);
void order_spelled(struct text *text, const char *digits);

#endif
