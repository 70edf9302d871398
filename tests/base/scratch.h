/* A scratch directory for tests that need files, and a small seeded generator (splitmix64, from
 * memory). */
#ifndef MIDTHROW_TESTS_SCRATCH_H
#define MIDTHROW_TESTS_SCRATCH_H

#include <dirent.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { SCRATCH_PATH = 1024 };

static inline void scratch_make(char directory[SCRATCH_PATH])
{
    const char *where = getenv("TMPDIR");
    snprintf(directory, SCRATCH_PATH, "%s/midthrow-test-XXXXXX",
             where != NULL && where[0] != '\0' ? where : "/tmp");
    if (mkdtemp(directory) == NULL)
        abort();
}

static inline void scratch_remove(const char *path)
{
    DIR *folder = opendir(path);
    struct dirent *entry;
    while (folder != NULL && (entry = readdir(folder)) != NULL) {
        char name[SCRATCH_PATH];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        if (snprintf(name, sizeof name, "%s/%s", path, entry->d_name) < (int)sizeof name)
            scratch_remove(name);
    }
    if (folder != NULL)
        closedir(folder);
    remove(path);
}

static inline const char *scratch_path(const char *directory, const char *name,
                                       char path[SCRATCH_PATH])
{
    if (snprintf(path, SCRATCH_PATH, "%s/%s", directory, name) >= SCRATCH_PATH)
        abort();
    return path;
}

/* Writes `length` bytes into directory/name, whose path stays in `path`. */
static inline void scratch_write(const char *directory, const char *name, const void *bytes,
                                 size_t length, char path[SCRATCH_PATH])
{
    FILE *file = fopen(scratch_path(directory, name, path), "wb");
    if (file == NULL || fwrite(bytes, 1, length, file) != length || fclose(file) != 0)
        abort();
}

static inline void scratch_text(const char *directory, const char *name, const char *text)
{
    char path[SCRATCH_PATH];
    scratch_write(directory, name, text, strlen(text), path);
}

static inline uint64_t seeded(uint64_t *seed)
{
    *seed += 0x9e3779b97f4a7c15u;
    uint64_t z = *seed;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static inline size_t seeded_below(uint64_t *seed, size_t n)
{
    return (size_t)(seeded(seed) % n);
}

#endif
