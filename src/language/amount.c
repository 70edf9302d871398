/* How many turns of a screw, how much fluid, how many times as far, how tight: words to an exact
 * amount in the unit that was said, and back. */
#include <math.h>
#include <stdio.h>

#include "language/parts.h"

enum { TURNS_MOST = 10, MILLILITRES_MOST = 4999, OUNCES_MOST = 100 }; /* below; at most; below */
enum { RATIO_MOST = 100, TORQUE_MOST = 1000 };                        /* below */

static enum language_outcome senseless(struct text *why, struct span span, const char *because)
{
    text_addf(why, "%.40s %s", span.words->joined, because);
    return LANGUAGE_OUT_OF_SENSE;
}

static enum language_outcome check_number(struct span span, const struct quantity *quantity,
                                          struct text *why)
{
    if (quantity->den == 0)
        return senseless(why, span, "is no number: nothing has zero parts. Say it again.");
    if (quantity->negative)
        return senseless(why, span, "is less than nothing: say zero or more.");
    return LANGUAGE_OK;
}

static void keep(struct language_value *value, const struct quantity *quantity,
                 enum language_unit unit)
{
    int64_t divisor = quantity_divisor(quantity->num, quantity->den);
    value->type = LANGUAGE_AMOUNT;
    value->as.amount = (struct language_amount){
        .num = quantity->num / divisor, .den = quantity->den / divisor, .unit = unit};
}

/* ---- turns -------------------------------------------------------------------------------- */

static bool turns_said(struct span span, struct quantity *quantity)
{
    static const char *const one[] = {"a turn", "one turn", "a full turn", "one full turn"};
    static const char *const unit[] = {"of a turn", "a turn", "full turns", "turns", "turn"};
    for (size_t i = 0; i < sizeof one / sizeof one[0]; i++) {
        if (span_is(span, one[i])) {
            *quantity = (struct quantity){.form = QUANTITY_WHOLE, .num = 1, .den = 1};
            return true;
        }
    }
    for (size_t i = 0; i < sizeof unit / sizeof unit[0]; i++)
        if (span_take_end(&span, unit[i]))
            break;
    return quantity_said(span, quantity);
}

static bool is_a_hand_s_part(int64_t den)
{
    return den == 1 || den == 2 || den == 3 || den == 4 || den == 6 || den == 8 || den == 12 ||
           den == 16;
}

enum language_outcome turns_parse(struct span span, struct language_value *value, struct text *why)
{
    struct quantity quantity;
    if (!turns_said(span, &quantity))
        return LANGUAGE_NONSENSE;
    enum language_outcome outcome = check_number(span, &quantity, why);
    if (outcome != LANGUAGE_OK)
        return outcome;
    if (quantity.improper)
        return senseless(why, span, "is a whole turn or more: say the turns and the rest.");
    if (quantity.num >= TURNS_MOST * quantity.den)
        return senseless(why, span,
                         "is more than any adjuster is set by: say less than ten turns.");
    keep(value, &quantity, LANGUAGE_TURNS);
    if (!is_a_hand_s_part(value->as.amount.den))
        return senseless(why, span, "is no part a hand can count: say eighths or sixteenths.");
    return LANGUAGE_OK;
}

/* ---- volumes ------------------------------------------------------------------------------ */

/* Words for a unit at the end of what was said. */
struct unit_words {
    const char *words;
    enum language_unit unit;
};

static bool take_unit(struct span *span, const struct unit_words *list, enum language_unit *unit)
{
    for (; list->words != NULL; list++) {
        if (span_take_end(span, list->words)) {
            *unit = list->unit;
            return true;
        }
    }
    return false;
}

static const struct unit_words volumes[] = {
    {"millilitres", LANGUAGE_MILLILITRES},
    {"milliliters", LANGUAGE_MILLILITRES},
    {"millilitre", LANGUAGE_MILLILITRES},
    {"milliliter", LANGUAGE_MILLILITRES},
    {"ml", LANGUAGE_MILLILITRES},
    {"cc", LANGUAGE_MILLILITRES},
    {"fluid ounces", LANGUAGE_FLUID_OUNCES},
    {"fluid ounce", LANGUAGE_FLUID_OUNCES},
    {"ounces", LANGUAGE_FLUID_OUNCES},
    {"ounce", LANGUAGE_FLUID_OUNCES},
    {"fl oz", LANGUAGE_FLUID_OUNCES},
    {"oz", LANGUAGE_FLUID_OUNCES},
    {NULL, LANGUAGE_MILLILITRES},
};

