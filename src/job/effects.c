/* Building effects. A list that is full keeps what it has: the last one is never overwritten, and
 * the tests walk every path to show that it does not happen. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"

struct job_effect *job_effect_add(struct job_effects *effects, enum job_effect_kind kind)
{
    if (effects->n == JOB_EFFECTS_MAX)
        return &effects->effect[JOB_EFFECTS_MAX - 1];
    struct job_effect *effect = &effects->effect[effects->n++];
    effect->kind = kind;
    effect->key[0] = '\0';
    effect->arguments = 0;
    effect->caution = false;
    effect->grammar = NULL;
    effect->phrase = LANGUAGE_NOT_YET;
    effect->delay_ms = 0;
    effect->voice = JOB_LOUDER;
    return effect;
}

struct job_effect *job_effect_say(struct job_effects *effects, const char *key)
{
    struct job_effect *effect = job_effect_add(effects, JOB_SAY);
    job_effect_key(effect, key);
    return effect;
}

void job_effect_key(struct job_effect *effect, const char *key)
{
    text_copy(effect->key, sizeof effect->key, key);
}

static struct job_argument *next_argument(struct job_effect *effect, const char *name)
{
    if (effect->arguments == JOB_ARGUMENTS_MAX)
        return &effect->argument[JOB_ARGUMENTS_MAX - 1];
    struct job_argument *argument = &effect->argument[effect->arguments++];
    argument->name = name;
    return argument;
}

void job_effect_argument(struct job_effect *effect, const char *name, const char *format, ...)
{
    struct job_argument *argument = next_argument(effect, name);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(argument->value, sizeof argument->value, format, arguments);
    va_end(arguments);
}

void job_effect_length(struct job_effect *effect, const char *name, struct measure_length length)
{
    struct job_argument *argument = next_argument(effect, name);
    language_length_words(length, argument->value, sizeof argument->value);
}
