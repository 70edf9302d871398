/*
 * The caution walk: every way through the question tables, walked with the real engine
 * (src/job/job.c) on the real tables, and what must hold in each state checked there.
 *
 * What is kept of a job's state, exactly as the engine made it: the question, the mode, the phrases
 * confirmed in this hands-on block and the phase it began in, whether a cover is off, the kind of
 * value that waits for a "yes" (its command, if it is one), whether a profile was read, whether
 * several can be chosen, and the gear that the manual names.
 *
 * What is merged, and why that loses no way:
 * - Measurements, ranking, limits, counters. The tables read them in `wanted`, `branch` and `take`
 *   only, through four functions of table.c that this library takes the place of. Where a row asks
 *   the data, the walk goes *every* way: wanted and not, each of the row's `leads` and the row
 *   below, the answer taken and refused. So it walks more than any job can, never less. The
 *   exceptions are the rows whose `wanted` reads what is kept: the cautions and the card.
 * - `arrive` and `take` are run where they change what is kept (the rows in `touches`) and left out
 *   elsewhere; test_walk.c runs them all in simulated jobs and shows that the others do not.
 * - What is said. `fill` gets a const job: it cannot change where the walk goes.
 * - Steps that were confirmed ("it is set to the manual", tools, lock nut): no row asks for them.
 * - Misses, reminders, counts, corrections, the clock, "use the keypad": the engine only keeps
 *   them. Every step is taken a second time with all of these set otherwise and must lead to the
 *   same state.
 * - Words: two are one if every grammar that can be open at this row (its own, yes or no, the first
 *   or the second, carry on) hears the same kind of value in both. Phrases and commands are never
 *   merged, nor what is believable with what is not.
 * - What is heard once the tool was started again: while that is so, only what is accepted, and
 *   what is not believed beside the phrase. The state keeps that it was, and what has to be
 *   confirmed again.
 * - Pairs of readings: whatever is chosen of the two, the other is dropped; so each kind stands
 *   once first and once second, beside the same other.
 *
 * Beside the engine the walk keeps its own account of what was confirmed, from the events alone;
 * hands may go where that account, not the engine's, says so; and the two must be the same.
 */
#ifndef MIDTHROW_TESTS_JOB_WALK_H
#define MIDTHROW_TESTS_JOB_WALK_H

#include "job/question.h"

enum { WALK_ROWS_MAX = 256 };

/* The rows that are walked: a copy of the tables, which a test may break on purpose. */
extern struct job_question walk_row[WALK_ROWS_MAX];
extern size_t walk_rows;
void walk_copy_tables(void);
struct job_question *walk_find(const char *id);

/* Off: the rows decide by the job, as in the program. */
void walk_every_way(bool on);

/* Called in every `arrive` and `take` that walk_every_way(false) runs, before and after. */
extern void (*walk_watch)(const struct job *job, const char *id, bool after);
/* Does the row's `arrive` or `take` change what the walk keeps? */
bool walk_touches(const char *id);

struct walk_result {
    size_t states, questions; /* states in all; of them, questions being asked as they stand */
    size_t transitions;       /* events tried in a state, each way they can lead counted */
    size_t hands;             /* arrivals at a row that needs cautions */
    size_t confirmed;         /* cautions and steps confirmed, of all transitions */
    size_t taken_back;        /* "go back" that undid an answer */
    size_t wrong;             /* what must hold and did not */
    char first_wrong[512];    /* the first of it, and the way there */
};

/* How much is said in each state: everything; or what is accepted only, once, without doubts. */
enum walk_what { WALK_ALL, WALK_IN_SHORT, WALK_UNTIL_WRONG /* in short, to the first wrong */ };
void walk_all(struct walk_result *result, enum walk_what what);

#endif
