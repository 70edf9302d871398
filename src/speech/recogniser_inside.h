/* The recogniser from within: for recogniser.c, and for enrol.c, which learns from what it hears.
 */
#ifndef MIDTHROW_SPEECH_RECOGNISER_INSIDE_H
#define MIDTHROW_SPEECH_RECOGNISER_INSIDE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <pocketsphinx.h>
#include <sphinxbase/fsg_model.h>

#include "speech/cepstra.h"
#include "speech/lexicon.h"
#include "speech/phonetic.h"

enum { RECOGNISER_GRAMMARS = 64, RECOGNISER_NAME = 48 };
#define RECOGNISER_BEGUN "_begun_" /* before a grammar's name: the search for its beginnings */

struct grammar {
    char name[RECOGNISER_NAME];
    char begun[RECOGNISER_NAME + sizeof RECOGNISER_BEGUN]; /* the search for its beginnings */
    fsg_model_t *plain; /* as parsed; the decoder adds fillers and variants to its own */
};

struct speech_recogniser {
    ps_decoder_t *decoder;
    cmd_ln_t *options;
    struct speech_cepstra *cepstra;
    struct speech_lexicon lexicon;
    char grammar_dir[512];
    bool (*same_meaning)(const char *grammar, const char *words, const char *other);
    bool (*is_command)(const char *words);
    bool live;
    struct grammar grammars[RECOGNISER_GRAMMARS];
    size_t grammar_count;
    bool keeps;    /* the last sound, for an enrolment */
    int16_t *kept; /* as it was given */
    size_t kept_frames;
};

#endif
