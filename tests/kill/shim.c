/*
 * Preloaded into midthrow by the tests of this folder: counts what it asks of the disk and of its
 * output, and lets the machine fail at a chosen moment. By environment:
 *
 *     SHIM_COUNT=FILE     writes into FILE, at the end, how many calls there were
 *     SHIM_KILL=N         dies by SIGKILL just before the N-th
 *     SHIM_TORN=1         ... and if that is a write, after half of it
 *     SHIM_FULL=N         from the N-th on the disk is full
 *     SHIM_SYNC=N         the N-th, or the first after it that settles a file on disk, fails to
 *     SHIM_STOP=1         stops by SIGSTOP just before its first lock
 *     SHIM_CLOCK=MS       the time of day stands still there
 *     SHIM_ORDER=1        dies by SIGABRT when output is given while the journal's log has been
 *                         written and not been settled on disk since
 *
 * Calls that count: write, pwrite, ftruncate, fsync, fdatasync, unlink, rename, mkdir, and fflush,
 * behind which the C library writes by itself.
 */
#undef _FILE_OFFSET_BITS /* write both of pwrite and pwrite64 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static long calls;
static long kill_at, full_from, sync_at;
static long long clock_ms;
static bool torn, in_order, stops, log_is_unsettled;
static int count_to = -1;

static long number(const char *name)
{
    const char *value = getenv(name);
    return value == NULL ? 0 : strtol(value, NULL, 10);
}

__attribute__((constructor)) static void begin(void)
{
    const char *file = getenv("SHIM_COUNT");
    kill_at = number("SHIM_KILL");
    full_from = number("SHIM_FULL");
    sync_at = number("SHIM_SYNC");
    torn = number("SHIM_TORN") != 0;
    in_order = number("SHIM_ORDER") != 0;
    stops = number("SHIM_STOP") != 0;
    clock_ms = number("SHIM_CLOCK");
    if (file != NULL) /* now: once midthrow is guarded it cannot be opened */
        count_to = open(file, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
}

/* The next definition of a function behind this one: the C library's, or a sanitizer's. */
#define REAL(name) ((__typeof__(&(name)))(uintptr_t)dlsym(RTLD_NEXT, #name))

/* Before each call that counts; true when the disk is full from now on. */
static bool next_call(void)
{
    calls++;
    if (calls == kill_at && !torn)
        kill(getpid(), SIGKILL);
    return full_from > 0 && calls >= full_from;
}

__attribute__((destructor)) static void end(void)
{
    if (count_to >= 0)
        dprintf(count_to, "%ld\n", calls);
}

static bool is_the_log(int fd)
{
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path);
    return length > 4 && memcmp(path + length - 4, "-wal", 4) == 0;
}

static void wrote(int fd)
{
    if (in_order && is_the_log(fd))
        log_is_unsettled = true;
}

static size_t as_much(size_t count)
{
    return calls == kill_at ? count / 2 : count;
}

static void die_if_torn(void)
{
    if (torn && calls == kill_at)
        kill(getpid(), SIGKILL);
}

static int full(void)
{
    errno = ENOSPC;
    return -1;
}

ssize_t write(int fd, const void *bytes, size_t count)
{
    if (next_call() && fd > STDERR_FILENO)
        return full();
    ssize_t done = REAL(write)(fd, bytes, as_much(count));
    die_if_torn();
    wrote(fd);
    return done;
}

ssize_t pwrite(int fd, const void *bytes, size_t count, off_t at)
{
    if (next_call())
        return full();
    ssize_t done = REAL(pwrite)(fd, bytes, as_much(count), at);
    die_if_torn();
    wrote(fd);
    return done;
}

ssize_t pwrite64(int fd, const void *bytes, size_t count, off64_t at)
{
    if (next_call())
        return full();
    ssize_t done = REAL(pwrite64)(fd, bytes, as_much(count), at);
    die_if_torn();
    wrote(fd);
    return done;
}

static bool sync_fails(void)
{
    if (sync_at == 0 || calls < sync_at)
        return false;
    sync_at = 0;
    errno = EIO;
    return true;
}

static int settle(int fd, int (*real)(int))
{
    next_call();
    die_if_torn();
    if (sync_fails())
        return -1;
    int done = real(fd);
    if (in_order && done == 0 && is_the_log(fd))
        log_is_unsettled = false;
    return done;
}

int fsync(int fd)
{
    return settle(fd, REAL(fsync));
}

int fdatasync(int fd)
{
    return settle(fd, REAL(fdatasync));
}

int ftruncate(int fd, off_t length)
{
    next_call();
    die_if_torn();
    return REAL(ftruncate)(fd, length);
}

int ftruncate64(int fd, off64_t length)
{
    next_call();
    die_if_torn();
    return REAL(ftruncate64)(fd, length);
}

int unlink(const char *path)
{
    next_call();
    die_if_torn();
    return REAL(unlink)(path);
}

int rename(const char *from, const char *to)
{
    next_call();
    die_if_torn();
    return REAL(rename)(from, to);
}

int mkdir(const char *path, mode_t mode)
{
    if (next_call())
        return full();
    die_if_torn();
    return REAL(mkdir)(path, mode);
}

int fflush(FILE *stream)
{
    next_call();
    die_if_torn();
    if (log_is_unsettled)
        abort();
    return REAL(fflush)(stream);
}

int flock(int fd, int operation)
{
    if (stops)
        kill(getpid(), SIGSTOP);
    stops = false;
    return REAL(flock)(fd, operation);
}

int clock_gettime(clockid_t clock, struct timespec *now)
{
    if (clock != CLOCK_REALTIME || clock_ms == 0)
        return REAL(clock_gettime)(clock, now);
    now->tv_sec = (time_t)(clock_ms / 1000);
    now->tv_nsec = (long)(clock_ms % 1000) * 1000000;
    return 0;
}
