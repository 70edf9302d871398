/*
 * What the jobs say together: lists with filters, a bike's past, the shop's figures. Read from the
 * summaries that the journal keeps beside the events; nothing is replayed.
 *
 *     struct history_filter filter = {.cause = "pawl", .closed = true};
 *     history_jobs(journal, &filter, print_row, NULL, &fault);
 *
 * Dates are days in UTC. A rate comes with Wilson's score interval at 95 %.
 */
#ifndef MIDTHROW_RECORD_HISTORY_H
#define MIDTHROW_RECORD_HISTORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"
#include "record/journal.h"

/* What is left at zero does not narrow the list. */
struct history_filter {
    bool has_since, has_until;
    int64_t since_ms, until_ms; /* opened at or after; before */
    const char *text;  /* somewhere in bike, profile or work order; ASCII case is the same */
    const char *cause; /* reason_cause_id of the confirmed cause */
    bool open, closed; /* one of them: only those */
};

/* "2026-11-25" as the first millisecond of that day (UTC). FAULT_USAGE otherwise. */
bool history_date(const char *word, int64_t *ms, struct fault *fault);

/* Is this a cause's id? FAULT_USAGE, naming them all, otherwise. */
bool history_is_cause(const char *word, struct fault *fault);

/* A bike's name as it is kept: ASCII letters as capitals, no space at the ends and one at a time
 * within, so that a plate is the same bike however it was typed. Refused, FAULT_USAGE: empty, too
 * long, not UTF-8 or with control characters. */
bool history_bike(const char *given, char bike[JOB_BIKE], struct fault *fault);

/* Oldest first; stops when `each` returns false. */
bool history_jobs(struct journal *journal, const struct history_filter *filter,
                  bool (*each)(void *context, const struct journal_job *job), void *context,
                  struct fault *fault);

/* The jobs on one bike, by its whole name as history_bike makes it, oldest first. */
bool history_of_bike(struct journal *journal, const char *bike,
                     bool (*each)(void *context, const struct journal_job *job), void *context,
                     struct fault *fault);

/* `hits` out of `all`, and the interval that Wilson's score gives at 95 %: E. B. Wilson, "Probable
 * inference, the law of succession, and statistical inference", J. Am. Stat. Assoc. 22 (1927). With
 * `all` 0 nothing is known: 0 to 1. */
struct history_rate {
    int64_t hits, all;
    double rate, low, high;
};
struct history_rate history_wilson(int64_t hits, int64_t all);

/* First quartile, median, third quartile of sorted values: definition 7 of R. J. Hyndman and Y.
 * Fan, "Sample quantiles in statistical packages", Am. Statistician 50 (1996). All 0 when n is 0.
 */
void history_quartiles(const int64_t sorted[], size_t n, double quartile[3]);

struct history_shop {
    int64_t jobs, open;
    struct history_rate fixed;                     /* of the closed jobs */
    struct history_rate cause[REASON_CAUSE_COUNT]; /* of the fixed jobs with a confirmed cause */
    int64_t unnamed;                               /* fixed, and no cause confirmed */
    /* Fixed, and the bike not back within `comeback_days` of closing: of the closed jobs on named
     * bikes whose days are over. A job on no named bike, or too recent, cannot tell. */
    int comeback_days;
    struct history_rate first_time;
    int64_t without_bike, too_recent;
    double active_ms[3]; /* of the closed jobs: quartiles of journal_job.active_ms */
    int64_t heard;       /* by ear; asked again because unsure, and because not believed */
    struct history_rate unsure, rejected;
};

/* A shop's figures over the jobs the filter lets through; of two versions of one job (move.h) the
 * first alone counts. */
bool history_shop(struct journal *journal, const struct history_filter *filter, int comeback_days,
                  int64_t now_ms, struct history_shop *shop, struct fault *fault);

#endif
