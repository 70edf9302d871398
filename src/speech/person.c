/* A person as text, and what is read: see person.h. */
#include "speech/person.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/hash.h"
#include "base/text.h"
#include "speech/phonetic_network.h"

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

/* ---- as text ----
 *
 * A line for each output of each layer: a step, and a letter for each weight, 'a' + MOST for none.
 */

static const char KIND[] = "midthrow person ", HEAD[] = "midthrow person 2\n",
                  NETWORK[] = "network=", SUM[] = "sum=";

enum { MOST = 7 }; /* steps, to either side */

/* Weight `i` of output `o` of layer `l`. */
static float *weight_of(const struct speech_phonetic *network, size_t l, size_t o, size_t i)
{
    return &network->weight[l][i * phonetic_table[l].outputs + o];
}

static size_t weights_of(size_t l)
{
    return phonetic_inputs(l) + 1;
}

static void write_output(const struct speech_phonetic *table, const struct speech_phonetic *person,
                         size_t l, size_t o, struct text *text)
{
    char letter[PHONETIC_MOST_INPUTS + 2];
    float most = 0;
    for (size_t i = 0; i < weights_of(l); i++)
        most = fmaxf(most, fabsf(*weight_of(person, l, o, i) - *weight_of(table, l, o, i)));
    for (size_t i = 0; i < weights_of(l); i++) {
        float more = *weight_of(person, l, o, i) - *weight_of(table, l, o, i);
        letter[i] = (char)('a' + MOST + (most > 0 ? lrintf(MOST * more / most) : 0));
    }
    letter[weights_of(l)] = '\0';
    text_addf(text, "%.4e %s\n", (double)most / MOST, letter);
}

static unsigned long sum_of(const char *text, size_t length)
{
    return hash_more(hash_begin(), text, length);
}

bool speech_person_write(const struct speech_phonetic *person, char *out, size_t size)
{
    struct text text = text_into(out, size);
    struct speech_phonetic *table = speech_phonetic_open();
    if (table == NULL)
        return false;
    text_addf(&text, "%s%s%08lx\n", HEAD, NETWORK, (unsigned long)speech_phonetic_version());
    for (size_t l = 0; l < phonetic_layers; l++)
        for (size_t o = 0; o < phonetic_table[l].outputs; o++)
            write_output(table, person, l, o, &text);
    text_addf(&text, "%s%08lx\n", SUM, sum_of(out, strlen(out)));
    speech_phonetic_close(table);
    return !text.cut;
}

static bool damaged(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "what was learned of this voice is damaged: read the sentences again, "
                     "'midthrow enrol'.");
}

static bool anothers(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "this voice was learned by another midthrow: read the sentences again, "
                     "'midthrow enrol'.");
}

/* Whether it is of this kind, by this network, and whole; `line` is its third then. */
static bool check(const char *text, const char **line, struct fault *fault)
{
    const char *network = strchr(text, '\n'), *first = network;
    if (strncmp(text, KIND, strlen(KIND)) != 0 || network == NULL ||
        (*line = strchr(++network, '\n')) == NULL)
        return damaged(fault);
    ++*line;
    if (strncmp(text, HEAD, (size_t)(first - text) + 1) != 0)
        return anothers(fault);
    if (strncmp(network, NETWORK, strlen(NETWORK)) != 0)
        return damaged(fault);
    if (strtoul(network + strlen(NETWORK), NULL, 16) != speech_phonetic_version())
        return anothers(fault);
    size_t length = strlen(text), tail = strlen(SUM) + HASH_DIGITS + 1;
    const char *sum = text + length - tail; /* there is more before it */
    return (strncmp(sum, SUM, strlen(SUM)) == 0 &&
            strtoul(sum + strlen(SUM), NULL, 16) == sum_of(text, length - tail)) ||
           damaged(fault);
}

/* The line's end; NULL when it is no such line. */
static const char *read_output(const char *line, size_t l, size_t o, struct speech_phonetic *person)
{
    char *after = NULL;
    float a_step = strtof(line, &after);
    if (after == line || *after != ' ' || !(a_step >= 0 && a_step < 1))
        return NULL;
    const char *letter = after + 1;
    for (size_t i = 0; i < weights_of(l); i++, letter++) {
        if (*letter < 'a' || *letter > 'a' + 2 * MOST)
            return NULL;
        *weight_of(person, l, o, i) += a_step * (float)(*letter - 'a' - MOST);
    }
    return *letter == '\n' ? letter + 1 : NULL;
}

struct speech_phonetic *speech_person_read(const char *text, struct fault *fault)
{
    const char *line = NULL;
    if (!check(text, &line, fault))
        return NULL;
    struct speech_phonetic *person = speech_phonetic_open();
    if (person == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
        return NULL;
    }
    for (size_t l = 0; l < phonetic_layers; l++)
        for (size_t o = 0; line != NULL && o < phonetic_table[l].outputs; o++)
            line = read_output(line, l, o, person);
    if (line != NULL && strncmp(line, SUM, strlen(SUM)) == 0)
        return person;
    damaged(fault);
    speech_phonetic_close(person);
    return NULL;
}
