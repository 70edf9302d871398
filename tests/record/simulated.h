/*
 * Whole jobs for the tests of the record: the simulated technician of tests/job at work, from a
 * seed.
 */
#ifndef MIDTHROW_TESTS_RECORD_SIMULATED_H
#define MIDTHROW_TESTS_RECORD_SIMULATED_H

#include <stdint.h>

#include "../job/technician.h"

struct simulated {
    struct job job;
    struct technician technician;
    struct job_effects effects;
    struct job_event event;
};

/* Every fourth of the seeds has a distracted technician, who says other things first and takes
 * answers back. `events` at most are stepped; a whole job has fewer than 2000. */
void simulated_begin(struct simulated *simulated, uint64_t seed);
void simulated_work(struct simulated *simulated, uint64_t seed, int events);

/* The next event in simulated->event: the profile that was asked for, or an answer. */
void simulated_next(struct simulated *simulated);

/* What no careful shop would write: markup, control characters, broken UTF-8, wherever text from
 * outside can stand. */
void simulated_spoil(struct job *job);

#endif
