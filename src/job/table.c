/*
 * The question tables as one, and where a row of it leads. What a row decides by the state of the
 * job (is it wanted, what does it begin, may the answer stand, what follows) is asked here and
 * nowhere else: the caution walk (tests/job/walk.h) puts its own answers in their place and so
 * walks every way there could be.
 */
#include <string.h>

#include "job/question.h"

static const struct job_questions *const phases[] = {
    &job_card_questions,     &job_intake_questions,    &job_checks_questions,
    &job_centring_questions, &job_adjusting_questions, &job_deep_questions,
    &job_proving_questions,  &job_closing_questions,
};
enum { PHASES = sizeof phases / sizeof phases[0] };

size_t job_question_count(void)
{
    size_t n = 0;
    for (size_t i = 0; i < PHASES; i++)
        n += phases[i]->n;
    return n;
}

const struct job_question *job_question_at(size_t index)
{
    for (size_t i = 0; i < PHASES; i++) {
        if (index < phases[i]->n)
            return &phases[i]->row[index];
        index -= phases[i]->n;
    }
    return NULL;
}

size_t job_question_index(const char *id)
{
    size_t index = 0;
    for (size_t i = 0; i < PHASES; i++)
        for (size_t j = 0; j < phases[i]->n; j++, index++)
            if (strcmp(phases[i]->row[j].id, id) == 0)
                return index;
    return index;
}

bool job_row_is_wanted(const struct job *job, size_t index)
{
    const struct job_question *row = job_question_at(index);
    return row->wanted == NULL || row->wanted(job);
}

void job_row_arrive(struct job *job, size_t index)
{
    const struct job_question *row = job_question_at(index);
    if (row->arrive != NULL)
        row->arrive(job);
}

const char *job_row_take(struct job *job, size_t index, const struct job_answer *answer)
{
    return job_question_at(index)->take(job, answer);
}

static bool is_listed(const char *const *leads, const char *id)
{
    while (*leads != NULL && strcmp(*leads, id) != 0)
        leads++;
    return *leads != NULL;
}

size_t job_row_after(const struct job *job, size_t index)
{
    const struct job_question *row = job_question_at(index);
    const char *to = row->branch != NULL ? row->branch(job) : NULL;
    if (to != NULL && is_listed(row->leads, to))
        return job_question_index(to);
    return row->next == NULL ? index + 1 : job_question_index(row->next);
}