enum language_outcome volume_parse(struct span span, struct language_value *value, struct text *why)
{
    struct span number = span;
    struct quantity quantity;
    enum language_unit unit = LANGUAGE_MILLILITRES;
    bool named = take_unit(&number, volumes, &unit);
    if (!quantity_said(number, &quantity))
        return LANGUAGE_NONSENSE;
    enum language_outcome outcome = check_number(span, &quantity, why);
    if (outcome != LANGUAGE_OK)
        return outcome;
    if (!named)
        return senseless(why, span, "of what? Say millilitres or fluid ounces with it.");
    bool ounces = unit == LANGUAGE_FLUID_OUNCES;
    if (ounces ? quantity.num >= OUNCES_MOST * quantity.den
               : quantity.num > MILLILITRES_MOST * quantity.den)
        return senseless(why, span, "is more than any primary holds: read it again.");
    keep(value, &quantity, unit);
    if ((ounces ? 10 : 1) % value->as.amount.den != 0)
        return senseless(why, span, "is too fine: say whole millilitres, or tenths of an ounce.");
    return LANGUAGE_OK;
}

/* ---- ratios and torques ------------------------------------------------------------------- */

enum language_outcome ratio_parse(struct span span, struct language_value *value, struct text *why)
{
    struct quantity quantity;
    if (!quantity_said(span, &quantity))
        return LANGUAGE_NONSENSE;
    enum language_outcome outcome = check_number(span, &quantity, why);
    if (outcome != LANGUAGE_OK)
        return outcome;
    if (quantity.num >= RATIO_MOST * quantity.den)
        return senseless(why, span, "is more than any lever does: say less than a hundred.");
    keep(value, &quantity, LANGUAGE_RATIO);
    if (100 % value->as.amount.den != 0)
        return senseless(why, span, "is too fine: say it with two decimals.");
    return LANGUAGE_OK;
}

static const struct unit_words torques[] = {
    {"newton metres", LANGUAGE_NEWTON_METRES}, {"newton metre", LANGUAGE_NEWTON_METRES},
    {"newton meters", LANGUAGE_NEWTON_METRES}, {"nm", LANGUAGE_NEWTON_METRES},
    {"n m", LANGUAGE_NEWTON_METRES},           {"foot pounds", LANGUAGE_FOOT_POUNDS},
    {"foot pound", LANGUAGE_FOOT_POUNDS},      {"ft lbs", LANGUAGE_FOOT_POUNDS},
    {"ft lb", LANGUAGE_FOOT_POUNDS},           {"inch pounds", LANGUAGE_INCH_POUNDS},
    {"inch pound", LANGUAGE_INCH_POUNDS},      {"in lbs", LANGUAGE_INCH_POUNDS},
    {"in lb", LANGUAGE_INCH_POUNDS},           {NULL, LANGUAGE_NEWTON_METRES},
};

enum language_outcome torque_parse(struct span span, struct language_value *value, struct text *why)
{
    struct span number = span;
    struct quantity quantity;
    enum language_unit unit = LANGUAGE_NEWTON_METRES;
    bool named = take_unit(&number, torques, &unit);
    if (!quantity_said(number, &quantity))
        return LANGUAGE_NONSENSE;
    enum language_outcome outcome = check_number(span, &quantity, why);
    if (outcome != LANGUAGE_OK)
        return outcome;
    if (!named)
        return senseless(why, span, "of what? Say newton metres, foot pounds or inch pounds.");
    if (quantity.num >= TORQUE_MOST * quantity.den)
        return senseless(why, span, "is more than any such nut takes: read it again.");
    keep(value, &quantity, unit);
    if (10 % value->as.amount.den != 0)
        return senseless(why, span, "is too fine: say it with one decimal.");
    return LANGUAGE_OK;
}

/* ---- and back ----------------------------------------------------------------------------- */

