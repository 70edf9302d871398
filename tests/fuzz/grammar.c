/* A grammar file, through the parser of the recogniser's library as speech/recogniser.c calls it:
 * what does not parse is refused, and nothing is read or written where it should not be. */
#include <stdlib.h>

#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>
#include <sphinxbase/jsgf.h>
#include <sphinxbase/logmath.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static logmath_t *logmath;
    if (logmath == NULL) {
        err_set_logfp(NULL);
        logmath = logmath_init(1.0001, 0, 0);
    }
    jsgf_t *jsgf = jsgf_parse_file(fuzz_file(data, size), NULL);
    if (jsgf == NULL)
        return 0;
    jsgf_rule_t *rule = jsgf_get_public_rule(jsgf);
    if (rule != NULL)
        fsg_model_free(jsgf_build_fsg(jsgf, rule, logmath, 1.0f));
    jsgf_grammar_free(jsgf);
    return 0;
}
