/* The registry of grammars and the way in: parse, say, read back, compare. */
#include "language/language.h"

#include <string.h>

#include "language/parts.h"

static const char ask_distance[] =
    "a length, such as five sixteenths, ninety thou or two zero point niner millimetres";
static const char ask_turn[] =
    "turned as told, not turned, or a part of a turn and clockwise or counter clockwise";
static const char ask_caution[] = "the whole phrase that was asked for, or not yet";
static const char ask_order[] = "the work order digit by digit, ten digits at most";
static const char ask_command[] =
    "stop, say again, go back, help me, why do you think so, where are we or use the keypad";
static const char ask_turns[] = "how many turns, such as half a turn or one and a half turns";
static const char ask_volume[] =
    "how much, such as niner five zero millilitres or three two fluid ounces";

static const char ask_ratio[] = "a number such as two, or one point five";
static const char ask_torque[] =
    "how tight and of what, such as two four newton metres or one eight foot pounds";

/* Sorted by name. */
static const struct grammar grammars[] = {
    {"cable", LANGUAGE_CHOICE, said_cable, 0, 0, NULL},
    {"caution", LANGUAGE_PHRASE, said_caution, 0, 0, ask_caution},
    {"clutch", LANGUAGE_CHOICE, said_clutch, 0, 0, NULL},
    {"command", LANGUAGE_COMMAND, said_command, 0, 0, ask_command},
    {"complaint", LANGUAGE_CHOICE, said_complaint, 0, 0, NULL},
    {"condition", LANGUAGE_CHOICE, said_condition, 0, 0, NULL},
    {"count", LANGUAGE_NUMBER, NULL, 1, 32, "a number from one to 32"},
    {"course", LANGUAGE_CHOICE, said_course, 0, 0, NULL},
    {"distance", LANGUAGE_DISTANCE, NULL, 0, 0, ask_distance},
    {"either", LANGUAGE_CHOICE, said_either, 0, 0, NULL},
    {"engine", LANGUAGE_CHOICE, said_engine, 0, 0, NULL},
    {"fasteners", LANGUAGE_CHOICE, said_fasteners, 0, 0, NULL},
    {"feel", LANGUAGE_CHOICE, said_feel, 0, 0, NULL},
    {"hook", LANGUAGE_CHOICE, said_hook, 0, 0, NULL},
    {"item", LANGUAGE_NUMBER, NULL, 1, 9, "a number from one to nine"},
    {"level", LANGUAGE_CHOICE, said_level, 0, 0, NULL},
    {"millimetres", LANGUAGE_DISTANCE, NULL, 0, 0, ask_distance},
    {"motion", LANGUAGE_CHOICE, said_motion, 0, 0, NULL},
    {"number", LANGUAGE_NUMBER, NULL, 0, 999, "a number from zero to 999"},
    {"odometer", LANGUAGE_NUMBER, NULL, 0, 999999, "a number from zero to 999999"},
    {"onset", LANGUAGE_CHOICE, said_onset, 0, 0, NULL},
    {"order", LANGUAGE_DIGITS, NULL, 0, 0, ask_order},
    {"ratio", LANGUAGE_AMOUNT, NULL, 0, 0, ask_ratio},
    {"resume", LANGUAGE_CHOICE, said_resume, 0, 0, NULL},
    {"rpm", LANGUAGE_NUMBER, NULL, 0, 9999, "a number from zero to 9999"},
    {"sense", LANGUAGE_CHOICE, said_sense, 0, 0, NULL},
    {"service", LANGUAGE_CHOICES, said_service, 0, 0, NULL},
    {"start", LANGUAGE_CHOICE, said_start, 0, 0, NULL},
    {"stem", LANGUAGE_CHOICE, said_stem, 0, 0, NULL},
    {"temperature", LANGUAGE_CHOICE, said_temperature, 0, 0, NULL},
    {"torque", LANGUAGE_AMOUNT, NULL, 0, 0, ask_torque},
    {"turn", LANGUAGE_TURN, NULL, 0, 0, ask_turn},
    {"turns", LANGUAGE_AMOUNT, NULL, 0, 0, ask_turns},
    {"volume", LANGUAGE_AMOUNT, NULL, 0, 0, ask_volume},
    {"yesno", LANGUAGE_YESNO, said_yesno, 0, 0, "yes or no"},
};

const struct grammar *grammar_find(const char *name)
{
    for (size_t i = 0; name != NULL && i < sizeof grammars / sizeof grammars[0]; i++) {
        if (strcmp(grammars[i].name, name) == 0)
            return &grammars[i];
    }
    return NULL;
}

