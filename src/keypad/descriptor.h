/*
 * Reading keys from a file descriptor, shared by the drivers of keypad/.
 */
#ifndef MIDTHROW_KEYPAD_DESCRIPTOR_H
#define MIDTHROW_KEYPAD_DESCRIPTOR_H

#include <stddef.h>

#include "base/fault.h"

/* Waits for at least one character; `size` > 0. Characters read, 0 at the end, -1 with a fault. A
 * descriptor that does not block is waited for. */
long keypad_descriptor_read(int fd, char *keys, size_t size, struct fault *fault);

#endif
