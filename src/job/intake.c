/* Intake: what the rider says, each answer a piece of evidence; then what it may be. */
#include "base/text.h"
#include "job/question.h"

static const char *observe_choice(struct job *job, const struct job_answer *answer,
                                  enum reason_evidence evidence)
{
    if (answer->value.type == LANGUAGE_CHOICE)
        job_observe(job, evidence, answer->value.as.choice);
    return NULL;
}

static const char *observe_yesno(struct job *job, const struct job_answer *answer,
                                 enum reason_evidence evidence)
{
    if (answer->value.type == LANGUAGE_YESNO)
        job_observe(job, evidence, answer->value.as.yes ? REASON_YES : REASON_NO);
    return NULL;
}

static const char *take_complaint(struct job *job, const struct job_answer *answer)
{
    return observe_choice(job, answer, REASON_COMPLAINT);
}

static const char *take_temperature(struct job *job, const struct job_answer *answer)
{
    return observe_choice(job, answer, REASON_TEMPERATURE);
}

static const char *take_engine(struct job *job, const struct job_answer *answer)
{
    return observe_choice(job, answer, REASON_ENGINE);
}

static const char *take_motion(struct job *job, const struct job_answer *answer)
{
    return observe_choice(job, answer, REASON_MOTION);
}

static const char *take_creep(struct job *job, const struct job_answer *answer)
{
    return observe_yesno(job, answer, REASON_CREEP);
}

static const char *take_gears(struct job *job, const struct job_answer *answer)
{
    return observe_yesno(job, answer, REASON_GEARS);
}

static const char *take_onset(struct job *job, const struct job_answer *answer)
{
    return observe_choice(job, answer, REASON_ONSET);
}

static const char *take_service(struct job *job, const struct job_answer *answer)
{
    static const enum reason_evidence lately[] = {REASON_SERVICED_FLUID, REASON_SERVICED_CLUTCH,
                                                  REASON_SERVICED_LINKAGE};
    if (answer->value.type != LANGUAGE_CHOICES)
        return NULL;
    for (unsigned i = 0; i < sizeof lately / sizeof lately[0]; i++)
        job_observe(job, lately[i],
                    (answer->value.as.choices & (1u << i)) != 0 ? REASON_YES : REASON_NO);
    return NULL;
}

/* What speaks for the cause; what speaks against it is no reason for it. */
static void add_reason(const struct job *job, int evidence, struct text *why)
{
    if (evidence < 0)
        return;
    if (why->used > 0)
        text_add(why, " and ");
    text_add(why,
             reason_observation_words((enum reason_evidence)evidence, job->reason.seen[evidence]));
}

void job_fill_ranking(const struct job *job, struct job_effect *say)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    char reasons[JOB_ARGUMENT];
    struct text why = text_into(reasons, sizeof reasons);
    add_reason(job, rank[0].favour[0], &why);
    add_reason(job, rank[0].favour[1], &why);
    if (why.used == 0)
        text_add(&why, "it is the commonest of them");
    job_effect_argument(say, "cause", "%s", reason_cause_name(rank[0].cause));
    job_effect_argument(say, "percent", "%.0f", 100 * rank[0].probability);
    job_effect_argument(say, "why", "%s", reasons);
    job_effect_argument(say, "second", "%s", reason_cause_name(rank[1].cause));
    job_effect_argument(say, "second_percent", "%.0f", 100 * rank[1].probability);
}

static void say_moved(const struct job *job, const struct reason_rank *first, int i,
                      struct job_effects *effects)
{
    int evidence = first->because[i];
    if (evidence < 0)
        return;
    struct job_effect *say =
        job_effect_say(effects, first->weight[i] > 0 ? "why.because" : "why.although");
    job_effect_argument(
        say, "why", "%s",
        reason_observation_words((enum reason_evidence)evidence, job->reason.seen[evidence]));
}

void job_fill_why(const struct job *job, struct job_effects *effects)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    bool nothing = rank[0].because[0] < 0;
    struct job_effect *say = job_effect_say(effects, nothing ? "why.nothing" : "why.now");
    job_effect_argument(say, "percent", "%.0f", 100 * rank[0].probability);
    job_effect_argument(say, "cause", "%s", reason_cause_name(rank[0].cause));
    job_effect_argument(say, "second", "%s", reason_cause_name(rank[1].cause));
    job_effect_argument(say, "second_percent", "%.0f", 100 * rank[1].probability);
    for (int i = 0; i < 2; i++)
        say_moved(job, &rank[0], i, effects);
}

static bool contradicts_itself(const struct job *job)
{
    struct reason_contradiction first;
    return reason_contradictions(&job->reason, &first, 1) > 0;
}

static void fill_contradiction(const struct job *job, struct job_effect *say)
{
    struct reason_contradiction pair;
    if (reason_contradictions(&job->reason, &pair, 1) == 0)
        return;
    job_effect_argument(say, "first", "%s",
                        reason_observation_words(pair.first, job->reason.seen[pair.first]));
    job_effect_argument(say, "second", "%s",
                        reason_observation_words(pair.second, job->reason.seen[pair.second]));
}

/* Cable or hydraulics: the profile knows, and one of the two cannot be the cause. */
static void observe_clutch_kind(struct job *job)
{
    if (job->numbers.clutch == PROFILE_CLUTCH_CABLE)
        job_observe(job, REASON_CLUTCH_KIND, REASON_CLUTCH_BY_CABLE);
    if (job->numbers.clutch == PROFILE_CLUTCH_HYDRAULIC)
        job_observe(job, REASON_CLUTCH_KIND, REASON_CLUTCH_BY_HYDRAULICS);
}

#define ASKED(name, words, taken)                                                                  \
    {                                                                                              \
        .id = "intake." name, .phase = JOB_INTAKE, .grammar = words, .take = taken,                \
        .dont_know = true, .leave = JOB_ON                                                         \
    }
static const struct job_question rows[] = {
    {.id = "intake.begin", .phase = JOB_INTAKE, .silent = true, .arrive = observe_clutch_kind},
    ASKED("complaint", "complaint", take_complaint),
    ASKED("temperature", "temperature", take_temperature),
    ASKED("engine", "engine", take_engine),
    ASKED("motion", "motion", take_motion),
    ASKED("creep", "yesno", take_creep),
    ASKED("gears", "yesno", take_gears),
    ASKED("onset", "onset", take_onset),
    ASKED("service", "service", take_service),
    {.id = "intake.contradiction",
     .phase = JOB_INTAKE,
     .wanted = contradicts_itself,
     .fill = fill_contradiction},
    {.id = "intake.ranking", .phase = JOB_INTAKE, .fill = job_fill_ranking},
    {.id = "intake.second", .phase = JOB_INTAKE, .fill = job_fill_ranking},
};
const struct job_questions job_intake_questions = {rows, sizeof rows / sizeof rows[0]};
