/* What was done to the stem: turned as told, not at all, or a fraction of one turn and which way,
 * as seen facing it. */
#include "language/parts.h"

static const struct {
    const char *words;
    bool clockwise;
} ways[] = {
    {"counter clockwise", false}, /* before its own tail */
    {"anti clockwise", false},
    {"clockwise", true},
};

static bool take_way(struct span *span, bool *clockwise)
{
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        if (span_take_end(span, ways[i].words)) {
            *clockwise = ways[i].clockwise;
            return true;
        }
    }
    return false;
}

/* "a quarter of a turn": the size, and whether the word "turn" was there. */
static bool size_said(struct span span, struct quantity *quantity, bool *named)
{
    static const char *const one[] = {"a turn", "a full turn", "a whole turn"};
    static const char *const turn[] = {"of a turn",  "a turn", "full turn",
                                       "whole turn", "turn",   "turns"};
    *named = true;
    for (size_t i = 0; i < sizeof one / sizeof one[0]; i++) {
        if (span_is(span, one[i])) {
            *quantity = (struct quantity){.form = QUANTITY_WHOLE, .num = 1, .den = 1};
            return true;
        }
    }
    for (size_t i = 0; i < sizeof turn / sizeof turn[0]; i++) {
        if (span_take_end(&span, turn[i]))
            return quantity_said(span, quantity);
    }
    *named = false;
    return quantity_said(span, quantity) && quantity->form != QUANTITY_WHOLE;
}

static bool has_words(int64_t den)
{
    char scratch[64];
    struct text text = text_into(scratch, sizeof scratch);
    return den == 1 || quantity_fraction_words(&text, 1, den);
}

/* NULL when it is a turn that can be made, else what is wrong with it. */
static const char *objection(const struct quantity *quantity, int64_t den, bool has_way)
{
    if (quantity->den == 0)
        return "is no turn: nothing has zero parts. Say it again.";
    if (quantity->negative)
        return "is less than nothing: say the size, then clockwise or counter clockwise.";
    if (quantity->num > quantity->den)
        return "is more than a whole turn: say how far it was turned in all, one turn at most.";
    if (quantity->num == 0)
        return "is no turn: say not turned.";
    if (!has_way)
        return "which way, facing the stem? Say it with clockwise or counter clockwise.";
    if (!has_words(den))
        return "is no part a hand can turn: say sixteenths, thirty seconds or twenty fourths.";
    return NULL;
}

enum language_outcome turn_parse(struct span span, struct language_value *value, struct text *why)
{
    const struct said *said = said_find(said_turn, span);
    value->type = LANGUAGE_TURN;
    value->as.turn = (struct language_turn){0};
    if (said != NULL) {
        value->as.turn.as_told = said->value == 1;
        value->as.turn.not_turned = said->value == 0;
        return LANGUAGE_OK;
    }
    struct span size = span;
    struct quantity quantity;
    bool named;
    bool has_way = take_way(&size, &value->as.turn.clockwise);
    if (!size_said(size, &quantity, &named))
        return LANGUAGE_NONSENSE;
    int64_t divisor = quantity_divisor(quantity.num, quantity.den);
    const char *wrong = objection(&quantity, quantity.den / divisor, has_way);
    if (wrong != NULL) {
        text_addf(why, "%.40s %s", span.words->joined, wrong);
        return LANGUAGE_OUT_OF_SENSE;
    }
    value->as.turn.numerator = (int)(quantity.num / divisor);
    value->as.turn.denominator = (int)(quantity.den / divisor);
    return LANGUAGE_OK;
}

void turn_words(struct text *text, int64_t numerator, int64_t denominator, bool clockwise)
{
    int64_t divisor = quantity_divisor(numerator, denominator);
    numerator /= divisor;
    denominator /= divisor;
    if (numerator == 1 && denominator == 1)
        text_add(text, "one turn");
    else if (numerator == 1 && denominator == 2)
        text_add(text, "half a turn");
    else if (quantity_fraction_words(text, numerator, denominator))
        text_add(text, " of a turn");
    else
        text_addf(text, "%lld over %lld of a turn", (long long)numerator, (long long)denominator);
    text_add(text, clockwise ? " clockwise" : " counter clockwise");
}

void turn_value_words(struct text *text, const struct language_turn *turn)
{
    if (turn->as_told || turn->not_turned)
        text_add(text, said_words(said_turn, turn->as_told));
    else
        turn_words(text, turn->numerator, turn->denominator, turn->clockwise);
}

void turn_digits(struct text *text, const struct language_turn *turn)
{
    bool twin =
        number_has_twin(turn->numerator) || turn->denominator == 16 || turn->denominator == 64;
    if (turn->as_told || turn->not_turned || !twin)
        return;
    text_add(text, ", ");
    digit_words(text, turn->numerator);
    text_add(text, " over ");
    digit_words(text, turn->denominator);
}
