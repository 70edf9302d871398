/*
 * The questions and steps of the job, as data: one table a phase (card.c, intake.c, checks.c,
 * centring.c, adjusting.c, deep.c, proving.c, closing.c), joined in table.c, walked by the engine
 * in job.c.
 *
 * A row with a grammar is a question; a row without one is a statement, said in passing. Rows
 * follow one another unless `next` or `branch` says otherwise; a row that is not `wanted` is passed
 * over to the row below it. The row's id (or what it `says`) is the key of its sentence in
 * prompts/, "help." and that key the longer one for "help".
 *
 *     {.id = "intake.creep", .phase = JOB_INTAKE, .grammar = "yesno", .take = take_creep,
 *      .leave = JOB_ON},
 */
#ifndef MIDTHROW_JOB_QUESTION_H
#define MIDTHROW_JOB_QUESTION_H

#include "job/job.h"

/* Where "skip" leads: onward, with nothing recorded. NULL: this question cannot be skipped. */
#define JOB_ON ""

struct job_question {
    const char *id;
    enum job_phase phase;
    const char *says; /* key of its sentence where several rows share one; else the id */
    const char *grammar;
    enum language_phrase phrase; /* for the grammar "caution": the phrase that confirms the row */
    bool caution;                /* hands may come to harm: kept in the job's list of cautions */
    bool silent;                 /* a statement that only decides or records */
    bool waits;                  /* sends JOB_FETCH_PROFILE and waits for its event */
    bool dont_know;              /* "don't know" is an answer, as skip is; else it gets the help */
    double low_mm, high_mm;      /* of a distance: what is believable here */
    int64_t remind_ms;           /* 0: the usual */
    bool (*wanted)(const struct job *job);
    void (*arrive)(struct job *job);                             /* on reaching the row */
    void (*fill)(const struct job *job, struct job_effect *say); /* the sentence's arguments; may
                                                                    change or clear its key */
    const char *(*take)(struct job *job, const struct job_answer *answer); /* NULL, or the key of a
                                                                         sentence that refuses it */
    const char *next;
    const char *(*branch)(
        const struct job *job); /* before `next`; NULL from it: as if it were not */
    const char *const *leads;   /* every id that `branch` may give, JOB_LEADS(...); it can lead
                                   nowhere else */
    const char *leave;
    unsigned needs; /* hands or a running engine: a bit for each phrase that must stand confirmed
                       in this hands-on block before it is asked or said; 0: nobody's hands */
};

#define JOB_LEADS(...)                                                                             \
    (const char *const[])                                                                          \
    {                                                                                              \
        __VA_ARGS__, NULL                                                                          \
    }

/* Phrases that report a step of the work and are asked once: the others say how the bike is. */
#define JOB_STEPS                                                                                  \
    (JOB_BIT(SET_TO_MANUAL) | JOB_BIT(TOOLS_READY) | JOB_BIT(LOCK_NUT_LOOSE) |                     \
     JOB_BIT(LOCK_NUT_TIGHT))

/* What hands need before they go there. */
#define JOB_BIT(phrase) (1u << LANGUAGE_##phrase)
#define JOB_AT_THE_BIKE (JOB_BIT(BIKE_STRAPPED) | JOB_BIT(ENGINE_OFF))
#define JOB_AT_HOT_PARTS (JOB_AT_THE_BIKE | JOB_BIT(PARTS_COOL))
#define JOB_AT_THE_PAWL (JOB_AT_HOT_PARTS | JOB_BIT(WHEEL_CLEAR))
#define JOB_AT_THE_PACK (JOB_AT_HOT_PARTS | JOB_BIT(BATTERY_OFF) | JOB_BIT(ACCESS_OPEN))
#define JOB_ENGINE_RUNS                                                                            \
    (JOB_BIT(BIKE_STRAPPED) | JOB_BIT(WHEEL_CLEAR) | JOB_BIT(EXHAUST_LED_AWAY) |                   \
     JOB_BIT(HANDS_CLEAR))

struct job_questions {
    const struct job_question *row;
    size_t n;
};
extern const struct job_questions job_card_questions;
extern const struct job_questions job_intake_questions;
extern const struct job_questions job_checks_questions;
extern const struct job_questions job_centring_questions;
extern const struct job_questions job_adjusting_questions;
extern const struct job_questions job_deep_questions;
extern const struct job_questions job_proving_questions;
extern const struct job_questions job_closing_questions;

