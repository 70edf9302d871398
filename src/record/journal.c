/* The journal in SQLite: what may not be lost is committed before it is answered. Each statement is
 * prepared once; whatever SQLite complains of becomes a sentence in journal_sql_fault. */
#include "record/journal_inside.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <unistd.h>

#include "base/text.h"
#include "record/journal_trust.h"
#include "record/writeup.h"

enum { BUSY_MS = 5000 };

static const char FILE_NAME[] = "journal.sqlite";

static const char *const SQL[JOURNAL_STATEMENTS] = {
    [BEGIN] = "BEGIN IMMEDIATE",
    [COMMIT] = "COMMIT",
    [ROLLBACK] = "ROLLBACK",
    [NEW_JOB] = "INSERT INTO jobs (opened_ms, last_ms, id, twin_of) VALUES (?1, ?1, ?2, ?3)",
    [ADD_EVENT] = "INSERT INTO events (job, seq, at_ms, body)"
                  " SELECT number, events + 1, ?2, ?3 FROM jobs WHERE number = ?1",
    [COUNT_EVENT] = "UPDATE jobs SET events = ?2, last_ms = ?3, active_ms = ?4, heard = ?5,"
                    " unsure = ?6, rejected = ?7 WHERE number = ?1",
    [EVENTS] = "SELECT seq, body FROM events WHERE job = ?1 ORDER BY seq",
    [SUMMARISE] = "UPDATE jobs SET closed_ms = ?2, work_order = ?3, profile = ?4, question = ?5,"
                  " ending = ?6, bike = ?7, odometer = ?8, cause = ?9, found_mm = ?10,"
                  " left_mm = ?11 WHERE number = ?1",
    [JOBS] = "SELECT " JOURNAL_JOB_COLUMNS " FROM jobs ORDER BY number",
    [JOB] = "SELECT " JOURNAL_JOB_COLUMNS " FROM jobs WHERE number = ?1",
    [BOUNDS] = "SELECT count(*), min(number), max(number) FROM jobs",
    [SET_RIDER] = "INSERT INTO riders (job, name) VALUES (?1, ?2)"
                  " ON CONFLICT (job) DO UPDATE SET name = excluded.name",
    [RIDER] = "SELECT name FROM riders WHERE job = ?1",
    [SET_ID] = "UPDATE jobs SET id = ?2 WHERE number = ?1",
};

/* ---- faults ------------------------------------------------------------------------------ */

static const struct remedy {
    int code; /* SQLite's, primary */
    const char *sentence;
} REMEDIES[] = {
    {SQLITE_FULL, "is on a full disk: free some space there, then go on"},
    {SQLITE_READONLY, "is read-only for you: give yourself permission to write it and its "
                      "directory, or name another directory with --data"},
    {SQLITE_PERM, "is read-only for you: give yourself permission to write it and its directory, "
                  "or name another directory with --data"},
    {SQLITE_CANTOPEN, "cannot be opened: see that you may write it and its directory, or name "
                      "another directory with --data"},
    {SQLITE_CORRUPT, "is damaged: move it away and keep it, or put a backup in its place"},
    {SQLITE_NOTADB, "is not a midthrow journal: move it away, or name another directory with "
                    "--data"},
    {SQLITE_BUSY, "is held by another program: close that and try again"},
    {SQLITE_LOCKED, "is held by another program: close that and try again"},
    {SQLITE_NOMEM, "does not fit into memory: close something and try again"},
};

static bool is_disk_full(int system_error)
{
    return system_error == ENOSPC || system_error == EDQUOT || system_error == EFBIG;
}

static int last_error_of(sqlite3_file *file)
{
    int error = 0;
    if (file == NULL || file->pMethods == NULL ||
        file->pMethods->xFileControl(file, SQLITE_FCNTL_LAST_ERRNO, &error) != SQLITE_OK)
        return 0;
    return error;
}

/* A write that a quota or a file-size limit cut short comes as an I/O error, and its errno lies
 * with the file that was written: the database or its WAL. */
