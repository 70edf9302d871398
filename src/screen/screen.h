/*
 * The screen: what is to be seen of a job while it goes on. One driver a kind of screen, each
 * ending in a const struct; the station tells it what happens and does not know how it looks.
 *
 *     struct screen screen;
 *     screen_open(&screen, &screen_plain, &config, &fault);
 *     screen_said(&screen, "Forward throw, reading 1?", false);
 *     screen_asked(&screen, &(struct screen_question){.id = "centring.forward", ...});
 *     screen_close(&screen);
 *
 * Nothing here waits, and nothing is kept: every string is the caller's again when a function
 * returns. Strings may hold what somebody outside wrote; a driver escapes what it shows.
 */
#ifndef MIDTHROW_SCREEN_SCREEN_H
#define MIDTHROW_SCREEN_SCREEN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "base/fault.h"
#include "measure/balance.h"

enum screen_colours { SCREEN_BY_ITSELF, SCREEN_LIGHT, SCREEN_DARK };

struct screen_config {
    FILE *out; /* the driver writes here and flushes; the caller closes it after screen_close */
    enum screen_colours colours;
};

/* What is asked, once its sentence is being said. */
struct screen_question {
    const char *id;      /* "centring.forward"; "" outside a job */
    const char *prompt;  /* its sentence; NULL: as before, something was said beside the question */
    const char *grammar; /* "distance" */
    const char *keys;    /* the number pad's, as keypad_keys names them */
    bool caution;        /* hands may come to harm: confirmed by its whole phrase or its two keys */
};

enum screen_source { SCREEN_BY_EAR, SCREEN_BY_TYPING, SCREEN_BY_PAD };
enum screen_verdict { SCREEN_ACCEPTED, SCREEN_UNSURE, SCREEN_REJECTED };

struct screen_heard {
    const char *words; /* "": nothing was made out */
    const char *keys;  /* of the pad: the entry itself */
    enum screen_source source;
    enum screen_verdict verdict;
    double score; /* of the ear: 0 .. 1 */
};

/* A value that was taken, or a turn that is advised: "5/16", "in", and in another unit where that
 * helps, "7.94 mm". */
struct screen_value {
    const char *what; /* above the number: "taken", "turn" */
    const char *number;
    const char *unit;
    const char *also; /* "": nothing to add */
};

/* Where rest sits between the two throws, drawn from the readings in millimetres. */
struct screen_balance {
    const struct measure_balance *balance; /* NULL: too few readings for a verdict */
    const double *forward_mm, *back_mm;
    size_t forward_n, back_n;
    double tolerance_mm; /* 0: not known yet */
};

enum screen_ear {
    SCREEN_EAR_NONE,   /* no microphone is used */
    SCREEN_EAR_OPEN,   /* it listens */
    SCREEN_EAR_CLOSED, /* it does not listen just now: midthrow speaks */
    SCREEN_EAR_PAD,    /* it is not believed: number pad only */
};

/* Of the microphone, decibels below full scale (0 is the loudest there is), as root mean square. */
struct screen_level {
    enum screen_ear ear;
    double level_db; /* just now */
    double noise_db; /* the floor */
    bool clipping;   /* too loud for the converter within the last moments */
};

struct screen_progress {
    const char *phase; /* "pawl check" */
    const char *order; /* the work order; "": none */
    int round;         /* adjusting round, from 1; 0 outside them */
    size_t answers;
};

/* A driver. `open`, `said`, `asked`, `heard` and `close` are mandatory, the rest may be NULL: what
 * such a member tells is then not shown. `close` is given the state that `open` made and puts the
 * terminal back as it was. */
struct screen_driver {
    const char *name; /* "plain", "big" */
    bool (*open)(const struct screen_config *config, void **state, struct fault *fault);
    void (*said)(void *state, const char *sentence, bool caution);
    void (*asked)(void *state, const struct screen_question *question);
    void (*heard)(void *state, const struct screen_heard *heard);
    void (*value)(void *state, const struct screen_value *value);
    void (*balance)(void *state, const struct screen_balance *balance);
    void (*level)(void *state, const struct screen_level *level); /* many times a second */
    void (*entry)(void *state, const char *typed); /* so far; NULL: it was sent or given up */
    void (*progress)(void *state, const struct screen_progress *progress);
    void (*finished)(void *state, bool closed); /* the job is closed, or put away */
    void (*tick)(void *state); /* nothing happened, or a signal came: look at the window */
    void (*close)(void *state);
};

/* Lines, one after another: for pipes, screen readers and logs. */
extern const struct screen_driver screen_plain;

/* The whole terminal, to be read from afar: big letters, light or dark. `out` must be a terminal
 * that can be drawn on; else it is FAULT_MISSING, and the plain one serves. */
extern const struct screen_driver screen_big;

struct screen {
    const struct screen_driver *driver; /* NULL: there is no screen, and nothing is shown */
    void *state;
};

bool screen_open(struct screen *screen, const struct screen_driver *driver,
                 const struct screen_config *config, struct fault *fault);
void screen_close(struct screen *screen); /* also one that was never opened, or twice */

void screen_said(const struct screen *screen, const char *sentence, bool caution);
void screen_asked(const struct screen *screen, const struct screen_question *question);
void screen_heard(const struct screen *screen, const struct screen_heard *heard);
void screen_value(const struct screen *screen, const struct screen_value *value);
void screen_balance(const struct screen *screen, const struct screen_balance *balance);
void screen_level(const struct screen *screen, const struct screen_level *level);
void screen_entry(const struct screen *screen, const char *typed);
void screen_progress(const struct screen *screen, const struct screen_progress *progress);
void screen_finished(const struct screen *screen, bool closed);
void screen_tick(const struct screen *screen);

const char *screen_verdict_name(enum screen_verdict verdict); /* "accepted", "unsure", "rejected" */

#endif
