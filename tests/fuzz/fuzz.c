/* What the fuzzing targets share. */
#define _GNU_SOURCE /* memfd_create, nftw */
#include "fuzz.h"

#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

void fuzz_promised(int holds, const char *what, const char *file, int line)
{
    if (holds)
        return;
    fprintf(stderr, "%s:%d: broken: %s\n", file, line, what);
    abort();
}

char *fuzz_text(const uint8_t *data, size_t size)
{
    size_t length = 0;
    while (length < size && data[length] != 0)
        length++;
    char *text = malloc(length + 1);
    if (text == NULL)
        abort();
    if (length > 0)
        memcpy(text, data, length);
    text[length] = '\0';
    return text;
}

const char *fuzz_file(const uint8_t *data, size_t size)
{
    static int fd = -1;
    static char path[64];
    if (fd < 0) {
        fd = memfd_create("input", 0);
        snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    }
    FUZZ_PROMISED(fd >= 0 && ftruncate(fd, 0) == 0);
    FUZZ_PROMISED(pwrite(fd, data, size, 0) == (ssize_t)size);
    return path;
}

static char folder[64];

static int remove_one(const char *path, const struct stat *status, int type, struct FTW *where)
{
    (void)status;
    (void)type;
    (void)where;
    return remove(path);
}

static void remove_folder(void)
{
    nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

/* By a name that is the same in every run: an engine learns from the strings that are compared, and
 * the same seed is to try the same inputs. */
const char *fuzz_folder(void)
{
    static char path[32];
    if (folder[0] == '\0') {
        snprintf(folder, sizeof folder, "%s/midthrow-fuzz-XXXXXX",
                 access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
        FUZZ_PROMISED(mkdtemp(folder) != NULL);
        atexit(remove_folder);
        snprintf(path, sizeof path, "/proc/self/fd/%d", open(folder, O_RDONLY | O_DIRECTORY));
        FUZZ_PROMISED(access(path, W_OK) == 0);
    }
    return path;
}
