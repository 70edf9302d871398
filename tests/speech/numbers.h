/* The numbers of Debian's asterisk-core-sounds-en-g722 (voices_person finds a recording):
 * digits/FILE.g722 and the words said in it. */
#ifndef MIDTHROW_TESTS_SPEECH_NUMBERS_H
#define MIDTHROW_TESTS_SPEECH_NUMBERS_H

#include <stdbool.h>

#include "language/language.h"

static const struct {
    const char *file, *words;
} numbers[] = {
    {"0", "zero"},     {"1", "one"},        {"2", "two"},       {"3", "three"},
    {"4", "four"},     {"5", "five"},       {"6", "six"},       {"7", "seven"},
    {"8", "eight"},    {"9", "nine"},       {"10", "ten"},      {"11", "eleven"},
    {"12", "twelve"},  {"13", "thirteen"},  {"14", "fourteen"}, {"15", "fifteen"},
    {"16", "sixteen"}, {"17", "seventeen"}, {"18", "eighteen"}, {"19", "nineteen"},
    {"20", "twenty"},  {"30", "thirty"},    {"40", "forty"},    {"50", "fifty"},
    {"60", "sixty"},   {"70", "seventy"},   {"80", "eighty"},   {"90", "ninety"},
};
enum { NUMBERS = sizeof numbers / sizeof numbers[0] };

static inline bool means(const char *heard, const char *words)
{
    return heard[0] != '\0' && language_same_meaning("number", heard, words);
}

#endif
