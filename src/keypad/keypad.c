/* Entries of the number pad: to words a voice would have said, and keys to the text that names
 * them. Values go through language_parse and language_say, so that the pad knows no units of its
 * own. */
#include "keypad/keypad.h"

#include <string.h>
#include <unistd.h>

#include "base/text.h"

static const char pad_keys[] = "0123456789./*-+";

/* At every question. */
static const struct {
    const char *entry;
    enum language_type type;
    enum language_command command;
} everywhere[] = {
    {"-", LANGUAGE_COMMAND, LANGUAGE_GO_BACK},  {"+", LANGUAGE_COMMAND, LANGUAGE_SAY_AGAIN},
    {"*", LANGUAGE_COMMAND, LANGUAGE_HELP},     {"/", LANGUAGE_COMMAND, LANGUAGE_WHERE_ARE_WE},
    {"**", LANGUAGE_COMMAND, LANGUAGE_KEYPAD},  {"--", LANGUAGE_COMMAND, LANGUAGE_STOP},
    {"++", LANGUAGE_COMMAND, LANGUAGE_EXPLAIN}, {".", LANGUAGE_DONT_KNOW, LANGUAGE_SAY_AGAIN},
    {"..", LANGUAGE_SKIP, LANGUAGE_SAY_AGAIN},  {"*+", LANGUAGE_COMMAND, LANGUAGE_LISTEN},
    {"/+", LANGUAGE_COMMAND, LANGUAGE_LOUDER},  {"/-", LANGUAGE_COMMAND, LANGUAGE_QUIETER},
    {".+", LANGUAGE_COMMAND, LANGUAGE_FASTER},  {".-", LANGUAGE_COMMAND, LANGUAGE_SLOWER},
};

/* No code is another one turned round, and phrases that may follow each other share no key. */
static const char *const phrase_codes[LANGUAGE_PHRASE_COUNT] = {
    [LANGUAGE_NOT_YET] = "0",           [LANGUAGE_BIKE_STRAPPED] = "12",
    [LANGUAGE_WHEEL_CLEAR] = "34",      [LANGUAGE_ENGINE_OFF] = "56",
    [LANGUAGE_PARTS_COOL] = "78",       [LANGUAGE_THIRD_GEAR] = "91",
    [LANGUAGE_ACCESS_OPEN] = "25",      [LANGUAGE_TOOLS_READY] = "46",
    [LANGUAGE_LOCK_NUT_LOOSE] = "37",   [LANGUAGE_LOCK_NUT_TIGHT] = "58",
    [LANGUAGE_SET_TO_MANUAL] = "69",    [LANGUAGE_HANDS_CLEAR] = "14",
    [LANGUAGE_EXHAUST_LED_AWAY] = "28", [LANGUAGE_COVER_BACK] = "39",
    [LANGUAGE_EYES_COVERED] = "47",     [LANGUAGE_BATTERY_OFF] = "29",
    [LANGUAGE_NAMED_GEAR] = "13",
};

const char *keypad_phrase_code(enum language_phrase phrase)
{
    return (unsigned)phrase < LANGUAGE_PHRASE_COUNT ? phrase_codes[phrase] : "";
}

/* ---- the kinds of answer ------------------------------------------------------------------ */

/* What one kind of answer makes of an entry. */
enum reading {
    READ,       /* `value` holds it */
    WRONG_KEYS, /* no such entry here */
    REFUSED,    /* an entry, but no such value: `why` says it */
};

static bool all_of(const char *entry, const char *keys)
{
    return entry[0] != '\0' && entry[strspn(entry, keys)] == '\0';
}

static int one_digit(const char *entry)
{
    return all_of(entry, "0123456789") && entry[1] == '\0' ? entry[0] - '0' : -1;
}

static enum reading read_typed(const char *grammar, const char *typed, struct language_value *value,
                               char *why)
{
    switch (language_parse(grammar, typed, value, why)) {
    case LANGUAGE_OK:
        return READ;
    case LANGUAGE_OUT_OF_SENSE:
        return REFUSED;
    case LANGUAGE_NONSENSE:
        break;
    }
    return WRONG_KEYS;
}

/* The first `length` keys of the entry, with the words that its last key stands for. */
static enum reading read_with_unit(const char *grammar, const char *entry, size_t length,
                                   const char *unit, struct language_value *value, char *why)
{
    char typed[KEYPAD_ENTRY + 32];
    struct text text = text_into(typed, sizeof typed);
    text_add_n(&text, entry, length);
    text_add(&text, unit);
    return read_typed(grammar, typed, value, why);
}

