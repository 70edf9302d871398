/* Versions of the journal: what the tables are, and how those of an older midthrow become these. A
 * new version is a row in STEPS; a fresh file goes through all of them. */
#include "record/journal_inside.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { APPLICATION = 0x6D746872 /* "mthr": tells our files from others of SQLite's */ };

static const char VERSION_1[] = "CREATE TABLE jobs ("
                                "  number INTEGER PRIMARY KEY AUTOINCREMENT,"
                                "  opened_ms INTEGER NOT NULL,"
                                "  last_ms INTEGER NOT NULL,"
                                "  closed_ms INTEGER NOT NULL DEFAULT 0,"
                                "  work_order TEXT NOT NULL DEFAULT '',"
                                "  profile TEXT NOT NULL DEFAULT '',"
                                "  question TEXT NOT NULL DEFAULT '',"
                                "  ending TEXT NOT NULL DEFAULT 'open',"
                                "  events INTEGER NOT NULL DEFAULT 0"
                                ") STRICT;"
                                "CREATE TABLE events ("
                                "  job INTEGER NOT NULL REFERENCES jobs (number),"
                                "  seq INTEGER NOT NULL," /* 1, 2, 3 ... without a gap */
                                "  at_ms INTEGER NOT NULL,"
                                "  body TEXT NOT NULL," /* journal_event_to_json */
                                "  PRIMARY KEY (job, seq)"
                                ") STRICT, WITHOUT ROWID;";

/* What struct journal_job says of each; `learns`: the cause counts towards the shop's priors. */
static const char VERSION_2[] = "ALTER TABLE jobs ADD COLUMN id TEXT NOT NULL DEFAULT '';"
                                "ALTER TABLE jobs ADD COLUMN twin_of TEXT NOT NULL DEFAULT '';"
                                "ALTER TABLE jobs ADD COLUMN bike TEXT NOT NULL DEFAULT '';"
                                "ALTER TABLE jobs ADD COLUMN odometer INTEGER NOT NULL DEFAULT -1;"
                                "ALTER TABLE jobs ADD COLUMN cause TEXT NOT NULL DEFAULT '';"
                                "ALTER TABLE jobs ADD COLUMN active_ms INTEGER NOT NULL DEFAULT 0;"
                                "ALTER TABLE jobs ADD COLUMN heard INTEGER NOT NULL DEFAULT 0;"
                                "ALTER TABLE jobs ADD COLUMN unsure INTEGER NOT NULL DEFAULT 0;"
                                "ALTER TABLE jobs ADD COLUMN rejected INTEGER NOT NULL DEFAULT 0;"
                                "ALTER TABLE jobs ADD COLUMN found_mm REAL;"
                                "ALTER TABLE jobs ADD COLUMN left_mm REAL;"
                                "ALTER TABLE jobs ADD COLUMN learns INTEGER NOT NULL DEFAULT 1;"
                                "CREATE TABLE riders ("
                                "  job INTEGER PRIMARY KEY REFERENCES jobs (number),"
                                "  name TEXT NOT NULL"
                                ") STRICT;";

static const char VERSION_2_INDEXES[] = "CREATE UNIQUE INDEX jobs_by_id ON jobs (id);"
                                        "CREATE INDEX jobs_by_twin ON jobs (twin_of);"
                                        "CREATE INDEX jobs_by_opened ON jobs (opened_ms);"
                                        "CREATE INDEX jobs_by_bike ON jobs (bike, opened_ms);"
                                        "CREATE INDEX jobs_by_cause ON jobs (cause, opened_ms);"
                                        "CREATE INDEX jobs_by_ending ON jobs (ending, opened_ms);";

/* ---- from version 1 to 2: an id for every job, and its summary from its events -------------- */

struct summing {
    struct job job;
    struct job_effects unsaid;
    struct journal_counts counts;
};

static bool add_up(void *context, const struct job_event *event)
{
    struct summing *sum = context;
    job_step(&sum->job, event, &sum->unsaid);
    journal_count(&sum->counts, event);
    return true;
}

/* A job whose events are damaged keeps the summary it had: it is refused when it is asked for, and
 * the others must not suffer for it. */
static bool summarise_again(struct journal *journal, int64_t number, struct summing *sum,
                            struct fault *fault)
{
    job_init(&sum->job);
    memset(&sum->counts, 0, sizeof sum->counts);
    if (!journal_replay(journal, number, add_up, sum, NULL) || sum->counts.events == 0)
        return true;
    return journal_store_counts(journal, number, &sum->counts, fault) &&
           journal_summarise(journal, number, &sum->job, fault);
}

static bool name_job(struct journal *journal, int64_t number, struct fault *fault)
{
    char id[JOURNAL_ID];
    if (!journal_make_id(id, fault))
        return false;
    sqlite3_stmt *statement = journal_ready(journal, SET_ID);
    sqlite3_bind_int64(statement, 1, number);
    journal_bind_text(statement, 2, id);
    return journal_run(journal, statement, fault);
}

