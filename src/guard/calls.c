/* Calls to the kernel that midthrow has no use for, refused by seccomp. A list of what is refused
 * and not of what is allowed: the sound libraries, the C library and the sanitizers call what they
 * like, and it changes with their versions. */
#define _GNU_SOURCE /* CLONE_NEWUSER */
#include "guard/inside.h"

#include <errno.h>
#include <sched.h>
#include <seccomp.h>
#include <stdint.h>
#include <sys/ioctl.h>
#include <sys/socket.h>

#if defined(__SANITIZE_ADDRESS__)
enum { SANITIZED = 1 };
#else
enum { SANITIZED = 0 };
#endif

/* By name: one that this machine's kernel never had is passed over. */
static const char *const REFUSED[] = {
    /* other programs */
    "execve", "execveat",
    /* other processes; ptrace is below */
    "process_vm_readv", "process_vm_writev", "process_madvise", "pidfd_getfd", "kcmp",
    /* ways round a filter, or into the kernel */
    "bpf", "io_uring_setup", "perf_event_open", "userfaultfd", "personality", "lookup_dcookie",
    "open_by_handle_at", "add_key", "keyctl", "request_key",
    /* the keeper's */
    "acct", "adjtimex", "chroot", "clock_adjtime", "clock_settime", "delete_module", "finit_module",
    "fsconfig", "fsmount", "fsopen", "init_module", "kexec_file_load", "kexec_load", "mount",
    "mount_setattr", "move_mount", "open_tree", "pivot_root", "quotactl", "reboot", "setdomainname",
    "sethostname", "setns", "settimeofday", "stime", "swapoff", "swapon", "umount", "umount2",
    "unshare", "vhangup"};

static bool refuse(scmp_filter_ctx filter, const char *name)
{
    int call = seccomp_syscall_resolve_name(name);
    return call == __NR_SCMP_ERROR || seccomp_rule_add(filter, SCMP_ACT_ERRNO(EPERM), call, 0) == 0;
}

/* As if the system had no network at all, which libraries are prepared for. */
static bool refuse_network(scmp_filter_ctx filter)
{
    /* NOLINTNEXTLINE(clang-diagnostic-missing-field-initializers): of the library's own macro */
    return seccomp_rule_add(filter, SCMP_ACT_ERRNO(EAFNOSUPPORT), SCMP_SYS(socket), 1,
                            SCMP_A0(SCMP_CMP_NE, AF_UNIX)) == 0;
}

/* unshare(2) by another name: a process in a world of its own, where it is root. Of clone3 the
 * filter sees only a pointer: as if the kernel had none, the C library takes clone then (clone(2)).
 */
static bool refuse_namespaces(scmp_filter_ctx filter)
{
    static const uint64_t worlds[] = {CLONE_NEWUSER, CLONE_NEWNS,  CLONE_NEWPID,   CLONE_NEWNET,
                                      CLONE_NEWIPC,  CLONE_NEWUTS, CLONE_NEWCGROUP};
    for (size_t i = 0; i < sizeof worlds / sizeof worlds[0]; i++)
        if (seccomp_rule_add(filter, SCMP_ACT_ERRNO(EPERM), SCMP_SYS(clone), 1,
                             SCMP_A0(SCMP_CMP_MASKED_EQ, worlds[i], worlds[i])) != 0)
            return false;
    int clone3 = seccomp_syscall_resolve_name("clone3");
    return clone3 == __NR_SCMP_ERROR ||
           seccomp_rule_add(filter, SCMP_ACT_ERRNO(ENOSYS), clone3, 0) == 0;
}

/* TIOCSTI types into the terminal as its user would; TIOCLINUX pastes there (ioctl_tty(2),
 * ioctl_console(2)). The kernel takes 32 bits of the request. */
static bool refuse_typing(scmp_filter_ctx filter)
{
    static const uint64_t requests[] = {TIOCSTI, 0x541C};
    for (size_t i = 0; i < sizeof requests / sizeof requests[0]; i++)
        if (seccomp_rule_add(filter, SCMP_ACT_ERRNO(EPERM), SCMP_SYS(ioctl), 1,
                             SCMP_A1(SCMP_CMP_MASKED_EQ, UINT32_MAX, requests[i])) != 0)
            return false;
    return true;
}

bool guard_calls(void)
{
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_ALLOW);
    bool ok = filter != NULL;
    for (size_t i = 0; ok && i < sizeof REFUSED / sizeof REFUSED[0]; i++)
        ok = refuse(filter, REFUSED[i]);
    ok = ok && (SANITIZED || refuse(filter, "ptrace")) && refuse_network(filter) &&
         refuse_namespaces(filter) && refuse_typing(filter) && seccomp_load(filter) == 0;
    seccomp_release(filter);
    return ok;
}
