/* The list of utterances: see utterances.h. */
#include "utterances.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sentences.h"

enum { GRAMMARS_MOST = 64, TRIES = 1000, CHATTER_PART = 5 };

struct utterances {
    struct utterance *utterance;
    size_t count;
};

static const char *const names[CLASS_COUNT] = {
    [CLASS_MILLIMETRES] = "millimetres",
    [CLASS_MM_NUMBERS] = "mm-in-numbers",
    [CLASS_INCHES] = "inches",
    [CLASS_LENGTH] = "length",
    [CLASS_NUMBER] = "number",
    [CLASS_TURN] = "turn",
    [CLASS_YESNO] = "yesno",
    [CLASS_CHOICE] = "choice",
    [CLASS_CAUTION] = "caution",
    [CLASS_COMMAND] = "command",
    [CLASS_CHATTER] = "chatter",
};

/* Of a round, so many of each: what the goals name first, as in a job. */
static const enum utterances_class round_of_answers[UTTERANCES_ROUND] = {
    CLASS_MILLIMETRES, CLASS_CHOICE,      CLASS_YESNO,  CLASS_MILLIMETRES, CLASS_MM_NUMBERS,
    CLASS_CHOICE,      CLASS_NUMBER,      CLASS_YESNO,  CLASS_MILLIMETRES, CLASS_CAUTION,
    CLASS_CHOICE,      CLASS_MILLIMETRES, CLASS_INCHES, CLASS_YESNO,       CLASS_LENGTH,
    CLASS_CHOICE,      CLASS_MILLIMETRES, CLASS_TURN,   CLASS_MM_NUMBERS,  CLASS_COMMAND,
};

const char *utterances_class_name(enum utterances_class class)
{
    return names[class];
}

bool utterances_class_named(const char *name, enum utterances_class *class)
{
    for (int c = 0; c < CLASS_COUNT; c++)
        if (strcmp(names[c], name) == 0) {
            *class = (enum utterances_class)c;
            return true;
        }
    return false;
}

/* Only single digits around the point, zero and nine as radiotelephony has them: as the questions
 * ask. */
static bool is_by_digit(const char *words)
{
    static const char digits[] =
        " zero one two three four five six seven eight niner point decimal millimetres ";
    while (*words != '\0') {
        char word[32];
        size_t length = strcspn(words, " ");
        if (length + 3 > sizeof word)
            return false;
        snprintf(word, sizeof word, " %.*s ", (int)length, words);
        if (strstr(digits, word) == NULL)
            return false;
        words += length + strspn(words + length, " ");
    }
    return true;
}

static enum utterances_class class_of(enum language_type type, const char *grammar,
                                      const char *words)
{
    switch (type) {
    case LANGUAGE_DISTANCE:
        if (strcmp(grammar, "distance") == 0)
            return strstr(words, "millimetre") == NULL ? CLASS_INCHES : CLASS_LENGTH;
        if (strstr(words, "millimetre") == NULL)
            return CLASS_COUNT; /* not what is expected there */
        return is_by_digit(words) ? CLASS_MILLIMETRES : CLASS_MM_NUMBERS;
    case LANGUAGE_TURN:
        return CLASS_TURN;
    case LANGUAGE_YESNO:
        return CLASS_YESNO;
    case LANGUAGE_CHOICE:
    case LANGUAGE_CHOICES:
        return CLASS_CHOICE;
    case LANGUAGE_PHRASE:
        return CLASS_CAUTION;
    case LANGUAGE_COMMAND:
        return CLASS_COMMAND;
    default:
        return CLASS_NUMBER;
    }
}

bool chatter_read(enum utterances_set set, struct chatter *chatter)
{
    FILE *file = fopen(CHATTER, "r");
    char text[LANGUAGE_WORDS];
    *chatter = (struct chatter){0};
    if (file == NULL) {
        fprintf(stderr, "'%s' is not there.\n", CHATTER);
        return false;
    }
    for (size_t n = 0; chatter->lines < CHATTER_MOST && fgets(text, sizeof text, file); n++) {
        text[strcspn(text, "\n")] = '\0';
        if (n % 2 == (set == UTTERANCES_REPORT))
            memcpy(chatter->line[chatter->lines++], text, sizeof text);
    }
    fclose(file);
    return chatter->lines > 0;
}

/* ---- choosing ---- */

struct chooser {
    enum utterances_set set;
    uint32_t random;
    struct {
        struct sentences *sentences;
        const char *name;
        enum language_type type;
    } grammar[GRAMMARS_MOST];
    size_t grammars;
    const struct voice *voice[GRAMMARS_MOST];
    size_t voices;
    size_t turn[CLASS_COUNT]; /* grammars of a class take turns */
    struct chatter chatter;
};

static size_t draw(struct chooser *chooser, size_t below)
{
    chooser->random = chooser->random * 1664525u + 1013904223u; /* Numerical Recipes, ranqd1 */
    return (size_t)(((uint64_t)chooser->random * below) >> 32);
}

static bool open_grammars(struct chooser *chooser, const char *dir)
{
    for (size_t g = 0; g < language_grammar_count() && g < GRAMMARS_MOST; g++) {
        char path[1024];
        enum language_type type;
        const char *name = language_grammar_name(g);
        snprintf(path, sizeof path, "%s/%s.gram", dir, name);
        chooser->grammar[g].sentences = sentences_open(path);
        if (chooser->grammar[g].sentences == NULL || !language_grammar_type(name, &type))
            return false;
        chooser->grammar[g].name = name;
        chooser->grammar[g].type = type;
        chooser->grammars++;
    }
    return true;
}