static enum reading read_distance(const char *grammar, const char *entry,
                                  struct language_value *value, char *why)
{
    size_t length = strlen(entry);
    bool thou = entry[length - 1] == '-', mm = entry[length - 1] == '*';
    const char *unit = thou ? " thou" : mm ? " mm" : " in";
    if (all_of(entry, "0123456789") && !all_of(entry, "0"))
        return WRONG_KEYS; /* a whole number of what? */
    if (thou || mm)
        length--;
    if (memchr(entry, '*', length) != NULL)
        return WRONG_KEYS;
    return read_with_unit(grammar, entry, length, unit, value, why);
}

static enum reading read_turn(const char *grammar, const char *entry, struct language_value *value,
                              char *why)
{
    size_t length = strlen(entry);
    char last = entry[length - 1];
    int digit = one_digit(entry);
    if (digit == 0 || digit == 1) {
        value->type = LANGUAGE_TURN;
        value->as.turn = (struct language_turn){.as_told = digit == 1, .not_turned = digit == 0};
        return READ;
    }
    if (last != '+' && last != '-')
        return WRONG_KEYS; /* which way? */
    return read_with_unit(grammar, entry, length - 1,
                          last == '+' ? " turn clockwise" : " turn counter clockwise", value, why);
}

/* The key that says of what, as the last of an entry: 950* or 32-, 24* or 18- or 160+. */
static const struct {
    const char *grammar;
    char key;
    const char *words;
} unit_keys[] = {
    {"volume", '*', " millilitres"},   {"volume", '-', " fluid ounces"},
    {"torque", '*', " newton metres"}, {"torque", '-', " foot pounds"},
    {"torque", '+', " inch pounds"},
};

/* Turns and ratios bare, as 1+1/2 and 1.5; volumes and torques with their unit. */
static enum reading read_amount(const char *grammar, const char *entry,
                                struct language_value *value, char *why)
{
    size_t length = strlen(entry);
    char last = entry[length - 1];
    bool bare = true;
    for (size_t i = 0; i < sizeof unit_keys / sizeof unit_keys[0]; i++) {
        if (strcmp(unit_keys[i].grammar, grammar) != 0)
            continue;
        if (unit_keys[i].key == last && length > 1)
            return read_with_unit(grammar, entry, length - 1, unit_keys[i].words, value, why);
        bare = false;
    }
    if (!bare)
        return WRONG_KEYS; /* of what? */
    return read_with_unit(grammar, entry, length, strcmp(grammar, "turns") == 0 ? " turns" : "",
                          value, why);
}

static enum reading read_choices(const char *grammar, const char *entry,
                                 struct language_value *value)
{
    int n = (int)language_choice_count(grammar);
    value->type = LANGUAGE_CHOICES;
    value->as.choices = 0;
    if (strcmp(entry, "0") == 0)
        return READ;
    for (const char *at = entry; *at != '\0'; at++) {
        int choice = *at - '0';
        if (choice < 1 || choice > n || (value->as.choices & 1u << (choice - 1)) != 0)
            return WRONG_KEYS;
        value->as.choices |= 1u << (choice - 1);
    }
    return READ;
}

static enum reading read_phrase(const char *entry, struct language_value *value)
{
    value->type = LANGUAGE_PHRASE;
    for (int phrase = 0; phrase < LANGUAGE_PHRASE_COUNT; phrase++) {
        if (strcmp(phrase_codes[phrase], entry) == 0) {
            value->as.phrase = (enum language_phrase)phrase;
            return READ;
        }
    }
    return WRONG_KEYS;
}

static enum reading read_one_of(const char *grammar, const char *entry, enum language_type type,
                                struct language_value *value)
{
    int n = type == LANGUAGE_YESNO ? 2 : (int)language_choice_count(grammar);
    int digit = one_digit(entry);
    if (digit < 1 || digit > n)
        return WRONG_KEYS;
    value->type = type;
    if (type == LANGUAGE_YESNO)
        value->as.yes = digit == 1;
    else
        value->as.choice = digit - 1;
    return READ;
}

/* A work order may have other keys between its digits. */
static enum reading read_digits(const char *grammar, const char *entry,
                                struct language_value *value, char *why)
{
    char ends[] = {entry[0], entry[strlen(entry) - 1], '\0'};
    bool plain = all_of(ends, "0123456789") && all_of(entry, "0123456789./-");
    return plain ? read_typed(grammar, entry, value, why) : WRONG_KEYS;
}

