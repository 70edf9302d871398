/* Spoken and typed words in every grammar: what parses can be said and read back and means the
 * same; what does not has a sentence that says why. */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "language/language.h"

static void check(const char *grammar, const char *words)
{
    struct language_value value, back;
    char why[LANGUAGE_WHY], said[LANGUAGE_WORDS];
    memset(why, 'x', sizeof why);
    if (language_parse(grammar, words, &value, why) != LANGUAGE_OK) {
        FUZZ_PROMISED(memchr(why, '\0', sizeof why) != NULL);
        FUZZ_PROMISED(strlen(why) > 10 && why[strlen(why) - 1] == '.');
        return;
    }
    enum language_type type;
    FUZZ_PROMISED(language_grammar_type(grammar, &type));
    FUZZ_PROMISED(value.type == type || value.type == LANGUAGE_COMMAND ||
                  value.type == LANGUAGE_SKIP || value.type == LANGUAGE_DONT_KNOW);
    FUZZ_PROMISED(language_say(grammar, &value, said, sizeof said));
    FUZZ_PROMISED(language_parse(grammar, said, &back, NULL) == LANGUAGE_OK);
    FUZZ_PROMISED(language_equal(&value, &back));
    FUZZ_PROMISED(language_same_meaning(grammar, words, said));
    FUZZ_PROMISED(language_read_back(grammar, &value, said, sizeof said));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *words = fuzz_text(data, size);
    for (size_t i = 0; i < language_grammar_count(); i++)
        check(language_grammar_name(i), words);
    free(words);
    return 0;
}