static void choose_voices(struct chooser *chooser)
{
    for (size_t v = 0; v < voices_count(); v++)
        if (voices_at(v)->tune == (chooser->set == UTTERANCES_TUNE))
            chooser->voice[chooser->voices++] = voices_at(v);
}

static bool may_be_of(enum language_type type, const char *grammar, enum utterances_class class)
{
    if (type != LANGUAGE_DISTANCE)
        return class == class_of(type, grammar, "");
    if (strcmp(grammar, "distance") == 0)
        return class == CLASS_INCHES || class == CLASS_LENGTH;
    return class == CLASS_MILLIMETRES || class == CLASS_MM_NUMBERS;
}

/* The class's grammar whose turn it is. */
static size_t grammar_of(struct chooser *chooser, enum utterances_class class)
{
    size_t member[GRAMMARS_MOST] = {0}, members = 0;
    for (size_t g = 0; g < chooser->grammars; g++)
        if (may_be_of(chooser->grammar[g].type, chooser->grammar[g].name, class))
            member[members++] = g;
    return members == 0 ? 0 : member[chooser->turn[class]++ % members];
}

/* Commands, "skip" and "don't know" are sentences of every grammar, but not its answers. */
static bool is_answer(const char *grammar, const char *words, enum utterances_class class)
{
    struct language_value value;
    return language_parse(grammar, words, &value, NULL) == LANGUAGE_OK &&
           class_of(value.type, grammar, words) == class && value.type != LANGUAGE_DONT_KNOW &&
           value.type != LANGUAGE_SKIP;
}

static bool is_new(const struct utterances *list, const struct utterance *u)
{
    for (size_t i = 0; i < list->count; i++) {
        const struct utterance *old = &list->utterance[i];
        if (old->voice == u->voice && old->manner == u->manner &&
            strcmp(old->grammar, u->grammar) == 0 && strcmp(old->words, u->words) == 0)
            return false;
    }
    return true;
}

static bool choose_answer(struct chooser *chooser, struct utterances *list)
{
    struct utterance *u = &list->utterance[list->count];
    u->class = round_of_answers[list->count % UTTERANCES_ROUND];
    for (int tries = 0; tries < TRIES; tries++) {
        size_t g = grammar_of(chooser, u->class);
        uint32_t random = (uint32_t)draw(chooser, UINT32_MAX) | 1u;
        snprintf(u->grammar, sizeof u->grammar, "%s", chooser->grammar[g].name);
        u->voice = chooser->voice[draw(chooser, chooser->voices)];
        u->manner = draw(chooser, VOICES_MANNERS);
        if (sentences_choose(chooser->grammar[g].sentences, &random, u->words, sizeof u->words) &&
            is_answer(u->grammar, u->words, u->class) && is_new(list, u)) {
            list->count++;
            return true;
        }
    }
    fprintf(stderr, "there are no more different sentences of %s.\n", names[u->class]);
    return false;
}

static void choose_chatter(struct chooser *chooser, struct utterances *list, size_t c)
{
    struct utterance *u = &list->utterance[list->count++];
    u->class = CLASS_CHATTER;
    u->voice = chooser->voice[draw(chooser, chooser->voices)];
    u->manner = draw(chooser, VOICES_MANNERS);
    snprintf(u->grammar, sizeof u->grammar, "%s", chooser->grammar[c % chooser->grammars].name);
    snprintf(u->words, sizeof u->words, "%s",
             chooser->chatter.line[draw(chooser, chooser->chatter.lines)]);
}

struct utterances *utterances_make(enum utterances_set set, const char *grammar_dir, size_t answers)
{
    struct chooser *chooser = calloc(1, sizeof *chooser);
    struct utterances *list = calloc(1, sizeof *list);
    size_t chatter = answers / CHATTER_PART;
    bool made = chooser != NULL && list != NULL;
    if (made)
        list->utterance = calloc(answers + chatter + 1, sizeof *list->utterance);
    made = made && list->utterance != NULL;
    if (made) {
        chooser->set = set;
        chooser->random = 20260101u + (uint32_t)set;
        choose_voices(chooser);
        made = open_grammars(chooser, grammar_dir) && chatter_read(set, &chooser->chatter);
    }
    for (size_t i = 0; made && i < answers; i++)
        made = choose_answer(chooser, list);
    if (made)
        chooser->random = 20260201u + (uint32_t)set; /* chatter is the same after any length */
    for (size_t c = 0; made && c < chatter; c++)
        choose_chatter(chooser, list, c);
    for (size_t g = 0; chooser != NULL && g < chooser->grammars; g++)
        sentences_close(chooser->grammar[g].sentences);
    free(chooser);
    if (made)
        return list;
    utterances_free(list);
    return NULL;
}

void utterances_free(struct utterances *utterances)
{
    if (utterances != NULL)
        free(utterances->utterance);
    free(utterances);
}

size_t utterances_count(const struct utterances *utterances)
{
    return utterances->count;
}

const struct utterance *utterances_at(const struct utterances *utterances, size_t index)
{
    return index < utterances->count ? &utterances->utterance[index] : NULL;
}
