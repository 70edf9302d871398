/*
 * The number pad: 0-9 . / * - + Enter answer every question.
 *
 * An *entry* is what is typed up to Enter. It is turned into the words a voice would have said, so
 * that the job, the journal and the transcript know one kind of answer only.
 *
 * At every question (an entry of these keys alone):
 *     -   go back      +   say again     *   help        /   where are we
 *     .   don't know   ..  skip          **  keypad      --  stop
 *     ++  why it thinks so                   *+  use the microphone again
 *     /+  louder       /-  quieter         .+  faster      .-  slower
 *     //  anywhere in an entry clears it
 *
 * distance   5/16  1+5/16  .31  1.0  inches;  310-  thousandths;  7.9*  millimetres
 * turn       1  turned as told;  0  not turned;  1/16+  clockwise;  1/16-  counter-clockwise
 * turns      1/2  1+1/2  2;  volume  950*  millilitres;  32-  fluid ounces;  ratio  1.5
 * torque     24*  newton metres;  18-  foot pounds;  160+  inch pounds
 * yes or no  1  yes;  2  no
 * choice     its number, counted from 1;  choices: their digits together, 0 for none: 13
 * number, digits   as they are; a work order may have . / - between digits
 * caution    the two keys shown, different for each caution;  0  not yet
 *
 * A bare whole number is no distance: 7 could be anything, so 7- or 7* or 7.0 is asked for.
 */
#ifndef MIDTHROW_KEYPAD_KEYPAD_H
#define MIDTHROW_KEYPAD_KEYPAD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "language/language.h"

/* Terminator counted; an entry that fills it is too long for any answer. */
enum { KEYPAD_ENTRY = 48 };

enum keypad_outcome {
    KEYPAD_WORDS, /* `words` holds what was answered */
    KEYPAD_EMPTY, /* Enter alone, or cleared: nothing was answered */
    KEYPAD_BAD,   /* `why` says which keys this question takes */
};

/* One whole entry, without its Enter. `words` is LANGUAGE_WORDS bytes, `why` LANGUAGE_WHY. A bad
 * entry's words are the entry itself, cut at KEYPAD_ENTRY and its characters that are no keys shown
 * as '?'. What stands before a `//` does not count. */
enum keypad_outcome keypad_entry(const char *grammar, const char *entry, char *words, char *why);

/* The keys of this question as shown and said: "1 hard to find, 2 false neutral, 3 both of them".
 * For "caution" the code of `phrase` is named; other grammars ignore it. */
void keypad_keys(const char *grammar, enum language_phrase phrase, char *out, size_t size);

/* The two keys of a phrase, "12"; "0" for LANGUAGE_NOT_YET. */
const char *keypad_phrase_code(enum language_phrase phrase);

/* Collects single keys into an entry. Feed it characters; true when Enter (CR, LF or both) ended
 * one, which is then in `line->entry` until the next key. Characters that are no keys of the pad
 * are dropped and counted, escape sequences whole: a pad without Num Lock sends "\x1b[1~" for a 7
 * and must not answer 1. Backspace and DEL take one back; `//` clears. */
struct keypad_line {
    char entry[KEYPAD_ENTRY];
    size_t used;
    size_t dropped;  /* characters or sequences in this entry that were no keys */
    bool overflowed; /* the entry was longer than any answer: it will come back bad */
    bool ended;      /* Enter was the last key: the next one begins a new entry */
    bool returned;   /* that Enter was a CR: a LF right behind it belongs to it */
    char escape;     /* inside an escape sequence: the character that says which kind */
    char last;       /* the last key of the entry, for the second slash */
    size_t beyond;   /* keys that found no room; Backspace takes these back first */
};
void keypad_line_init(struct keypad_line *line);
bool keypad_line_key(struct keypad_line *line, char key);

/* Where keys come from. One driver a file, ending in a const struct. `open` keeps state in
 * `*state`; `read` returns the number of keys put in `keys`, 0 at end of input, -1 with a fault; it
 * waits until there is at least one, so poll the descriptor first where that matters. `close` gives
 * the terminal back as it was; a NULL state is fine. The descriptor stays the caller's. All are
 * mandatory.
 *
 * The terminal shows nothing of what is typed (the station does), takes keys one by one and leaves
 * Ctrl-C to its signal: whoever handles the signal must call `close`. Ctrl-D there ends the
 * input. */
struct keypad_driver {
    const char *name; /* "terminal": a tty without line editing; "pipe": any file descriptor */
    bool (*open)(int fd, void **state, struct fault *fault);
    long (*read)(void *state, char *keys, size_t size, struct fault *fault);
    void (*close)(void *state);
};
extern const struct keypad_driver keypad_driver_terminal;
extern const struct keypad_driver keypad_driver_pipe;

/* The driver that fits the descriptor: the terminal's for a tty, else the pipe's. */
const struct keypad_driver *keypad_driver_for(int fd);

#endif
