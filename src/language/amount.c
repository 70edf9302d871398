/* How many turns of a screw, and how much fluid: words to an exact amount in the unit that was
 * said, and back. */
#include <math.h>
#include <stdio.h>

#include "language/parts.h"

enum { TURNS_MOST = 10, MILLILITRES_MOST = 4999, OUNCES_MOST = 100 }; /* below; at most; below */

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

static const struct {
    const char *words;
    enum language_unit unit;
} volumes[] = {
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
};

static bool take_volume(struct span *span, enum language_unit *unit)
{
    for (size_t i = 0; i < sizeof volumes / sizeof volumes[0]; i++) {
        if (span_take_end(span, volumes[i].words)) {
            *unit = volumes[i].unit;
            return true;
        }
    }
    return false;
}

enum language_outcome volume_parse(struct span span, struct language_value *value, struct text *why)
{
    struct span number = span;
    struct quantity quantity;
    enum language_unit unit = LANGUAGE_MILLILITRES;
    bool named = take_volume(&number, &unit);
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

void amount_words(struct text *text, struct language_amount amount)
{
    if (amount.den <= 0 || amount.den > 16 || amount.num < 0 || amount.num > 100000)
        return; /* none of ours: it has no words */
    if (amount.unit == LANGUAGE_TURNS) {
        turns_words(text, amount);
        return;
    }
    number_words(text, amount.num / amount.den);
    int64_t rest = amount.num % amount.den;
    if (rest > 0) {
        text_add(text, " point ");
        number_words(text, rest * 10 / amount.den);
    }
    bool one = amount.num == amount.den;
    if (amount.unit == LANGUAGE_MILLILITRES)
        text_add(text, one ? " millilitre" : " millilitres");
    else
        text_add(text, one ? " fluid ounce" : " fluid ounces");
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
        text_add(text, " point ");
        digit_words(text, rest * 10 / amount.den);
    }
}

void language_amount_words(double amount, enum language_unit unit, char *out, size_t size)
{
    static const int parts[] = {
        [LANGUAGE_TURNS] = 16, [LANGUAGE_MILLILITRES] = 1, [LANGUAGE_FLUID_OUNCES] = 10};
    struct text text = text_into(out, size);
    if (!(amount >= 0 && amount < 10000) || (unsigned)unit > LANGUAGE_FLUID_OUNCES) {
        text_addf(&text, "%g", amount);
        return;
    }
    struct quantity quantity = {.num = llround(amount * parts[unit]), .den = parts[unit]};
    struct language_value value;
    keep(&value, &quantity, unit);
    amount_words(&text, value.as.amount);
}

double language_amount_value(struct language_amount amount)
{
    double value = amount.den == 0 ? 0 : (double)amount.num / (double)amount.den;
    return amount.unit == LANGUAGE_FLUID_OUNCES ? value * LANGUAGE_FLUID_OUNCE_ML : value;
}
