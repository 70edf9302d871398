/*
 * Jobs on their way to another station and back: a file of JSON lines, and how two versions of one
 * job meet. Events go as they are in the journal, byte for byte; summaries are made again from
 * them; riders' names are in no event and never leave.
 *
 * The file, version 1, UTF-8, one object a line, lines of less than JOURNAL_EVENT bytes:
 *
 *     {"midthrow":"jobs","version":1,"jobs":2}
 *     {"job":"5202cd68a20f3814e88cd0035e74ac6d","events":3}
 *     {"kind":"opened","at_ms":1795602024028,"source":"station","names":["generic-big-twin"]}
 *     {"kind":"heard", ...
 *     {"kind":"heard", ...
 *     {"job":"a016ea4b9d433587ed09f6424ecdf2cf","of":"5202cd68a20f3814e88cd0035e74ac6d","events":18}
 *     ...
 *
 * "jobs" and "events" count what follows, so a file that was cut is noticed. "job" is the job's own
 * id in the world; "of" is there when it was kept apart from another version of that job. The first
 * event of a job, and no other, is "opened". At most MOVE_JOBS_MAX jobs, MOVE_EVENTS_MAX events and
 * MOVE_BYTES_MAX bytes of events a job.
 *
 * Coming in, a job whose id is not here is added. One that is here with the same events changes
 * nothing; with some of them missing here, it goes on from there; with some of them missing in the
 * file, it stays. If the two part, that is a conflict: nothing of it is taken, unless both are to
 * be kept, when the file's becomes a job of its own beside the other (journal_job.twin_of), once.
 */
#ifndef MIDTHROW_RECORD_MOVE_H
#define MIDTHROW_RECORD_MOVE_H

#include <stdio.h>

#include "record/journal.h"

enum {
    MOVE_VERSION = 1,
    MOVE_JOBS_MAX = 1000000,
    MOVE_EVENTS_MAX = JOURNAL_EVENTS_MAX,
    MOVE_BYTES_MAX = 64 * 1024 * 1024,
};

/* Writes these jobs, or all when n is 0; one that has no event yet is left out. `numbers` is put in
 * order. Errors of writing are left to the file's owner. */
bool move_export(struct journal *journal, int64_t numbers[], size_t n, FILE *out, int64_t *jobs,
                 struct fault *fault);

struct move_version {
    int64_t events, last_ms;
    char ending[16];
    const char *event; /* the first that is different, as JSON; NULL: there is none any more */
};

struct move_conflict {
    const char *id;
    int64_t number;   /* of the job here */
    int64_t parts_at; /* the first event that is different, counted from 1 */
    struct move_version here, there;
    int64_t kept_as; /* the number of the file's version when both are kept; else 0 */
};

struct move_report {
    int64_t added, extended, same, longer_here, conflicts, kept;
};

/* All of the file, but for conflicts, or nothing of it: a line that is none is refused with its
 * number (FAULT_FAILED), as is a job that would go on while another midthrow works on it. `name` is
 * the file's, for the sentences. */
bool move_import(struct journal *journal, FILE *in, const char *name, bool keep_both,
                 void (*conflict)(void *context, const struct move_conflict *conflict),
                 void *context, struct move_report *report, struct fault *fault);

#endif
