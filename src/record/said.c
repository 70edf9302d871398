/* One effect as a sentence: see said.h. */
#include "record/said.h"

#include "base/text.h"
#include "keypad/keypad.h"

bool said_prompt(const struct prompt_catalogue *prompts, const char *key,
                 const struct prompt_argument *arguments, size_t n, char *out, size_t size,
                 struct fault *fault)
{
    if (!prompt_fill(prompts, key, arguments, n, out, size, fault))
        return false;
    if (out[0] >= 'a' && out[0] <= 'z') /* not toupper: the locale is none of the transcript's */
        out[0] = (char)(out[0] - 'a' + 'A');
    return true;
}

bool said_effect(const struct prompt_catalogue *prompts, const struct job *job,
                 const struct job_effect *effect, char *out, size_t size, struct fault *fault)
{
    struct prompt_argument argument[JOB_ARGUMENTS_MAX + 1];
    size_t n = 0;
    for (; n < effect->arguments; n++) {
        argument[n].name = effect->argument[n].name;
        text_copy(argument[n].value, sizeof argument[n].value, effect->argument[n].value);
    }
    argument[n].name = "keys";
    keypad_keys(job_grammar(job), job_phrase(job), argument[n].value, sizeof argument[n].value);
    return said_prompt(prompts, effect->key, argument, n + 1, out, size, fault);
}
