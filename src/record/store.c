/* Directory, files and lock of the journal: see store.h. */
#include "record/store.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"
#include "record/whole.h"

enum { DIRECTORY_MODE = 0700, FILE_MODE = 0600 };

/* What the system says, as what to do about it. */
static const char *remedy(int error)
{
    switch (error) {
    case ENOSPC:
    case EDQUOT:
    case EFBIG:
        return "the disk is full: free some space there, then go on";
    case EROFS:
    case EACCES:
    case EPERM:
        return "it is read-only for you: give yourself permission to write there, or name another "
               "directory with --data";
    case ENOTDIR:
    case EEXIST:
        return "a file is in the way: name another directory with --data";
    case ELOOP:
        return "a symbolic link is in the way: remove it";
    default:
        return NULL;
    }
}

static bool refuse(const char *what, const char *path, int error, struct fault *fault)
{
    const char *why = remedy(error);
    if (why != NULL)
        return fault_set(fault, FAULT_FAILED, "cannot %s '%s': %s.", what, path, why);
    return fault_set(fault, FAULT_FAILED,
                     "cannot %s '%s': %s: put that right, or name another directory with --data.",
                     what, path, strerror(error));
}

/* The umask may take bits off a new directory that its owner needs. One that is there is left as it
 * is, whatever mkdir thinks of making it. */
static bool make_one(const char *path, struct fault *fault)
{
    struct stat status;
    if (mkdir(path, DIRECTORY_MODE) == 0) {
        whole_settle_folder(path);
        return chmod(path, DIRECTORY_MODE) == 0 || refuse("make the directory", path, errno, fault);
    }
    int error = errno;
    if (stat(path, &status) != 0)
        return refuse("make the directory", path, error, fault);
    return S_ISDIR(status.st_mode) || refuse("use the directory", path, ENOTDIR, fault);
}

bool store_make_directory(const char *path, struct fault *fault)
{
    char part[STORE_PATH];
    if (path[0] == '\0' || !text_copy(part, sizeof part, path))
        return fault_set(fault, FAULT_USAGE,
                         "the data directory's name is empty or too long: name another with "
                         "--data.");
    for (char *slash = part + 1; (slash = strchr(slash, '/')) != NULL; slash++) {
        *slash = '\0';
        if (!make_one(part, fault))
            return false;
        *slash = '/';
    }
    return make_one(part, fault);
}

bool store_path(const char *directory, const char *name, long long number, char out[STORE_PATH],
                struct fault *fault)
{
    struct text text = text_into(out, STORE_PATH);
    const char *place = strstr(name, "%lld");
    text_addf(&text, "%s/", directory);
    if (place == NULL) {
        text_add(&text, name);
    } else {
        text_add_n(&text, name, (size_t)(place - name));
        text_addf(&text, "%lld%s", number, place + strlen("%lld"));
    }
    return !text.cut || fault_set(fault, FAULT_FAILED,
                                  "the data directory's name is too long: name another with "
                                  "--data.");
}

int store_open(const char *path, int flags, struct fault *fault)
{
    int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK | flags, FILE_MODE);
    if (fd < 0) {
        refuse("write", path, errno, fault);
        return -1;
    }
    struct stat status;
    bool ok = fstat(fd, &status) == 0 && S_ISREG(status.st_mode);
    if (ok && (status.st_mode & 07777) != FILE_MODE)
        ok = fchmod(fd, FILE_MODE) == 0;
    if (ok)
        return fd;
    fault_set(fault, FAULT_FAILED,
              "'%s' is not a file of yours: move it away, or name another directory with --data.",
              path);
    close(fd);
    return -1;
}

/* ---- the lock: flock, so that it goes with the process however that ends ----------------- */

/* The process that wrote itself into the lock file; 0 when it cannot be read. */
static long holder(int fd)
{
    char digits[24] = "";
    if (pread(fd, digits, sizeof digits - 1, 0) <= 0)
        return 0;
    return strtol(digits, NULL, 10);
}

static bool refuse_locked(int fd, int64_t job, struct fault *fault)
{
    long process = holder(fd);
    if (process <= 0)
        return fault_set(fault, FAULT_FAILED,
                         "job %lld is open in another midthrow: close it there first.",
                         (long long)job);
    return fault_set(fault, FAULT_FAILED,
                     "job %lld is open in another midthrow (process %ld): close it there first.",
                     (long long)job, process);
}

/* Is `fd` still the file of that name? Its holder removes it when done, and a waiting process may
 * have opened the one that is gone. */
static bool is_current(int fd, const char *path)
{
    struct stat ours;
    struct stat named;
    return fstat(fd, &ours) == 0 && stat(path, &named) == 0 && ours.st_ino == named.st_ino &&
           ours.st_dev == named.st_dev;
}

/* Who holds it is for the other process's sentence only: a full disk must not stop the job here. */
static void write_holder(int fd)
{
    char digits[24];
    struct text text = text_into(digits, sizeof digits);
    text_addf(&text, "%ld\n", (long)getpid());
    if (ftruncate(fd, 0) == 0 && pwrite(fd, digits, text.used, 0) != (ssize_t)text.used)
        (void)!ftruncate(fd, 0);
}

bool store_lock(struct store_lock *lock, const char *path, int64_t job, struct fault *fault)
{
    enum { TRIES = 100 };
    for (int i = 0; i < TRIES; i++) {
        int fd = store_open(path, 0, fault);
        if (fd < 0)
            return false;
        if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
            bool taken = errno == EWOULDBLOCK;
            bool refused =
                taken ? refuse_locked(fd, job, fault) : refuse("lock", path, errno, fault);
            close(fd);
            return refused;
        }
        if (is_current(fd, path)) {
            write_holder(fd);
            lock->fd = fd;
            return text_copy(lock->path, sizeof lock->path, path);
        }
        close(fd);
    }
    return fault_set(fault, FAULT_FAILED, "cannot lock '%s': try again.", path);
}

void store_unlock(struct store_lock *lock)
{
    if (lock->fd < 0)
        return;
    unlink(lock->path); /* while it is still locked: nobody else's file can be hit */
    close(lock->fd);
    lock->fd = -1;
}
