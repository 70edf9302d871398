/*
 * What a pad or a foot switch sends (Linux input events) into the characters of the pad: 0-9 . / *
 * - + Enter and Backspace. Pure: time comes with the event.
 *
 * The kernel's codes do not know of NumLock, so a 7 is KEY_KP7 whatever its state; pads that act on
 * NumLock by themselves send KEY_HOME instead, and some are wired as the upper row, KEY_7: all are
 * the 7. A key held down counts once. Two keys that go down within KEYPAD_TOGETHER_MS, the first
 * still held, are one thick glove: neither counts, and no key does until all are up.
 */
#ifndef MIDTHROW_KEYPAD_STROKE_H
#define MIDTHROW_KEYPAD_STROKE_H

#include <linux/input.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Judgement, no source: quick fingers roll from key to key in 60 ms and more, a glove lands on two
 * within the few milliseconds between a pad's reports. */
enum { KEYPAD_TOGETHER_MS = 25 };

enum keypad_role {
    KEYPAD_KEYS,       /* a number pad */
    KEYPAD_FOOT_ENTER, /* a foot switch: whatever it sends is Enter */
    KEYPAD_FOOT_TALK,  /* a foot switch: while it is down, somebody talks */
};

/* One device's state. {.role = ...} is a good beginning. */
struct keypad_strokes {
    enum keypad_role role;
    bool held[KEY_CNT];
    size_t holding;   /* how many are held */
    int64_t down_us;  /* when the newest of them went down */
    char last;        /* the character it gave; '\0': none */
    bool together;    /* two came at once: nothing counts until all are up */
    unsigned clashes; /* times that happened */
    bool lost;        /* the kernel dropped events: skip to the next report */
};

/* The character of the pad that a code stands for, '\r' for Enter, '\b' for Backspace; '\0' for a
 * key that is none of the pad's. */
char keypad_code_key(unsigned code);

/* Takes one event. True when it gives a character: '\b' takes the one before back. */
bool keypad_stroke(struct keypad_strokes *strokes, const struct input_event *event, char *key);

/* Is the push-to-talk switch down? */
bool keypad_strokes_talk(const struct keypad_strokes *strokes);

/* All keys up: after an unplug, or when events were lost. */
void keypad_strokes_release(struct keypad_strokes *strokes);

#endif
