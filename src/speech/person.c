/* A person as text, and what is read: see person.h. */
#include "speech/person.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

static const char *const sentences[] = {
    "one two three four five six seven",      "seven eight niner zero one four nine",
    "four five niner four zero three",        "five nine one five four two eight",
    "thirteen fourteen fifteen and sixteen",  "seventeen eighteen nineteen and twenty",
    "thirty forty fifty and sixty",           "seventy eighty ninety and a hundred",
    "point five millimetres and decimal two", "an eighth a quarter a half and three quarters",
    "sixteenths and thousandths of an inch",  "turn the stem clockwise then anti clockwise",
    "yes affirmative that is right",          "no negative that is wrong",
    "the engine is off and the key is out",   "the bike is strapped and the wheel is clear",
    "say again then go back and help me",     "it is hot or cold at a stop or moving",
    "loosen the lock nut and measure again",  "the clutch cable and the fluid look good",
};

const char *speech_person_sentence(size_t index)
{
    return index < sizeof sentences / sizeof sentences[0] ? sentences[index] : NULL;
}

/* ---- as text ---- */

static const char HEAD[] = "midthrow person 1\n", NETWORK[] = "network=", END[] = "end\n";
static const double MOST = 100; /* of any number; what is learned stays within a few units */

enum { NUMBERS = sizeof(struct phonetic_person) / sizeof(float), A_LINE = 16 };

bool speech_person_write(const struct phonetic_person *person, char *out, size_t size)
{
    float number[NUMBERS];
    struct text text = text_into(out, size);
    memcpy(number, person, sizeof number);
    text_addf(&text, "%s%s%08lx\n", HEAD, NETWORK, (unsigned long)speech_phonetic_version());
    for (size_t n = 0; n < NUMBERS; n++)
        text_addf(&text, "%.4f%c", (double)number[n],
                  n % A_LINE == A_LINE - 1 || n + 1 == NUMBERS ? '\n' : ' ');
    text_add(&text, END);
    return !text.cut;
}

static bool damaged(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "what was learned of this voice is damaged: read the sentences again, "
                     "'midthrow enrol'.");
}

bool speech_person_read(const char *text, struct phonetic_person *person, struct fault *fault)
{
    float number[NUMBERS];
    char *after = NULL;
    if (strncmp(text, HEAD, strlen(HEAD)) != 0)
        return damaged(fault);
    text += strlen(HEAD);
    if (strncmp(text, NETWORK, strlen(NETWORK)) != 0)
        return damaged(fault);
    if (strtoul(text + strlen(NETWORK), &after, 16) != speech_phonetic_version())
        return fault_set(fault, FAULT_FAILED,
                         "this voice was learned by another midthrow: read the sentences again, "
                         "'midthrow enrol'.");
    for (size_t n = 0; n < NUMBERS; n++) {
        const char *from = after;
        double value = strtod(from, &after);
        if (after == from || !(fabs(value) <= MOST))
            return damaged(fault);
        number[n] = (float)value;
    }
    if (*after != '\n' || strcmp(after + 1, END) != 0)
        return damaged(fault);
    memcpy(person, number, sizeof number);
    return true;
}