static enum reading read_answer(const char *grammar, enum language_type type, const char *entry,
                                struct language_value *value, char *why)
{
    switch (type) {
    case LANGUAGE_YESNO:
    case LANGUAGE_CHOICE:
        return read_one_of(grammar, entry, type, value);
    case LANGUAGE_CHOICES:
        return read_choices(grammar, entry, value);
    case LANGUAGE_PHRASE:
        return read_phrase(entry, value);
    case LANGUAGE_NUMBER:
        return all_of(entry, "0123456789") ? read_typed(grammar, entry, value, why) : WRONG_KEYS;
    case LANGUAGE_DIGITS:
        return read_digits(grammar, entry, value, why);
    case LANGUAGE_DISTANCE:
        return read_distance(grammar, entry, value, why);
    case LANGUAGE_AMOUNT:
        return read_amount(grammar, entry, value, why);
    case LANGUAGE_TURN:
        return read_turn(grammar, entry, value, why);
    case LANGUAGE_COMMAND:
    case LANGUAGE_DONT_KNOW:
    case LANGUAGE_SKIP:
        break;
    }
    return WRONG_KEYS;
}

static bool read_everywhere(const char *entry, struct language_value *value)
{
    for (size_t i = 0; i < sizeof everywhere / sizeof everywhere[0]; i++) {
        if (strcmp(everywhere[i].entry, entry) == 0) {
            value->type = everywhere[i].type;
            value->as.command = everywhere[i].command;
            return true;
        }
    }
    return false;
}

/* ---- an entry ----------------------------------------------------------------------------- */

/* What counts of the entry: all after the last pair of slashes, read from the left. */
static const char *after_clearing(const char *entry)
{
    for (const char *at = entry; *at != '\0'; at++) {
        if (at[0] == '/' && at[1] == '/') {
            entry = at + 2;
            at++;
        }
    }
    return entry;
}

static void show_entry(const char *entry, char *words)
{
    size_t length = 0;
    for (; length < KEYPAD_ENTRY - 1 && entry[length] != '\0'; length++)
        words[length] = strchr(pad_keys, entry[length]) != NULL ? entry[length] : '?';
    words[length] = '\0';
}

static enum keypad_outcome bad(const char *grammar, const char *entry, char *words, char *why)
{
    struct text text = text_into(why, LANGUAGE_WHY);
    enum language_type type;
    show_entry(entry, words);
    text_add(&text, "No answer here. Keys: ");
    if (!language_grammar_type(grammar, &type)) {
        text_add(&text, "none, the question is not known.");
    } else if (type == LANGUAGE_PHRASE) {
        text_add(&text, "the two shown for this step, 0 not yet.");
    } else {
        keypad_keys(grammar, LANGUAGE_NOT_YET, why + text.used, LANGUAGE_WHY - 1 - text.used);
        text.used = strlen(why);
        text_add(&text, ".");
    }
    return KEYPAD_BAD;
}

enum keypad_outcome keypad_entry(const char *grammar, const char *entry, char *words, char *why)
{
    enum language_type type;
    struct language_value value = {.type = LANGUAGE_SKIP};
    words[0] = why[0] = '\0';
    entry = after_clearing(entry);
    if (entry[0] == '\0')
        return KEYPAD_EMPTY;
    bool fits = all_of(entry, pad_keys) && strlen(entry) < KEYPAD_ENTRY - 1;
    if (!fits || !language_grammar_type(grammar, &type))
        return bad(grammar, entry, words, why);
    enum reading reading = READ;
    if (!read_everywhere(entry, &value))
        reading = read_answer(grammar, type, entry, &value, why);
    if (reading == READ && language_say(grammar, &value, words, LANGUAGE_WORDS)) {
        why[0] = '\0';
        return KEYPAD_WORDS;
    }
    if (reading != REFUSED)
        return bad(grammar, entry, words, why);
    show_entry(entry, words);
    return KEYPAD_BAD;
}

/* ---- what the keys are -------------------------------------------------------------------- */

static void choice_keys(const char *grammar, struct text *text)
{
    size_t n = language_choice_count(grammar);
    for (size_t i = 0; i < n; i++)
        text_addf(text, "%s%zu %s", i == 0 ? "" : ", ", i + 1,
                  language_choice_words(grammar, (int)i));
}

