/* See stream.h. */
#include "stream.h"

#include <stdlib.h>
#include <string.h>

void stream_event(struct stream *stream, int type, int code, int value)
{
    if (stream->n == sizeof stream->event / sizeof stream->event[0])
        abort();
    struct input_event *event = &stream->event[stream->n++];
    memset(event, 0, sizeof *event);
    event->input_event_sec = stream->at_ms / 1000;
    event->input_event_usec = stream->at_ms % 1000 * 1000;
    event->type = (unsigned short)type;
    event->code = (unsigned short)code;
    event->value = value;
}

void stream_key(struct stream *stream, int code, int value)
{
    if (value != 2)
        stream_event(stream, EV_MSC, MSC_SCAN, 0x70000 + code);
    stream_event(stream, EV_KEY, code, value);
    stream_event(stream, EV_SYN, SYN_REPORT, value == 2);
}

void stream_tap(struct stream *stream, int code)
{
    stream_key(stream, code, 1);
    stream->at_ms += 70;
    stream_key(stream, code, 0);
    stream->at_ms += 50;
}

void stream_type(struct stream *stream, const char *keys)
{
    static const char known[] = "0123456789./*-+\n";
    static const int codes[] = {KEY_KP0,        KEY_KP1,     KEY_KP2,    KEY_KP3,
                                KEY_KP4,        KEY_KP5,     KEY_KP6,    KEY_KP7,
                                KEY_KP8,        KEY_KP9,     KEY_KPDOT,  KEY_KPSLASH,
                                KEY_KPASTERISK, KEY_KPMINUS, KEY_KPPLUS, KEY_KPENTER};
    for (; *keys != '\0'; keys++) {
        const char *at = strchr(known, *keys);
        if (at == NULL)
            abort();
        stream_tap(stream, codes[at - known]);
    }
}
