/*
 * A grammar file as midthrow loads it: counted by grammar_file_check first, and only what that lets
 * through is given to the library's parser. What does not parse is refused; nothing takes forever
 * or is read or written where it should not be. What follows a form feed is a second file, "other",
 * which the first may import.
 *
 * The library leaks what it had read of a file that does not parse (.ci/lsan.supp) and leaves it
 * open, where midthrow stops.
 */
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>
#include <sphinxbase/jsgf.h>
#include <sphinxbase/logmath.h>

#include "fuzz.h"
#include "speech/grammar_file.h"

static void write_grammar(const char *path, const uint8_t *data, size_t size)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    FUZZ_PROMISED(fd >= 0 && write(fd, data, size) == (ssize_t)size);
    close(fd);
}

static void parse(const char *path)
{
    static logmath_t *logmath;
    if (logmath == NULL)
        logmath = logmath_init(1.0001, 0, 0);
    int first_open = dup(0);
    close(first_open);
    jsgf_t *jsgf = jsgf_parse_file(path, NULL);
    for (int fd = first_open; jsgf == NULL && close(fd) == 0;)
        fd++;
    if (jsgf == NULL)
        return;
    jsgf_rule_t *rule = jsgf_get_public_rule(jsgf);
    if (rule != NULL)
        fsg_model_free(jsgf_build_fsg(jsgf, rule, logmath, 1.0f));
    jsgf_grammar_free(jsgf);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[128], other[128];
    const uint8_t *feed = size > 0 ? memchr(data, '\f', size) : NULL;
    size_t first = feed != NULL ? (size_t)(feed - data) : size;
    snprintf(path, sizeof path, "%s/fuzzed.gram", fuzz_folder());
    snprintf(other, sizeof other, "%s/other.gram", fuzz_folder());
    write_grammar(path, data, first);
    if (feed != NULL)
        write_grammar(other, feed + 1, size - first - 1);
    else
        unlink(other);
    err_set_logfp(NULL);
    size_t words;
    struct fault fault = {0};
    bool fit = grammar_file_check(fuzz_folder(), "fuzzed", &words, &fault);
    if (!fit)
        FUZZ_PROMISED(strlen(fault.sentence) > 10);
    if (fit) {
        FUZZ_PROMISED(words <= GRAMMAR_WORDS);
        parse(path);
    }
    return 0;
}
