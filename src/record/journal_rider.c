/* Riders' names: kept beside the jobs, in no event and no transcript, and erased for good. */
#include "record/journal_inside.h"

#include <string.h>

#include "base/text.h"

bool journal_set_rider(struct journal *journal, int64_t number, const char *name,
                       struct fault *fault)
{
    sqlite3_stmt *statement = journal_ready(journal, SET_RIDER);
    sqlite3_bind_int64(statement, 1, number);
    journal_bind_text(statement, 2, name);
    return journal_run(journal, statement, fault);
}

bool journal_rider(struct journal *journal, int64_t number, char name[JOURNAL_RIDER],
                   struct fault *fault)
{
    sqlite3_stmt *statement = journal_ready(journal, RIDER);
    sqlite3_bind_int64(statement, 1, number);
    int step = sqlite3_step(statement);
    name[0] = '\0';
    if (step == SQLITE_ROW)
        journal_column_text(statement, 0, name, JOURNAL_RIDER);
    bool ok = step == SQLITE_ROW || step == SQLITE_DONE || journal_sql_fault(journal, fault);
    sqlite3_reset(statement);
    return ok;
}

/* Brings the WAL into the database and empties its file. Its first column says whether somebody
 * else's reading or writing was in the way (sqlite.org/pragma.html, wal_checkpoint). */
static bool empty_wal(struct journal *journal, struct fault *fault)
{
    int64_t busy = 0;
    if (!journal_ask_number(journal, "PRAGMA wal_checkpoint(TRUNCATE)", &busy, fault))
        return false;
    return busy == 0 || fault_set(fault, FAULT_FAILED,
                                  "the names are out of the journal '%s', but another midthrow "
                                  "that has it open keeps old pages: close that and forget again.",
                                  journal->path);
}

/* secure_delete overwrites what DELETE frees, in the database; what the WAL still held goes with
 * its file; VACUUM leaves no page of before. Done even when no name was found: an erasure that was
 * held up is finished by asking again. */
bool journal_forget_riders(struct journal *journal, int64_t number, int64_t *names,
                           struct fault *fault)
{
    sqlite3_stmt *statement =
        journal_prepare(journal, "DELETE FROM riders WHERE ?1 = 0 OR job = ?1", fault);
    if (statement == NULL)
        return false;
    sqlite3_bind_int64(statement, 1, number);
    bool ok = journal_run(journal, statement, fault);
    *names = sqlite3_changes64(journal->db);
    sqlite3_finalize(statement);
    return ok && empty_wal(journal, fault) && journal_execute(journal, "VACUUM", fault) &&
           empty_wal(journal, fault);
}
