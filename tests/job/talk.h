/*
 * A conversation with the job, word for word, for the tests:
 *
 *     talk_open(JOB_WALK, &profile);       // up to the first question after the card's
 *     talk_go_to("checks.fluid");          // everything before it skipped
 *     confirm_all();
 *     say("level low");
 *     assert_true(said("checks.fluid_bad"));
 */
#ifndef MIDTHROW_TESTS_JOB_TALK_H
#define MIDTHROW_TESTS_JOB_TALK_H

#include <stdbool.h>

#include "job/job.h"

extern struct job job;
extern struct job_effects effects; /* of the last event */

/* The simulated manual, read to a tenth of a millimetre: everything is in it, or, when it is
 * `silent`, none of the dear checks' limits. */
void talk_profile(struct profile *profile, bool silent);

/* Opens a job with this profile, the work order skipped. */
void talk_open(int walk, const struct profile *profile);

/* Skips, and leaves out what is offered, until the question's id begins so. */
void talk_go_to(const char *id);

void happen(struct job_event *event); /* a second after the one before */
void say(const char *words);          /* and is heard well */
void choose(int choice);              /* the words of that choice of the present grammar */
void confirm(void);                   /* the phrase that is awaited */
void confirm_all(void);               /* as long as one is */

bool said(const char *key);
bool said_with(const char *key, const char *name, const char *value);
bool is_at(const char *id);
bool is_caution(void);
void assert_at(const char *id);

#endif