static bool hit_a_limit(const struct journal *journal)
{
    sqlite3_file *database = NULL;
    sqlite3_file *wal = NULL;
    sqlite3_file_control(journal->db, "main", SQLITE_FCNTL_FILE_POINTER, &database);
    sqlite3_file_control(journal->db, "main", SQLITE_FCNTL_JOURNAL_POINTER, &wal);
    return is_disk_full(sqlite3_system_errno(journal->db)) ||
           is_disk_full(last_error_of(database)) || is_disk_full(last_error_of(wal));
}

bool journal_sql_fault(const struct journal *journal, struct fault *fault)
{
    int extended = journal->db == NULL ? SQLITE_NOMEM : sqlite3_extended_errcode(journal->db);
    int code = extended & 0xFF;
    if (code == SQLITE_IOERR && hit_a_limit(journal))
        code = SQLITE_FULL;
    for (size_t i = 0; i < sizeof REMEDIES / sizeof REMEDIES[0]; i++)
        if (REMEDIES[i].code == code)
            return fault_set(fault, FAULT_FAILED, "the journal '%s' %s.", journal->path,
                             REMEDIES[i].sentence);
    return fault_set(fault, FAULT_FAILED,
                     "the journal '%s' cannot be read or written (%s): check the disk, or name "
                     "another directory with --data.",
                     journal->path, sqlite3_errstr(extended));
}

bool journal_damaged(const struct journal *journal, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "the journal '%s' is damaged: move it away and keep it, or put a backup in "
                     "its place.",
                     journal->path);
}

/* ---- statements -------------------------------------------------------------------------- */

/* A statement ready for its values. */
sqlite3_stmt *journal_ready(struct journal *journal, enum journal_statement which)
{
    sqlite3_stmt *statement = journal->statement[which];
    sqlite3_reset(statement);
    sqlite3_clear_bindings(statement);
    return statement;
}

/* Runs a statement that answers with no rows. */
bool journal_run(struct journal *journal, sqlite3_stmt *statement, struct fault *fault)
{
    bool ok = sqlite3_step(statement) == SQLITE_DONE;
    if (!ok)
        journal_sql_fault(journal, fault);
    sqlite3_reset(statement);
    return ok;
}

void journal_bind_text(sqlite3_stmt *statement, int column, const char *text)
{
    /* A failed bind leaves NULL, which every column refuses: nothing wrong is ever stored. */
    sqlite3_bind_text(statement, column, text, -1, SQLITE_TRANSIENT);
}

bool journal_execute(struct journal *journal, const char *sql, struct fault *fault)
{
    return sqlite3_exec(journal->db, sql, NULL, NULL, NULL) == SQLITE_OK ||
           journal_sql_fault(journal, fault);
}

sqlite3_stmt *journal_prepare(struct journal *journal, const char *sql, struct fault *fault)
{
    sqlite3_stmt *statement = NULL;
    if (sqlite3_prepare_v2(journal->db, sql, -1, &statement, NULL) == SQLITE_OK)
        return statement;
    journal_sql_fault(journal, fault);
    return NULL;
}

bool journal_ask_number(struct journal *journal, const char *sql, int64_t *number,
                        struct fault *fault)
{
    sqlite3_stmt *statement = NULL;
    bool ok = sqlite3_prepare_v2(journal->db, sql, -1, &statement, NULL) == SQLITE_OK &&
              sqlite3_step(statement) == SQLITE_ROW;
    if (ok)
        *number = sqlite3_column_int64(statement, 0);
    else
        journal_sql_fault(journal, fault);
    sqlite3_finalize(statement);
    return ok;
}

bool journal_begin(struct journal *journal, struct fault *fault)
{
    if (sqlite3_get_autocommit(journal->db) == 0)
        return true; /* journal_begin_job did */
    return journal_run(journal, journal_ready(journal, BEGIN), fault);
}

bool journal_end(struct journal *journal, bool ok, struct fault *fault)
{
    if (ok && journal_run(journal, journal_ready(journal, COMMIT), fault))
        return true;
    if (sqlite3_get_autocommit(journal->db) == 0) /* some errors roll back by themselves */
        sqlite3_step(journal_ready(journal, ROLLBACK));
    sqlite3_reset(journal->statement[ROLLBACK]);
    return false;
}

