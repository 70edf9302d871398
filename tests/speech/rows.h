/*
 * The bench's memory: a line a hearing, tab-separated, with a head that names the columns. A run
 * that was stopped goes on after the last whole line. The same file feeds the table, the plot and
 * the fit.
 *
 * A new sign of the verdict is one line in the table of columns in rows.c.
 */
#ifndef MIDTHROW_TESTS_SPEECH_ROWS_H
#define MIDTHROW_TESTS_SPEECH_ROWS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "speech/recogniser.h"
#include "speech/verdict.h"

enum { ROWS_QUIET_DB = 40 }; /* pink noise so far under the speech is what "quiet" means */

struct row {
    int utterance; /* its number in the list of utterances.h */
    char voice[32], class[16], grammar[32], noise[32];
    int manner, snr_db;
    char said[SPEECH_WORDS];
    /* midthrow */
    char verdict[16], heard[SPEECH_WORDS], other[SPEECH_WORDS];
    int right, other_right; /* 1: the same value as was said */
    double score;
    struct speech_signs signs;
    double ear_s; /* seconds of processor */
    /* stock PocketSphinx on the same samples */
    char stock[SPEECH_WORDS];
    int stock_right;
    double stock_s, sound_s;
};

void rows_write_head(FILE *file);
void rows_write(FILE *file, const struct row *row);

/* A head, then rows until the file ends; a last line that was cut off is left out. Calls `take`
 * with each. False when the file has other columns than these. */
bool rows_read(FILE *file, void (*take)(void *context, const struct row *row), void *context);
/* The same of a file by its name; false, too, when it cannot be opened. */
bool rows_read_file(const char *path, void (*take)(void *context, const struct row *row),
                    void *context);

#endif
