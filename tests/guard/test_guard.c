/* The guard, by trying what it forbids: every attempt is made in a process of its own, for what is
 * taken never comes back. Errors expected are those of seccomp's filter (src/guard/calls.c) and of
 * Landlock: EACCES for files and ports, EPERM for signals and tracing (landlock(7)). */
#define _GNU_SOURCE
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <sched.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/ptrace.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/wait.h>
#include <unistd.h>

#include "../base/scratch.h"
#include "guard/guard.h"

#if defined(__SANITIZE_ADDRESS__)
enum { SANITIZED = 1 };
#else
enum { SANITIZED = 0 };
#endif

enum { HELD = 0, BROKEN = 1, NOT_OFFERED = 77, SCOPES_SIGNALS = 6, KNOWS_PORTS = 4 };

enum { LONGER = SCRATCH_PATH + 64 };

static char scratch[SCRATCH_PATH];
static char kept[SCRATCH_PATH], other[SCRATCH_PATH], secret[SCRATCH_PATH];
static struct sockaddr_in listener_at;

/* ---- attempts: true when the guard held ----------------------------------------------------- */

static bool refused(long got, int with)
{
    if (got == -1 && errno == with)
        return true;
    print_message("got %ld, errno %d (%s), not %d\n", got, errno, strerror(errno), with);
    return false;
}

static bool no_network(void)
{
    static const int families[] = {AF_INET, AF_INET6, AF_NETLINK, AF_PACKET, AF_VSOCK, AF_ALG};
    for (size_t i = 0; i < sizeof families / sizeof families[0]; i++)
        if (!refused(socket(families[i], SOCK_STREAM, 0), EAFNOSUPPORT) ||
            !refused(socket(families[i], SOCK_DGRAM, 0), EAFNOSUPPORT))
            return false;
    return true;
}

static bool a_unix_socket(void)
{
    int pair[2];
    return socketpair(AF_UNIX, SOCK_STREAM, 0, pair) == 0 && socket(AF_UNIX, SOCK_STREAM, 0) >= 0;
}

static bool no_program(void)
{
    char name[] = "/bin/true";
    char *arguments[] = {name, NULL};
    char *none[] = {NULL};
    int file = open(name, O_RDONLY);
    return refused(execve(name, arguments, none), EPERM) &&
           refused(execvp("true", arguments), EPERM) &&
           refused(fexecve(file, arguments, none), EPERM);
}

/* popen and system may come back as if a shell had failed; what counts is that none ran. */
static bool no_shell(void)
{
    char command[2 * LONGER], made[LONGER], name[] = "/bin/true";
    char *arguments[] = {name, NULL};
    pid_t child = 0;
    snprintf(made, sizeof made, "%s/made-by-a-shell", kept);
    snprintf(command, sizeof command, "echo > '%s'", made);
    if (system(command) == 0)
        return false;
    FILE *pipe = popen(command, "r");
    if (pipe != NULL && pclose(pipe) == 0)
        return false;
    return refused(access(made, F_OK), ENOENT) &&
           posix_spawn(&child, name, NULL, NULL, arguments, arguments + 1) != 0;
}

static bool no_process_looked_into(void)
{
    char byte;
    struct iovec here = {&byte, 1};
    return refused(process_vm_readv(getppid(), &here, 1, &here, 1, 0), EPERM) &&
           (SANITIZED || refused(ptrace(PTRACE_ATTACH, getppid(), 0, 0), EPERM));
}

static void *thread(void *argument)
{
    *(int *)argument = socket(AF_INET, SOCK_STREAM, 0) == -1 ? 1 : 2;
    return NULL;
}

static bool a_thread_that_is_held_too(void)
{
    pthread_t id;
    int seen = 0;
    return pthread_create(&id, NULL, thread, &seen) == 0 && pthread_join(id, NULL) == 0 &&
           seen == 1;
}

/* In OpenBLAS's place, which may not be there. */
int blas_thread_shutdown_(void);
static int ended;
int blas_thread_shutdown_(void)
{
    ended++;
    return 0;
}

static bool threads_of_libraries_ended(void)
{
    return ended == 1;
}