/* ---- opening ----------------------------------------------------------------------------- */

bool journal_default_directory(char *out, size_t size, struct fault *fault)
{
    const char *data = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");
    struct text text = text_into(out, size);
    if (data != NULL &&
        data[0] == '/') /* the specification: a path that is not absolute is ignored */
        text_addf(&text, "%s/midthrow", data);
    else if (home != NULL && home[0] != '\0')
        text_addf(&text, "%s/.local/share/midthrow", home);
    else
        return fault_set(fault, FAULT_MISSING,
                         "neither XDG_DATA_HOME nor HOME says where your data lives: name a "
                         "directory with --data.");
    return !text.cut || fault_set(fault, FAULT_FAILED,
                                  "the path of your data directory is too long: name another with "
                                  "--data.");
}

bool journal_exists(const char *directory)
{
    char path[STORE_PATH];
    return store_path(directory, FILE_NAME, 0, path, NULL) && access(path, F_OK) == 0;
}

bool journal_prepare_all(struct journal *journal, struct fault *fault)
{
    for (size_t i = 0; i < JOURNAL_STATEMENTS; i++)
        if (journal->statement[i] == NULL &&
            sqlite3_prepare_v3(journal->db, SQL[i], -1, SQLITE_PREPARE_PERSISTENT,
                               &journal->statement[i], NULL) != SQLITE_OK)
            return journal_sql_fault(journal, fault);
    return true;
}

/* The file is made here and not by SQLite, which would give it the umask's mode; -wal and -shm take
 * theirs from it. */
static bool make_file(const struct journal *journal, struct fault *fault)
{
    int fd = store_open(journal->path, 0, fault);
    if (fd < 0)
        return false;
    close(fd);
    return true;
}

/* By the folder's own name, for SQLite refuses links anywhere on the way to the file. */
static bool connect(struct journal *journal, struct fault *fault)
{
    char path[STORE_PATH];
    char *folder = realpath(journal->directory, NULL);
    bool fits = folder != NULL && store_path(folder, FILE_NAME, 0, path, NULL);
    free(folder);
    int flags = SQLITE_OPEN_READWRITE | (fits ? SQLITE_OPEN_NOFOLLOW : 0);
    if (sqlite3_open_v2(fits ? path : journal->path, &journal->db, flags, NULL) != SQLITE_OK)
        return journal_sql_fault(journal, fault);
    journal_distrust(journal->db);
    sqlite3_busy_timeout(journal->db, BUSY_MS);
    sqlite3_extended_result_codes(journal->db, 1);
    return true;
}

/* SQLITE_OK when it is kept, else what SQLite failed with. */
static int ask_for_log(sqlite3 *db)
{
    sqlite3_stmt *change = NULL;
    int code = sqlite3_prepare_v2(db, "PRAGMA journal_mode = WAL", -1, &change, NULL);
    if (code == SQLITE_OK)
        code = sqlite3_step(change);
    const char *mode = code == SQLITE_ROW ? (const char *)sqlite3_column_text(change, 0) : NULL;
    bool kept = mode != NULL && strcmp(mode, "wal") == 0;
    sqlite3_finalize(change);
    return kept ? SQLITE_OK : code;
}

/* Of several that open a new file at once SQLite tells all but one that it is busy, and does not
 * wait: each holds it for reading while it asks to write it. */
static bool keep_a_log(struct journal *journal, struct fault *fault)
{
    enum { PAUSE_MS = 20 };
    int code = ask_for_log(journal->db);
    for (int waited = 0; (code & 0xFF) == SQLITE_BUSY && waited < BUSY_MS; waited += PAUSE_MS) {
        sqlite3_sleep(PAUSE_MS);
        code = ask_for_log(journal->db);
    }
    return code == SQLITE_OK || journal_sql_fault(journal, fault);
}