static const char *amount_keys(const char *grammar)
{
    if (strcmp(grammar, "volume") == 0)
        return "950 star millilitres, 32 minus fluid ounces";
    if (strcmp(grammar, "torque") == 0)
        return "24 star newton metres, 18 minus foot pounds, 160 plus inch pounds";
    return strcmp(grammar, "ratio") == 0 ? "2 or 1.5, then Enter"
                                         : "1/2 or 1+1/2 or 1.5 turns, then Enter";
}

/* The sign keys are named, since the text is spoken as well. */
static const char *fixed_keys(const char *grammar, enum language_type type)
{
    switch (type) {
    case LANGUAGE_AMOUNT:
        return amount_keys(grammar);
    case LANGUAGE_DISTANCE:
        return "5/16 or 1+5/16 or .31 inches, 310 minus thousandths, 7.9 star millimetres";
    case LANGUAGE_TURN:
        return "1 turned as told, 0 not turned, 1/16 plus clockwise, 1/16 minus counter clockwise";
    case LANGUAGE_YESNO:
        return "1 yes, 2 no";
    case LANGUAGE_NUMBER:
        return "the number, then Enter";
    case LANGUAGE_DIGITS:
        return "the digits of the work order, then Enter";
    default:
        return "minus go back, plus say again, star help, plus plus why, slash where are we, minus "
               "minus stop";
    }
}

void keypad_keys(const char *grammar, enum language_phrase phrase, char *out, size_t size)
{
    struct text text = text_into(out, size);
    enum language_type type;
    if (!language_grammar_type(grammar, &type))
        return;
    if (type == LANGUAGE_CHOICE || type == LANGUAGE_CHOICES) {
        choice_keys(grammar, &text);
        if (type == LANGUAGE_CHOICES)
            text_add(&text, ", two together as 13, 0 nothing at all");
        return;
    }
    if (type != LANGUAGE_PHRASE) {
        text_add(&text, fixed_keys(grammar, type));
        return;
    }
    if ((unsigned)phrase < LANGUAGE_PHRASE_COUNT && phrase != LANGUAGE_NOT_YET)
        text_addf(&text, "%s %s, ", keypad_phrase_code(phrase), language_phrase_words(phrase));
    text_add(&text, "0 not yet");
}

/* ---- single keys -------------------------------------------------------------------------- */

void keypad_line_init(struct keypad_line *line)
{
    *line = (struct keypad_line){0};
}

/* Escape sequences: ESC [ ... final (ECMA-48, 5.4: finals are 0x40 to 0x7e), ESC O final. True
 * while the key belongs to one. */
static bool in_escape(struct keypad_line *line, char key)
{
    char kind = line->escape;
    if (key == '\x1b') {
        line->dropped++;
        line->escape = key;
        return true;
    }
    if (kind == '\x1b' && (key == '[' || key == 'O')) {
        line->escape = key;
        return true;
    }
    if (kind == '[' && key >= ' ' && key < '@')
        return true;
    line->escape = '\0';
    return (kind == '[' || kind == 'O') && key >= '@' && key <= '~';
}

static void clear(struct keypad_line *line)
{
    line->used = line->beyond = 0;
    line->entry[0] = line->last = '\0';
}

static void take_key(struct keypad_line *line, char key)
{
    if (key == '/' && line->last == '/') {
        clear(line);
        return;
    }
    line->last = key;
    if (line->used < sizeof line->entry - 1) {
        line->entry[line->used++] = key;
        line->entry[line->used] = '\0';
    } else {
        line->beyond++;
    }
}

static void take_back(struct keypad_line *line)
{
    if (line->beyond > 0)
        line->beyond--;
    else if (line->used > 0)
        line->entry[--line->used] = '\0';
    /* The keys beyond the end are not kept, so what was before the last of them is not known. */
    bool known = line->beyond == 0 && line->used > 0;
    line->last = known ? line->entry[line->used - 1] : '\0';
}

bool keypad_line_key(struct keypad_line *line, char key)
{
    bool rest_of_enter = line->returned && key == '\n';
    line->returned = false;
    if (rest_of_enter)
        return false;
    if (line->ended)
        keypad_line_init(line);
    if (in_escape(line, key))
        return false;
    if (key == '\r' || key == '\n') {
        line->ended = true;
        line->returned = key == '\r';
        return true;
    }
    if (key == '\b' || key == '\x7f')
        take_back(line);
    else if (key != '\0' && strchr(pad_keys, key) != NULL)
        take_key(line, key);
    else
        line->dropped++;
    line->overflowed = line->beyond > 0;
    return false;
}

const struct keypad_driver *keypad_driver_for(int fd)
{
    return isatty(fd) ? &keypad_driver_terminal : &keypad_driver_pipe;
}
