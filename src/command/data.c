/* Options of the commands that read the journal: see data.h. */
#include "command/data.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "record/journal.h"

bool data_options_read(int argc, char **argv, struct data_options *options, struct fault *fault)
{
    static const struct option long_options[] = {{"data", required_argument, NULL, 'd'},
                                                 {"help", no_argument, NULL, 'h'},
                                                 {"json", no_argument, NULL, 'j'},
                                                 {"transcript", no_argument, NULL, 't'},
                                                 {NULL, 0, NULL, 0}};
    *options = (struct data_options){0};
    opterr = 0;
    optind = 1;
    for (int key; (key = getopt_long(argc, argv, "", long_options, NULL)) != -1;) {
        if (key == '?')
            return fault_set(fault, FAULT_USAGE,
                             "that option is not there or lacks its directory: see 'midthrow %s "
                             "--help'.",
                             argv[0]);
        if (key == 'd')
            options->directory = optarg;
        options->help |= key == 'h';
        options->json |= key == 'j';
        options->transcript |= key == 't';
    }
    if (optind < argc)
        options->word = argv[optind++];
    if (optind < argc)
        return fault_set(fault, FAULT_USAGE, "one word too many: see 'midthrow %s --help'.",
                         argv[0]);
    return true;
}

bool data_directory(const struct data_options *options, char *out, size_t size, struct fault *fault)
{
    if (options->directory == NULL)
        return journal_default_directory(out, size, fault);
    return (options->directory[0] != '\0' && text_copy(out, size, options->directory)) ||
           fault_set(fault, FAULT_USAGE,
                     "the data directory's name is empty or too long: name another with --data.");
}

bool data_number(const char *word, int64_t *number)
{
    size_t length = word == NULL ? 0 : strlen(word);
    if (length == 0 || length > 15 || strspn(word, "0123456789") != length)
        return false;
    *number = strtoll(word, NULL, 10);
    return true;
}
