/* Fractions, decimals, mixed numbers, lengths, turns and volumes: whatever is taken as a quantity
 * stays inside its bounds and has words again. The first byte says which numbers the tool itself
 * puts into words, or that they are a value of any type in any grammar. */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "language/parts.h"

static void check_said(const char *text)
{
    struct words words;
    struct quantity quantity;
    words_read(&words, text);
    if (!quantity_said(span_of(&words), &quantity))
        return;
    const int64_t bound = INT64_C(2000000000000000000);
    FUZZ_PROMISED(quantity.num > -bound && quantity.num < bound);
    FUZZ_PROMISED(quantity.den >= 0 && quantity.den < bound);
}

static void check_words(const char *grammar, const struct language_value *value)
{
    struct language_value back;
    char said[LANGUAGE_WORDS], shortened[8];
    if (language_say(grammar, value, said, sizeof said)) {
        FUZZ_PROMISED(language_parse(grammar, said, &back, NULL) == LANGUAGE_OK);
        FUZZ_PROMISED(language_equal(value, &back));
    }
    language_read_back(grammar, value, shortened, sizeof shortened);
    FUZZ_PROMISED(memchr(shortened, '\0', sizeof shortened) != NULL);
}

/* A value of any type in any grammar, made of any bits but what no bool can hold. */
static void check_stranger(const uint8_t *data, size_t size)
{
    const char *grammar = language_grammar_name(data[1] % language_grammar_count());
    struct language_value value;
    memset(&value, 0, sizeof value);
    value.type = (enum language_type)(data[2] % (LANGUAGE_AMOUNT + 1));
    if (value.type == LANGUAGE_YESNO)
        value.as.yes = data[2] > 127;
    else if (value.type != LANGUAGE_TURN)
        memcpy(&value.as, data + 3, size - 3 < sizeof value.as ? size - 3 : sizeof value.as);
    check_words(grammar, &value);
}

/* Any numbers at all as a value: it is said exactly, or not at all. */
static void check_value(const uint8_t *data, size_t size)
{
    static const char *const grammars[] = {"distance", "turn", "turns", "volume", "odometer"};
    static const enum language_type types[] = {LANGUAGE_DISTANCE, LANGUAGE_TURN, LANGUAGE_AMOUNT,
                                               LANGUAGE_AMOUNT, LANGUAGE_NUMBER};
    int64_t number[2] = {0, 0};
    memcpy(number, data + 2, size - 2 < sizeof number ? size - 2 : sizeof number);
    unsigned which = data[0] % 5u, unit = data[1] % 3u;
    struct language_value value = {.type = types[which]};
    switch (value.type) {
    case LANGUAGE_DISTANCE:
        value.as.length = (struct measure_length){number[0], number[1], (enum measure_unit)unit};
        break;
    case LANGUAGE_TURN:
        value.as.turn = (struct language_turn){.numerator = (int)(number[0] % 1000),
                                               .denominator = (int)(number[1] % 1000),
                                               .clockwise = unit == 1};
        break;
    case LANGUAGE_AMOUNT:
        value.as.amount = (struct language_amount){number[0], number[1], (enum language_unit)unit};
        break;
    default:
        value.as.number = number[0];
        break;
    }
    check_words(grammars[which], &value);
    char said[LANGUAGE_WORDS];
    if (value.type == LANGUAGE_DISTANCE && value.as.length.den != 0)
        language_length_words(value.as.length, said, sizeof said);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size);
    check_said(text);
    free(text);
    if (size >= 3 && data[0] >= 200)
        check_stranger(data, size);
    else if (size >= 3)
        check_value(data, size);
    return 0;
}