size_t language_grammar_count(void)
{
    return sizeof grammars / sizeof grammars[0];
}

const char *language_grammar_name(size_t index)
{
    return index < language_grammar_count() ? grammars[index].name : NULL;
}

bool language_grammar_type(const char *name, enum language_type *type)
{
    const struct grammar *grammar = grammar_find(name);
    if (grammar != NULL)
        *type = grammar->type;
    return grammar != NULL;
}

const char *language_choice_words(const char *name, int choice)
{
    const struct grammar *grammar = grammar_find(name);
    if (grammar == NULL || choice < 0 || choice > 15)
        return NULL;
    if (grammar->type == LANGUAGE_CHOICES)
        return said_words(grammar->said, 1 << choice);
    return grammar->type == LANGUAGE_CHOICE ? said_words(grammar->said, choice) : NULL;
}

size_t language_choice_count(const char *name)
{
    int n = 0;
    while (language_choice_words(name, n) != NULL)
        n++;
    return (size_t)n;
}

const char *language_phrase_words(enum language_phrase phrase)
{
    return said_words(said_caution, (int)phrase);
}

const char *language_command_words(enum language_command command)
{
    if ((int)command < 0 || (int)command >= COMMAND_STEP)
        return NULL;
    return said_words(said_command, LANGUAGE_COMMAND * COMMAND_STEP + (int)command);
}

/* ---- words to values ---------------------------------------------------------------------- */

static bool command_parse(struct span span, struct language_value *value)
{
    const struct said *said = said_find(said_command, span);
    if (said == NULL)
        return false;
    value->type = (enum language_type)(said->value / COMMAND_STEP);
    value->as.command = (enum language_command)(said->value % COMMAND_STEP);
    return true;
}

static enum language_outcome phrase_parse(const struct grammar *grammar, struct span span,
                                          struct language_value *value)
{
    const struct said *said = said_find(grammar->said, span);
    if (said == NULL)
        return LANGUAGE_NONSENSE;
    value->type = grammar->type;
    if (grammar->type == LANGUAGE_YESNO)
        value->as.yes = said->value != 0;
    else if (grammar->type == LANGUAGE_PHRASE)
        value->as.phrase = (enum language_phrase)said->value;
    else
        value->as.choice = said->value;
    return LANGUAGE_OK;
}

static enum language_outcome choices_parse(const struct grammar *grammar, struct span span,
                                           struct language_value *value)
{
    value->type = LANGUAGE_CHOICES;
    return said_bits(grammar->said, span, &value->as.choices) ? LANGUAGE_OK : LANGUAGE_NONSENSE;
}

static enum language_outcome number_parse(const struct grammar *grammar, struct span span,
                                          struct language_value *value, struct text *why)
{
    struct span rest = span;
    struct quantity quantity;
    char digits[10];
    int64_t number = -1;
    span_take(&rest, "number");
    struct span said = rest;
    if (digits_said(rest, false, digits, sizeof digits)) {
        number = 0;
        for (const char *at = digits; *at != '\0'; at++)
            number = number * 10 + (*at - '0');
    } else if (!number_take(&said, &number) || span_length(said) > 0) {
        if (!quantity_said(rest, &quantity))
            return LANGUAGE_NONSENSE;
        number = -1;
    }
    if (number < grammar->low || number > grammar->high) {
        text_addf(why, "%.40s does not fit here: say %s.", span.words->joined, grammar->ask);
        return LANGUAGE_OUT_OF_SENSE;
    }
    value->type = LANGUAGE_NUMBER;
    value->as.number = number;
    return LANGUAGE_OK;
}

static enum language_outcome amount_parse(const struct grammar *grammar, struct span span,
                                          struct language_value *value, struct text *why)
{
    static const struct {
        const char *ask;
        enum language_outcome (*parse)(struct span span, struct language_value *value,
                                       struct text *why);
    } kinds[] = {{ask_turns, turns_parse},
                 {ask_volume, volume_parse},
                 {ask_ratio, ratio_parse},
                 {ask_torque, torque_parse}};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (kinds[i].ask == grammar->ask)
            return kinds[i].parse(span, value, why);
    return LANGUAGE_NONSENSE;
}

