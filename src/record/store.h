/*
 * The data directory and its files, for this user alone: a directory of 0700, files of 0600,
 * whatever the umask; and the lock that keeps a second midthrow off a job.
 */
#ifndef MIDTHROW_RECORD_STORE_H
#define MIDTHROW_RECORD_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

enum { STORE_PATH = 4096 };

/* Makes the directory and those above it that are missing. One that is there keeps its mode. */
bool store_make_directory(const char *path, struct fault *fault);

/* "directory/name" with the number in place of %lld, if there is one; false when it is too long. */
bool store_path(const char *directory, const char *name, long long number, char out[STORE_PATH],
                struct fault *fault);

/* Opens for reading and writing, with O_CLOEXEC and `flags`, making the file if it is missing.
 * Never through a symbolic link. -1 with a sentence. */
int store_open(const char *path, int flags, struct fault *fault);

/* A lock file held: `fd` is -1 when none is. */
struct store_lock {
    int fd;
    char path[STORE_PATH];
};
bool store_lock(struct store_lock *lock, const char *path, int64_t job, struct fault *fault);
void store_unlock(struct store_lock *lock);

#endif
