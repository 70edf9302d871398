/* Closing: fixed or not, what it was, what comes next if it was not that, and the cover back on. */
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"

enum {
    LISTED = 5, /* causes read out to choose from: more cannot be kept in the head */
    UNHURRIED_MS = 5 * 60 * 1000,
};

/* ---- what it was -------------------------------------------------------------------------- */

static enum reason_cause fluid_cause(const struct job *job)
{
    if (job->level == REASON_LEVEL_LOW)
        return REASON_FLUID_LOW;
    if (job->level == REASON_LEVEL_HIGH)
        return REASON_FLUID_HIGH;
    return job->condition == REASON_WRONG_FLUID ? REASON_FLUID_WRONG : REASON_FLUID_OLD;
}

static enum reason_cause pack_cause(const struct job *job)
{
    return job->reason.seen[REASON_PACK_IS] == REASON_PACK_STACK_OVER ? REASON_SPRING_PLATE
                                                                      : REASON_PLATES;
}

/* The cause that a cure speaks for; a dearer check's first, for it was the last to be made. */
static const struct {
    enum reason_evidence cured;
    enum reason_cause cause;
    enum reason_cause (*which)(const struct job *job);
} cures[] = {
    {.cured = REASON_CURED_BY_PACK, .which = pack_cause},
    {.cured = REASON_CURED_BY_FLUID_CHANGE, .which = fluid_cause},
    {.cured = REASON_CURED_BY_ADJUSTER, .cause = REASON_CLUTCH_ADJUST},
    {.cured = REASON_CURED_BY_HYDRAULIC, .cause = REASON_CLUTCH_HYDRAULIC},
    {.cured = REASON_CURED_BY_CABLE, .cause = REASON_CLUTCH_CABLE},
    {.cured = REASON_CURED_BY_IDLE, .cause = REASON_IDLE},
    {.cured = REASON_CURED_BY_CENTRING, .cause = REASON_PAWL},
    {.cured = REASON_CURED_BY_LINKAGE, .cause = REASON_LINKAGE},
    {.cured = REASON_CURED_BY_FLUID, .which = fluid_cause},
    {.cured = REASON_CURED_BY_FREE_PLAY, .cause = REASON_FREE_PLAY},
};

/* Without a cure, the likeliest. */
static enum reason_cause likely_cause(const struct job *job)
{
    for (size_t i = 0; i < sizeof cures / sizeof cures[0]; i++)
        if (job->reason.seen[cures[i].cured] == REASON_YES)
            return cures[i].which != NULL ? cures[i].which(job) : cures[i].cause;
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    return rank[0].cause;
}

static const char *take_fixed(struct job *job, const struct job_answer *answer)
{
    job->says_fixed = answer->value.type == LANGUAGE_YESNO && answer->value.as.yes;
    return NULL;
}

static const char *fixed_or_not(const struct job *job)
{
    return job->says_fixed ? "closing.cause" : "closing.not_fixed";
}

static void fill_cause(const struct job *job, struct job_effect *say)
{
    job_effect_argument(say, "cause", "%s", reason_cause_name(likely_cause(job)));
}

static const char *take_cause(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type == LANGUAGE_YESNO && answer->value.as.yes)
        job->cause = (int)likely_cause(job);
    return NULL;
}

static const char *pick_or_go_on(const struct job *job)
{
    return job->cause < 0 ? NULL : "closing.cover"; /* another was asked for */
}

static void fill_pick(const struct job *job, struct job_effect *say)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    char list[JOB_ARGUMENT];
    struct text text = text_into(list, sizeof list);
    for (int i = 0; i < LISTED; i++)
        text_addf(&text, "%s%d, %s", i == 0 ? "" : "; ", i + 1, reason_cause_name(rank[i].cause));
    job_effect_argument(say, "list", "%s", list);
}

static const char *take_pick(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_NUMBER)
        return NULL;
    if (answer->value.as.number < 1 || answer->value.as.number > LISTED)
        return "closing.no_such_cause";
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    job->cause = (int)rank[answer->value.as.number - 1].cause;
    return NULL;
}

/* ---- not fixed ---------------------------------------------------------------------------- */

static void fill_next(const struct job *job, struct job_effect *say)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    job_effect_argument(say, "cause", "%s", reason_cause_name(rank[0].cause));
    job_effect_argument(say, "check", "%s", reason_check_name(reason_check_for(rank[0].cause)));
    job_effect_argument(say, "second", "%s", reason_cause_name(rank[1].cause));
    job_effect_argument(say, "second_check", "%s",
                        reason_check_name(reason_check_for(rank[1].cause)));
}

/* The sentences about the likeliest cause: what confirms it, what cures it, when to stop. */
static void fill_about(const struct job *job, struct job_effect *say)
{
    const char *what = strrchr(job_question_id(job), '.') + 1;
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    char key[JOB_KEY];
    snprintf(key, sizeof key, "%s.%s", what, reason_cause_id(rank[0].cause));
    job_effect_key(say, key);
}

/* ---- the end ------------------------------------------------------------------------------ */

static void close_job(struct job *job)
{
    job->ending = job->says_fixed ? JOB_FIXED : JOB_NOT_FIXED;
    job->closed_ms = job->now_ms;
}

static void fill_done(const struct job *job, struct job_effect *say)
{
    job_effect_argument(say, "ending", "%s", job->says_fixed ? "fixed" : "not fixed");
}

static const struct job_question rows[] = {
    {.id = "closing.outcome", .phase = JOB_CLOSING},
    {.id = "closing.fixed",
     .phase = JOB_CLOSING,
     .grammar = "yesno",
     .take = take_fixed,
     .branch = fixed_or_not,
     .leads = JOB_LEADS("closing.cause", "closing.not_fixed"),
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "closing.cause",
     .phase = JOB_CLOSING,
     .grammar = "yesno",
     .fill = fill_cause,
     .take = take_cause,
     .branch = pick_or_go_on,
     .leads = JOB_LEADS("closing.cover"),
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "closing.pick",
     .phase = JOB_CLOSING,
     .grammar = "item",
     .fill = fill_pick,
     .take = take_pick,
     .dont_know = true,
     .next = "closing.cover",
     .leave = JOB_ON},
    {.id = "closing.not_fixed", .phase = JOB_CLOSING, .fill = fill_next},
    {.id = "closing.confirms", .phase = JOB_CLOSING, .fill = fill_about},
    {.id = "closing.cures", .phase = JOB_CLOSING, .fill = fill_about},
    {.id = "closing.hand_over", .phase = JOB_CLOSING, .fill = fill_about},
    {.id = "closing.cover",
     .phase = JOB_CLOSING,
     .says = "caution.cover_back",
     .grammar = "caution",
     .phrase = LANGUAGE_COVER_BACK,
     .caution = true,
     .remind_ms = UNHURRIED_MS,
     .wanted = job_access_is_open,
     .take = job_take_cover,
     .leave = "closing.cover_open"},
    {.id = "closing.done",
     .phase = JOB_CLOSING,
     .arrive = close_job,
     .fill = fill_done,
     .next = "closing.end"},
    {.id = "closing.cover_open", .phase = JOB_CLOSING, .next = "closing.done"},
    {.id = "closing.end", .phase = JOB_CLOSING, .silent = true},
};
const struct job_questions job_closing_questions = {rows, sizeof rows / sizeof rows[0]};
