/* Pads and foot switches by libevdev: see device.h. libevdev finds and holds a device; its events
 * are read here, one at a time, in the same way as those of a recorded stream. */
#include "keypad/device.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <libevdev/libevdev.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/epoll.h>
#include <sys/stat.h>
#include <sys/timerfd.h>
#include <unistd.h>

#include "base/text.h"
#include "keypad/stroke.h"

enum { PORTS = 2, PAD = 0, FOOT = 1, NODES_MAX = 64, LOOK_AGAIN_S = 1 };
static const char DEFAULT_FOLDER[] = "/dev/input";

/* One device that is wanted, there or not. */
struct port {
    const char *wanted; /* NULL: none */
    int fd;             /* -1: away */
    struct libevdev *evdev;
    struct keypad_strokes strokes;
    char name[KEYPAD_DEVICE_NAME];
    char path[KEYPAD_DEVICE_PATH];
    char why[256];
};

struct keypad_device {
    const char *folder;
    int epoll, timer;
    struct port port[PORTS];
};

/* ---- what there is ------------------------------------------------------------------------ */

struct nodes {
    char path[NODES_MAX][KEYPAD_DEVICE_PATH];
    int number[NODES_MAX];
    size_t n;
};

/* 12 of "event12"; -1 when it is no such name. */
static int node_number(const char *name)
{
    size_t digits = strncmp(name, "event", 5) == 0 ? strspn(name + 5, "0123456789") : 0;
    return digits > 0 && digits < 7 && name[5 + digits] == '\0' ? (int)strtol(name + 5, NULL, 10)
                                                                : -1;
}

/* The folder's event devices in the order of their numbers, which is the order of plugging in. */
static void find_nodes(const char *folder, struct nodes *nodes)
{
    nodes->n = 0;
    DIR *open = opendir(folder);
    const struct dirent *entry;
    while (open != NULL && (entry = readdir(open)) != NULL && nodes->n < NODES_MAX) {
        int number = node_number(entry->d_name);
        if (number < 0)
            continue;
        size_t at = nodes->n;
        for (; at > 0 && nodes->number[at - 1] > number; at--) {
            nodes->number[at] = nodes->number[at - 1];
            memcpy(nodes->path[at], nodes->path[at - 1], KEYPAD_DEVICE_PATH);
        }
        struct text path = text_into(nodes->path[at], KEYPAD_DEVICE_PATH);
        text_addf(&path, "%s/%s", folder, entry->d_name);
        nodes->number[at] = number;
        nodes->n++;
    }
    if (open != NULL)
        closedir(open);
}

static bool has_key(const struct libevdev *evdev, unsigned code)
{
    return libevdev_has_event_code(evdev, EV_KEY, code) == 1;
}

/* Ten digits and an Enter, whichever of their codes. */
static bool is_pad(const struct libevdev *evdev)
{
    bool key[128] = {false};
    for (unsigned code = 0; code < KEY_CNT; code++)
        if (has_key(evdev, code))
            key[(unsigned char)keypad_code_key(code) & 127u] = true;
    for (int digit = '0'; digit <= '9'; digit++)
        if (!key[digit])
            return false;
    return key['\r'];
}

size_t keypad_device_list(const char *folder, struct keypad_found *found, size_t most)
{
    struct nodes *nodes = malloc(sizeof *nodes);
    size_t n = 0;
    if (nodes == NULL)
        return 0;
    find_nodes(folder != NULL ? folder : DEFAULT_FOLDER, nodes);
    for (size_t i = 0; i < nodes->n && n < most; i++) {
        struct keypad_found *one = &found[n];
        struct libevdev *evdev = NULL;
        *one = (struct keypad_found){.readable = false};
        text_copy(one->path, sizeof one->path, nodes->path[i]);
        int fd = open(nodes->path[i], O_RDONLY | O_NONBLOCK | O_CLOEXEC);
        bool refused = fd < 0 && errno == EACCES;
        if (fd >= 0 && libevdev_new_from_fd(fd, &evdev) == 0) {
            one->readable = true;
            one->pad = is_pad(evdev);
            text_copy(one->name, sizeof one->name, libevdev_get_name(evdev));
        }
        if (refused || (evdev != NULL && libevdev_has_event_type(evdev, EV_KEY) == 1))
            n++;
        libevdev_free(evdev);
        if (fd >= 0)
            close(fd);
    }
    free(nodes);
    return n;
}