static bool no_typing(void)
{
    char letter = 'x';
    return refused(ioctl(STDIN_FILENO, TIOCSTI, &letter), EPERM);
}

static bool no_keeping_of_the_system(void)
{
    const struct timespec when = {.tv_sec = 1};
    return refused(clock_settime(CLOCK_REALTIME, &when), EPERM) && refused(chroot("/"), EPERM);
}

/* By their numbers: the C library has no function for most. 425 is io_uring_setup wherever it is.
 */
static bool no_way_round(void)
{
    static const long calls[] = {SYS_bpf, SYS_perf_event_open, SYS_userfaultfd, SYS_keyctl, 425};
    for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++)
        if (!refused(syscall(calls[i], 0, 0, 0, 0, 0), EPERM))
            return false;
    return true;
}

static bool no_world_of_its_own(void)
{
    static const int worlds[] = {CLONE_NEWUSER, CLONE_NEWNS, CLONE_NEWUSER | CLONE_NEWNET};
    uint64_t clone3[11] = {CLONE_NEWUSER, 0, 0, 0, SIGCHLD};
    for (size_t i = 0; i < sizeof worlds / sizeof worlds[0]; i++) {
        if (!refused(unshare(worlds[i]), EPERM))
            return false;
        long child = syscall(SYS_clone, worlds[i] | SIGCHLD, 0, 0, 0, 0);
        if (child == 0)
            _exit(0);
        if (!refused(child, EPERM))
            return false;
    }
    long child = syscall(435 /* clone3 */, clone3, sizeof clone3);
    if (child == 0)
        _exit(0);
    return refused(child, ENOSYS) && socket(AF_INET6, SOCK_RAW, 0) == -1;
}

static bool writes_where_it_keeps(void)
{
    char path[LONGER], moved[LONGER];
    snprintf(path, sizeof path, "%s/new", kept);
    snprintf(moved, sizeof moved, "%s/moved", kept);
    int fd = open(path, O_RDWR | O_CREAT | O_EXCL, 0600);
    return fd >= 0 && write(fd, "x", 1) == 1 && ftruncate(fd, 0) == 0 && rename(path, moved) == 0 &&
           unlink(moved) == 0;
}

static bool writes_nowhere_else(void)
{
    char path[LONGER];
    snprintf(path, sizeof path, "%s/new", other);
    return refused(open(path, O_WRONLY | O_CREAT, 0600), EACCES) &&
           refused(open(secret, O_WRONLY), EACCES) && refused(truncate(secret, 0), EACCES) &&
           refused(unlink(secret), EACCES) && refused(mkdir(path, 0700), EACCES) &&
           refused(symlink("/", path), EACCES) &&
           refused(open("/usr/new", O_CREAT | O_RDWR, 0600), EACCES);
}

static bool reads_only_its_own(void)
{
    char link[LONGER];
    snprintf(link, sizeof link, "%s/link", kept); /* made before: it leads to the secret */
    return refused(open(secret, O_RDONLY), EACCES) && refused(open(link, O_RDONLY), EACCES) &&
           refused(open(other, O_RDONLY | O_DIRECTORY), EACCES) &&
           open("/usr/share", O_RDONLY | O_DIRECTORY) >= 0 && open("/etc/passwd", O_RDONLY) >= 0;
}

static int socket_from_before = -1;

static bool no_port(void)
{
    if (guard_state().landlock < KNOWS_PORTS)
        return true;
    return refused(connect(socket_from_before, (struct sockaddr *)&listener_at, sizeof listener_at),
                   EACCES);
}

static bool no_signal(void)
{
    return guard_state().landlock < SCOPES_SIGNALS || refused(kill(getppid(), 0), EPERM);
}

/* ---- each in its own process ------------------------------------------------------------------
 */

