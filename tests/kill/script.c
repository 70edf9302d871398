/* The simulated technician's answers as lines: see script.h. */
#include "script.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../job/technician.h"
#include "base/text.h"
#include "job/job.h"
#include "keypad/keypad.h"
#include "profile/profile.h"

static const char shipped_profile[] =
    MIDTHROW_SOURCE_DIR "/src/profile/shipped/" SCRIPT_PROFILE ".ini";

/* The pad's keys for these words, by trying the short ones. */
static bool as_keys(const char *grammar, enum language_phrase phrase, const char *words,
                    char line[SCRIPT_LINE])
{
    char made[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    const char *code = keypad_phrase_code(phrase);
    text_copy(line, SCRIPT_LINE, code);
    if (keypad_entry(grammar, line, made, why) == KEYPAD_WORDS && strcmp(made, words) == 0)
        return true;
    for (int i = 0; i < 100; i++) {
        snprintf(line, SCRIPT_LINE, "%d", i);
        if (keypad_entry(grammar, line, made, why) == KEYPAD_WORDS && strcmp(made, words) == 0)
            return true;
    }
    return false;
}

static void answer(struct script *script, struct technician *technician, const struct job *job,
                   struct job_event *event)
{
    technician_answer(technician, job, event);
    if (script->n == SCRIPT_LINES)
        abort();
    char *line = script->line[script->n++];
    if (script->n % 2 == 0 || !as_keys(job_grammar(job), job_phrase(job), event->words, line))
        text_copy(line, SCRIPT_LINE, event->words);
}

void script_make(struct script *script, uint64_t seed)
{
    static struct technician technician;
    static struct job job;
    static struct job_effects effects;
    static struct profile profile;
    static struct job_event event;
    script->n = 0;
    if (!profile_load(shipped_profile, &profile, NULL))
        abort();
    technician_begin(&technician, seed);
    technician.distracted = 0;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event = (struct job_event){.kind = JOB_OPENED, .names_n = 1, .walk = JOB_WALK, .at_ms = 1};
    text_copy(event.names[0], sizeof event.names[0], SCRIPT_PROFILE);
    job_step(&job, &event, &effects);
    while (!job_is_closed(&job)) {
        memset(&event, 0, sizeof event);
        if (job.mode == JOB_FETCHING) {
            event.kind = JOB_PROFILE_READ;
            event.profile = profile;
        } else {
            answer(script, &technician, &job, &event);
        }
        event.at_ms = 1;
        job_step(&job, &event, &effects);
    }
}
