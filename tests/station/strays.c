/* What was believed though nobody had said it: see strays.h. */
#include "strays.h"

#include <stdbool.h>
#include <stdio.h>

enum effect { TALK, VOICE, BACK, HALT, LEFT_OUT, WAIT, CONFIRMED, ANSWERED, EFFECTS };

/* What it does to a job, and whether the job is another one afterwards. */
static const struct {
    const char *what;
    bool changes;
} effects[EFFECTS] = {
    [TALK] = {"midthrow says something", false},
    [VOICE] = {"the voice is set", false},
    [BACK] = {"the last answer is taken back", true},
    [HALT] = {"midthrow stops and waits", false},
    [LEFT_OUT] = {"the question is left out, where it may be", true},
    [WAIT] = {"midthrow goes on waiting", false},
    [CONFIRMED] = {"a step is confirmed, if it is the one asked for", true},
    [ANSWERED] = {"the question is answered; a measure is read back", true},
};

static enum effect effect_of_command(enum language_command command)
{
    switch (command) {
    case LANGUAGE_GO_BACK:
    case LANGUAGE_WRONG:
        return BACK;
    case LANGUAGE_STOP:
    case LANGUAGE_KEYPAD:
        return HALT;
    case LANGUAGE_LOUDER:
    case LANGUAGE_QUIETER:
    case LANGUAGE_FASTER:
    case LANGUAGE_SLOWER:
        return VOICE;
    default:
        return TALK;
    }
}

static enum effect effect_of(const struct stray *stray)
{
    struct language_value value;
    if (language_parse(stray->grammar, stray->words, &value, NULL) != LANGUAGE_OK)
        return TALK;
    switch (value.type) {
    case LANGUAGE_COMMAND:
        return effect_of_command(value.as.command);
    case LANGUAGE_SKIP:
        return LEFT_OUT;
    case LANGUAGE_PHRASE:
        return value.as.phrase == LANGUAGE_NOT_YET ? WAIT : CONFIRMED;
    default:
        return ANSWERED;
    }
}

void strays_add(struct strays *strays, const struct stray *stray)
{
    if (strays->count < STRAYS)
        strays->stray[strays->count] = *stray;
    strays->count++;
}

void strays_print(const struct strays *strays)
{
    size_t changing = 0;
    if (strays->count == 0)
        return;
    puts("| at, min | during | asked for | believed | score | speech, ms | a job would |\n"
         "|---|---|---|---|---|---|---|");
    for (size_t i = 0; i < strays->count && i < STRAYS; i++) {
        const struct stray *stray = &strays->stray[i];
        enum effect effect = effect_of(stray);
        changing += effects[effect].changes;
        printf("| %.1f | %s | %s | %s | %.2f | %d | %s |\n", (double)stray->at_ms / 60000,
               stray->during, stray->grammar, stray->words, stray->score, stray->speech_ms,
               effects[effect].what);
    }
    printf("believed though nobody said it: %zu; %zu would have changed a job\n", strays->count,
           changing);
}
