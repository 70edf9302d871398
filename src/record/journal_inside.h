/*
 * The journal's own parts, as the files of record/ that read and write it share them: journal.c
 * (events and jobs), journal_schema.c (versions), history.c (what the jobs say together), move.c
 * (between stations), learn.c. Nothing outside the room includes this: journal.h is the contract.
 */
#ifndef MIDTHROW_RECORD_JOURNAL_INSIDE_H
#define MIDTHROW_RECORD_JOURNAL_INSIDE_H

#include <sqlite3.h>

#include "record/journal.h"
#include "record/store.h"

enum journal_statement {
    BEGIN,
    COMMIT,
    ROLLBACK,
    NEW_JOB,
    ADD_EVENT,
    COUNT_EVENT,
    EVENTS,
    SUMMARISE,
    JOBS,
    JOB,
    BOUNDS,
    SET_RIDER,
    RIDER,
    SET_ID,
    JOURNAL_STATEMENTS,
};

struct journal {
    sqlite3 *db;
    sqlite3_stmt *statement[JOURNAL_STATEMENTS];
    char directory[STORE_PATH];
    char path[STORE_PATH];
    struct store_lock lock;
};

/* What SQLite last complained of, as a sentence. Both return false. */
bool journal_sql_fault(const struct journal *journal, struct fault *fault);
bool journal_damaged(const struct journal *journal, struct fault *fault);

/* A statement prepared at opening, ready for its values; and one that answers with no rows, run. */
sqlite3_stmt *journal_ready(struct journal *journal, enum journal_statement which);
bool journal_run(struct journal *journal, sqlite3_stmt *statement, struct fault *fault);

/* A statement for once: NULL with a sentence, else the caller finalizes it. */
sqlite3_stmt *journal_prepare(struct journal *journal, const char *sql, struct fault *fault);
bool journal_execute(struct journal *journal, const char *sql, struct fault *fault);
bool journal_ask_number(struct journal *journal, const char *sql, int64_t *number,
                        struct fault *fault);
void journal_bind_text(sqlite3_stmt *statement, int column, const char *text);
void journal_column_text(sqlite3_stmt *row, int column, char *out, size_t size);

/* What the file says, kept to what can be meant, so that it can be added up and shown: a moment or
 * a span within the years that have four figures; a count from 0 to a thousand million. */
int64_t journal_column_ms(sqlite3_stmt *row, int column);
int64_t journal_column_count(sqlite3_stmt *row, int column);

/* The event's text as it was written: NULL when there is none, or a zero byte within. */
const char *journal_column_body(sqlite3_stmt *row, int column);

bool journal_is_id(const char *word); /* as journal_make_id makes them */

/* One transaction around several calls below. `journal_end` commits when `ok`, else rolls back, and
 * returns whether it was committed. */
bool journal_begin(struct journal *journal, struct fault *fault);
bool journal_end(struct journal *journal, bool ok, struct fault *fault);

/* journal_new_job and journal_append without a transaction of their own. `id` NULL: a new one. */
bool journal_add_job(struct journal *journal, int64_t at_ms, const char *id, const char *twin_of,
                     int64_t *number, struct fault *fault);
bool journal_add_event(struct journal *journal, int64_t number, const struct job_event *event,
                       const char *body, struct fault *fault);

/* What is counted beside the events, kept by journal_add_event; here once more from the start. */
struct journal_counts {
    int64_t events, last_ms, active_ms;
    int64_t heard, unsure, rejected;
};
void journal_count(struct journal_counts *counts, const struct job_event *event);
bool journal_store_counts(struct journal *journal, int64_t number,
                          const struct journal_counts *counts, struct fault *fault);

bool journal_make_id(char id[JOURNAL_ID], struct fault *fault);

/* Columns of a job in the order journal_take_job reads them. */
#define JOURNAL_JOB_COLUMNS                                                                        \
    "number, opened_ms, last_ms, closed_ms, work_order, profile, question, ending, events, id,"    \
    " twin_of, bike, odometer, cause, active_ms, heard, unsure, rejected, found_mm, left_mm"
void journal_take_job(sqlite3_stmt *row, struct journal_job *job);

/* Whose file is it, and of which version? Asked before anything is written to it. `version` is 0
 * for a file that is nobody's yet. A newer one and somebody else's are refused. */
bool journal_check_schema(struct journal *journal, int *version, struct fault *fault);

/* Prepares the statements above; the tables must be there. */
bool journal_prepare_all(struct journal *journal, struct fault *fault);

/* Makes the tables, or brings those of an older version up to this one: all of it, or nothing. */
bool journal_make_schema(struct journal *journal, struct fault *fault);

#endif