static enum language_outcome answer_parse(const struct grammar *grammar, struct span span,
                                          const char *raw, struct language_value *value,
                                          struct text *why)
{
    switch (grammar->type) {
    case LANGUAGE_NUMBER:
        return number_parse(grammar, span, value, why);
    case LANGUAGE_DIGITS:
        return order_parse(span, raw, value, why);
    case LANGUAGE_DISTANCE:
        return distance_parse(span, value, why);
    case LANGUAGE_TURN:
        return turn_parse(span, value, why);
    case LANGUAGE_AMOUNT:
        return amount_parse(grammar, span, value, why);
    case LANGUAGE_CHOICES:
        return choices_parse(grammar, span, value);
    case LANGUAGE_YESNO:
    case LANGUAGE_CHOICE:
    case LANGUAGE_PHRASE:
        return phrase_parse(grammar, span, value);
    case LANGUAGE_COMMAND:
    case LANGUAGE_DONT_KNOW:
    case LANGUAGE_SKIP:
        break;
    }
    return LANGUAGE_NONSENSE;
}

static void ask_instead(const struct grammar *grammar, struct text *why)
{
    text_add(why, "That is no answer here: say ");
    size_t n = language_choice_count(grammar->name);
    for (int i = 0; grammar->ask == NULL && i < (int)n; i++)
        text_addf(why, "%s%s",
                  i == 0           ? ""
                  : i + 1 < (int)n ? ", "
                                   : " or ",
                  language_choice_words(grammar->name, i));
    if (grammar->type == LANGUAGE_CHOICES)
        text_addf(why, ", or %s", said_words(grammar->said, 0));
    text_addf(why, "%s.", grammar->ask == NULL ? "" : grammar->ask);
}

enum language_outcome language_parse(const char *name, const char *raw,
                                     struct language_value *value, char *why)
{
    char unread[LANGUAGE_WHY];
    struct text text = text_into(why == NULL ? unread : why, LANGUAGE_WHY);
    const struct grammar *grammar = grammar_find(name);
    struct words words;
    struct language_value found = {0};
    enum language_outcome outcome = LANGUAGE_NONSENSE;
    if (raw == NULL)
        raw = "";
    words_read(&words, raw);
    if (grammar == NULL) {
        text_addf(&text, "There is no grammar '%.40s'.", name == NULL ? "" : name);
        return LANGUAGE_NONSENSE;
    }
    if (command_parse(span_of(&words), &found))
        outcome = LANGUAGE_OK;
    else if (words.n > 0 || words.too_long)
        outcome = answer_parse(grammar, span_of(&words), raw, &found, &text);
    if (outcome == LANGUAGE_OK)
        *value = found;
    else if (text.used == 0)
        ask_instead(grammar, &text);
    return outcome;
}

/* ---- values to words ---------------------------------------------------------------------- */

static void add_if(struct text *text, const char *words)
{
    text_add(text, words == NULL ? "" : words);
}

/* The words of a value that belongs to the grammar; nothing for one that has none. */
static void value_words(const struct grammar *grammar, const struct language_value *value,
                        struct text *text)
{
    switch (value->type) {
    case LANGUAGE_COMMAND:
        add_if(text, language_command_words(value->as.command));
        break;
    case LANGUAGE_DONT_KNOW:
    case LANGUAGE_SKIP:
        add_if(text, said_words(said_command, (int)value->type * COMMAND_STEP));
        break;
    case LANGUAGE_YESNO:
        add_if(text, said_words(grammar->said, value->as.yes));
        break;
    case LANGUAGE_NUMBER:
        number_words(text, value->as.number);
        break;
    case LANGUAGE_DIGITS:
        if (memchr(value->as.digits, '\0', sizeof value->as.digits) != NULL)
            order_words(text, value->as.digits);
        break;
    case LANGUAGE_DISTANCE:
        distance_words(text, value->as.length);
        break;
    case LANGUAGE_TURN:
        turn_value_words(text, &value->as.turn);
        break;
    case LANGUAGE_AMOUNT:
        amount_words(text, value->as.amount);
        break;
    case LANGUAGE_CHOICE:
        add_if(text, said_words(grammar->said, value->as.choice));
        break;
    case LANGUAGE_CHOICES:
        if (!said_bits_words(grammar->said, value->as.choices, text))
            *text = text_into(text->at, text->size);
        break;
    case LANGUAGE_PHRASE:
        add_if(text, said_words(grammar->said, (int)value->as.phrase));
        break;
    }
}

static bool belongs(const struct grammar *grammar, enum language_type type)
{
    bool everywhere =
        type == LANGUAGE_COMMAND || type == LANGUAGE_DONT_KNOW || type == LANGUAGE_SKIP;
    return everywhere || (grammar->type == type && (int)type >= 0);
}

