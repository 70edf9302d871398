/* How many turns of a screw, how much fluid, how many times as far, how tight: words to an exact
 * amount in the unit that was said, and back. */
#include <math.h>
#include <stdio.h>

#include "language/parts.h"

#define NUT_TOO_TIGHT "is more than any such nut takes: read it again."
#define PRIMARY_TOO_FULL "is more than any primary holds: read it again."
#define A_DECIMAL_TOO_MANY "is too fine: say it with one decimal."
#define VOLUME_TOO_FINE "is too fine: say whole millilitres, or tenths of an ounce."

/* What each unit is said as, the finest part of it, and what an amount has to be below. */
static const struct {
    const char *one, *many;
    int parts, below;
    const char *too_much, *too_fine;
} units[LANGUAGE_UNIT_COUNT] = {
    [LANGUAGE_TURNS] = {"", "", 16, 10,
                        "is more than any adjuster is set by: say less than ten turns.",
                        "is no part a hand can count: say eighths or sixteenths."},
    [LANGUAGE_MILLILITRES] = {" millilitre", " millilitres", 1, 5000, PRIMARY_TOO_FULL,
                              VOLUME_TOO_FINE},
    [LANGUAGE_FLUID_OUNCES] = {" fluid ounce", " fluid ounces", 10, 100, PRIMARY_TOO_FULL,
                               VOLUME_TOO_FINE},
    [LANGUAGE_RATIO] = {"", "", 100, 100, "is more than any lever does: say less than a hundred.",
                        "is too fine: say it with two decimals."},
    [LANGUAGE_NEWTON_METRES] = {" newton metres", " newton metres", 10, 1000, NUT_TOO_TIGHT,
                                A_DECIMAL_TOO_MANY},
    [LANGUAGE_FOOT_POUNDS] = {" foot pounds", " foot pounds", 10, 1000, NUT_TOO_TIGHT,
                              A_DECIMAL_TOO_MANY},
    [LANGUAGE_INCH_POUNDS] = {" inch pounds", " inch pounds", 10, 1000, NUT_TOO_TIGHT,
                              A_DECIMAL_TOO_MANY},
};

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

static bool is_too_much(const struct quantity *quantity, enum language_unit unit)
{
    return quantity->num >= units[unit].below * quantity->den;
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
    if (is_too_much(&quantity, LANGUAGE_TURNS))
        return senseless(why, span, units[LANGUAGE_TURNS].too_much);
    keep(value, &quantity, LANGUAGE_TURNS);
    if (!is_a_hand_s_part(value->as.amount.den))
        return senseless(why, span, units[LANGUAGE_TURNS].too_fine);
    return LANGUAGE_OK;
}

/* ---- decimals in a unit ------------------------------------------------------------------- */

/* Words for a unit at the end of what was said; the last has none, and is the unit without. */
struct unit_words {
    const char *words;
    enum language_unit unit;
};

static enum language_unit take_unit(struct span *span, const struct unit_words *list, bool *named)
{
    while (list->words != NULL && !span_take_end(span, list->words))
        list++;
    *named = list->words != NULL;
    return list->unit;
}

/* `unnamed`: why it makes no sense without a unit; NULL: it does. */
static enum language_outcome decimal_parse(struct span span, const struct unit_words *list,
                                           const char *unnamed, struct language_value *value,
                                           struct text *why)
{
    struct span number = span;
    struct quantity quantity;
    bool named = false;
    enum language_unit unit = take_unit(&number, list, &named);
    if (!quantity_said(number, &quantity))
        return LANGUAGE_NONSENSE;
    enum language_outcome outcome = check_number(span, &quantity, why);
    if (outcome != LANGUAGE_OK)
        return outcome;
    if (!named && unnamed != NULL)
        return senseless(why, span, unnamed);
    if (is_too_much(&quantity, unit))
        return senseless(why, span, units[unit].too_much);
    keep(value, &quantity, unit);
    if (units[unit].parts % value->as.amount.den != 0)
        return senseless(why, span, units[unit].too_fine);
    return LANGUAGE_OK;
}

/* ---- volumes ------------------------------------------------------------------------------ */

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
    return decimal_parse(span, volumes, "of what? Say millilitres or fluid ounces with it.", value,
                         why);
}

/* ---- ratios and torques ------------------------------------------------------------------- */

enum language_outcome ratio_parse(struct span span, struct language_value *value, struct text *why)
{
    static const struct unit_words none[] = {{NULL, LANGUAGE_RATIO}};
    return decimal_parse(span, none, NULL, value, why);
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
    return decimal_parse(span, torques, "of what? Say newton metres, foot pounds or inch pounds.",
                         value, why);
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
