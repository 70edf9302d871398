/* May a journal's file be believed? See journal_trust.h. */
#include "record/journal_trust.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"

/* ---- files ---------------------------------------------------------------------------------- */

static bool beside(const struct journal *journal, const char *end, char path[STORE_PATH + 16])
{
    struct text text = text_into(path, STORE_PATH + 16);
    text_addf(&text, "%s%s", journal->path, end);
    return !text.cut;
}

static bool refuse_beside(const char *path, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "'%.400s' is not a file of midthrow's: move it away and keep it.", path);
}

/* Size of a plain file, 0 when there is none, -1 when something else is in its place: a pipe would
 * be waited for, a device never ends, a link leads elsewhere. */
static int64_t size_of(const char *path)
{
    struct stat status;
    if (lstat(path, &status) != 0)
        return errno == ENOENT ? 0 : -1;
    return S_ISREG(status.st_mode) ? (int64_t)status.st_size : -1;
}

/* Its last 8 bytes are these when it names another journal, a "super-journal", that SQLite is to
 * open and may delete, wherever that is (sqlite.org/fileformat2.html, section 3, and pager.c of
 * 3.40, pager_delsuper). Midthrow never has one. */
static bool names_another(const char *path, int64_t size)
{
    static const unsigned char magic[] = {0xD9, 0xD5, 0x05, 0xF9, 0x20, 0xA1, 0x63, 0xD7};
    unsigned char end[sizeof magic];
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (fd < 0)
        return size > 0; /* SQLite could do no better */
    bool read = pread(fd, end, sizeof end, (off_t)(size - (int64_t)sizeof end)) == sizeof end;
    close(fd);
    return read && memcmp(end, magic, sizeof magic) == 0;
}

/* A rollback journal has SQLite put old pages over those of the database. Midthrow writes one only
 * while a new file of a single page is told to keep a log instead; beside anything larger it was
 * left by another program, or put there. */
static bool trust_rollback(const struct journal *journal, struct fault *fault)
{
    enum { ONE_PAGE = 4096, FEW_PAGES = 65536 };
    char path[STORE_PATH + 16];
    if (!beside(journal, "-journal", path))
        return refuse_beside(journal->path, fault);
    int64_t size = size_of(path);
    if (size == 0)
        return true;
    if (size < 0 || size > FEW_PAGES || size_of(journal->path) > ONE_PAGE ||
        names_another(path, size))
        return refuse_beside(path, fault);
    return true;
}

bool journal_trust_files(const struct journal *journal, bool *log, struct fault *fault)
{
    static const char *const ends[] = {"-shm", "-wal"};
    int64_t size = 0;
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        char path[STORE_PATH + 16];
        if (!beside(journal, ends[i], path) || (size = size_of(path)) < 0)
            return refuse_beside(path, fault);
    }
    *log = size > 0;
    return trust_rollback(journal, fault);
}

/* ---- the connection ---------------------------------------------------------------------------
 */

void journal_distrust(sqlite3 *db)
{
    static const struct {
        int what, value;
    } CONFIG[] =
        {
            {SQLITE_DBCONFIG_DEFENSIVE, 1},        {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0},
            {SQLITE_DBCONFIG_ENABLE_TRIGGER, 0},   {SQLITE_DBCONFIG_ENABLE_VIEW, 0},
            {SQLITE_DBCONFIG_DQS_DDL, 0},          {SQLITE_DBCONFIG_DQS_DML, 0},
            {SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1}, /* a log that is not ours changes nothing */
        },
      LIMIT[] = {
          {SQLITE_LIMIT_LENGTH, 1 << 20}, /* VACUUM needs to attach one */
          {SQLITE_LIMIT_SQL_LENGTH, 1 << 16},
          {SQLITE_LIMIT_COLUMN, 64},
          {SQLITE_LIMIT_EXPR_DEPTH, 64},
          {SQLITE_LIMIT_FUNCTION_ARG, 16},
          {SQLITE_LIMIT_ATTACHED, 1},
          {SQLITE_LIMIT_TRIGGER_DEPTH, 1},
          {SQLITE_LIMIT_LIKE_PATTERN_LENGTH, 512},
          {SQLITE_LIMIT_WORKER_THREADS, 0},
      };
    for (size_t i = 0; i < sizeof CONFIG / sizeof CONFIG[0]; i++)
        sqlite3_db_config(db, CONFIG[i].what, CONFIG[i].value, NULL);
    for (size_t i = 0; i < sizeof LIMIT / sizeof LIMIT[0]; i++)
        sqlite3_limit(db, LIMIT[i].what, LIMIT[i].value);
}

void journal_trusted(sqlite3 *db)
{
    sqlite3_db_config(db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, NULL);
}

/* ---- pages ---------------------------------------------------------------------------------- */

bool journal_trust_pages(struct journal *journal, struct fault *fault)
{
    sqlite3_stmt *check = journal_prepare(journal, "PRAGMA quick_check(1)", fault);
    if (check == NULL)
        return false;
    bool answered = sqlite3_step(check) == SQLITE_ROW;
    const char *answer = answered ? (const char *)sqlite3_column_text(check, 0) : NULL;
    bool whole = answer != NULL && strcmp(answer, "ok") == 0;
    if (!answered)
        journal_sql_fault(journal, fault);
    else if (!whole)
        fault_set(fault, FAULT_FAILED,
                  "the journal '%s' is damaged, or the -wal beside it is another's: move all of "
                  "them away and keep them, or put a backup in their place.",
                  journal->path);
    sqlite3_finalize(check);
    return whole;
}