static bool open_database(struct journal *journal, struct fault *fault)
{
    int version = 0;
    bool log = false;
    if (!journal_trust_files(journal, &log, fault) || !connect(journal, fault) ||
        !journal_execute(journal,
                         "PRAGMA cell_size_check = ON; PRAGMA mmap_size = 0;"
                         "PRAGMA cache_size = -2000;", /* KiB; the file may wish for more */
                         fault) ||
        !journal_check_schema(journal, &version, fault) ||
        (log && !journal_trust_pages(journal, fault)))
        return false;
    journal_trusted(journal->db);
    return keep_a_log(journal, fault) &&
           journal_execute(
               journal,
               "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON;"
               "PRAGMA temp_store = MEMORY;", /* nothing of it anywhere else */
               fault) &&
           (version == JOURNAL_SCHEMA || journal_make_schema(journal, fault)) &&
           journal_prepare_all(journal, fault);
}

struct journal *journal_open(const char *directory, struct fault *fault)
{
    struct journal *journal = calloc(1, sizeof *journal);
    if (journal == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    journal->lock.fd = -1;
    if (store_make_directory(directory, fault) &&
        store_path(directory, FILE_NAME, 0, journal->path, fault) &&
        text_copy(journal->directory, sizeof journal->directory, directory) &&
        make_file(journal, fault) && open_database(journal, fault))
        return journal;
    journal_close(journal);
    return NULL;
}

void journal_close(struct journal *journal)
{
    if (journal == NULL)
        return;
    for (size_t i = 0; i < JOURNAL_STATEMENTS; i++)
        sqlite3_finalize(journal->statement[i]);
    sqlite3_close(journal->db);
    journal_unlock(journal);
    free(journal);
}

const char *journal_directory(const struct journal *journal)
{
    return journal->directory;
}

/* ---- one job, one midthrow --------------------------------------------------------------- */

bool journal_lock(struct journal *journal, int64_t number, struct fault *fault)
{
    char path[STORE_PATH];
    journal_unlock(journal);
    return store_path(journal->directory, "job-%lld.lock", number, path, fault) &&
           store_lock(&journal->lock, path, number, fault);
}

void journal_unlock(struct journal *journal)
{
    store_unlock(&journal->lock);
}

/* ---- writing ----------------------------------------------------------------------------- */

bool journal_make_id(char id[JOURNAL_ID], struct fault *fault)
{
    static const char digits[] = "0123456789abcdef";
    unsigned char bytes[(JOURNAL_ID - 1) / 2];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes)
        return fault_set(fault, FAULT_FAILED,
                         "the system gives no random numbers: try again, or start it anew.");
    for (size_t i = 0; i < sizeof bytes; i++) {
        id[2 * i] = digits[bytes[i] >> 4];
        id[2 * i + 1] = digits[bytes[i] & 15];
    }
    id[JOURNAL_ID - 1] = '\0';
    return true;
}

/* SQLite would call the disk full. */
static bool has_a_number_left(struct journal *journal, struct fault *fault)
{
    static const int64_t most = INT64_C(999999999999999); /* what a command line takes */
    int64_t last = 0;
    if (!journal_ask_number(journal, "SELECT coalesce(max(seq), 0) FROM sqlite_sequence", &last,
                            fault))
        return false;
    return last < most || fault_set(fault, FAULT_FAILED,
                                    "the journal '%s' has no number left for a job, which midthrow "
                                    "alone never comes to: put a backup in its place.",
                                    journal->path);
}

bool journal_add_job(struct journal *journal, int64_t at_ms, const char *id, const char *twin_of,
                     int64_t *number, struct fault *fault)
{
    char own[JOURNAL_ID];
    if (id == NULL && !journal_make_id(own, fault))
        return false;
    if (!has_a_number_left(journal, fault))
        return false;
    sqlite3_stmt *statement = journal_ready(journal, NEW_JOB);
    sqlite3_bind_int64(statement, 1, at_ms);
    journal_bind_text(statement, 2, id == NULL ? own : id);
    journal_bind_text(statement, 3, twin_of);
    if (!journal_run(journal, statement, fault))
        return false;
    *number = sqlite3_last_insert_rowid(journal->db);
    return true;
}

