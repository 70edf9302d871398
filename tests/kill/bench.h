/*
 * One midthrow at a time on one job, with the machine failing under it (shim.c): what the tests of
 * this folder have in common. A test that finds something wrong prints it and exits at once.
 *
 *     bench_begin(&bench, argv[1], argv[2], seed);      // midthrow, the shim; runs it undisturbed
 *     bench_fresh(&bench);
 *     struct end end = bench_run(&bench, &(struct trouble){.kill = 17});
 *     bench_finish(&bench);                             // goes on undisturbed, and compares
 */
#ifndef MIDTHROW_TESTS_KILL_BENCH_H
#define MIDTHROW_TESTS_KILL_BENCH_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/types.h>

#include "script.h"

enum { BENCH_PATH = 1024, BENCH_OUT = 1 << 17 };

struct trouble {
    long kill, full, sync; /* the call it happens at (shim.c); 0: never */
    bool torn, in_order, stop;
    long after_us;    /* killed from outside, so long after it was started; 0: never */
    int64_t clock_ms; /* 0: as ever */
    long file_limit;  /* bytes a file may have, RLIMIT_FSIZE; 0: any */
    uid_t user;       /* 0: as the test */
};

struct end {
    bool killed, aborted; /* by SIGKILL, SIGABRT */
    int code;             /* else its exit code */
    int signal;           /* that ended it; 0: none */
    long calls;           /* made of the disk and the output; -1: not known */
    char err[4096];
};

struct bench {
    const char *midthrow, *shim;
    char scratch[BENCH_PATH], data[BENCH_PATH];
    struct script script;
    int64_t at_ms; /* the clock of all runs, but where `trouble` says another */

    char *events, *writeup, *transcript; /* of the undisturbed run */
    long calls, us;                      /* what it took */

    size_t heard; /* answers that the journal holds */
    size_t again; /* cautions that were confirmed again, which it holds as well */
    size_t shown; /* answers acknowledged in the last run */
    long kills, events_lost;
    long confirmed_again; /* in all jobs together */
};

void bench_begin(struct bench *bench, const char *midthrow, const char *shim, uint64_t seed);
void bench_end(struct bench *bench);

/* A file of that name beside the data. */
const char *bench_path(const struct bench *bench, const char *name, char path[BENCH_PATH]);

/* Writes what is left of the script into a file, whose path it gives. */
void bench_answers(const struct bench *bench, char path[BENCH_PATH]);

/* An empty data directory. */
void bench_fresh(struct bench *bench);

/* A command line that goes on with the job, or starts it, and gets what is left of the script. Then
 * looks into a copy of the journal, as a power cut would leave it: what was acknowledged must be
 * there, and nothing else than the undisturbed run had. */
struct end bench_run(struct bench *bench, const struct trouble *trouble);

/* The same with these arguments more than --data; its output into `out` if that is not NULL. */
struct end bench_command(struct bench *bench, const struct trouble *trouble,
                         const char *const *arguments, const char *input, char out[BENCH_OUT]);

/* The environment in which the next program that this process becomes has that trouble. */
void bench_environment(const struct bench *bench, const struct trouble *trouble);

/* Goes on to the end without trouble; events, write-up and transcript must be those of the
 * undisturbed run. */
void bench_finish(struct bench *bench);

/* Prints what is wrong and where the data lie, and exits with 1. */
void bench_wrong(const struct bench *bench, const char *format, ...)
    __attribute__((format(printf, 2, 3), noreturn));

/* A number below `n` from a seed (splitmix64, from memory). */
uint64_t bench_draw(uint64_t *seed, uint64_t n);

#endif
