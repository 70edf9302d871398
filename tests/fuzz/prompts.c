/* A file of prompts: every sentence of it can be filled with arguments or says which is missing. */
#include <stdio.h>
#include <string.h>

#include "fuzz.h"
#include "prompt/prompt.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[128];
    snprintf(path, sizeof path, "%s/fuzzed.ini", fuzz_folder());
    FILE *file = fopen(path, "wb");
    FUZZ_PROMISED(file != NULL);
    size_t written = fwrite(data, 1, size, file);
    FUZZ_PROMISED(fclose(file) == 0 && written == size);
    struct fault fault = {0};
    struct prompt_catalogue *prompts = prompt_load(fuzz_folder(), &fault);
    if (prompts == NULL) {
        FUZZ_PROMISED(fault.sentence[0] != '\0');
        return 0;
    }
    struct prompt_argument argument = {.name = "how"};
    memset(argument.value, 'x', sizeof argument.value - 1);
    for (size_t i = 0; i < prompt_count(prompts); i++) {
        char sentence[PROMPT_SENTENCE];
        const char *key = prompt_key(prompts, i);
        FUZZ_PROMISED(prompt_has(prompts, key) && prompt_raw(prompts, key) != NULL);
        prompt_fill(prompts, key, &argument, 1, sentence, sizeof sentence, &fault);
        FUZZ_PROMISED(sentence[0] != '\0' && memchr(sentence, '\0', sizeof sentence) != NULL);
        prompt_is_caution(key);
    }
    prompt_free(prompts);
    return 0;
}