/* ---- one device --------------------------------------------------------------------------- */

static bool away(struct port *port, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Why it is not there; a name that is too long is cut. */
static bool away(struct port *port, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(port->why, sizeof port->why, format, arguments);
    va_end(arguments);
    return false;
}

static void put_away(struct port *port)
{
    if (port->fd >= 0)
        close(port->fd); /* the grab and the place in epoll go with it */
    libevdev_free(port->evdev);
    port->evdev = NULL;
    port->fd = -1;
    keypad_strokes_release(&port->strokes);
}

/* Takes an open device that fits: nobody else gets its keys from now on. */
static bool hold(struct port *port, const char *path)
{
    text_copy(port->path, sizeof port->path, path);
    text_copy(port->name, sizeof port->name, libevdev_get_name(port->evdev));
    if (libevdev_grab(port->evdev, LIBEVDEV_GRAB) == 0)
        return true;
    put_away(port);
    return away(port, "'%s' is held by another program: close that one.", port->name);
}

static bool is_part(const char *name, const char *part)
{
    size_t length = strlen(part);
    for (; *name != '\0'; name++)
        if (strncasecmp(name, part, length) == 0)
            return true;
    return false;
}

static bool open_named(struct port *port, const struct port *other, const char *folder)
{
    bool refused = false;
    struct nodes *nodes = malloc(sizeof *nodes);
    if (nodes == NULL)
        return away(port, "no memory is left for the number pad.");
    find_nodes(folder, nodes);
    bool found = false, held = false;
    for (size_t i = 0; i < nodes->n && !found; i++) {
        if (other->fd >= 0 && strcmp(other->path, nodes->path[i]) == 0)
            continue;
        port->fd = open(nodes->path[i], O_RDONLY | O_NONBLOCK | O_CLOEXEC);
        refused |= port->fd < 0 && errno == EACCES;
        found = port->fd >= 0 && libevdev_new_from_fd(port->fd, &port->evdev) == 0 &&
                is_part(libevdev_get_name(port->evdev), port->wanted) &&
                (port->strokes.role == KEYPAD_KEYS ? is_pad(port->evdev)
                                                   : libevdev_has_event_type(port->evdev, EV_KEY));
        if (found)
            held = hold(port, nodes->path[i]);
        else
            put_away(port);
    }
    free(nodes);
    if (found)
        return held;
    if (refused)
        return away(port,
                    "some input devices may not be read, '%s' may be among them: add the "
                    "user to the group 'input' and log in again.",
                    port->wanted);
    return away(port,
                "there is no input device '%s' with the keys it needs: plug it in, or see "
                "'midthrow devices'.",
                port->wanted);
}

static bool open_path(struct port *port)
{
    struct stat status;
    text_copy(port->name, sizeof port->name, port->wanted);
    port->fd = open(port->wanted, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (port->fd < 0)
        return away(port, "cannot open '%s' (%s): plug it in, or mend its permissions.",
                    port->wanted, strerror(errno));
    if (fstat(port->fd, &status) == 0 && S_ISFIFO(status.st_mode))
        return true;
    if (libevdev_new_from_fd(port->fd, &port->evdev) == 0)
        return hold(port, port->wanted);
    put_away(port);
    return away(port, "'%s' is no input device: see 'midthrow devices'.", port->wanted);
}

static void look(struct keypad_device *device, int which)
{
    struct port *port = &device->port[which];
    if (port->wanted == NULL || port->fd >= 0)
        return;
    bool path = strchr(port->wanted, '/') != NULL;
    if (!(path ? open_path(port) : open_named(port, &device->port[1 - which], device->folder)))
        return;
    struct epoll_event ready = {.events = EPOLLIN, .data.u32 = (uint32_t)which};
    if (epoll_ctl(device->epoll, EPOLL_CTL_ADD, port->fd, &ready) == 0) {
        port->why[0] = '\0';
        return;
    }
    put_away(port);
    away(port, "'%s' cannot be waited for (%s): give another device.", port->wanted,
         strerror(errno));
}

/* The timer runs while something is away. */
static void look_for_all(struct keypad_device *device)
{
    bool all = true;
    look(device, FOOT); /* first: a switch may bear the pad's name, and the pad needs more keys */
    look(device, PAD);
    for (int i = 0; i < PORTS; i++)
        all = all && (device->port[i].wanted == NULL || device->port[i].fd >= 0);
    struct itimerspec when = {.it_value.tv_sec = all ? 0 : LOOK_AGAIN_S};
    timerfd_settime(device->timer, 0, &when, NULL);
}

/* ---- both --------------------------------------------------------------------------------- */

struct keypad_device *keypad_device_create(const struct keypad_device_config *config,
                                           struct fault *fault)
{
    struct keypad_device *device = calloc(1, sizeof *device);
    if (device == NULL) {
        fault_set(fault, FAULT_FAILED, "no memory is left for the number pad.");
        return NULL;
    }
    device->folder = config->folder != NULL ? config->folder : DEFAULT_FOLDER;
    device->port[PAD] = (struct port){.wanted = config->pad, .fd = -1};
    device->port[FOOT] = (struct port){.wanted = config->foot, .fd = -1};
    device->port[FOOT].strokes.role = config->foot_talks ? KEYPAD_FOOT_TALK : KEYPAD_FOOT_ENTER;
    device->epoll = epoll_create1(EPOLL_CLOEXEC);
    device->timer = timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC);
    struct epoll_event ready = {.events = EPOLLIN, .data.u32 = PORTS};
    if (device->epoll < 0 || device->timer < 0 ||
        epoll_ctl(device->epoll, EPOLL_CTL_ADD, device->timer, &ready) != 0) {
        fault_set(fault, FAULT_FAILED,
                  "the number pad cannot be waited for (%s): close other "
                  "programs and start again.",
                  strerror(errno));
        keypad_device_destroy(device);
        return NULL;
    }
    look_for_all(device);
    return device;
}

void keypad_device_destroy(struct keypad_device *device)
{
    if (device == NULL)
        return;
    for (int i = 0; i < PORTS; i++)
        put_away(&device->port[i]);
    if (device->timer >= 0)
        close(device->timer);
    if (device->epoll >= 0)
        close(device->epoll);
    free(device);
}

int keypad_device_fd(const struct keypad_device *device)
{
    return device->epoll;
}

/* One event at a time; what is left stays with the kernel and keeps the descriptor readable. */
static bool port_key(struct port *port, char *key)
{
    struct input_event event;
    while (port->fd >= 0) {
        ssize_t got = read(port->fd, &event, sizeof event);
        if (got == (ssize_t)sizeof event) {
            if (keypad_stroke(&port->strokes, &event, key))
                return true;
        } else if (got < 0 && (errno == EAGAIN || errno == EINTR)) {
            return false;
        } else {
            put_away(port); /* ENODEV: unplugged; 0: the stream's writer has gone */
            away(port, "'%.100s' was unplugged: plug it in again.", port->name);
        }
    }
    return false;
}

bool keypad_device_key(struct keypad_device *device, char *key)
{
    uint64_t times;
    for (int i = 0; i < PORTS; i++) {
        bool was_there = device->port[i].fd >= 0;
        if (port_key(&device->port[i], key))
            return true;
        if (was_there && device->port[i].fd < 0)
            look_for_all(device);
    }
    if (read(device->timer, &times, sizeof times) == (ssize_t)sizeof times)
        look_for_all(device);
    return false;
}

bool keypad_device_talks(const struct keypad_device *device)
{
    return keypad_strokes_talk(&device->port[FOOT].strokes);
}

static struct keypad_device_state state_of(const struct port *port)
{
    struct keypad_device_state state = {.wanted = port->wanted != NULL, .present = port->fd >= 0};
    text_copy(state.name, sizeof state.name, port->name);
    text_copy(state.why, sizeof state.why, port->why);
    return state;
}

void keypad_device_status(const struct keypad_device *device, struct keypad_device_status *status)
{
    *status = (struct keypad_device_status){
        .pad = state_of(&device->port[PAD]),
        .foot = state_of(&device->port[FOOT]),
        .clashes = device->port[PAD].strokes.clashes,
    };
}
