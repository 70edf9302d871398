/* Input events as a pad sends them, for tests: each press with its scan code and its report, as the
 * kernel's HID driver writes them. */
#ifndef MIDTHROW_TESTS_KEYPAD_STREAM_H
#define MIDTHROW_TESTS_KEYPAD_STREAM_H

#include <linux/input.h>
#include <stddef.h>
#include <stdint.h>

struct stream {
    struct input_event event[4096];
    size_t n;
    int64_t at_ms; /* of the next event */
};

void stream_event(struct stream *stream, int type, int code, int value);
void stream_key(struct stream *stream, int code, int value); /* MSC_SCAN, EV_KEY, SYN_REPORT */
void stream_tap(struct stream *stream, int code);            /* down, 70 ms, up, 50 ms */

/* Taps KEY_KP* for 0-9 . / * - +, KEY_KPENTER for a newline. */
void stream_type(struct stream *stream, const char *keys);

#endif