/* Index of a row; job_question_count() when there is none of that id. */
size_t job_question_index(const char *id);

/* What a row decides by the state of the job (table.c): is it asked at all, what it begins, may the
 * answer stand (NULL, or why not), which row follows. */
bool job_row_is_wanted(const struct job *job, size_t index);
void job_row_arrive(struct job *job, size_t index);
const char *job_row_take(struct job *job, size_t index, const struct job_answer *answer);
size_t job_row_after(const struct job *job, size_t index);

/* ---- effects, for the rows ---------------------------------------------------------------- */

struct job_effect *job_effect_add(struct job_effects *effects, enum job_effect_kind kind);
struct job_effect *job_effect_say(struct job_effects *effects, const char *key);
void job_effect_key(struct job_effect *effect, const char *key);
void job_effect_argument(struct job_effect *effect, const char *name, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void job_effect_length(struct job_effect *effect, const char *name, struct measure_length length);

/* ---- what several phases share ------------------------------------------------------------ */

/* Hands-on blocks: a caution counts only within the block it was confirmed in. */
void job_block_begin(struct job *job);
bool job_is_safe(const struct job *job, enum language_phrase phrase);

/* Observes unless the answer was "don't know" or "skip". */
void job_observe(struct job *job, enum reason_evidence evidence, int value);

/* What it may be: fills {cause}, {percent}, {why}, {second} from the present ranking. */
void job_fill_ranking(const struct job *job, struct job_effect *say);

/* A check at hand (checks.c): begun, recorded, judged against its limits. */
enum { JOB_TRIES_MAX = 3 }; /* times a check is measured before it is left as it is */
void job_check_begin(struct job *job, enum reason_check check);
void job_check_record(struct job *job, enum reason_check check, const char *what);
/* The limits of the check just recorded; `given` by the profile, else asked for. */
void job_check_between(struct job *job, const struct profile_length *low,
                       const struct profile_length *high, bool low_given, bool high_given);
struct job_check *job_check_now(struct job *job);
const struct job_check *job_check_at(const struct job *job);
void job_check_judge(struct job *job, struct job_check *check); /* lengths, in job->reading */
/* Numbers, in job->count: read to `division`, repeated to within `scatter`. */
void job_check_judge_count(struct job *job, struct job_check *check, double division,
                           double scatter);
bool job_check_verdict_is(const struct job *job, enum measure_limit_verdict verdict);
const char *job_check_prove_or_go_on(const struct job *job); /* the row that follows the check */
const char *job_take_length_reading(struct job *job, const struct job_answer *answer);
const char *job_take_set(struct job *job, const struct job_answer *answer);
void job_check_fill(const struct job *job, struct job_effect *say); /* {value} {low} {high} */

/* A cover is off; the answer that it is back on. */
bool job_access_is_open(const struct job *job);
const char *job_take_cover(struct job *job, const struct job_answer *answer);

/* What it may be and the two answers that moved that most, each in a sentence (intake.c). */
void job_fill_why(const struct job *job, struct job_effects *effects);

/* The finest division of the rule in hand: asked for once, where the profile does not say. */
bool job_resolution_unknown(const struct job *job);
const char *job_take_resolution(struct job *job, const struct job_answer *answer);
double job_resolution_mm(const struct job *job);

/* When no number of readings would settle it: "have you a finer rule?", and its finest division. */
const char *job_take_has_finer(struct job *job, const struct job_answer *answer);
const char *job_take_finer_rule(struct job *job, const struct job_answer *answer);

/* Both throws of the current round: reading, balance, verdict. The same for the pawl check and for
 * every adjusting round (centring.c). */
extern const double job_throw_low_mm, job_throw_high_mm;
const char *job_take_forward(struct job *job, const struct job_answer *answer);
const char *job_take_back(struct job *job, const struct job_answer *answer);
void job_fill_reading(const struct job *job, struct job_effect *say);
bool job_balance_is_final(
    struct job *job); /* balances the round; false while readings are wanting */
void job_fill_balance(const struct job *job, struct job_effect *say);
bool job_scatter_is_suspect(const struct job *job); /* in the present round, its readings all in */
bool job_wants_more_readings(const struct job *job);
struct job_round *job_round_now(struct job *job);
const struct job_round *job_round_at(const struct job *job);

#endif