static void turns_words(struct text *text, struct language_amount amount)
{
    int64_t whole = amount.num / amount.den, rest = amount.num % amount.den;
    if (rest == 0) {
        number_words(text, whole);
        text_add(text, whole == 1 ? " turn" : " turns");
    } else if (whole == 0) {
        if (amount.den == 2)
            text_add(text, "half a turn");
        else if (quantity_fraction_words(text, rest, amount.den))
            text_add(text, " of a turn");
    } else {
        number_words(text, whole);
        text_add(text, " and ");
        if (amount.den == 2)
            text_add(text, "a half");
        else
            quantity_fraction_words(text, rest, amount.den);
        text_add(text, " turns");
    }
}

/* What each unit is said as, and the finest part of it. */
static const struct {
    const char *one, *many;
    int parts;
} units[LANGUAGE_UNIT_COUNT] = {
    [LANGUAGE_TURNS] = {"", "", 16},
    [LANGUAGE_MILLILITRES] = {" millilitre", " millilitres", 1},
    [LANGUAGE_FLUID_OUNCES] = {" fluid ounce", " fluid ounces", 10},
    [LANGUAGE_RATIO] = {"", "", 100},
    [LANGUAGE_NEWTON_METRES] = {" newton metres", " newton metres", 10},
    [LANGUAGE_FOOT_POUNDS] = {" foot pounds", " foot pounds", 10},
    [LANGUAGE_INCH_POUNDS] = {" inch pounds", " inch pounds", 10},
};

/* The decimals digit by digit, a last zero left out. */
static void decimal_words(struct text *text, int64_t rest, int64_t den)
{
    int64_t hundredths = rest * 100 / den;
    text_add(text, " point ");
    digit_words(text, hundredths / 10);
    if (hundredths % 10 != 0) {
        text_add(text, " ");
        digit_words(text, hundredths % 10);
    }
}

void amount_words(struct text *text, struct language_amount amount)
{
    if (amount.den <= 0 || amount.den > 100 || amount.num < 0 || amount.num > 100000 ||
        (unsigned)amount.unit >= LANGUAGE_UNIT_COUNT)
        return; /* none of ours: it has no words */
    if (amount.unit == LANGUAGE_TURNS) {
        turns_words(text, amount);
        return;
    }
    number_words(text, amount.num / amount.den);
    if (amount.num % amount.den > 0)
        decimal_words(text, amount.num % amount.den, amount.den);
    text_add(text, amount.num == amount.den ? units[amount.unit].one : units[amount.unit].many);
}

void amount_digits(struct text *text, struct language_amount amount)
{
    if (amount.den <= 0 || amount.num < 0)
        return;
    int64_t whole = amount.num / amount.den, rest = amount.num % amount.den;
    bool sixteenths = amount.unit == LANGUAGE_TURNS && amount.den == 16;
    if (!number_has_twin(whole) && !number_has_twin(sixteenths ? rest : 0) && !sixteenths)
        return;
    text_add(text, ", ");
    if (whole > 0 || rest == 0)
        digit_words(text, whole);
    if (rest > 0 && amount.unit == LANGUAGE_TURNS) {
        text_add(text, whole > 0 ? " and " : "");
        digit_words(text, rest);
        text_add(text, " over ");
        digit_words(text, amount.den);
    } else if (rest > 0) {
        decimal_words(text, rest, amount.den);
    }
}

void language_amount_words(double amount, enum language_unit unit, char *out, size_t size)
{
    struct text text = text_into(out, size);
    if (!(amount >= 0 && amount < 10000) || (unsigned)unit >= LANGUAGE_UNIT_COUNT) {
        text_addf(&text, "%g", amount);
        return;
    }
    int parts = units[unit].parts;
    struct quantity quantity = {.num = llround(amount * parts), .den = parts};
    struct language_value value;
    keep(&value, &quantity, unit);
    amount_words(&text, value.as.amount);
}

double language_amount_value(struct language_amount amount)
{
    double value = amount.den == 0 ? 0 : (double)amount.num / (double)amount.den;
    switch (amount.unit) {
    case LANGUAGE_FLUID_OUNCES:
        return value * LANGUAGE_FLUID_OUNCE_ML;
    case LANGUAGE_FOOT_POUNDS:
        return value * LANGUAGE_FOOT_POUND_NM;
    case LANGUAGE_INCH_POUNDS:
        return value * LANGUAGE_FOOT_POUND_NM / 12;
    default:
        return value;
    }
}
