/*
 * Proving: neutral from first and from second, up and down through the gears, engine off; then,
 * when the technician wants it and each caution is confirmed, with the engine running, cold and
 * hot.
 */
#include <string.h>

#include "job/question.h"

enum { UNHURRIED_MS = 5 * 60 * 1000 };

static void begin(struct job *job)
{
    job_block_begin(job);
    job->proof_passed = false;
    job->proof_failed = false;
    job->running = false;
}

/* The wheel is turned by hand to go up and down through the gears. */
static bool wheel_is_turned(const struct job *job)
{
    return job->walk >= 8;
}

/* ---- results ------------------------------------------------------------------------------ */

/* The rows below that ask for a result, and what the write-up calls each. */
static const struct {
    const char *id;
    const char *what;
} proofs[] = {
    {"proving.first_off", "neutral from first, engine off"},
    {"proving.second_off", "neutral from second, engine off"},
    {"proving.through_off", "up and down through the gears, engine off"},
    {"proving.first_running", "neutral from first, engine running"},
    {"proving.second_running", "neutral from second, engine running"},
    {"proving.cold", "neutral with the engine cold"},
    {"proving.hot", "neutral with the engine hot"},
};

static const char *take_proof(struct job *job, const struct job_answer *answer)
{
    const char *id = job_question_at(answer->question)->id;
    struct job_proof proof = {.id = id, .what = id, .result = -1, .at_ms = answer->at_ms};
    for (size_t i = 0; i < sizeof proofs / sizeof proofs[0]; i++)
        if (strcmp(proofs[i].id, id) == 0)
            proof.what = proofs[i].what;
    if (answer->value.type == LANGUAGE_YESNO) {
        proof.result = answer->value.as.yes ? 1 : 0;
        job->proof_passed = job->proof_passed || answer->value.as.yes;
        job->proof_failed = job->proof_failed || !answer->value.as.yes;
    }
    if (job->proofs == JOB_PROOFS_MAX) /* the oldest makes room: the last word counts */
        for (size_t i = 1; i < job->proofs; i++)
            job->proof[i - 1] = job->proof[i];
    else
        job->proofs++;
    job->proof[job->proofs - 1] = proof;
    return NULL;
}

/* ---- running ------------------------------------------------------------------------------ */

static bool passed_so_far(const struct job *job)
{
    return !job->proof_failed;
}

static const char *take_run(struct job *job, const struct job_answer *answer)
{
    job->running = answer->value.type == LANGUAGE_YESNO && answer->value.as.yes;
    return NULL;
}

static const char *run_or_not(const struct job *job)
{
    return job->running ? NULL : "proving.result";
}

static void begin_running(struct job *job)
{
    job_block_begin(job); /* a running engine is another matter: everything is confirmed anew */
}

static void not_run(struct job *job)
{
    job->running = false;
}

/* ---- summing up --------------------------------------------------------------------------- */

static void sum_up(struct job *job)
{
    static const int cured_by[REASON_CHECK_COUNT] = {
        [REASON_CHECK_FREE_PLAY] = REASON_CURED_BY_FREE_PLAY,
        [REASON_CHECK_FLUID] = REASON_CURED_BY_FLUID,
        [REASON_CHECK_LINKAGE] = REASON_CURED_BY_LINKAGE,
        [REASON_CHECK_PAWL] = REASON_CURED_BY_CENTRING,
        [REASON_CHECK_IDLE] = REASON_CURED_BY_IDLE,
        [REASON_CHECK_HYDRAULIC] = REASON_CURED_BY_HYDRAULIC,
        [REASON_CHECK_CABLE] = REASON_CURED_BY_CABLE,
        [REASON_CHECK_INTERNAL_ADJUSTER] = REASON_CURED_BY_ADJUSTER,
        [REASON_CHECK_FLUID_CHANGE] = REASON_CURED_BY_FLUID_CHANGE,
        [REASON_CHECK_PACK] = REASON_CURED_BY_PACK,
        [REASON_CHECK_GEARBOX] = REASON_CURED_BY_GEARBOX,
    };
    if (job->proving_for < 0 || (!job->proof_failed && !job->proof_passed))
        return; /* nothing was proved */
    int cured = job->proof_failed ? 0 : 1;
    job_observe(job, (enum reason_evidence)cured_by[job->proving_for],
                cured == 1 ? REASON_YES : REASON_NO);
    for (size_t i = 0; i < job->checks; i++)
        if ((int)job->check[i].check == job->proving_for && job->check[i].put_right)
            job->check[i].cured = cured;
}

