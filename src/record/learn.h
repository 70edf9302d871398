/*
 * What the shop's closed jobs teach: the priors that new jobs start from (reason/dirichlet.h).
 * Fixed jobs with a confirmed cause count, one each; of two versions of one job the first alone.
 *
 * Learning starts from the table of judgement, worth DIRICHLET_STRENGTH jobs, or from learning.ini
 * in the data directory, which `midthrow learn export` writes:
 *
 *     [causes]
 *     pawl = 5.4            jobs this cause is worth at the start: above 0, up to a million
 *     free_play = 6
 *
 * A cause that is not in the file has the table's share. Anything else in it is refused, with the
 * line and what to do: a ranking must not start from a slip of the keyboard.
 */
#ifndef MIDTHROW_RECORD_LEARN_H
#define MIDTHROW_RECORD_LEARN_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "base/fault.h"
#include "reason/dirichlet.h"
#include "record/journal.h"

struct learn {
    struct dirichlet start, now;
    bool own_start; /* from learning.ini */
    int64_t jobs[REASON_CAUSE_COUNT];
    int64_t all;       /* of them together */
    int64_t forgotten; /* fixed jobs with a cause that do not count any more */
};

bool learn_read(struct journal *journal, struct learn *learn, struct fault *fault);

/* The priors for a new job; `*learned` is false when they are the table's. */
bool learn_priors(struct journal *journal, double priors[REASON_CAUSE_COUNT], bool *learned,
                  struct fault *fault);

/* Lets no job there is now count any more; `*jobs` gets how many did. */
bool learn_forget(struct journal *journal, int64_t *jobs, struct fault *fault);

/* What was learned, as a learning.ini for another station to start from. Errors of writing are left
 * to the file's owner. */
void learn_export(const struct learn *learn, FILE *out);

/* Reads a file of that form; FAULT_USAGE when it is refused. */
bool learn_load(const char *path, struct dirichlet *start, struct fault *fault);

#endif
