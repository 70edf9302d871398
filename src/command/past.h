/*
 * What the commands about past jobs share (jobs, history, shop, learn, export, import, forget):
 * their options, each command naming those it takes, and the way to the journal.
 */
#ifndef MIDTHROW_COMMAND_PAST_H
#define MIDTHROW_COMMAND_PAST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "base/fault.h"
#include "record/history.h"
#include "record/journal.h"
#include "record/whole.h"

enum past_option {
    PAST_JSON = 1 << 0,
    PAST_DATES = 1 << 1,  /* --since DATE --until DATE */
    PAST_FILTER = 1 << 2, /* --bike TEXT --cause ID --open --closed */
    PAST_SVG = 1 << 3,    /* --svg FILE */
    PAST_OUT = 1 << 4,    /* -o FILE */
    PAST_KEEP_BOTH = 1 << 5,
    PAST_ALL = 1 << 6,
    PAST_COMEBACK = 1 << 7, /* --comeback DAYS */
};

struct past_request {
    const char *directory; /* --data DIR; NULL: the default one */
    bool help, json, keep_both, all;
    const char *svg, *out;
    int comeback_days; /* 0: not given */
    struct history_filter filter;
    char **word; /* what is no option */
    size_t words;
};

/* Takes the options out of the command line. FAULT_USAGE for one that this command does not take,
 * one without its value, a value that is none, or more words than `most`. */
bool past_read(int argc, char **argv, unsigned allowed, size_t most, struct past_request *request,
               struct fault *fault);

/* Opens the journal; `*journal` is NULL when there is none yet, and none is made: looking back at
 * no jobs is no fault. */
bool past_open(const struct past_request *request, struct journal **journal, struct fault *fault);

/* A job's number out of a word. */
bool past_number(const char *word, int64_t *number, struct fault *fault);

int64_t past_now_ms(void);

/* Where -o or --svg goes: NULL or "-" is standard output, a file is written whole or not at all. */
struct past_out {
    FILE *file;
    struct whole whole;
};
bool past_out_open(struct past_out *out, const char *path, struct fault *fault);

/* Puts it in its place when `ok`, else leaves nothing behind; returns whether it is there. */
bool past_out_close(struct past_out *out, bool ok, struct fault *fault);

/* Prints JSON and gives it back to the heap; NULL is out of memory. */
struct json_t;
bool past_print_json(struct json_t *json, struct fault *fault);

#endif
