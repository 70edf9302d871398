/* The number pad on a terminal: keys one by one, shown as they are typed, Enter ends an entry. */
#include <poll.h>
#include <stdlib.h>

#include "base/text.h"
#include "keypad/keypad.h"
#include "station/input.h"

struct station_pad {
    int fd;
    const struct keypad_driver *driver;
    void *keys;
    struct keypad_line line;
    const struct screen *screen;
};

struct station_pad *station_pad_create(int fd, const struct screen *screen, struct fault *fault)
{
    struct station_pad *pad = calloc(1, sizeof *pad);
    if (pad == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close other programs and start again.");
        return NULL;
    }
    pad->fd = fd;
    pad->screen = screen;
    pad->driver = keypad_driver_for(fd);
    if (!pad->driver->open(fd, &pad->keys, fault)) {
        free(pad);
        return NULL;
    }
    keypad_line_init(&pad->line);
    return pad;
}

bool station_pad_answer(struct keypad_line *line, const struct screen *screen,
                        const struct station_question *question, struct job_event *event)
{
    char why[LANGUAGE_WHY];
    enum keypad_outcome outcome = keypad_entry(question->grammar, line->entry, event->words, why);
    event->source = JOB_BY_PAD;
    event->verdict = JOB_ACCEPTED;
    event->score = 1;
    text_copy(event->keys, sizeof event->keys, line->entry);
    keypad_line_init(line);
    screen_entry(screen, NULL);
    return outcome != KEYPAD_EMPTY;
}

/* One key a read: what follows an Enter belongs to the next question. */
static enum station_got take_key(struct station_pad *pad, const struct station_question *question,
                                 struct job_event *event, struct fault *fault)
{
    char key;
    long got = pad->driver->read(pad->keys, &key, 1, fault);
    if (got < 0)
        return STATION_BROKEN;
    if (got == 0)
        return STATION_END;
    bool entered = keypad_line_key(&pad->line, key);
    if (!entered)
        screen_entry(pad->screen, pad->line.entry);
    return entered && station_pad_answer(&pad->line, pad->screen, question, event) ? STATION_ANSWER
                                                                                   : STATION_WAIT;
}

static enum station_got next(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    struct station_pad *pad = state;
    for (;;) {
        int timeout_ms = question->remind_ms > 0 ? (int)question->remind_ms : -1;
        enum station_got got = station_wait_for_key(pad->fd, timeout_ms, pad->screen);
        if (got == STATION_ANSWER)
            got = take_key(pad, question, event, fault);
        if (got != STATION_WAIT)
            return got;
    }
}

static int descriptor(void *state)
{
    const struct station_pad *pad = state;
    return pad->fd;
}

static enum station_got take(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    struct station_pad *pad = state;
    struct pollfd readable = {.fd = pad->fd, .events = POLLIN};
    enum station_got got = STATION_WAIT;
    while (got == STATION_WAIT && poll(&readable, 1, 0) > 0)
        got = take_key(pad, question, event, fault);
    return got;
}

static void finish(void *state)
{
    struct station_pad *pad = state;
    pad->driver->close(pad->keys);
    free(pad);
}

const struct station_input station_input_pad = {
    .name = "pad",
    .next = next,
    .finish = finish,
    .fd = descriptor,
    .take = take,
};
