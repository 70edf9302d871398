/*
 * A whole job as lines for midthrow's standard input, made by the simulated technician
 * (tests/job): words, and the number pad's keys where some stand for the same words. Each line is
 * one answer, one event.
 */
#ifndef MIDTHROW_TESTS_KILL_SCRIPT_H
#define MIDTHROW_TESTS_KILL_SCRIPT_H

#include <stddef.h>
#include <stdint.h>

enum { SCRIPT_LINES = 400, SCRIPT_LINE = 256 };

struct script {
    char line[SCRIPT_LINES][SCRIPT_LINE];
    size_t n;
};

/* The job of the seed with the profile that midthrow came with; aborts when it does not close. */
void script_make(struct script *script, uint64_t seed);

#define SCRIPT_PROFILE "generic-big-twin"

#endif