static bool next_job(struct journal *journal, int64_t *number, struct fault *fault)
{
    char sql[96];
    struct text text = text_into(sql, sizeof sql);
    text_addf(&text, "SELECT coalesce(min(number), 0) FROM jobs WHERE number > %lld",
              (long long)*number);
    return journal_ask_number(journal, sql, number, fault);
}

static bool fill_2(struct journal *journal, struct fault *fault)
{
    struct summing *sum = calloc(1, sizeof *sum);
    if (sum == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    int64_t number = 0;
    bool ok = journal_prepare_all(journal, fault) && next_job(journal, &number, fault);
    while (ok && number > 0)
        ok = name_job(journal, number, fault) && summarise_again(journal, number, sum, fault) &&
             next_job(journal, &number, fault);
    free(sum);
    return ok && journal_execute(journal, VERSION_2_INDEXES, fault);
}

static const struct step {
    const char *sql;
    bool (*fill)(struct journal *journal, struct fault *fault);
} STEPS[JOURNAL_SCHEMA] = {{VERSION_1, NULL}, {VERSION_2, fill_2}};

/* ---- which version ------------------------------------------------------------------------- */

/* Midthrow makes plain tables and indexes. */
static const char FOREIGN[] = "SELECT count(*) FROM sqlite_schema WHERE type NOT IN ('table',"
                              " 'index') OR upper(sql) LIKE 'CREATE VIRTUAL%'";

/* Of one moment: another midthrow may be making the tables just now. */
static bool ask_whose(struct journal *journal, int64_t *application, int64_t *version,
                      int64_t *tables, int64_t *foreign, struct fault *fault)
{
    bool within = sqlite3_get_autocommit(journal->db) == 0;
    if (!within && !journal_execute(journal, "BEGIN", fault))
        return false;
    bool ok = journal_ask_number(journal, "PRAGMA application_id", application, fault) &&
              journal_ask_number(journal, "PRAGMA user_version", version, fault) &&
              journal_ask_number(journal, "SELECT count(*) FROM sqlite_schema", tables, fault) &&
              journal_ask_number(journal, FOREIGN, foreign, fault);
    if (!within)
        sqlite3_exec(journal->db, "ROLLBACK", NULL, NULL, NULL); /* nothing was written */
    return ok;
}

bool journal_check_schema(struct journal *journal, int *version, struct fault *fault)
{
    int64_t application = 0;
    int64_t found = 0;
    int64_t tables = 0;
    int64_t foreign = 0;
    if (!ask_whose(journal, &application, &found, &tables, &foreign, fault))
        return false;
    bool fresh = application == 0 && found == 0 && tables == 0;
    bool known = application == APPLICATION && found >= 1 && found <= JOURNAL_SCHEMA;
    *version = known ? (int)found : 0;
    if (known && foreign > 0)
        return fault_set(fault, FAULT_FAILED,
                         "the journal '%s' holds what midthrow did not make: move it away and keep "
                         "it, or put a backup in its place.",
                         journal->path);
    if (fresh || known)
        return true;
    if (application != APPLICATION)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' is not a midthrow journal: move it away, or name another directory "
                         "with --data.",
                         journal->path);
    if (found > JOURNAL_SCHEMA)
        return fault_set(fault, FAULT_FAILED,
                         "the journal '%s' was written by a newer midthrow (schema %lld, this one "
                         "knows %d): use that one, or name another directory with --data.",
                         journal->path, (long long)found, (int)JOURNAL_SCHEMA);
    return journal_damaged(journal, fault);
}

bool journal_make_schema(struct journal *journal, struct fault *fault)
{
    int version = 0;
    char pragmas[96];
    struct text text = text_into(pragmas, sizeof pragmas);
    text_addf(&text, "PRAGMA application_id = %d; PRAGMA user_version = %d;", (int)APPLICATION,
              (int)JOURNAL_SCHEMA);
    if (!journal_execute(journal, "BEGIN IMMEDIATE", fault))
        return false;
    /* asked again within the transaction: another midthrow may have done it meanwhile */
    bool ok = journal_check_schema(journal, &version, fault);
    for (int i = version; ok && i < JOURNAL_SCHEMA; i++)
        ok = journal_execute(journal, STEPS[i].sql, fault) &&
             (STEPS[i].fill == NULL || STEPS[i].fill(journal, fault));
    ok =
        ok && journal_execute(journal, pragmas, fault) && journal_execute(journal, "COMMIT", fault);
    if (!ok && sqlite3_get_autocommit(journal->db) == 0)
        sqlite3_exec(journal->db, "ROLLBACK", NULL, NULL, NULL);
    return ok;
}
