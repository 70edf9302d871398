/* Keys from any file descriptor: a pipe, a file, a socket. */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "keypad/descriptor.h"
#include "keypad/keypad.h"

long keypad_descriptor_read(int fd, char *keys, size_t size, struct fault *fault)
{
    for (;;) {
        ssize_t n = read(fd, keys, size);
        if (n >= 0)
            return (long)n;
        if (errno == EAGAIN || errno == EWOULDBLOCK) {
            struct pollfd waiting = {.fd = fd, .events = POLLIN};
            if (poll(&waiting, 1, -1) >= 0)
                continue;
        }
        if (errno == EINTR)
            continue;
        fault_set(fault, FAULT_FAILED,
                  "The keys cannot be read any more: %s. Start midthrow again.", strerror(errno));
        return -1;
    }
}

static bool pipe_open(int fd, void **state, struct fault *fault)
{
    int *kept = NULL;
    if (fcntl(fd, F_GETFD) < 0)
        return fault_set(fault, FAULT_MISSING, "There is no input to read keys from: %s.",
                         strerror(errno));
    kept = malloc(sizeof *kept);
    if (kept == NULL)
        return fault_set(fault, FAULT_FAILED, "No memory is left for the number pad.");
    *kept = fd;
    *state = kept;
    return true;
}

static long pipe_read(void *state, char *keys, size_t size, struct fault *fault)
{
    return keypad_descriptor_read(*(const int *)state, keys, size, fault);
}

static void pipe_close(void *state)
{
    free(state);
}

const struct keypad_driver keypad_driver_pipe = {
    .name = "pipe",
    .open = pipe_open,
    .read = pipe_read,
    .close = pipe_close,
};
