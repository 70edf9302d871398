/*
 * What midthrow does not need is taken from it, so that a hostile recording, profile or journal
 * that gets the better of a library gets little else.
 *
 *     guard_begin();                                      // in main, before anything is read
 *     const struct guard_place places[] = {{"jobs", GUARD_KEEP}, {"answers", GUARD_READ}};
 *     guard_files(places, 2);                             // once a command knows its files
 *
 * guard_begin (seccomp): no other program is run, no process looked into, no socket but a Unix one
 * (sound servers have those), no key pressed into the terminal, none of what only the system's
 * keeper does. guard_files (Landlock): files are read beneath the places and the system's
 * own folders (guard.c), written and made beneath GUARD_KEEP and nowhere else; no TCP port, no
 * signal to anybody else. What was open before stays usable. Neither can be undone.
 *
 * A kernel without one of them, or a container that forbids it, is no fault: guard_state says what
 * holds. MIDTHROW_GUARD=off in the environment leaves both out. Under AddressSanitizer ptrace
 * is allowed: its leak check stops the program by it.
 *
 * Only what is started after guard_begin, and for files the calling thread and those it starts
 * afterwards, is held: call both before there are threads. guard_begin ends those that OpenBLAS has
 * started by then.
 */
#ifndef MIDTHROW_GUARD_GUARD_H
#define MIDTHROW_GUARD_GUARD_H

#include <stdbool.h>
#include <stddef.h>

enum guard_right {
    GUARD_READ,   /* what is there is read */
    GUARD_KEEP,   /* files are read, written, made and removed */
    GUARD_STEER,  /* devices are read and steered (ioctl), as they come and go: /dev/input */
    GUARD_DEVICE, /* ... and written: /dev/snd */
    GUARD_EMPTY,  /* empty folders in it are removed: where a scratch folder was made */
};

/* A folder with all beneath it, or a file. NULL or one that is not there is passed over. */
struct guard_place {
    const char *path;
    enum guard_right right;
};

void guard_begin(void);

/* Does nothing before guard_begin (tests call commands in their own process), nor a second time. */
void guard_files(const struct guard_place *places, size_t n);

struct guard_state {
    bool calls;   /* seccomp's filter is in place */
    int landlock; /* the kernel's version of Landlock that is in use; 0: none */
};
struct guard_state guard_state(void);

#endif
