/*
 * The journal: every event of every job, in one SQLite file, committed before it acts.
 *
 *     struct journal *journal = journal_open(directory, &fault);
 *     int64_t number;
 *     journal_new_job(journal, at_ms, &number, &fault);
 *     journal_append(journal, number, &event, &fault);    // on disk when it returns true
 *
 * `directory` is made 0700 if missing, files in it are 0600: journal.sqlite with its -wal and -shm,
 * job-N.lock while job N is open, job-N.txt (transcript.h). Schema version in PRAGMA user_version:
 * an older one is brought up to this one when it is opened, all of it or nothing; a newer one is
 * refused with a sentence, and so is a file that holds anything but what midthrow makes, or whose
 * pages do not hang together. WAL, synchronous = FULL. Every failure is FAULT_FAILED.
 */
#ifndef MIDTHROW_RECORD_JOURNAL_H
#define MIDTHROW_RECORD_JOURNAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"
#include "job/job.h"

enum {
    JOURNAL_SCHEMA = 2,
    JOURNAL_EVENTS_MAX = 100000,        /* of a job; one of 512 answers has some thousands */
    JOURNAL_ID = 33,                    /* 128 random bits in hexadecimal, and the end */
    JOURNAL_RIDER = 64,                 /* a rider's name */
    JOURNAL_PAUSE_MS = 2 * 3600 * 1000, /* longer without an event is not work on the bike */
};

struct journal;

/* XDG: $XDG_DATA_HOME/midthrow, else $HOME/.local/share/midthrow. False when neither is set. */
bool journal_default_directory(char *out, size_t size, struct fault *fault);

/* Is there a journal in the directory? Looks only, makes nothing. */
bool journal_exists(const char *directory);

struct journal *journal_open(const char *directory, struct fault *fault);
void journal_close(struct journal *journal);
const char *journal_directory(const struct journal *journal);

bool journal_new_job(struct journal *journal, int64_t at_ms, int64_t *number, struct fault *fault);

/* The same for a job that is there together with its first event or not at all: it, and what is
 * written before that event, is kept by the journal_commit or journal_append that follows; until
 * then no other midthrow can write, and closing the journal forgets it. */
bool journal_begin_job(struct journal *journal, int64_t at_ms, int64_t *number,
                       struct fault *fault);

/* One midthrow a job: takes an advisory lock on directory/job-N.lock, released by journal_unlock or
 * the end of the process. A second one is refused with a sentence that says what to do. */
bool journal_lock(struct journal *journal, int64_t number, struct fault *fault);
void journal_unlock(struct journal *journal);

/* In a transaction of its own, durable when it returns true. On a full disk or a read-only file
 * nothing is half written, and the sentence says which and what to do. */
bool journal_append(struct journal *journal, int64_t number, const struct job_event *event,
                    struct fault *fault);

/* The event and, in the same transaction, the summary of the job it leads to. */
bool journal_commit(struct journal *journal, int64_t number, const struct job_event *event,
                    const struct job *after, struct fault *fault);

/* Calls `each` for every event of the job, oldest first; stops when it returns false. */
bool journal_replay(struct journal *journal, int64_t number,
                    bool (*each)(void *context, const struct job_event *event), void *context,
                    struct fault *fault);

/* The job's state as its events make it: job_init, then job_step for every one. */
bool journal_fold(struct journal *journal, int64_t number, struct job *job, struct fault *fault);

/* What `midthrow jobs` lists; kept up to date beside the events so that listing replays nothing. */
struct journal_job {
    int64_t number;
    int64_t opened_ms;
    int64_t last_ms;   /* of the newest event */
    int64_t closed_ms; /* 0: open */
    char order[LANGUAGE_DIGITS_MAX];
    char profile[PROFILE_NAME];
    char question[64]; /* where it stands */
    char ending[16];   /* open, fixed, not fixed */
    int64_t events;
    char id[JOURNAL_ID];             /* its own in the world: goes with it to other stations */
    char twin_of[JOURNAL_ID];        /* kept apart from the job of this id (move.h); "": no twin */
    char bike[JOB_BIKE];             /* as named; "": not */
    int64_t odometer;                /* -1: not given */
    char cause[32];                  /* reason_cause_id of the confirmed one; "": none */
    int64_t active_ms;               /* from event to event, but for pauses and while put away */
    int64_t heard, unsure, rejected; /* by ear: utterances, and those asked about or not believed */
    bool measured;                   /* the offset was, as it was ... */
    double found_mm, left_mm;        /* ... found, and in the last measurement */
};
bool journal_summarise(struct journal *journal, int64_t number, const struct job *job,
                       struct fault *fault);
bool journal_jobs(struct journal *journal, bool (*each)(void *context, const struct journal_job *),
                  void *context, struct fault *fault);
bool journal_find(struct journal *journal, int64_t number, struct journal_job *out,
                  struct fault *fault); /* unknown number: FAULT_USAGE and what jobs there are */

/* The rider's name, beside the job and in no event, so that it can be erased. "" when none is kept.
 */
bool journal_set_rider(struct journal *journal, int64_t number, const char *name,
                       struct fault *fault);
bool journal_rider(struct journal *journal, int64_t number, char name[JOURNAL_RIDER],
                   struct fault *fault);

/* Erases the rider's name of a job, or of all jobs (0), from the files and not from sight only:
 * what is deleted is overwritten, the file is written anew and the WAL is emptied. `*names`: how
 * many there were. Fails, with a sentence, when another midthrow has the journal open and so keeps
 * the old pages. */
bool journal_forget_riders(struct journal *journal, int64_t number, int64_t *names,
                           struct fault *fault);

/* One event as one JSON object on one line, and back: exact both ways, doubles and bytes that are
 * no UTF-8 included. Members an event of that kind leaves at zero are left out:
 *
 *     {"kind":"heard","at_ms":1795598045480,"source":"ear","verdict":"accepted",
 *      "score":0.97,"words":"five sixteenths"}
 *
 * To JSON fails on what cannot be an event (a kind that is none, text without its end) or does not
 * fit; JOURNAL_EVENT bytes hold any. From JSON refuses an unknown key, and zeroes the event when it
 * fails. */
enum { JOURNAL_EVENT = 32768 };
bool journal_event_to_json(const struct job_event *event, char *out, size_t size);
bool journal_event_from_json(const char *json, struct job_event *event, struct fault *fault);

#endif
