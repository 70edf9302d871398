/* The transcript from the journal: see rebuild.h. */
#include "record/rebuild.h"

#include <stdlib.h>

#include "record/said.h"
#include "record/transcript.h"

void rebuild_begin(struct rebuild *rebuild, struct job *job)
{
    job_init(job);
    rebuild->job = job;
    rebuild->fault = (struct fault){.code = FAULT_NONE};
    rebuild->stopped = false;
}

static bool put(struct rebuild *rebuild, int64_t at_ms, const char *line)
{
    if (rebuild->line(rebuild->context, at_ms, line))
        return true;
    return fault_set(&rebuild->fault, FAULT_FAILED,
                     "cannot write all of the transcript: see that where it goes to is open and "
                     "not full.");
}

/* The order is the station's: what was heard, then what was said of it. */
static bool put_event(struct rebuild *rebuild, const struct job_event *event,
                      struct job_effects *effects)
{
    char line[TRANSCRIPT_LINE];
    char sentence[PROMPT_SENTENCE];
    struct job *job = rebuild->job;
    transcript_heard_line(event, job_question_id(job), job_grammar(job), job_phrase(job), line);
    if (!put(rebuild, event->at_ms, line))
        return false;
    job_step(job, event, effects);
    for (size_t i = 0; i < effects->n; i++) {
        const struct job_effect *effect = &effects->effect[i];
        if (effect->kind != JOB_SAY)
            continue;
        if (!said_effect(rebuild->prompts, job, effect, sentence, sizeof sentence, &rebuild->fault))
            return false;
        transcript_said_line(event->at_ms, sentence, effect->caution, line);
        if (!put(rebuild, event->at_ms, line))
            return false;
    }
    return true;
}

bool rebuild_event(void *context, const struct job_event *event)
{
    struct rebuild *rebuild = context;
    struct job_effects *effects = calloc(1, sizeof *effects);
    bool ok = effects == NULL ? fault_set(&rebuild->fault, FAULT_FAILED,
                                          "out of memory: close something and try again.")
                              : put_event(rebuild, event, effects);
    free(effects);
    rebuild->stopped |= !ok;
    return ok;
}

bool rebuild_end(const struct rebuild *rebuild, struct fault *fault)
{
    if (!rebuild->stopped)
        return true;
    if (fault != NULL)
        *fault = rebuild->fault;
    return false;
}
