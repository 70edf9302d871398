/* Keys of the number pad, as a terminal sends them, in every grammar: an answer parses, a bad entry
 * says why, a caution is confirmed by its own two keys only. */
#include <string.h>

#include "fuzz.h"
#include "keypad/keypad.h"

static void check(const char *grammar, const char *entry)
{
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    struct language_value value;
    memset(words, 'x', sizeof words);
    memset(why, 'x', sizeof why);
    enum keypad_outcome outcome = keypad_entry(grammar, entry, words, why);
    FUZZ_PROMISED(memchr(words, '\0', sizeof words) != NULL);
    FUZZ_PROMISED(memchr(why, '\0', sizeof why) != NULL);
    if (outcome == KEYPAD_BAD)
        FUZZ_PROMISED(strlen(why) > 10 && why[strlen(why) - 1] == '.');
    if (outcome != KEYPAD_WORDS)
        return;
    FUZZ_PROMISED(language_parse(grammar, words, &value, NULL) == LANGUAGE_OK);
    const char *cleared = strstr(entry, "//");
    for (const char *next = cleared; next != NULL; next = strstr(cleared, "//"))
        cleared = next + 2;
    if (value.type == LANGUAGE_PHRASE)
        FUZZ_PROMISED(
            strcmp(cleared != NULL ? cleared : entry, keypad_phrase_code(value.as.phrase)) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct keypad_line line;
    keypad_line_init(&line);
    for (size_t i = 0; i < size; i++) {
        bool entered = keypad_line_key(&line, (char)data[i]);
        FUZZ_PROMISED(line.used < sizeof line.entry);
        FUZZ_PROMISED(line.entry[line.used] == '\0');
        for (size_t g = 0; entered && g < language_grammar_count(); g++)
            check(language_grammar_name(g), line.entry);
    }
    for (size_t g = 0; g < language_grammar_count(); g++)
        check(language_grammar_name(g), line.entry);
    return 0;
}
