/* A folder of its own for a test's files, removed with all that is in it. */
#ifndef MIDTHROW_TESTS_AUDIO_FOLDER_H
#define MIDTHROW_TESTS_AUDIO_FOLDER_H

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { FOLDER_PATH = 512 };

static inline int folder_make(void **state)
{
    char *folder = malloc(64);
    if (folder == NULL)
        return -1;
    snprintf(folder, 64, "midthrow-audio-XXXXXX");
    *state = folder;
    return mkdtemp(folder) == NULL ? -1 : 0;
}

static inline int folder_remove(void **state)
{
    char *folder = *state;
    DIR *listing = opendir(folder);
    struct dirent *entry;
    while (listing != NULL && (entry = readdir(listing)) != NULL) {
        char path[FOLDER_PATH + 256];
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (unlink(path) != 0)
            rmdir(path);
    }
    if (listing != NULL)
        closedir(listing);
    rmdir(folder);
    free(folder);
    return 0;
}

static inline const char *in_folder(void **state, const char *name)
{
    static char path[FOLDER_PATH];
    snprintf(path, sizeof path, "%s/%s", (const char *)*state, name);
    return path;
}

#endif
