/*
 * Long runs of the bench that can be stopped and gone on with: rows go to DIR/KIND-BUILD.JOB.tsv as
 * they are made, and whoever runs reads all files of this kind and build first. A build is this
 * program and the grammars; rows of another have another name and are left alone.
 */
#ifndef MIDTHROW_TESTS_SPEECH_WORK_H
#define MIDTHROW_TESTS_SPEECH_WORK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <time.h>

struct work {
    char dir[512];
    char kind[64];  /* "rows-report", "false" */
    char knows[32]; /* the voice that the ear has learned (enrolled.h), whoever speaks; "": none */
    uint32_t build;
    size_t jobs, job; /* processes, and which one this is */
    double stop;      /* minutes after which it ends where it is; 0: when it is done */
    time_t started;
    FILE *rows; /* this job's, open while it runs */
};

/* Makes the folder; what is heard by an ear that knows somebody is of another kind. False, having
 * said why. */
bool work_open(struct work *work, const char *dir, const char *kind);

/* jobs=N, stop=MINUTES, knows=VOICE; false: none of them. */
bool work_option(struct work *work, const char *option);
bool work_late(const struct work *work);

/* Each file of this kind and build, until `use` returns false; true when none did. */
bool work_each(const struct work *work, bool (*use)(void *context, const char *path),
               void *context);

bool work_print_names(const struct work *work); /* of those files, a line each */

/* Runs `do_job` in as many processes as there are jobs, each with its `job` set and its `rows` open
 * at the end (`is_new`: and empty). 0 when all returned true. */
int work_run(struct work *work, bool (*do_job)(void *context, bool is_new), void *context);

#endif
