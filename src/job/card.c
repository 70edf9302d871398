/* The job card: work order, the bike's profile, odometer. */
#include <string.h>

#include "base/text.h"
#include "job/question.h"

static const char *take_order(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type == LANGUAGE_DIGITS)
        text_copy(job->order, sizeof job->order, answer->value.as.digits);
    return NULL;
}

static void choose(struct job *job, size_t index)
{
    text_copy(job->wanted_profile, sizeof job->wanted_profile, job->profile_names[index]);
}

/* "generic-big-twin" is said as "generic big twin". */
static void fill_profiles(const struct job *job, struct job_effect *say)
{
    char list[JOB_ARGUMENT];
    struct text text = text_into(list, sizeof list);
    for (size_t i = 0; i < job->profile_names_n; i++) {
        char name[PROFILE_NAME];
        text_copy(name, sizeof name, job->profile_names[i]);
        for (char *c = name; *c != '\0'; c++)
            if (*c == '-' || *c == '_')
                *c = ' ';
        text_addf(&text, "%s%zu, %s", i == 0 ? "" : "; ", i + 1, name);
    }
    job_effect_argument(say, "list", "%s", list);
}

static bool several_profiles(const struct job *job)
{
    return job->profile_names_n > 1;
}

static const char *take_profile(struct job *job, const struct job_answer *answer)
{
    int64_t number = answer->value.type == LANGUAGE_NUMBER ? answer->value.as.number : 1;
    if (number < 1 || number > (int64_t)job->profile_names_n)
        return "card.no_such_profile";
    choose(job, (size_t)number - 1);
    return NULL;
}

static void choose_the_only_one(struct job *job)
{
    if (job->profile_names_n == 1)
        choose(job, 0);
}

static bool profile_not_read(const struct job *job)
{
    return !job->has_profile || strcmp(job->profile.name, job->wanted_profile) != 0;
}

static void fill_profile(const struct job *job, struct job_effect *say)
{
    job_effect_argument(say, "title", "%s", job->profile.title);
    job_effect_argument(say, "source", "%s", job->profile.source);
}

static const char *take_odometer(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type == LANGUAGE_NUMBER)
        job->odometer = answer->value.as.number;
    return NULL;
}

static const struct job_question rows[] = {
    {.id = "card.welcome", .phase = JOB_CARD, .arrive = choose_the_only_one},
    {.id = "card.order",
     .phase = JOB_CARD,
     .grammar = "order",
     .take = take_order,
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "card.profile",
     .phase = JOB_CARD,
     .grammar = "item",
     .wanted = several_profiles,
     .fill = fill_profiles,
     .take = take_profile,
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "card.reading_profile", .phase = JOB_CARD, .waits = true, .wanted = profile_not_read},
    {.id = "card.profile_is", .phase = JOB_CARD, .fill = fill_profile},
    {.id = "card.odometer",
     .phase = JOB_CARD,
     .grammar = "odometer",
     .take = take_odometer,
     .dont_know = true,
     .leave = JOB_ON},
};
const struct job_questions job_card_questions = {rows, sizeof rows / sizeof rows[0]};
