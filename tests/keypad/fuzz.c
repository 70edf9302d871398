/* Random keys and bytes through keypad_line, keypad_entry and language_parse: no crash, no
 * undefined behaviour (run under the sanitizers); what is taken parses, what is not says why.
 * Seeded. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "keypad/keypad.h"

enum { ENTRIES = 200000 };

static uint64_t seed = 17;

static uint32_t random_below(uint32_t limit)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407); /* Knuth's MMIX */
    return (uint32_t)((seed >> 33) % limit);
}

static char random_key(void)
{
    static const char keys[] = "00112233445566778899./*-+\b\x1b";
    if (random_below(40) == 0)
        return (char)random_below(256);
    return keys[random_below(sizeof keys - 1)];
}

/* True when it was taken as an answer. */
static bool check_entry(const char *grammar, const char *entry)
{
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    struct language_value value;
    memset(words, 'x', sizeof words);
    memset(why, 'x', sizeof why);
    enum keypad_outcome outcome = keypad_entry(grammar, entry, words, why);
    assert_non_null(memchr(words, '\0', sizeof words));
    assert_non_null(memchr(why, '\0', sizeof why));
    if (outcome == KEYPAD_WORDS && language_parse(grammar, words, &value, NULL) != LANGUAGE_OK)
        fail_msg("%s: '%s' gives '%s', which does not parse", grammar, entry, words);
    if (outcome == KEYPAD_BAD)
        assert_true(strlen(why) > 10 && why[strlen(why) - 1] == '.');
    return outcome == KEYPAD_WORDS;
}

static void keys_become_answers_or_say_why(void **state)
{
    (void)state;
    struct keypad_line line;
    int taken = 0;
    keypad_line_init(&line);
    for (int i = 0; i < ENTRIES; i++) {
        const char *grammar =
            language_grammar_name(random_below((uint32_t)language_grammar_count()));
        uint32_t length = random_below(16) == 0 ? random_below(100) : random_below(7);
        for (uint32_t k = 0; k < length; k++) {
            keypad_line_key(&line, random_key());
            assert_true(line.used < sizeof line.entry && line.entry[line.used] == '\0');
        }
        keypad_line_key(&line, '\n');
        taken += check_entry(grammar, line.entry);
    }
    print_message("%d of %d entries were answers\n", taken, ENTRIES);
    assert_in_range(taken, ENTRIES / 20, ENTRIES / 2);
}

static void bytes_that_never_were_keys(void **state)
{
    (void)state;
    char entry[128], why[LANGUAGE_WHY];
    struct language_value value;
    for (int i = 0; i < ENTRIES; i++) {
        const char *grammar =
            language_grammar_name(random_below((uint32_t)language_grammar_count()));
        size_t length = random_below(sizeof entry);
        for (size_t k = 0; k < length; k++)
            entry[k] = (char)(1 + random_below(255));
        entry[length] = '\0';
        check_entry(grammar, entry);
        if (language_parse(grammar, entry, &value, why) != LANGUAGE_OK)
            assert_true(strlen(why) > 10);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_become_answers_or_say_why),
        cmocka_unit_test(bytes_that_never_were_keys),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
