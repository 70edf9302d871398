/*
 * What the write-up says, in words and figures, whatever it is written on: the text (writeup.c) and
 * the page (writeup_html.c) say the same because both ask here. What comes from outside is not made
 * plain yet.
 */
#ifndef MIDTHROW_RECORD_WRITEUP_WORDS_H
#define MIDTHROW_RECORD_WRITEUP_WORDS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"
#include "job/job.h"

/* ---- figures -------------------------------------------------------------------------------- */

/* In percent, without and with the sign; never 100 nor 0 for what is only nearly so. */
const char *words_share(double probability, char out[16]);
const char *words_percent(double probability, char out[24]);

const char *words_time(int64_t at_ms, char out[40]); /* "2026-11-25 09:14:03 UTC" */
uint64_t words_minutes(const struct job *job);       /* from opened to closed */
double words_shown(double mm);                       /* never "-0.00" */

/* Part of a turn, as a fraction where it is one: "3/32", else "0.300". */
const char *words_part(double turns, char out[24]);
const char *words_turn(double turns, char out[32]);                     /* "1/16 cw" */
const char *words_advised(const struct job_round *round, char out[32]); /* "1/16 cw", "stop", "-" */
const char *words_turned(const struct job_round *round, char out[32]);  /* or "not turned" */

/* ---- what happened -------------------------------------------------------------------------- */

bool words_was_turned(const struct job_round *round);
int words_turned_rounds(const struct job *job);
int words_last_balanced(const struct job *job); /* newest round whose balance is known; -1: none */
bool words_left_unmeasured(const struct job *job); /* the stem was turned after it */
size_t words_proofs_with(const struct job *job, int result);

/* "fixed", "closed as fixed, THOUGH NOTHING WAS PROVED" */
void words_result(const struct job *job, struct text *text);

/* The intake's questions in order: the evidence, and what to call it when it was not answered. */
struct words_intake {
    enum reason_evidence evidence;
    const char *label;
};
enum { WORDS_INTAKE = 10 };
extern const struct words_intake words_intake[WORDS_INTAKE];

bool words_anything_seen(const struct job *job);

/* ": for it, the throws were uneven; against it, ..."; nothing when nothing moved the cause. */
void words_reasons(const struct job *job, const struct reason_rank *rank, struct text *text);
const struct reason_rank *words_rank_of(const struct reason_rank *rank, int cause);

const char *words_centring(const struct job *job);
const char *words_stop(const struct job *job); /* why adjusting was stopped; NULL: it was not */

/* "The stem was turned in 2 rounds, ..."; nothing when nothing was measured. */
void words_turns(const struct job *job, struct text *text);

/* "lever free play: last measured 3/32 in ...; in (probability in limits 99.8 %)" */
void words_check(const struct job_check *check, struct text *text);

/* "rest too far back"; "" for an offset that shows as nothing. */
const char *words_side(double offset_mm);

/* ---- cautions and corrections --------------------------------------------------------------- */

/* The id's last part, plain: "adjusting.engine_off" as "engine off". */
const char *words_id(const char *id, char out[64]);

/* What was confirmed, "the lock nut is tight", and where, "adjusting, round 1". */
void words_caution(const struct job_caution *caution, struct text *text);
void words_caution_place(const struct job_caution *caution, struct text *text);

/* "forward: "forty thou" became "fourteen thou"." */
void words_correction(const struct job_correction *correction, struct text *text);

/* ---- what was not done, tools, what is next ------------------------------------------------- */

struct words_not_done {
    char intake[1024], checks[1024], proofs[1024]; /* lists; "": nothing was left out */
    bool unmeasured;
};
void words_not_done(const struct job *job, struct words_not_done *out);
bool words_nothing_left_out(const struct words_not_done *left);

/* The tools of the work that was done, a line each; returns how many. */
enum { WORDS_TOOLS = 4, WORDS_TOOL = 160 };
size_t words_tools(const struct job *job, char out[WORDS_TOOLS][WORDS_TOOL]);

/* The checks to do next for a job that is not fixed, likeliest first. */
enum { WORDS_NAMED = 3 }; /* causes and checks named when nothing is confirmed */
struct words_next {
    enum reason_check check;
    enum reason_cause cause;
    double probability;
};
size_t words_next(const struct job *job, struct words_next out[WORDS_NAMED]);

#endif
