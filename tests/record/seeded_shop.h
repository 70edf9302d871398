/* A shop's jobs from a seed: whole, through job_step, short (most questions are skipped) and
 * closed, for the tests and the benchmark that need many of them. */
#ifndef MIDTHROW_TESTS_SEEDED_SHOP_H
#define MIDTHROW_TESTS_SEEDED_SHOP_H

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "../base/scratch.h"
#include "job/job.h"

enum { SHOP_EVENTS = 200 };

struct shop_job {
    struct job job;
    struct job_effects effects;
    struct job_event event[SHOP_EVENTS];
    size_t events;
};

static inline void shop_say(const struct job *job, uint64_t *seed, struct job_event *event)
{
    const char *id = job_question_id(job);
    const char *grammar = job_grammar(job);
    struct language_value value = {.type = LANGUAGE_CHOICE,
                                   .as.choice = (int)seeded_below(seed, 3)};
    strcpy(event->words, "skip");
    if (job->mode == JOB_SURE || strcmp(id, "closing.cause") == 0)
        strcpy(event->words, seeded_below(seed, 8) > 0 ? "yes" : "no");
    else if (strcmp(id, "closing.fixed") == 0)
        strcpy(event->words, seeded_below(seed, 5) > 0 ? "yes" : "no");
    else if (strcmp(id, "closing.pick") == 0)
        strcpy(event->words, seeded_below(seed, 2) > 0 ? "two" : "three");
    else if (strcmp(id, "card.order") == 0)
        strcpy(event->words, "four seven one two");
    else if (strncmp(id, "intake.", 7) == 0 &&
             !language_say(grammar, &value, event->words, sizeof event->words))
        strcpy(event->words, strcmp(grammar, "yesno") == 0 ? "yes" : "skip");
}

/* A closed job, or as far as SHOP_EVENTS goes; `event` is what the journal would hold. */
static inline void shop_work(struct shop_job *shop, uint64_t *seed, int64_t at_ms, const char *bike)
{
    job_init(&shop->job);
    shop->events = 0;
    while (shop->events < SHOP_EVENTS && !job_has_left(&shop->job)) {
        struct job_event *event = &shop->event[shop->events++];
        memset(event, 0, sizeof *event);
        event->at_ms = at_ms;
        at_ms += 5000 + (int64_t)seeded_below(seed, 60000);
        event->source = JOB_BY_STATION;
        if (shop->events == 1) {
            event->names_n = 1;
            strcpy(event->names[0], "simulated");
            strcpy(event->bike, bike);
        } else if (shop->job.mode == JOB_FETCHING) {
            event->kind = JOB_PROFILE_READ;
            profile_init(&event->profile);
            strcpy(event->profile.name, "simulated");
            strcpy(event->profile.title, "simulated bike");
            strcpy(event->profile.source, "the simulator");
        } else {
            size_t luck = seeded_below(seed, 20);
            event->kind = JOB_HEARD;
            event->source = luck < 15 ? JOB_BY_EAR : JOB_BY_PAD;
            event->score = 0.9;
            event->verdict = luck == 0 ? JOB_UNSURE : luck == 1 ? JOB_REJECTED : JOB_ACCEPTED;
            shop_say(&shop->job, seed, event);
        }
        job_step(&shop->job, event, &shop->effects);
    }
}

#endif