static void held(bool (*attempt)(void), bool about_files)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        const struct guard_place places[] = {
            {kept, GUARD_KEEP}, {"/nowhere", GUARD_READ}, {NULL, GUARD_KEEP}};
        socket_from_before = socket(AF_INET, SOCK_STREAM, 0);
        guard_begin();
        guard_files(places, 3);
        guard_files(NULL, 0); /* a second call changes nothing */
        const struct guard_state state = guard_state();
        if (about_files ? state.landlock == 0 : !state.calls)
            _exit(NOT_OFFERED);
        bool ok = attempt();
        fflush(NULL);
        _exit(ok ? HELD : BROKEN);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    if (WEXITSTATUS(status) == NOT_OFFERED) {
        print_message("this kernel does not offer %s here\n",
                      about_files ? "Landlock" : "seccomp filters");
        skip();
    }
    assert_int_equal(WEXITSTATUS(status), HELD);
}

#define CALLS(what)                                                                                \
    static void test_##what(void **state)                                                          \
    {                                                                                              \
        (void)state;                                                                               \
        held(what, false);                                                                         \
    }
#define FILES(what)                                                                                \
    static void test_##what(void **state)                                                          \
    {                                                                                              \
        (void)state;                                                                               \
        held(what, true);                                                                          \
    }
CALLS(no_network)
CALLS(a_unix_socket)
CALLS(no_program)
CALLS(no_shell)
CALLS(no_process_looked_into)
CALLS(a_thread_that_is_held_too)
CALLS(threads_of_libraries_ended)
CALLS(no_typing)
CALLS(no_keeping_of_the_system)
CALLS(no_way_round)
CALLS(no_world_of_its_own)
FILES(writes_where_it_keeps)
FILES(writes_nowhere_else)
FILES(reads_only_its_own)
FILES(no_port)
FILES(no_signal)

/* Without guard_begin nothing is taken; with MIDTHROW_GUARD=off neither. */
static void test_only_when_begun(void **state)
{
    (void)state;
    pid_t child = fork();
    if (child == 0) {
        guard_files(NULL, 0);
        setenv("MIDTHROW_GUARD", "off", 1);
        guard_begin();
        guard_files(NULL, 0);
        bool free = !guard_state().calls && guard_state().landlock == 0 &&
                    open(secret, O_RDONLY) >= 0 && socket(AF_INET, SOCK_STREAM, 0) >= 0;
        _exit(free ? HELD : BROKEN);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == HELD);
}

static int set_up(void **state)
{
    (void)state;
    char link[LONGER];
    socklen_t length = sizeof listener_at;
    scratch_make(scratch);
    scratch_path(scratch, "kept", kept);
    scratch_path(scratch, "other", other);
    scratch_path(other, "secret", secret);
    snprintf(link, sizeof link, "%s/link", kept);
    int file = -1;
    int listener = socket(AF_INET, SOCK_STREAM, 0);
    listener_at =
        (struct sockaddr_in){.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    bool ok = mkdir(kept, 0700) == 0 && mkdir(other, 0700) == 0 && symlink(secret, link) == 0 &&
              (file = open(secret, O_CREAT | O_WRONLY, 0600)) >= 0 &&
              bind(listener, (struct sockaddr *)&listener_at, sizeof listener_at) == 0 &&
              listen(listener, 1) == 0 &&
              getsockname(listener, (struct sockaddr *)&listener_at, &length) == 0;
    close(file);
    return ok ? 0 : -1;
}

static int tear_down(void **state)
{
    (void)state;
    scratch_remove(scratch);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_network),
        cmocka_unit_test(test_a_unix_socket),
        cmocka_unit_test(test_no_program),
        cmocka_unit_test(test_no_shell),
        cmocka_unit_test(test_no_process_looked_into),
        cmocka_unit_test(test_a_thread_that_is_held_too),
        cmocka_unit_test(test_threads_of_libraries_ended),
        cmocka_unit_test(test_no_typing),
        cmocka_unit_test(test_no_keeping_of_the_system),
        cmocka_unit_test(test_no_way_round),
        cmocka_unit_test(test_no_world_of_its_own),
        cmocka_unit_test(test_writes_where_it_keeps),
        cmocka_unit_test(test_writes_nowhere_else),
        cmocka_unit_test(test_reads_only_its_own),
        cmocka_unit_test(test_no_port),
        cmocka_unit_test(test_no_signal),
        cmocka_unit_test(test_only_when_begun),
    };
    return cmocka_run_group_tests_name("guard", tests, set_up, tear_down);
}