bool journal_new_job(struct journal *journal, int64_t at_ms, int64_t *number, struct fault *fault)
{
    return journal_add_job(journal, at_ms, NULL, "", number, fault);
}

bool journal_begin_job(struct journal *journal, int64_t at_ms, int64_t *number, struct fault *fault)
{
    return journal_begin(journal, fault) &&
           (journal_add_job(journal, at_ms, NULL, "", number, fault) ||
            journal_end(journal, false, NULL));
}

void journal_count(struct journal_counts *counts, const struct job_event *event)
{
    bool goes_on = counts->events > 0 && event->kind != JOB_RESUMED;
    if (goes_on && event->at_ms > counts->last_ms) {
        uint64_t gap_ms = (uint64_t)event->at_ms - (uint64_t)counts->last_ms;
        if (gap_ms <= JOURNAL_PAUSE_MS)
            counts->active_ms += (int64_t)gap_ms;
    }
    bool by_ear = event->kind == JOB_HEARD && event->source == JOB_BY_EAR;
    counts->heard += by_ear;
    counts->unsure += by_ear && event->verdict == JOB_UNSURE;
    counts->rejected += by_ear && event->verdict == JOB_REJECTED;
    counts->last_ms = event->at_ms;
    counts->events++;
}

bool journal_store_counts(struct journal *journal, int64_t number,
                          const struct journal_counts *counts, struct fault *fault)
{
    sqlite3_stmt *count = journal_ready(journal, COUNT_EVENT);
    const int64_t values[] = {number,        counts->events, counts->last_ms, counts->active_ms,
                              counts->heard, counts->unsure, counts->rejected};
    for (int i = 0; i < (int)(sizeof values / sizeof values[0]); i++)
        sqlite3_bind_int64(count, i + 1, values[i]);
    return journal_run(journal, count, fault);
}

bool journal_add_event(struct journal *journal, int64_t number, const struct job_event *event,
                       const char *body, struct fault *fault)
{
    struct journal_job job;
    if (!journal_find(journal, number, &job, fault))
        return false;
    if (job.events >= JOURNAL_EVENTS_MAX)
        return fault_set(fault, FAULT_FAILED,
                         "job %lld has no room for another answer: begin a new one.",
                         (long long)number);
    sqlite3_stmt *add = journal_ready(journal, ADD_EVENT);
    sqlite3_bind_int64(add, 1, number);
    sqlite3_bind_int64(add, 2, event->at_ms);
    journal_bind_text(add, 3, body);
    if (!journal_run(journal, add, fault))
        return false;
    if (sqlite3_changes(journal->db) != 1)
        return journal_damaged(journal, fault);
    struct journal_counts counts = {.events = job.events,
                                    .last_ms = job.last_ms,
                                    .active_ms = job.active_ms,
                                    .heard = job.heard,
                                    .unsure = job.unsure,
                                    .rejected = job.rejected};
    journal_count(&counts, event);
    return journal_store_counts(journal, number, &counts, fault);
}

/* `after` NULL: the summary stays as it is. */
static bool commit(struct journal *journal, int64_t number, const struct job_event *event,
                   const struct job *after, struct fault *fault)
{
    char body[JOURNAL_EVENT];
    if (!journal_event_to_json(event, body, sizeof body))
        return fault_set(fault, FAULT_FAILED,
                         "this event cannot be stored: report it as a defect of midthrow.");
    if (!journal_begin(journal, fault))
        return false;
    bool ok = journal_add_event(journal, number, event, body, fault) &&
              (after == NULL || journal_summarise(journal, number, after, fault));
    return journal_end(journal, ok, fault);
}

bool journal_append(struct journal *journal, int64_t number, const struct job_event *event,
                    struct fault *fault)
{
    return commit(journal, number, event, NULL, fault);
}

bool journal_commit(struct journal *journal, int64_t number, const struct job_event *event,
                    const struct job *after, struct fault *fault)
{
    return commit(journal, number, event, after, fault);
}

