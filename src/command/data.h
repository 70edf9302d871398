/*
 * What the commands that read the journal share: their options, and where the journal is.
 */
#ifndef MIDTHROW_COMMAND_DATA_H
#define MIDTHROW_COMMAND_DATA_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

struct data_options {
    const char *directory; /* --data DIR; NULL: the default one */
    bool json;             /* --json */
    bool transcript;       /* --transcript */
    bool help;             /* --help: nothing else counts */
    const char *word;      /* the one argument that is no option; NULL: none */
};

/* Takes the options out of the command line. False, FAULT_USAGE, for one there is not, --data
 * without a directory, or a second word. */
bool data_options_read(int argc, char **argv, struct data_options *options, struct fault *fault);

/* Is it a job's number? NULL is none. */
bool data_number(const char *word, int64_t *number);

/* The directory named, or the default one. */
bool data_directory(const struct data_options *options, char *out, size_t size,
                    struct fault *fault);

#endif
