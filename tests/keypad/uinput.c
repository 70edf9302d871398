/* A pad that the kernel itself makes: found by name, held, typed on, unplugged. Where the kernel
 * has no uinput, or does not let us, the test is skipped with its reason. */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <libevdev/libevdev-uinput.h>
#include <libevdev/libevdev.h>

#include "keypad/device.h"
#include "keypad/stroke.h"

enum { SKIPPED = 77 };

static struct libevdev_uinput *make_pad(const char *name)
{
    struct libevdev_uinput *made = NULL;
    struct libevdev *like = libevdev_new();
    libevdev_set_name(like, name);
    libevdev_enable_event_type(like, EV_KEY);
    for (unsigned code = 0; code < KEY_CNT; code++)
        if (keypad_code_key(code) != '\0')
            libevdev_enable_event_code(like, EV_KEY, code, NULL);
    int failed = libevdev_uinput_create_from_device(like, LIBEVDEV_UINPUT_OPEN_MANAGED, &made);
    libevdev_free(like);
    if (failed == 0)
        return made;
    printf("skipped: the kernel makes no pad (%s)\n", strerror(-failed));
    return NULL;
}

static void tap(struct libevdev_uinput *pad, unsigned code)
{
    for (int value = 1; value >= 0; value--) {
        libevdev_uinput_write_event(pad, EV_KEY, code, value);
        libevdev_uinput_write_event(pad, EV_SYN, SYN_REPORT, 0);
        poll(NULL, 0, 40);
    }
}

static bool wait_for_key(struct keypad_device *device, char wanted)
{
    struct pollfd ready = {.fd = keypad_device_fd(device), .events = POLLIN};
    char key;
    for (int i = 0; i < 20; i++)
        if (poll(&ready, 1, 250) > 0 && keypad_device_key(device, &key))
            return key == wanted;
    return false;
}

static int check(bool good, const char *what)
{
    printf("%s: %s\n", good ? "ok" : "FAILED", what);
    return good ? 0 : 1;
}

int main(void)
{
    static const char name[] = "midthrow test number pad";
    struct libevdev_uinput *pad = make_pad(name);
    struct fault fault = {0};
    if (pad == NULL)
        return SKIPPED;
    poll(NULL, 0, 300); /* udev makes the node */
    struct keypad_device_config config = {.pad = "test NUMBER pad"};
    struct keypad_device *device = keypad_device_create(&config, &fault);
    struct keypad_device_status status;
    keypad_device_status(device, &status);
    if (!status.pad.present) {
        printf("skipped: %s\n", status.pad.why);
        return SKIPPED;
    }
    int failed = check(strcmp(status.pad.name, name) == 0, "it is found by a part of its name");
    tap(pad, KEY_KP7);
    failed |= check(wait_for_key(device, '7'), "its keys come");
    int other = open(libevdev_uinput_get_devnode(pad), O_RDONLY | O_NONBLOCK);
    tap(pad, KEY_KP8);
    struct pollfd seen = {.fd = other, .events = POLLIN};
    failed |= check(other < 0 || poll(&seen, 1, 100) == 0, "nobody else gets them");
    failed |= check(wait_for_key(device, '8'), "and midthrow does");
    libevdev_uinput_destroy(pad);
    wait_for_key(device, '\0');
    keypad_device_status(device, &status);
    failed |= check(!status.pad.present, "its going is noticed");
    pad = make_pad(name);
    wait_for_key(device, '\0');
    tap(pad, KEY_KP9);
    failed |= check(wait_for_key(device, '9'), "and its coming back");
    keypad_device_destroy(device);
    libevdev_uinput_destroy(pad);
    if (other >= 0)
        close(other);
    return failed;
}