/* The offset as found and as it was left: of the first and the last measurement that was balanced;
 * left NULL when nothing was. */
static void bind_offsets(sqlite3_stmt *statement, int column, const struct job *job)
{
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].balanced) {
            sqlite3_bind_double(statement, column, job->round[i].balance.offset_mm);
            break;
        }
    for (int i = job->rounds; i-- > 0;)
        if (job->round[i].balanced) {
            sqlite3_bind_double(statement, column + 1, job->round[i].balance.offset_mm);
            break;
        }
}

bool journal_summarise(struct journal *journal, int64_t number, const struct job *job,
                       struct fault *fault)
{
    sqlite3_stmt *statement = journal_ready(journal, SUMMARISE);
    sqlite3_bind_int64(statement, 1, number);
    sqlite3_bind_int64(statement, 2, job->closed_ms);
    journal_bind_text(statement, 3, job->order);
    journal_bind_text(statement, 4, job->has_profile ? job->profile.name : "");
    const char *question = job_question_id(job);
    journal_bind_text(statement, 5, question == NULL ? "" : question);
    journal_bind_text(statement, 6, writeup_ending_name(job->ending));
    journal_bind_text(statement, 7, job->bike);
    sqlite3_bind_int64(statement, 8, job->odometer);
    journal_bind_text(statement, 9,
                      job->cause < 0 ? "" : reason_cause_id((enum reason_cause)job->cause));
    bind_offsets(statement, 10, job);
    return journal_run(journal, statement, fault);
}

/* ---- reading ----------------------------------------------------------------------------- */

static bool event_count(struct journal *journal, int64_t number, int64_t *count,
                        struct fault *fault)
{
    struct journal_job job;
    if (!journal_find(journal, number, &job, fault))
        return false;
    *count = job.events;
    return true;
}

static bool refuse_event(const struct journal *journal, int64_t number, int64_t seq,
                         struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "event %lld of job %lld in the journal '%s' is damaged or missing: put a "
                     "backup in its place.",
                     (long long)seq, (long long)number, journal->path);
}

bool journal_replay(struct journal *journal, int64_t number,
                    bool (*each)(void *context, const struct job_event *event), void *context,
                    struct fault *fault)
{
    int64_t count = 0;
    if (!event_count(journal, number, &count, fault))
        return false;
    sqlite3_stmt *events = journal_ready(journal, EVENTS);
    sqlite3_bind_int64(events, 1, number);
    bool ok = true;
    bool more = true;
    int step = SQLITE_ROW;
    int64_t seq = 0;
    while (ok && more && (step = sqlite3_step(events)) == SQLITE_ROW) {
        struct job_event event;
        const char *body = journal_column_body(events, 1);
        seq++;
        ok = seq <= JOURNAL_EVENTS_MAX && body != NULL && sqlite3_column_int64(events, 0) == seq &&
             journal_event_from_json(body, &event, NULL);
        if (!ok)
            refuse_event(journal, number, seq, fault);
        more = ok && each(context, &event);
    }
    if (ok && more && step != SQLITE_DONE)
        ok = journal_sql_fault(journal, fault);
    sqlite3_reset(events);
    if (ok && more && seq < count)
        ok = refuse_event(journal, number, seq + 1, fault);
    return ok;
}

static bool step(void *context, const struct job_event *event)
{
    struct job_effects unsaid;
    job_step(context, event, &unsaid);
    return true;
}

bool journal_fold(struct journal *journal, int64_t number, struct job *job, struct fault *fault)
{
    job_init(job);
    return journal_replay(journal, number, step, job, fault);
}

void journal_column_text(sqlite3_stmt *row, int column, char *out, size_t size)
{
    text_copy(out, size, (const char *)sqlite3_column_text(row, column));
}

static int64_t within(int64_t value, int64_t low, int64_t high)
{
    return value < low ? low : value > high ? high : value;
}

int64_t journal_column_ms(sqlite3_stmt *row, int column)
{
    static const int64_t most = INT64_C(253402300799999); /* the end of the year 9999 */
    return within(sqlite3_column_int64(row, column), -most, most);
}

