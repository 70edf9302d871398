/* Which files may be read and written, by Landlock. Its numbers stand here, for the kernel that
 * midthrow runs on may know more than the headers it was made with: landlock(7), and
 * include/uapi/linux/landlock.h of Linux 6.12. */
#define _GNU_SOURCE /* O_PATH, syscall */
#include "guard/inside.h"

#include <fcntl.h>
#include <stdint.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

/* Since version 1 but where it says otherwise. */
#define EXECUTE (UINT64_C(1) << 0)
#define WRITE_FILE (UINT64_C(1) << 1)
#define READ_FILE (UINT64_C(1) << 2)
#define READ_DIR (UINT64_C(1) << 3)
#define REMOVE_DIR (UINT64_C(1) << 4)
#define REMOVE_FILE (UINT64_C(1) << 5)
#define MAKE_CHAR (UINT64_C(1) << 6)
#define MAKE_DIR (UINT64_C(1) << 7)
#define MAKE_REG (UINT64_C(1) << 8)
#define MAKE_SOCK (UINT64_C(1) << 9)
#define MAKE_FIFO (UINT64_C(1) << 10)
#define MAKE_BLOCK (UINT64_C(1) << 11)
#define MAKE_SYM (UINT64_C(1) << 12)
#define REFER (UINT64_C(1) << 13)     /* 2 */
#define TRUNCATE (UINT64_C(1) << 14)  /* 3 */
#define IOCTL_DEV (UINT64_C(1) << 15) /* 5 */

#define BIND_TCP (UINT64_C(1) << 0)    /* 4 */
#define CONNECT_TCP (UINT64_C(1) << 1) /* 4 */

#define ABSTRACT_UNIX_SOCKET (UINT64_C(1) << 0) /* 6 */
#define SIGNAL (UINT64_C(1) << 1)               /* 6 */

#define OF_FILES (EXECUTE | WRITE_FILE | READ_FILE | TRUNCATE | IOCTL_DEV)

#if !defined(SYS_landlock_create_ruleset) /* the same on every machine, as all calls since 2019 */
#define SYS_landlock_create_ruleset 444
#define SYS_landlock_add_rule 445
#define SYS_landlock_restrict_self 446
#endif

enum { ASK_VERSION = 1, PATH_BENEATH = 1 };

struct ruleset {
    uint64_t files, network, scoped;
};

struct beneath {
    uint64_t allowed;
    int32_t parent;
} __attribute__((packed)); /* the kernel's is */

static const uint64_t RIGHTS[] = {
    [GUARD_READ] = READ_FILE | READ_DIR,
    [GUARD_KEEP] = READ_FILE | READ_DIR | WRITE_FILE | TRUNCATE | MAKE_REG | MAKE_DIR |
                   REMOVE_FILE | REMOVE_DIR,
    [GUARD_STEER] = READ_FILE | READ_DIR | IOCTL_DEV,
    [GUARD_DEVICE] = READ_FILE | READ_DIR | WRITE_FILE | IOCTL_DEV,
    [GUARD_EMPTY] = REMOVE_DIR,
};

/* Libraries, their plug-ins, voices and models, the time zone, what the kernel tells: nobody's
 * documents. /dev/null and the terminal may be written, for libraries open them when they like. */
static const struct guard_place SYSTEM[] = {
    {"/usr", GUARD_READ},       {"/lib", GUARD_READ},        {"/lib64", GUARD_READ},
    {"/etc", GUARD_READ},       {"/proc", GUARD_READ},       {"/sys", GUARD_READ},
    {"/dev", GUARD_READ},       {"/run", GUARD_READ},        {"/var/lib", GUARD_READ},
    {"/dev/tty", GUARD_DEVICE}, {"/dev/null", GUARD_DEVICE},
};

/* What each version of the kernel's Landlock can hold; what one does not know it is not asked. */
static struct ruleset handled(long version)
{
    struct ruleset all = {.files = TRUNCATE | REFER | (MAKE_SYM * 2 - 1)};
    if (version < 2)
        all.files &= ~REFER;
    if (version < 3)
        all.files &= ~TRUNCATE;
    if (version >= 4)
        all.network = BIND_TCP | CONNECT_TCP;
    if (version >= 5)
        all.files |= IOCTL_DEV;
    if (version >= 6)
        all.scoped = ABSTRACT_UNIX_SOCKET | SIGNAL;
    return all;
}

/* Older kernels know a shorter struct and want no more of it than they know, or zeros. */
static size_t known_size(long version)
{
    return version < 4 ? 8 : version < 6 ? 16 : 24;
}

static bool allow(int rules, const struct guard_place *place, uint64_t known)
{
    struct stat status;
    int fd = place->path == NULL ? -1 : open(place->path, O_PATH | O_CLOEXEC);
    if (fd < 0)
        return true;
    struct beneath beneath = {.allowed = RIGHTS[place->right] & known, .parent = fd};
    bool ok = fstat(fd, &status) == 0;
    if (ok && !S_ISDIR(status.st_mode))
        beneath.allowed &= OF_FILES;
    if (ok && beneath.allowed != 0)
        ok = syscall(SYS_landlock_add_rule, rules, PATH_BENEATH, &beneath, 0) == 0;
    close(fd);
    return ok;
}

int guard_landlock(const struct guard_place *places, size_t n)
{
    long version = syscall(SYS_landlock_create_ruleset, NULL, 0, ASK_VERSION);
    if (version < 1)
        return 0;
    const struct ruleset ruleset = handled(version);
    int rules = (int)syscall(SYS_landlock_create_ruleset, &ruleset, known_size(version), 0);
    if (rules < 0)
        return 0;
    bool ok = true;
    for (size_t i = 0; ok && i < sizeof SYSTEM / sizeof SYSTEM[0]; i++)
        ok = allow(rules, &SYSTEM[i], ruleset.files);
    for (size_t i = 0; ok && i < n; i++)
        ok = allow(rules, &places[i], ruleset.files);
    ok = ok && syscall(SYS_landlock_restrict_self, rules, 0) == 0;
    close(rules);
    return ok ? (int)version : 0;
}