bool language_say(const char *name, const struct language_value *value, char *out, size_t size)
{
    struct text text = text_into(out, size);
    const struct grammar *grammar = grammar_find(name);
    if (grammar == NULL || !belongs(grammar, value->type))
        return false;
    value_words(grammar, value, &text);
    /* Whatever does not come back as the same value is none that this grammar can say. */
    struct language_value back;
    bool same = !text.cut && language_parse(name, out, &back, NULL) == LANGUAGE_OK &&
                language_equal(value, &back);
    if (!same)
        out[0] = '\0';
    return same;
}

static void add_digits(const struct language_value *value, struct text *text)
{
    if (value->type == LANGUAGE_NUMBER && number_has_twin(value->as.number)) {
        text_add(text, ", ");
        digit_words(text, value->as.number);
    } else if (value->type == LANGUAGE_DISTANCE) {
        distance_digits(text, value->as.length);
    } else if (value->type == LANGUAGE_AMOUNT) {
        amount_digits(text, value->as.amount);
    } else if (value->type == LANGUAGE_TURN) {
        turn_digits(text, &value->as.turn);
    } else if (value->type == LANGUAGE_DIGITS) {
        *text = text_into(text->at, text->size);
        order_spelled(text, value->as.digits);
    }
}

bool language_read_back(const char *name, const struct language_value *value, char *out,
                        size_t size)
{
    if (!language_say(name, value, out, size))
        return false;
    struct text text = {.at = out, .size = size, .used = strlen(out)};
    add_digits(value, &text);
    return !text.cut || language_say(name, value, out, size);
}

/* ---- comparing ---------------------------------------------------------------------------- */

static bool small(struct measure_length length)
{
    return length.num >= 0 && length.num < 1000000000 && length.den > 0 && length.den < 1000000000;
}

static bool same_length(struct measure_length a, struct measure_length b)
{
    if (a.unit == b.unit && a.num == b.num && a.den == b.den)
        return a.den > 0;
    return small(a) && small(b) && measure_length_compare(a, b) == 0;
}

static bool same_turn(const struct language_turn *a, const struct language_turn *b)
{
    if (a->as_told != b->as_told || a->not_turned != b->not_turned)
        return false;
    if (a->as_told || a->not_turned)
        return true;
    return a->clockwise == b->clockwise &&
           (int64_t)a->numerator * b->denominator == (int64_t)b->numerator * a->denominator;
}

bool language_equal(const struct language_value *a, const struct language_value *b)
{
    if (a->type != b->type)
        return false;
    switch (a->type) {
    case LANGUAGE_COMMAND:
        return a->as.command == b->as.command;
    case LANGUAGE_DONT_KNOW:
    case LANGUAGE_SKIP:
        return true;
    case LANGUAGE_YESNO:
        return a->as.yes == b->as.yes;
    case LANGUAGE_NUMBER:
        return a->as.number == b->as.number;
    case LANGUAGE_DIGITS:
        return strncmp(a->as.digits, b->as.digits, LANGUAGE_DIGITS_MAX) == 0;
    case LANGUAGE_DISTANCE:
        return same_length(a->as.length, b->as.length);
    case LANGUAGE_TURN:
        return same_turn(&a->as.turn, &b->as.turn);
    case LANGUAGE_AMOUNT: /* in lowest terms */
        return a->as.amount.unit == b->as.amount.unit && a->as.amount.num == b->as.amount.num &&
               a->as.amount.den == b->as.amount.den;
    case LANGUAGE_CHOICE:
        return a->as.choice == b->as.choice;
    case LANGUAGE_CHOICES:
        return a->as.choices == b->as.choices;
    case LANGUAGE_PHRASE:
        return a->as.phrase == b->as.phrase;
    }
    return false;
}

bool language_same_meaning(const char *name, const char *words, const char *other)
{
    struct language_value a, b;
    return language_parse(name, words, &a, NULL) == LANGUAGE_OK &&
           language_parse(name, other, &b, NULL) == LANGUAGE_OK && language_equal(&a, &b);
}

bool language_is_command(const char *words)
{
    struct language_value value;
    return language_parse("command", words, &value, NULL) == LANGUAGE_OK;
}

/* ---- lengths, turns and numbers alone ----------------------------------------------------- */

void language_length_words(struct measure_length length, char *out, size_t size)
{
    struct text text = text_into(out, size);
    distance_words(&text, length);
}

void language_turn_words(int numerator, int denominator, bool clockwise, char *out, size_t size)
{
    struct text text = text_into(out, size);
    turn_words(&text, numerator, denominator, clockwise);
}

void language_number_words(int64_t number, char *out, size_t size)
{
    struct text text = text_into(out, size);
    number_words(&text, number);
}
