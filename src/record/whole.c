/* A file written whole or not at all: see whole.h. */
#include "record/whole.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"

static bool refuse(const char *path, int error, struct fault *fault)
{
    const char *what = strerror(error);
    if (error == ENOSPC || error == EDQUOT || error == EFBIG)
        what = "the disk is full: free some space there, or name another place";
    else if (error == ENOENT || error == ENOTDIR)
        what = "there is no such folder: make it, or name another place";
    else if (error == EACCES || error == EPERM || error == EROFS)
        what = "it is read-only for you: name another place";
    return fault_set(fault, FAULT_FAILED, "cannot write '%s': %s.", path, what);
}

bool whole_begin(struct whole *whole, const char *path, struct fault *fault)
{
    struct stat status;
    whole->file = NULL;
    if (path[0] == '\0' || path[strlen(path) - 1] == '/' ||
        !text_copy(whole->path, sizeof whole->path, path))
        return fault_set(fault, FAULT_USAGE,
                         "'%s' cannot be a file's name: give a shorter one that does not end in a "
                         "slash.",
                         path);
    if (lstat(path, &status) == 0 && !S_ISREG(status.st_mode))
        return fault_set(fault, FAULT_USAGE,
                         "'%s' is there and is not a plain file: name another, or leave -o out to "
                         "print.",
                         path);
    struct text text = text_into(whole->beside, sizeof whole->beside);
    text_addf(&text, "%s.XXXXXX", path);
    int fd = mkstemp(whole->beside); /* POSIX: 0600 */
    if (fd < 0)
        return refuse(path, errno, fault);
    whole->file = fdopen(fd, "w");
    if (whole->file != NULL)
        return true;
    int error = errno;
    close(fd);
    unlink(whole->beside);
    return refuse(path, error, fault);
}

void whole_drop(struct whole *whole)
{
    if (whole->file == NULL)
        return;
    fclose(whole->file);
    unlink(whole->beside);
    whole->file = NULL;
}

void whole_settle_folder(const char *path)
{
    char folder[WHOLE_PATH];
    text_copy(folder, sizeof folder, path);
    char *slash = strrchr(folder, '/');
    if (slash == NULL)
        text_copy(folder, sizeof folder, ".");
    else
        slash[slash == folder ? 1 : 0] = '\0';
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return;
    fsync(fd);
    close(fd);
}

bool whole_end(struct whole *whole, struct fault *fault)
{
    errno = 0;
    bool ok =
        fflush(whole->file) == 0 && ferror(whole->file) == 0 && fsync(fileno(whole->file)) == 0;
    int error = errno;
    ok = fclose(whole->file) == 0 && ok;
    whole->file = NULL;
    if (ok && rename(whole->beside, whole->path) == 0) {
        whole_settle_folder(whole->path);
        return true;
    }
    if (ok)
        error = errno;
    unlink(whole->beside);
    return refuse(whole->path, error == 0 ? EIO : error, fault);
}
