/* Gives a terminal back when midthrow cannot: see guard.h. */
#include "screen/guard.h"

#include <errno.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static void ignore_signals(void)
{
    static const int signals[] = {SIGINT,  SIGTERM, SIGQUIT, SIGHUP,  SIGTSTP,
                                  SIGTTOU, SIGTTIN, SIGPIPE, SIGWINCH};
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = SIG_IGN;
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++)
        sigaction(signals[i], &action, NULL);
}

/* Whatever else was open is the parent's: a lock or a pipe's end must not live on in here. */
static void close_all_but(int first, int second)
{
    long most = sysconf(_SC_OPEN_MAX);
    for (int fd = 0; fd < (most > 0 && most < 4096 ? (int)most : 4096); fd++)
        if (fd != first && fd != second)
            close(fd);
}

static void give_back(int fd, const struct termios *before, const char *restore)
{
    struct termios now;
    /* The shell may have set the terminal for itself by now: then it is not ours any more. */
    if (tcgetattr(fd, &now) != 0 || ((before->c_oflag & ONLCR) != 0 && (now.c_oflag & ONLCR) != 0))
        before = NULL;
    for (size_t left = strlen(restore); left > 0;) {
        ssize_t n = write(fd, restore, left);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            break;
        restore += n;
        left -= (size_t)n;
    }
    if (before != NULL)
        tcsetattr(fd, TCSANOW, before);
}

static void keep_watch(int end, int fd, const struct termios *before, const char *restore)
{
    char word;
    ssize_t n;
    ignore_signals();
    close_all_but(end, fd);
    while ((n = read(end, &word, 1)) < 0 && errno == EINTR)
        ;
    if (n != 1)
        give_back(fd, before, restore);
    _exit(0);
}

void screen_guard_start(struct screen_guard *guard, int fd, const struct termios *before,
                        const char *restore)
{
    int ends[2];
    guard->pipe = -1;
    if (pipe(ends) != 0)
        return;
    guard->pid = fork();
    if (guard->pid == 0) {
        close(ends[1]);
        keep_watch(ends[0], fd, before, restore);
    }
    close(ends[0]);
    if (guard->pid < 0)
        close(ends[1]);
    else
        guard->pipe = ends[1];
}

void screen_guard_stop(struct screen_guard *guard)
{
    if (guard->pipe < 0)
        return;
    while (write(guard->pipe, "q", 1) < 0 && errno == EINTR)
        ;
    close(guard->pipe);
    guard->pipe = -1;
    while (waitpid(guard->pid, NULL, 0) < 0 && errno == EINTR)
        ;
}
