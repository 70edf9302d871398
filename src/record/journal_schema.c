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
    return ok;
}

/* In this order. */
static const struct step {
    const char *sql;
    bool (*fill)(struct journal *journal, struct fault *fault); /* NULL: nothing to fill */
    const char *indexes;
} STEPS[JOURNAL_SCHEMA] = {{VERSION_1, NULL, ""}, {VERSION_2, fill_2, VERSION_2_INDEXES}};

/* ---- which version ------------------------------------------------------------------------- */

/* Everything that a file of SQLite's is told to have, in SQLite's own words. */
static const char TABLES[] = "SELECT type || ' ' || name || ' ' || tbl_name || ' ' ||"
                             " coalesce(sql, '') FROM sqlite_schema ORDER BY type, name";

/* An empty journal of that version, in memory: what one of midthrow's making looks like. */
static sqlite3 *make_model(int version)
{
    sqlite3 *model = NULL;
    bool ok = sqlite3_open(":memory:", &model) == SQLITE_OK;
    for (int i = 0; ok && i < version; i++)
        ok = sqlite3_exec(model, STEPS[i].sql, NULL, NULL, NULL) == SQLITE_OK &&
             sqlite3_exec(model, STEPS[i].indexes, NULL, NULL, NULL) == SQLITE_OK;
    if (ok)
        return model;
    sqlite3_close(model);
    return NULL;
}

static bool same_rows(sqlite3_stmt *ours, sqlite3_stmt *its)
{
    int step = SQLITE_ROW;
    while ((step = sqlite3_step(ours)) == SQLITE_ROW && sqlite3_step(its) == SQLITE_ROW) {
        const char *a = (const char *)sqlite3_column_text(ours, 0);
        const char *b = (const char *)sqlite3_column_text(its, 0);
        if (a == NULL || b == NULL || strcmp(a, b) != 0)
            return false;
    }
    return step == SQLITE_DONE && sqlite3_step(its) == SQLITE_DONE;
}

/* Are the tables, to the letter, those that midthrow makes, and is there nothing else? So no view
 * stands in a table's place, no trigger, constraint or column that computes is there, and values
 * are of the types that they are told to be. */
static bool ask_same_tables(struct journal *journal, int version, bool *same, struct fault *fault)
{
    sqlite3_stmt *ours = NULL;
    sqlite3 *model = make_model(version);
    sqlite3_stmt *its = journal_prepare(journal, TABLES, fault);
    bool made = model != NULL && sqlite3_prepare_v2(model, TABLES, -1, &ours, NULL) == SQLITE_OK;
    if (its != NULL && !made)
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    if (its != NULL && made)
        *same = same_rows(ours, its);
    bool ok = its != NULL && made;
    sqlite3_finalize(ours);
    sqlite3_finalize(its);
    sqlite3_close(model);
    return ok;
}

struct whose {
    int64_t application, version, tables;
    bool fresh; /* nobody's yet */
    bool known; /* ours, of a version that this midthrow knows */
    bool same;  /* then: and nothing but ours */
};

/* Of one moment: another midthrow may be making the tables just now. */
static bool ask_whose(struct journal *journal, struct whose *whose, struct fault *fault)
{
    bool within = sqlite3_get_autocommit(journal->db) == 0;
    if (!within && !journal_execute(journal, "BEGIN", fault))
        return false;
    bool ok =
        journal_ask_number(journal, "PRAGMA application_id", &whose->application, fault) &&
        journal_ask_number(journal, "PRAGMA user_version", &whose->version, fault) &&
        journal_ask_number(journal, "SELECT count(*) FROM sqlite_schema", &whose->tables, fault);
    whose->fresh = whose->application == 0 && whose->version == 0 && whose->tables == 0;
    whose->known = whose->application == APPLICATION && whose->version >= 1 &&
                   whose->version <= JOURNAL_SCHEMA;
    if (ok && whose->known)
        ok = ask_same_tables(journal, (int)whose->version, &whose->same, fault);
    if (!within)
        sqlite3_exec(journal->db, "ROLLBACK", NULL, NULL, NULL); /* nothing was written */
    return ok;
}

bool journal_check_schema(struct journal *journal, int *version, struct fault *fault)
{
    struct whose whose = {.application = 0};
    if (!ask_whose(journal, &whose, fault))
        return false;
    *version = whose.known ? (int)whose.version : 0;
    if (whose.fresh || (whose.known && whose.same))
        return true;
    if (whose.known)
        return fault_set(fault, FAULT_FAILED,
                         "the journal '%s' holds what midthrow did not make: move it away and keep "
                         "it, or put a backup in its place.",
                         journal->path);
    if (whose.application != APPLICATION)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' is not a midthrow journal: move it away, or name another directory "
                         "with --data.",
                         journal->path);
    if (whose.version > JOURNAL_SCHEMA)
        return fault_set(fault, FAULT_FAILED,
                         "the journal '%s' was written by a newer midthrow (schema %lld, this one "
                         "knows %d): use that one, or name another directory with --data.",
                         journal->path, (long long)whose.version, (int)JOURNAL_SCHEMA);
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
             (STEPS[i].fill == NULL || STEPS[i].fill(journal, fault)) &&
             journal_execute(journal, STEPS[i].indexes, fault);
    ok =
        ok && journal_execute(journal, pragmas, fault) && journal_execute(journal, "COMMIT", fault);
    if (!ok && sqlite3_get_autocommit(journal->db) == 0)
        sqlite3_exec(journal->db, "ROLLBACK", NULL, NULL, NULL);
    return ok;
}
