/*
 * A grammar file as midthrow loads it: read by grammar_file_check first, and whatever that lets
 * through the library parses and builds, by the file's own public rule, into a graph as small as
 * was promised; nothing takes for ever, leaks, or is read or written where it should not be. What
 * follows a form feed is a second file, "other", which the first may import.
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

static size_t jumps_of(fsg_model_t *fsg)
{
    size_t jumps = 0;
    for (int s = 0; s < fsg_model_n_state(fsg); s++)
        for (fsg_arciter_t *arc = fsg_model_arcs(fsg, s); arc != NULL; arc = fsg_arciter_next(arc))
            jumps += fsg_link_wid(fsg_arciter_get(arc)) < 0;
    return jumps;
}

static void build(const char *path)
{
    static logmath_t *logmath;
    if (logmath == NULL)
        logmath = logmath_init(1.0001, 0, 0);
    jsgf_t *jsgf = jsgf_parse_file(path, NULL);
    FUZZ_PROMISED(jsgf != NULL);
    jsgf_rule_t *rule = jsgf_get_public_rule(jsgf);
    FUZZ_PROMISED(rule != NULL && strncmp(jsgf_rule_name(rule), "<fuzzed.", 8) == 0);
    fsg_model_t *fsg = jsgf_build_fsg(jsgf, rule, logmath, 1.0f);
    FUZZ_PROMISED(fsg != NULL && jumps_of(fsg) <= GRAMMAR_JUMPS);
    fsg_model_free(fsg);
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
        build(path);
    }
    return 0;
}
