/*
 * A number pad and a foot switch as devices of their own (Linux evdev, by libevdev), whatever
 * window has the focus: chosen by name, held exclusively, looked for again every second while they
 * are away.
 *
 *     struct keypad_device_config config = {.pad = "Keypad"};
 *     struct keypad_device *device = keypad_device_create(&config, &fault);
 *     poll(keypad_device_fd(device)) ...
 *     while (keypad_device_key(device, &key)) ...
 *
 * A name is a part of the device's own (large and small letters alike), or a path: of a device, or
 * of a FIFO that carries struct input_event, which is how a recorded stream is played. A device
 * that is not there is a status, not a fault. The kernel's permissions decide who may read: the
 * group "input" in Debian.
 */
#ifndef MIDTHROW_KEYPAD_DEVICE_H
#define MIDTHROW_KEYPAD_DEVICE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

enum { KEYPAD_DEVICE_NAME = 128, KEYPAD_DEVICE_PATH = 256 };

struct keypad_device_config {
    const char *pad;    /* NULL: none */
    const char *foot;   /* NULL: none */
    bool foot_talks;    /* the foot switch is push-to-talk; else it is Enter */
    const char *folder; /* where devices are; NULL: /dev/input */
};

struct keypad_device_state {
    bool wanted, present;
    char name[KEYPAD_DEVICE_NAME];
    char why[256]; /* a sentence that says what to do; "": present */
};
struct keypad_device_status {
    struct keypad_device_state pad, foot;
    unsigned clashes; /* times two keys came at once and neither counted */
};

struct keypad_device;

/* The strings must outlive it. Fails only when the system gives it no descriptors. */
struct keypad_device *keypad_device_create(const struct keypad_device_config *config,
                                           struct fault *fault);
void keypad_device_destroy(struct keypad_device *device); /* NULL is fine */

/* Readable when there may be keys, or when it is time to look for what is away. */
int keypad_device_fd(const struct keypad_device *device);

/* The next character of the pad, if one is there; never waits. Keys that are not taken stay with
 * the kernel, and the descriptor stays readable. */
bool keypad_device_key(struct keypad_device *device, char *key);

bool keypad_device_talks(const struct keypad_device *device); /* push-to-talk is down */
void keypad_device_status(const struct keypad_device *device, struct keypad_device_status *status);

/* What there is, for the list of devices: those with keys, in the order of their numbers. One that
 * may not be read is listed by its path, with `readable` false. */
struct keypad_found {
    char name[KEYPAD_DEVICE_NAME];
    char path[KEYPAD_DEVICE_PATH];
    bool readable;
    bool pad; /* it has the keys of a number pad */
};
size_t keypad_device_list(const char *folder, struct keypad_found *found, size_t most);

#endif
