/* Events of every kind with anything in them, for the tests that bring one through the journal and
 * back. */
#ifndef MIDTHROW_TESTS_SEEDED_EVENT_H
#define MIDTHROW_TESTS_SEEDED_EVENT_H

#include "job/job.h"
#include "seeded_profile.h"

/* Good rows of likelihoods, with doubles of all bits. */
static inline void seeded_shop(uint64_t *seed, struct reason_shop *shop)
{
    shop->rows = (int)seeded_below(seed, REASON_ROWS_MAX + 1);
    for (int i = 0; i < shop->rows; i++) {
        struct reason_row *row = &shop->row[i];
        double sum = 0;
        row->evidence = (int)seeded_below(seed, REASON_EVIDENCE_COUNT);
        row->cause = (int)seeded_below(seed, REASON_REST + 1);
        int values = reason_values((enum reason_evidence)row->evidence);
        for (int v = 0; v < values; v++)
            sum += row->likelihood[v] = 1 + (double)seeded(seed);
        for (int v = 0; v < values; v++)
            row->likelihood[v] /= sum;
    }
}

static inline void seeded_event(uint64_t *seed, struct job_event *event)
{
    memset(event, 0, sizeof *event);
    event->kind = (enum job_event_kind)seeded_below(seed, JOB_EAR_CHANGED + 1);
    event->at_ms = (int64_t)seeded(seed);
    event->source = (enum job_source)seeded_below(seed, 4);
    if (event->kind == JOB_HEARD) {
        event->verdict = (enum job_verdict)seeded_below(seed, 3);
        event->score = seeded_below(seed, 2) == 0 ? (double)seeded_below(seed, 1001) / 1000
                                                  : seeded_double(seed);
        event->deafening = seeded_below(seed, 2) == 0;
        seeded_bytes(seed, event->words, sizeof event->words);
        seeded_bytes(seed, event->other, sizeof event->other);
        seeded_bytes(seed, event->keys, sizeof event->keys);
    }
    if (event->kind == JOB_EAR_CHANGED)
        event->ear = (enum job_ear)seeded_below(seed, JOB_EAR_COUNT);
    if (event->kind == JOB_PROFILE_FAILED)
        seeded_bytes(seed, event->words, sizeof event->words);
    if (event->kind == JOB_PROFILE_READ)
        seeded_profile(seed, &event->profile);
    if (event->kind == JOB_OPENED) {
        event->names_n = seeded_below(seed, PROFILES_MAX + 1);
        for (size_t i = 0; i < event->names_n; i++)
            seeded_bytes(seed, event->names[i], sizeof event->names[i]);
        seeded_bytes(seed, event->bike, sizeof event->bike);
        event->has_priors = seeded_below(seed, 2) == 0;
        for (int c = 0; event->has_priors && c < REASON_CAUSE_COUNT; c++)
            event->priors[c] = seeded_double(seed);
        event->walk = (int)seeded_below(seed, JOB_WALK + 1);
        seeded_shop(seed, &event->shop);
    }
}

static inline bool same_event(struct job_event *a, struct job_event *b)
{
    bool same = a->kind == b->kind && a->at_ms == b->at_ms && a->source == b->source &&
                a->verdict == b->verdict && memcmp(&a->score, &b->score, sizeof a->score) == 0 &&
                strcmp(a->words, b->words) == 0 && strcmp(a->other, b->other) == 0 &&
                strcmp(a->keys, b->keys) == 0 && a->deafening == b->deafening && a->ear == b->ear &&
                a->names_n == b->names_n && strcmp(a->bike, b->bike) == 0 &&
                a->has_priors == b->has_priors &&
                memcmp(a->priors, b->priors, sizeof a->priors) == 0 && a->walk == b->walk &&
                memcmp(&a->shop, &b->shop, sizeof a->shop) == 0;
    for (size_t i = 0; same && i < a->names_n; i++)
        same = strcmp(a->names[i], b->names[i]) == 0;
    return same && same_profile(&a->profile, &b->profile);
}

#endif
