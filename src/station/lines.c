/* Answers a line at a time, from a terminal or a pipe: words, number-pad entries, or both. */
#include <errno.h>
#include <poll.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "keypad/keypad.h"
#include "station/input.h"

void station_lines_init(struct station_lines *lines, int fd, bool words, bool pad)
{
    memset(lines, 0, sizeof *lines);
    lines->fd = fd;
    lines->words = words;
    lines->pad = pad;
    lines->reminds = isatty(fd) == 1;
}

static void drop(struct station_lines *lines, size_t n)
{
    lines->used -= n;
    memmove(lines->buffer, lines->buffer + n, lines->used);
}

/* Takes one line out of the buffer. The last one need not end in a newline; of one that is longer
 * than the buffer the beginning counts, and what follows up to its newline is dropped. */
static bool take_line(struct station_lines *lines, char *out, size_t size)
{
    char *newline = memchr(lines->buffer, '\n', lines->used);
    size_t length = newline != NULL ? (size_t)(newline - lines->buffer) : lines->used;
    bool full = length == sizeof lines->buffer;
    bool last = lines->ended && length > 0;
    if (newline == NULL && !full && !last)
        return false;
    bool rest_of_a_long_one = lines->skipping;
    lines->skipping = newline == NULL && full;
    struct text text = text_into(out, size);
    text_add_n(&text, lines->buffer, length);
    if (text.used > 0 && out[text.used - 1] == '\r')
        out[text.used - 1] = '\0';
    drop(lines, newline != NULL ? length + 1 : length);
    if (rest_of_a_long_one)
        out[0] = '\0'; /* an empty line answers nothing */
    return true;
}

static enum station_got read_more(struct station_lines *lines, struct fault *fault)
{
    ssize_t got = read(lines->fd, lines->buffer + lines->used, sizeof lines->buffer - lines->used);
    if (got < 0 && errno == EINTR)
        return STATION_AGAIN;
    if (got < 0) {
        fault_set(fault, FAULT_FAILED,
                  "cannot read the answers (%s): the job is kept, start again.", strerror(errno));
        return STATION_BROKEN;
    }
    lines->ended = got == 0;
    lines->used += (size_t)got;
    return STATION_ANSWER;
}

static enum station_got fill_buffer(struct station_lines *lines, int64_t remind_ms,
                                    struct fault *fault)
{
    struct pollfd waiting = {.fd = lines->fd, .events = POLLIN};
    int timeout = lines->reminds && remind_ms > 0 ? (int)remind_ms : -1;
    int ready = poll(&waiting, 1, timeout);
    if (ready == 0)
        return STATION_QUIET;
    if (ready < 0 && errno == EINTR)
        return STATION_AGAIN;
    return read_more(lines, fault);
}

static bool is_pad_entry(const char *line)
{
    return strspn(line, "0123456789./*-+ ") == strlen(line);
}

bool station_line_answer(bool words, bool pad, const struct station_question *question,
                         const char *line, struct job_event *event)
{
    event->verdict = JOB_ACCEPTED;
    event->score = 1;
    if (!pad || (words && !is_pad_entry(line))) {
        event->source = JOB_BY_TYPING;
        text_copy(event->words, sizeof event->words, line);
        return line[0] != '\0';
    }
    event->source = JOB_BY_PAD;
    struct keypad_line keys;
    keypad_line_init(&keys);
    for (const char *key = line; *key != '\0'; key++)
        if (*key != ' ')
            keypad_line_key(&keys, *key);
    text_copy(event->keys, sizeof event->keys, keys.entry);
    char why[LANGUAGE_WHY];
    if (keys.dropped > 0 || keys.overflowed)
        text_copy(event->words, sizeof event->words, line);
    else if (keypad_entry(question->grammar, keys.entry, event->words, why) == KEYPAD_EMPTY)
        return false;
    return true;
}

static int descriptor(void *state)
{
    const struct station_lines *lines = state;
    return lines->ended ? -1 : lines->fd;
}

static enum station_got take(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    struct station_lines *lines = state;
    char line[LANGUAGE_WORDS];
    for (;;) {
        while (take_line(lines, line, sizeof line))
            if (station_line_answer(lines->words, lines->pad, question, line, event))
                return STATION_ANSWER;
        if (lines->ended)
            return STATION_END;
        struct pollfd readable = {.fd = lines->fd, .events = POLLIN};
        if (poll(&readable, 1, 0) <= 0)
            return STATION_WAIT;
        enum station_got got = read_more(lines, fault);
        if (got != STATION_ANSWER)
            return got;
    }
}

static enum station_got next(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    struct station_lines *lines = state;
    char line[LANGUAGE_WORDS];
    for (;;) {
        while (take_line(lines, line, sizeof line))
            if (station_line_answer(lines->words, lines->pad, question, line, event))
                return STATION_ANSWER;
        if (lines->ended)
            return STATION_END;
        enum station_got got = fill_buffer(lines, question->remind_ms, fault);
        if (got != STATION_ANSWER)
            return got;
    }
}

static void finish(void *state)
{
    (void)state;
}

const struct station_input station_input_lines = {
    .name = "lines",
    .next = next,
    .finish = finish,
    .fd = descriptor,
    .take = take,
};
