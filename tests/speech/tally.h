/* Rows counted: how many were right, asked about, refused and wrong, by condition. */
#ifndef MIDTHROW_TESTS_SPEECH_TALLY_H
#define MIDTHROW_TESTS_SPEECH_TALLY_H

#include <stdbool.h>
#include <stddef.h>

#include "rows.h"

enum { TALLY_LEVELS = 5, TALLY_KEYS = 48 };

extern const int tally_levels[TALLY_LEVELS]; /* dB, ROWS_QUIET_DB first */

struct tally {
    int said;
    int heard;      /* the best reading was right, whatever became of it */
    int right;      /* believed at once, and right */
    int offered;    /* asked about, and the right one was among the one or two it asked about */
    int asked;      /* asked about, and it was not */
    int rejected;   /* say it again */
    int wrong;      /* believed at once, and wrong: what must not happen */
    int stock_said; /* hearings stock had, too */
    int stock_right, stock_wrong;
};

/* One way to split the rows: "class", "noise", "voice" or all together; a tally a key and level. */
struct tallies {
    const char *by;
    const char *(*key)(const struct row *row); /* NULL: this row is not counted here */
    char name[TALLY_KEYS][32];
    struct tally at[TALLY_KEYS][TALLY_LEVELS];
    size_t keys;
};

struct tally_costs {
    double ear_s, stock_s, sound_s, stock_sound_s;
};

enum { TALLY_ALL, TALLY_GOAL, TALLY_CLASS, TALLY_NOISE, TALLY_VOICE, TALLY_WAYS };

struct tally_book {
    struct tallies way[TALLY_WAYS];
    struct tallies chatter; /* "said" is chatter; "right" stays 0, "wrong" is chatter believed */
    struct tally_costs costs;
};

void tally_open(struct tally_book *book);
void tally_take(void *book, const struct row *row); /* for rows_read */

#endif
