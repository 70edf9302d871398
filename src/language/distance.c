/* Lengths: words to an exact value in the unit that was said, and back. Everything measured on this
 * job is short, so a length beyond six inches or 150 mm is taken for a slip and asked again. */
#include "language/parts.h"

#include <inttypes.h>

enum { INCHES_MOST = 6, THOU_MOST = 999, MM_MOST = 150, TURNED_INTO_WORDS_MOST = 999999 };

/* ---- the unit at the end ------------------------------------------------------------------ */

struct unit {
    const char *words;
    enum measure_unit unit;
    bool linked;         /* "of an inch": only a fraction goes before it */
    const char *refused; /* why this unit is not taken */
};

static const char two_things[] =
    "Mils are thousandths to some and millimetres to others: say thousandths or millimetres.";
static const char say_mm[] = "Say it in millimetres, thousandths or inches.";

/* Longest first, so that nothing of a unit is left behind. */
static const struct unit units[] = {
    {"thousandths of an inch", MEASURE_THOU, false, NULL},
    {"thousandth of an inch", MEASURE_THOU, false, NULL},
    {"thou of an inch", MEASURE_THOU, false, NULL},
    {"of an inch", MEASURE_INCH, true, NULL},
    {"an inch", MEASURE_INCH, true, NULL},
    {"inches", MEASURE_INCH, false, NULL},
    {"inch", MEASURE_INCH, false, NULL},
    {"in", MEASURE_INCH, false, NULL},
    {"thousandths", MEASURE_THOU, false, NULL},
    {"thousandth", MEASURE_THOU, false, NULL},
    {"thou", MEASURE_THOU, false, NULL},
    {"of a millimetre", MEASURE_MM, true, NULL},
    {"of a millimeter", MEASURE_MM, true, NULL},
    {"a millimetre", MEASURE_MM, true, NULL},
    {"a millimeter", MEASURE_MM, true, NULL},
    {"millimetres", MEASURE_MM, false, NULL},
    {"millimeters", MEASURE_MM, false, NULL},
    {"millimetre", MEASURE_MM, false, NULL},
    {"millimeter", MEASURE_MM, false, NULL},
    {"mm", MEASURE_MM, false, NULL},
    {"mil", MEASURE_MM, false, two_things},
    {"mils", MEASURE_MM, false, two_things},
    {"cm", MEASURE_MM, false, say_mm},
    {"centimetres", MEASURE_MM, false, say_mm},
    {"centimeters", MEASURE_MM, false, say_mm},
    {"feet", MEASURE_INCH, false, say_mm},
    {"foot", MEASURE_INCH, false, say_mm},
};

static const struct unit *take_unit(struct span *span)
{
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (span_take_end(span, units[i].words))
            return &units[i];
    }
    return NULL;
}

/* ---- does the value make sense? ----------------------------------------------------------- */

static bool on_a_rule(int64_t den)
{
    return den > 0 && den <= 64 && (den & (den - 1)) == 0;
}

/* Decimals that write 1/den exactly, at most `most`; -1: none do. */
static int decimals_for(int64_t den, int most)
{
    int64_t power = 1;
    for (int decimals = 0; decimals <= most; decimals++, power *= 10) {
        if (power % den == 0)
            return decimals;
    }
    return -1;
}

static enum language_outcome senseless(struct text *why, struct span span, const char *because)
{
    text_addf(why, "%.40s %s", span.words->joined, because);
    return LANGUAGE_OUT_OF_SENSE;
}

/* The whole span and the quantity in it, reduced, without sign. */
static enum language_outcome check_fineness(struct span span, const struct measure_length *length,
                                            struct text *why)
{
    if (length->unit == MEASURE_THOU && length->den != 1)
        return senseless(why, span, "is finer than a thousandth: say it as a decimal in inches.");
    if (length->unit == MEASURE_MM && decimals_for(length->den, 2) < 0)
        return senseless(why, span, "is finer than a hundredth of a millimetre: round it.");
    if (length->unit == MEASURE_INCH && !on_a_rule(length->den) && decimals_for(length->den, 4) < 0)
        return senseless(why, span,
                         "is on no rule: say it in sixty fourths or coarser, or as a decimal with "
                         "four places at most.");
    return LANGUAGE_OK;
}

static enum language_outcome check_quantity(struct span span, const struct quantity *quantity,
                                            bool has_unit, struct text *why)
{
    if (quantity->den == 0)
        return senseless(why, span, "is no length: nothing has zero parts. Say it again.");
    if (quantity->negative)
        return senseless(why, span, "is less than nothing: say a length of zero or more.");
    if (quantity->improper)
        return senseless(why, span, "is a whole inch or more: say the inches and the rest.");
    if (!has_unit && quantity->form == QUANTITY_WHOLE && quantity->num != 0)
        return senseless(why, span, "of what? Say inches, thousandths or millimetres with it.");
    return LANGUAGE_OK;
}

static bool too_long(const struct quantity *quantity, enum measure_unit unit)
{
    static const int most[] = {
        [MEASURE_INCH] = INCHES_MOST, [MEASURE_THOU] = THOU_MOST, [MEASURE_MM] = MM_MOST};
    return quantity->num > most[unit] * quantity->den;
}

