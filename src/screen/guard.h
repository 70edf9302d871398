/*
 * Gives a terminal back when midthrow cannot: a small process that sleeps until midthrow ends. When
 * that ended without saying so (a crash, an out-of-memory kill), it writes what the terminal needs
 * and sets it as it was. It takes part in nothing else.
 */
#ifndef MIDTHROW_SCREEN_GUARD_H
#define MIDTHROW_SCREEN_GUARD_H

#include <sys/types.h>
#include <termios.h>

struct screen_guard {
    int pipe; /* -1: there is no guard */
    pid_t pid;
};

/* `fd` is the terminal, `before` its settings now, `restore` what to write to it. A guard that
 * cannot be had is done without. */
void screen_guard_start(struct screen_guard *guard, int fd, const struct termios *before,
                        const char *restore);

/* The terminal was given back in good order. */
void screen_guard_stop(struct screen_guard *guard);

#endif
