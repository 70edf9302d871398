/* Keys from a terminal, one by one and unseen: line editing and echo are off while it is open. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>

#include "keypad/descriptor.h"
#include "keypad/keypad.h"

enum { CTRL_D = 4 };

struct terminal {
    int fd;
    bool ended; /* Ctrl-D was read */
    struct termios before;
};

static bool terminal_open(int fd, void **state, struct fault *fault)
{
    struct terminal *terminal = malloc(sizeof *terminal);
    if (terminal == NULL)
        return fault_set(fault, FAULT_FAILED, "No memory is left for the number pad.");
    *terminal = (struct terminal){.fd = fd};
    bool read = tcgetattr(fd, &terminal->before) == 0;
    struct termios keys = terminal->before;
    keys.c_lflag &= ~(tcflag_t)(ICANON | ECHO); /* ISIG stays: Ctrl-C is no key */
    keys.c_cc[VMIN] = 1;
    keys.c_cc[VTIME] = 0;
    /* At once: waiting for a stuck terminal's output could take for ever, here and in close. */
    if (!read || tcsetattr(fd, TCSANOW, &keys) != 0) {
        fault_set(fault, FAULT_MISSING,
                  "The terminal does not give single keys: %s. Send them through a pipe.",
                  strerror(errno));
        free(terminal);
        return false;
    }
    *state = terminal;
    return true;
}

/* Without line editing Ctrl-D comes as a character and has to be told from the keys. */
static long terminal_read(void *state, char *keys, size_t size, struct fault *fault)
{
    struct terminal *terminal = state;
    if (terminal->ended)
        return 0;
    long n = keypad_descriptor_read(terminal->fd, keys, size, fault);
    const char *end = n > 0 ? memchr(keys, CTRL_D, (size_t)n) : NULL;
    if (end == NULL)
        return n;
    terminal->ended = true;
    return end - keys;
}

static void terminal_close(void *state)
{
    struct terminal *terminal = state;
    if (terminal == NULL)
        return;
    /* A terminal that is gone cannot be given back; there is nobody left to tell. */
    (void)tcsetattr(terminal->fd, TCSANOW, &terminal->before);
    free(terminal);
}

const struct keypad_driver keypad_driver_terminal = {
    .name = "terminal",
    .open = terminal_open,
    .read = terminal_read,
    .close = terminal_close,
};