enum language_outcome distance_parse(struct span span, struct language_value *value,
                                     struct text *why)
{
    struct span number = span;
    struct quantity quantity;
    const struct unit *unit = take_unit(&number);
    char digits[4];
    if (unit != NULL && unit->unit == MEASURE_THOU &&
        digits_said(number, false, digits, sizeof digits)) {
        quantity = (struct quantity){.form = QUANTITY_WHOLE, .den = 1};
        for (const char *at = digits; *at != '\0'; at++)
            quantity.num = quantity.num * 10 + (*at - '0');
    } else if (!quantity_said(number, &quantity)) {
        return LANGUAGE_NONSENSE;
    }
    if (unit != NULL && unit->linked && quantity.form != QUANTITY_FRACTION)
        return LANGUAGE_NONSENSE;
    if (unit != NULL && unit->refused != NULL) {
        text_add(why, unit->refused);
        return LANGUAGE_OUT_OF_SENSE;
    }
    enum language_outcome outcome = check_quantity(span, &quantity, unit != NULL, why);
    if (outcome != LANGUAGE_OK)
        return outcome;
    enum measure_unit in = unit == NULL ? MEASURE_INCH : unit->unit;
    if (too_long(&quantity, in))
        return senseless(why, span,
                         "is longer than anything measured here: at most six inches, 999 "
                         "thousandths or 150 millimetres.");
    value->type = LANGUAGE_DISTANCE;
    value->as.length = measure_length_of(quantity.num, quantity.den, in);
    return check_fineness(span, &value->as.length, why);
}

/* ---- a length in words -------------------------------------------------------------------- */

static const struct {
    const char *one, *many;
    int decimals; /* that a spoken, rounded value gets */
} names[] = {
    [MEASURE_INCH] = {"inch", "inches", 3},
    [MEASURE_THOU] = {"thousandth", "thousandths", 1},
    [MEASURE_MM] = {"millimetre", "millimetres", 2},
};

/* A length cut as it is spoken: whole and num/den, or whole and digits after the point. */
struct cut {
    int64_t whole;
    int64_t num, den; /* num 0: no fraction */
    char decimals[8]; /* "": none */
};

static bool cut_for_speech(struct measure_length length, struct cut *cut)
{
    *cut = (struct cut){0};
    if (length.den <= 0 || length.num < 0 || length.num / length.den > TURNED_INTO_WORDS_MOST)
        return false;
    int64_t divisor = quantity_divisor(length.num, length.den);
    length.num /= divisor;
    length.den /= divisor;
    cut->whole = length.num / length.den;
    int64_t rest = length.num % length.den;
    if (rest == 0)
        return true;
    if (length.unit == MEASURE_INCH && on_a_rule(length.den)) {
        cut->num = rest;
        cut->den = length.den;
        return true;
    }
    int places = decimals_for(length.den, 4);
    if (places < 0)
        return false;
    int64_t scaled = rest;
    for (int i = 0; i < places; i++)
        scaled *= 10;
    struct text text = text_into(cut->decimals, sizeof cut->decimals);
    text_addf(&text, "%0*" PRId64, places, scaled / length.den);
    return true;
}

static void cut_words(struct text *text, const struct cut *cut, enum measure_unit unit)
{
    bool some = cut->num > 0 || cut->decimals[0] != '\0';
    bool bare_inch = unit == MEASURE_INCH && cut->whole == 0 && some;
    if (bare_inch && cut->num == 1 && cut->den == 2) {
        text_add(text, "half an inch");
        return;
    }
    if (!bare_inch)
        number_words(text, cut->whole);
    if (cut->num > 0) {
        text_add(text, cut->whole > 0 ? " and " : "");
        if (cut->den == 2)
            text_add(text, "a half");
        else
            quantity_fraction_words(text, cut->num, cut->den);
    }
    if (cut->decimals[0] != '\0') {
        text_add(text, bare_inch ? "point " : " point ");
        digits_words(text, cut->decimals);
    }
    bool one = (cut->whole == 1 && !some) || bare_inch;
    text_addf(text, "%s %s", cut->num > 0 && cut->whole == 0 ? " of an" : "",
              one ? names[unit].one : names[unit].many);
}

/* What has no exact words is rounded, and said to be. */
static void about_words(struct text *text, struct measure_length length)
{
    double size = length.den == 0 ? 0 : (double)length.num / (double)length.den;
    int64_t power = 1;
    for (int i = 0; i < names[length.unit].decimals; i++)
        power *= 10;
    text_add(text, size < 0 ? "about minus " : "about ");
    size = size < 0 ? -size : size;
    if (length.den == 0 || size > TURNED_INTO_WORDS_MOST) {
        text_addf(text, "%g %s", size, names[length.unit].many);
        return;
    }
    struct cut cut;
    int64_t scaled = (int64_t)(size * (double)power + 0.5);
    length.num = scaled;
    length.den = power;
    if (cut_for_speech(length, &cut))
        cut_words(text, &cut, length.unit);
}

void distance_words(struct text *text, struct measure_length length)
{
    struct cut cut;
    if (length.unit > MEASURE_MM)
        length.unit = MEASURE_MM;
    struct measure_length size = length;
    if (size.num < 0 && size.num > INT64_MIN)
        size.num = -size.num;
    if (!cut_for_speech(size, &cut)) {
        about_words(text, length);
        return;
    }
    text_add(text, length.num < 0 ? "minus " : "");
    cut_words(text, &cut, length.unit);
}

void distance_digits(struct text *text, struct measure_length length)
{
    struct cut cut;
    if (!cut_for_speech(length, &cut))
        return;
    /* "sixteenths" and "sixty fourths" are a teen and a ten as well */
    bool twin =
        number_has_twin(cut.whole) || number_has_twin(cut.num) || cut.den == 16 || cut.den == 64;
    if (!twin)
        return;
    text_add(text, ", ");
    if (cut.whole > 0 || cut.num == 0)
        digit_words(text, cut.whole);
    if (cut.num > 0) {
        text_add(text, cut.whole > 0 ? " and " : "");
        digit_words(text, cut.num);
        text_add(text, " over ");
        digit_words(text, cut.den);
    }
    if (cut.decimals[0] != '\0') {
        text_add(text, " point ");
        digits_words(text, cut.decimals);
    }
}
