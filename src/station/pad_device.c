/* A number pad and a foot switch of their own as an input: see pad_device.h. */
#include "station/pad_device.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>

#include "base/text.h"
#include "keypad/keypad.h"

struct station_pad_device {
    struct keypad_device *device;
    struct keypad_line line;
    const struct screen *screen;
    bool talks; /* as last told */
    void (*talk)(void *context, bool down);
    void *talk_context;
};

struct station_pad_device *station_pad_device_create(const struct keypad_device_config *config,
                                                     const struct screen *screen,
                                                     struct fault *fault)
{
    struct station_pad_device *pad = calloc(1, sizeof *pad);
    if (pad == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close other programs and start again.");
        return NULL;
    }
    pad->screen = screen;
    pad->device = keypad_device_create(config, fault);
    if (pad->device == NULL) {
        free(pad);
        return NULL;
    }
    keypad_line_init(&pad->line);
    return pad;
}

void station_pad_device_on_talk(struct station_pad_device *pad,
                                void (*talk)(void *context, bool down), void *context)
{
    pad->talk = talk;
    pad->talk_context = context;
}

void station_pad_device_status(const struct station_pad_device *pad,
                               struct keypad_device_status *status)
{
    keypad_device_status(pad->device, status);
}

static void tell_talk(struct station_pad_device *pad)
{
    bool talks = keypad_device_talks(pad->device);
    if (talks == pad->talks)
        return;
    pad->talks = talks;
    if (pad->talk != NULL)
        pad->talk(pad->talk_context, talks);
}

/* One key at a time: what follows an Enter belongs to the next question. */
static enum station_got take(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    struct station_pad_device *pad = state;
    (void)fault;
    for (char key; keypad_device_key(pad->device, &key);) {
        if (!keypad_line_key(&pad->line, key))
            screen_entry(pad->screen, pad->line.entry);
        else if (station_pad_answer(&pad->line, pad->screen, question, event))
            return STATION_ANSWER;
    }
    tell_talk(pad);
    return STATION_WAIT;
}

static int descriptor(void *state)
{
    const struct station_pad_device *pad = state;
    return keypad_device_fd(pad->device);
}

static enum station_got next(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    int timeout = question->remind_ms > 0 ? (int)question->remind_ms : -1;
    struct pollfd waiting = {.fd = descriptor(state), .events = POLLIN};
    for (;;) {
        int ready = poll(&waiting, 1, timeout);
        if (ready == 0)
            return STATION_QUIET;
        if (ready < 0)
            return STATION_AGAIN;
        enum station_got got = take(state, question, event, fault);
        if (got != STATION_WAIT)
            return got;
    }
}

static void finish(void *state)
{
    struct station_pad_device *pad = state;
    keypad_device_destroy(pad->device);
    free(pad);
}

const struct station_input station_input_pad_device = {
    .name = "pad device",
    .next = next,
    .finish = finish,
    .fd = descriptor,
    .take = take,
};