static void fill_result(const struct job *job, struct job_effect *say)
{
    job_effect_key(say, job->proof_failed   ? "proving.failed"
                        : job->proof_passed ? "proving.passed"
                                            : "proving.nothing_proved");
}

static const char *after_result(const struct job *job)
{
    return job->proof_failed || !job->proof_passed ? "checks.next" : "closing.outcome";
}

#define CAUTION(name, said, sentence)                                                              \
    .id = "proving." name, .phase = JOB_PROVING, .says = sentence, .grammar = "caution",           \
    .phrase = said, .caution = true, .remind_ms = UNHURRIED_MS
#define PROOF(name, bits)                                                                          \
    {                                                                                              \
        .id = "proving." name, .phase = JOB_PROVING, .grammar = "yesno",                           \
        .remind_ms = UNHURRIED_MS, .take = take_proof, .dont_know = true, .leave = JOB_ON,         \
        .needs = bits                                                                              \
    }

#define ENGINE_STANDS (JOB_AT_THE_BIKE | JOB_BIT(WHEEL_CLEAR) | JOB_BIT(HANDS_CLEAR))

static const struct job_question rows[] = {
    {.id = "proving.intro", .phase = JOB_PROVING, .arrive = begin},
    {CAUTION("strapped", LANGUAGE_BIKE_STRAPPED, "caution.strapped"), .wanted = wheel_is_turned,
     .leave = "proving.result"},
    {CAUTION("wheel_clear", LANGUAGE_WHEEL_CLEAR, "caution.wheel_clear"), .wanted = wheel_is_turned,
     .leave = "proving.result"},
    {CAUTION("engine_still_off", LANGUAGE_ENGINE_OFF, "caution.engine_off"),
     .leave = "proving.result"},
    {CAUTION("hands_clear", LANGUAGE_HANDS_CLEAR, "caution.hands_clear"),
     .leave = "proving.result"},
    PROOF("first_off", ENGINE_STANDS),
    PROOF("second_off", ENGINE_STANDS),
    PROOF("through_off", ENGINE_STANDS),
    {.id = "proving.run",
     .phase = JOB_PROVING,
     .grammar = "yesno",
     .wanted = passed_so_far,
     .take = take_run,
     .branch = run_or_not,
     .leads = JOB_LEADS("proving.result"),
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "proving.run_not_now",
     .phase = JOB_PROVING,
     .silent = true,
     .branch = run_or_not,
     .leads = JOB_LEADS("proving.result")},
    {.id = "proving.run_prepare", .phase = JOB_PROVING, .arrive = begin_running},
    {CAUTION("run_cover", LANGUAGE_COVER_BACK, "caution.cover_back"), .wanted = job_access_is_open,
     .take = job_take_cover, .leave = "proving.not_run"},
    {CAUTION("run_strapped", LANGUAGE_BIKE_STRAPPED, "caution.strapped"),
     .leave = "proving.not_run"},
    {CAUTION("run_wheel_clear", LANGUAGE_WHEEL_CLEAR, "caution.wheel_clear"),
     .leave = "proving.not_run"},
    {CAUTION("run_exhaust", LANGUAGE_EXHAUST_LED_AWAY, "caution.exhaust"),
     .leave = "proving.not_run"},
    {CAUTION("run_hands_clear", LANGUAGE_HANDS_CLEAR, "caution.moving_parts"),
     .leave = "proving.not_run"},
    PROOF("first_running", JOB_ENGINE_RUNS),
    PROOF("second_running", JOB_ENGINE_RUNS),
    PROOF("cold", JOB_ENGINE_RUNS),
    PROOF("hot", JOB_ENGINE_RUNS),
    {CAUTION("engine_off", LANGUAGE_ENGINE_OFF, "caution.engine_off"), .next = "proving.result"},
    {.id = "proving.not_run", .phase = JOB_PROVING, .arrive = not_run},
    {.id = "proving.result",
     .phase = JOB_PROVING,
     .arrive = sum_up,
     .fill = fill_result,
     .branch = after_result,
     .leads = JOB_LEADS("checks.next", "closing.outcome")},
};
const struct job_questions job_proving_questions = {rows, sizeof rows / sizeof rows[0]};
