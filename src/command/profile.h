/* What the parts of 'midthrow profile' share. */
#ifndef MIDTHROW_COMMAND_PROFILE_H
#define MIDTHROW_COMMAND_PROFILE_H

#include <stdbool.h>

#include "base/fault.h"

enum { PROFILE_COMMAND_PATH = 1024 };

struct profile_folders {
    char data[PROFILE_COMMAND_PATH];   /* the data directory */
    char own[PROFILE_COMMAND_PATH];    /* the shop's profiles in it */
    char shared[PROFILE_COMMAND_PATH]; /* those midthrow came with */
};

/* `data` NULL is the default directory. */
bool profile_folders_find(const char *data, struct profile_folders *folders, struct fault *fault);

/* profile new NAME [OPTION]...: argv[0] is "new". */
int profile_new(int argc, char **argv);

#endif
