/*
 * What the screen is told of the job: the station calls these as things happen, and what is shown
 * is taken from the job itself, so that every screen shows the same.
 */
#ifndef MIDTHROW_STATION_SHOW_H
#define MIDTHROW_STATION_SHOW_H

#include <stdbool.h>

#include "job/job.h"
#include "prompt/prompt.h"
#include "screen/screen.h"

/* What the screen was told last; zeroed before the first call. */
struct station_shown {
    char prompt[PROMPT_SENTENCE]; /* of the question now open */
    bool prompt_is_new;
    bool caution;
    size_t answers;
};

/* A sentence as it is said; `key` is its prompt's, by which a question is told from an aside. */
void station_show_said(const struct screen *screen, struct station_shown *shown, const char *key,
                       const char *sentence, bool caution);

/* The question the station now waits for an answer to. */
void station_show_asked(const struct screen *screen, struct station_shown *shown, const char *id,
                        const char *grammar, enum language_phrase phrase);

void station_show_heard(const struct screen *screen, const struct job_event *event);

/* After a step: where the job is, the value just taken, the balance of the round at hand. */
void station_show_job(const struct screen *screen, struct station_shown *shown,
                      const struct job *job);

#endif
