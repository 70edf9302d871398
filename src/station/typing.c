/* Lines typed on a terminal that has neither echo nor line editing: see input.h. */
#include <poll.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "keypad/keypad.h"
#include "station/input.h"

enum { CTRL_U = 21, CTRL_W = 23, ESCAPE = 27 };

struct station_typing {
    int fd;
    bool words, pad;
    const struct keypad_driver *driver;
    void *keys;
    const struct screen *screen;
    char line[LANGUAGE_WORDS];
    size_t used;
    char escape;   /* inside an escape sequence: the character that says which kind */
    bool returned; /* the last key was a CR: a LF right behind it belongs to it */
};

struct station_typing *station_typing_create(int fd, bool words, bool pad,
                                             const struct screen *screen, struct fault *fault)
{
    struct station_typing *typing = calloc(1, sizeof *typing);
    if (typing == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close other programs and start again.");
        return NULL;
    }
    typing->fd = fd;
    typing->words = words;
    typing->pad = pad;
    typing->screen = screen;
    typing->driver = keypad_driver_for(fd);
    if (!typing->driver->open(fd, &typing->keys, fault)) {
        free(typing);
        return NULL;
    }
    return typing;
}

/* ---- editing ------------------------------------------------------------------------------ */

/* The last character, with all bytes of it. */
static void take_back(struct station_typing *typing)
{
    while (typing->used > 0 && ((unsigned char)typing->line[--typing->used] & 0xc0) == 0x80)
        ;
    typing->line[typing->used] = '\0';
}

static void take_back_word(struct station_typing *typing)
{
    while (typing->used > 0 && typing->line[typing->used - 1] == ' ')
        take_back(typing);
    while (typing->used > 0 && typing->line[typing->used - 1] != ' ')
        take_back(typing);
}

/* Escape sequences answer nothing (ECMA-48, 5.4: ESC [ ... final; ESC O final). */
static bool in_escape(struct station_typing *typing, char key)
{
    char kind = typing->escape;
    if (key == ESCAPE)
        typing->escape = ESCAPE;
    else if (kind == ESCAPE)
        typing->escape = (char)(key == '[' || key == 'O' ? key : 0);
    else if (kind == 'O' || (kind == '[' && key >= '@' && key <= '~'))
        typing->escape = 0;
    return kind != 0 || key == ESCAPE;
}

/* True when the key ended the line. */
static bool take_key(struct station_typing *typing, char key)
{
    bool rest_of_enter = typing->returned && key == '\n';
    typing->returned = key == '\r';
    if (rest_of_enter || in_escape(typing, key))
        return false;
    if (key == '\r' || key == '\n')
        return true;
    if (key == '\b' || key == '\x7f') {
        take_back(typing);
    } else if (key == CTRL_W) {
        take_back_word(typing);
    } else if (key == CTRL_U) {
        typing->used = 0;
    } else if ((unsigned char)key >= ' ' && typing->used < sizeof typing->line - 1) {
        typing->line[typing->used++] = key;
    }
    typing->line[typing->used] = '\0';
    screen_entry(typing->screen, typing->line);
    return false;
}

/* ---- the input ---------------------------------------------------------------------------- */

static bool answer(struct station_typing *typing, const struct station_question *question,
                   struct job_event *event)
{
    bool answered = station_line_answer(typing->words, typing->pad, question, typing->line, event);
    typing->used = 0;
    typing->line[0] = '\0';
    screen_entry(typing->screen, NULL);
    return answered;
}

enum station_got station_wait_for_key(int fd, int timeout_ms, const struct screen *screen)
{
    enum { LOOK_MS = 500 };
    for (int left = timeout_ms; timeout_ms < 0 || left >= 0; left -= LOOK_MS) {
        struct pollfd waiting = {.fd = fd, .events = POLLIN};
        int slice = timeout_ms >= 0 && left < LOOK_MS ? left : LOOK_MS;
        int ready = poll(&waiting, 1, slice);
        if (ready != 0)
            return ready < 0 ? STATION_AGAIN : STATION_ANSWER;
        screen_tick(screen);
        if (timeout_ms >= 0 && left <= LOOK_MS)
            break;
    }
    return STATION_QUIET;
}

static enum station_got keys_until(struct station_typing *typing, int timeout_ms,
                                   const struct station_question *question, struct job_event *event,
                                   struct fault *fault)
{
    for (;;) {
        enum station_got ready = station_wait_for_key(typing->fd, timeout_ms, typing->screen);
        if (ready != STATION_ANSWER)
            return ready;
        char key;
        long got = typing->driver->read(typing->keys, &key, 1, fault);
        if (got < 0)
            return STATION_BROKEN;
        if (got == 0)
            return STATION_END;
        if (take_key(typing, key) && answer(typing, question, event))
            return STATION_ANSWER;
    }
}

static enum station_got next(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    int timeout_ms = question->remind_ms > 0 ? (int)question->remind_ms : -1;
    return keys_until(state, timeout_ms, question, event, fault);
}

static int fd(void *state)
{
    const struct station_typing *typing = state;
    return typing->fd;
}

static enum station_got take(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    enum station_got got = keys_until(state, 0, question, event, fault);
    return got == STATION_QUIET || got == STATION_AGAIN ? STATION_WAIT : got;
}

static void finish(void *state)
{
    struct station_typing *typing = state;
    typing->driver->close(typing->keys);
    free(typing);
}

const struct station_input station_input_typing = {
    .name = "typing",
    .next = next,
    .finish = finish,
    .fd = fd,
    .take = take,
};