int64_t journal_column_count(sqlite3_stmt *row, int column)
{
    return within(sqlite3_column_int64(row, column), 0, 1000000000);
}

const char *journal_column_body(sqlite3_stmt *row, int column)
{
    const char *body = (const char *)sqlite3_column_text(row, column);
    if (body == NULL || strlen(body) != (size_t)sqlite3_column_bytes(row, column))
        return NULL;
    return body;
}

bool journal_is_id(const char *word)
{
    return strlen(word) == JOURNAL_ID - 1 && strspn(word, "0123456789abcdef") == JOURNAL_ID - 1;
}

void journal_take_job(sqlite3_stmt *row, struct journal_job *job)
{
    *job = (struct journal_job){
        .number = sqlite3_column_int64(row, 0),
        .opened_ms = journal_column_ms(row, 1),
        .last_ms = journal_column_ms(row, 2),
        .closed_ms = journal_column_ms(row, 3),
        .events = journal_column_count(row, 8),
        .odometer = sqlite3_column_int64(row, 12),
        .active_ms = journal_column_ms(row, 14),
        .heard = journal_column_count(row, 15),
        .unsure = journal_column_count(row, 16),
        .rejected = journal_column_count(row, 17),
        .measured = sqlite3_column_type(row, 18) != SQLITE_NULL,
        .found_mm = sqlite3_column_double(row, 18),
        .left_mm = sqlite3_column_double(row, 19),
    };
    journal_column_text(row, 4, job->order, sizeof job->order);
    journal_column_text(row, 5, job->profile, sizeof job->profile);
    journal_column_text(row, 6, job->question, sizeof job->question);
    journal_column_text(row, 7, job->ending, sizeof job->ending);
    journal_column_text(row, 9, job->id, sizeof job->id);
    journal_column_text(row, 10, job->twin_of, sizeof job->twin_of);
    journal_column_text(row, 11, job->bike, sizeof job->bike);
    journal_column_text(row, 13, job->cause, sizeof job->cause);
}

bool journal_jobs(struct journal *journal, bool (*each)(void *context, const struct journal_job *),
                  void *context, struct fault *fault)
{
    sqlite3_stmt *jobs = journal_ready(journal, JOBS);
    int step;
    while ((step = sqlite3_step(jobs)) == SQLITE_ROW) {
        struct journal_job job;
        journal_take_job(jobs, &job);
        if (!each(context, &job))
            break;
    }
    bool ok = step == SQLITE_ROW || step == SQLITE_DONE || journal_sql_fault(journal, fault);
    sqlite3_reset(jobs);
    return ok;
}

static bool refuse_unknown(struct journal *journal, int64_t number, struct fault *fault)
{
    sqlite3_stmt *bounds = journal_ready(journal, BOUNDS);
    if (sqlite3_step(bounds) != SQLITE_ROW) {
        journal_sql_fault(journal, fault);
    } else if (sqlite3_column_int64(bounds, 0) == 0) {
        fault_set(fault, FAULT_USAGE, "there is no job %lld, nor any other yet: start one.",
                  (long long)number);
    } else {
        fault_set(fault, FAULT_USAGE,
                  "there is no job %lld: they go from %lld to %lld; 'midthrow jobs' lists them.",
                  (long long)number, (long long)sqlite3_column_int64(bounds, 1),
                  (long long)sqlite3_column_int64(bounds, 2));
    }
    sqlite3_reset(bounds);
    return false;
}

bool journal_find(struct journal *journal, int64_t number, struct journal_job *out,
                  struct fault *fault)
{
    sqlite3_stmt *statement = journal_ready(journal, JOB);
    sqlite3_bind_int64(statement, 1, number);
    int step = sqlite3_step(statement);
    if (step == SQLITE_ROW)
        journal_take_job(statement, out);
    bool failed = step != SQLITE_ROW && step != SQLITE_DONE;
    if (failed)
        journal_sql_fault(journal, fault);
    sqlite3_reset(statement);
    return step == SQLITE_ROW || (!failed && refuse_unknown(journal, number, fault));
}
