/* Word for word: see talk.h. */
#include "talk.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "technician.h"

struct job job;
struct job_effects effects;
static int64_t now_ms;

void happen(struct job_event *event)
{
    event->at_ms = now_ms += 1000;
    job_step(&job, event, &effects);
}

void say(const char *words)
{
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_HEARD;
    text_copy(event.words, sizeof event.words, words);
    happen(&event);
}

void choose(int choice)
{
    const char *words = language_choice_words(job_grammar(&job), choice);
    assert_non_null(words);
    say(words);
}

void confirm(void)
{
    say(language_phrase_words(job_phrase(&job)));
}

void confirm_all(void)
{
    for (int i = 0; i < 10 && is_caution(); i++)
        confirm();
}

bool said(const char *key)
{
    for (size_t i = 0; i < effects.n; i++)
        if (effects.effect[i].kind == JOB_SAY && strcmp(effects.effect[i].key, key) == 0)
            return true;
    return false;
}

bool said_with(const char *key, const char *name, const char *value)
{
    for (size_t i = 0; i < effects.n; i++)
        for (size_t j = 0; j < effects.effect[i].arguments; j++)
            if (strcmp(effects.effect[i].key, key) == 0 &&
                strcmp(effects.effect[i].argument[j].name, name) == 0 &&
                strcmp(effects.effect[i].argument[j].value, value) == 0)
                return true;
    return false;
}

bool is_at(const char *id)
{
    return strcmp(job_question_id(&job), id) == 0;
}

bool is_caution(void)
{
    return strcmp(job_grammar(&job), "caution") == 0;
}

void assert_at(const char *id)
{
    assert_string_equal(job_question_id(&job), id);
}

void talk_profile(struct profile *profile, bool silent)
{
    static struct technician technician;
    technician_begin(&technician, 1);
    technician.bike.manual_is_silent = silent;
    technician.bike.clutch = PROFILE_CLUTCH_CABLE;
    technician_profile(&technician, profile);
    profile->resolution.value = measure_length_of(1, 10, MEASURE_MM);
    profile->tolerance.value = measure_length_of(4, 10, MEASURE_MM);
    profile->gear.value = 3;
}

void talk_open(int walk, const struct profile *profile)
{
    static struct job_event event;
    now_ms = 1000000;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event.kind = JOB_OPENED;
    event.walk = walk;
    event.names_n = 1;
    text_copy(event.names[0], sizeof event.names[0], profile->name);
    happen(&event);
    say("skip");
    memset(&event, 0, sizeof event);
    event.kind = JOB_PROFILE_READ;
    event.profile = *profile;
    happen(&event);
}

void talk_go_to(const char *id)
{
    size_t length = strlen(id);
    for (int i = 0; i < 100 && strncmp(job_question_id(&job), id, length) != 0; i++) {
        bool wanted = strncmp(id, "deep.", 5) == 0 && is_at("deep.offer");
        say(wanted ? "do it now" : "skip");
    }
    assert_int_equal(strncmp(job_question_id(&job), id, length), 0);
}
