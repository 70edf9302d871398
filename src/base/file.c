/* Files from outside: see file.h. */
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char *take(int fd, size_t size, size_t *length)
{
    char *bytes = malloc(size + 1);
    ssize_t got = 1;
    *length = 0;
    while (bytes != NULL && *length < size && got != 0) {
        got = read(fd, bytes + *length, size - *length);
        if (got < 0 && errno != EINTR) {
            free(bytes);
            return NULL;
        }
        *length += got > 0 ? (size_t)got : 0;
    }
    if (bytes != NULL)
        bytes[*length] = '\0';
    return bytes;
}

char *file_read(const char *path, size_t most, size_t *length, struct fault *fault)
{
    struct stat status;
    char *bytes = NULL;
    int fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0) {
        fault_set(fault, errno == ENOENT ? FAULT_MISSING : FAULT_FAILED,
                  "cannot read '%s' (%s): check the name and its permissions.", path,
                  strerror(errno));
        return NULL;
    }
    if (fstat(fd, &status) != 0 || !S_ISREG(status.st_mode))
        fault_set(fault, FAULT_FAILED, "'%s' is not a plain file: name one that is.", path);
    else if ((unsigned long long)status.st_size > most)
        fault_set(fault, FAULT_FAILED, "'%s' is larger than %zu KiB: that is no file for midthrow.",
                  path, most / 1024);
    else if ((bytes = take(fd, (size_t)status.st_size, length)) == NULL)
        fault_set(fault, FAULT_FAILED, "cannot read '%s': check the disk, close other programs.",
                  path);
    close(fd);
    return bytes;
}
