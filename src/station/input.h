/*
 * Where answers come from. One driver a file, each ending in a const struct; the station asks them
 * in turn: recordings first, then typed lines or the number pad.
 */
#ifndef MIDTHROW_STATION_INPUT_H
#define MIDTHROW_STATION_INPUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"
#include "job/job.h"
#include "keypad/keypad.h"
#include "screen/screen.h"
#include "speech/recogniser.h"

/* What is being asked: the grammar the answer is awaited in, and for cautions the phrase. */
struct station_question {
    const char *grammar;
    enum language_phrase phrase;
    int64_t remind_ms; /* how long to wait before reminding; 0: for ever */
};

enum station_got {
    STATION_ANSWER, /* `event` holds it (all but its time) */
    STATION_QUIET,  /* nothing was said for remind_ms */
    STATION_AGAIN,  /* a signal came: see whether to stop, then ask again */
    STATION_END,    /* this input has no more answers */
    STATION_BROKEN, /* see the fault */
    STATION_WAIT,   /* of `take`: no whole answer yet */
};

/* `next` and `finish` are mandatory. `next` may be called again after STATION_QUIET and
 * STATION_AGAIN. An input that can be waited for beside others (a live microphone, a second pad)
 * has `fd` and `take` as well: the station polls the descriptor and calls `take`, which never
 * blocks, when it is readable and whenever else it likes. */
struct station_input {
    const char *name;
    enum station_got (*next)(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault);
    void (*finish)(void *state);
    int (*fd)(void *state); /* -1: nothing to poll just now */
    enum station_got (*take)(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault);
};

/* Recordings, one an answer, through the recogniser. `paths` must outlive the input. */
struct station_ears {
    struct speech_recogniser *recogniser;
    char *const *paths;
    size_t n;
    size_t at;
};
extern const struct station_input station_input_recordings;

/* Lines of a file descriptor: words, number-pad entries, or both (a line of the pad's characters
 * alone is then an entry). On a terminal it reminds; from a pipe it never does. */
struct station_lines {
    int fd;
    bool words;
    bool pad;
    bool reminds;
    char buffer[4096];
    size_t used;
    bool ended;
    bool skipping; /* within a line longer than the buffer */
};
/* What one line answers, words or pad entry: true when `event` holds it, false when it is empty. */
bool station_line_answer(bool words, bool pad, const struct station_question *question,
                         const char *line, struct job_event *event);
void station_lines_init(struct station_lines *lines, int fd, bool words, bool pad);
extern const struct station_input station_input_lines;

/* What every pad makes of a whole entry: the event, and an empty line again. False when the entry
 * was empty and answers nothing. */
bool station_pad_answer(struct keypad_line *line, const struct screen *screen,
                        const struct station_question *question, struct job_event *event);

/* The number pad on a terminal in raw mode; the screen, which must outlive it, shows the entry as
 * it is typed. */
struct station_pad;
struct station_pad *station_pad_create(int fd, const struct screen *screen, struct fault *fault);
extern const struct station_input station_input_pad;

/* Waits for a key: STATION_ANSWER when one lies there, STATION_QUIET after `timeout_ms` (-1:
 * never), STATION_AGAIN when a signal came. The screen looks at its window now and then meanwhile:
 * a signal that came just before the wait would not end it. */
enum station_got station_wait_for_key(int fd, int timeout_ms, const struct screen *screen);

/* The same lines typed on a terminal that the big screen has taken over: key by key, since there is
 * no echo and no line editing. Backspace, Ctrl-U and Ctrl-W take back; the screen, which must
 * outlive it, shows the line as it is typed. */
struct station_typing;
struct station_typing *station_typing_create(int fd, bool words, bool pad,
                                             const struct screen *screen, struct fault *fault);
extern const struct station_input station_input_typing;

#endif
