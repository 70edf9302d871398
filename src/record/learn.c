/* From closed jobs to the priors of new ones: see learn.h. */
#include "record/learn.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/inifile.h"
#include "record/journal_inside.h"

static const char FILE_NAME[] = "learning.ini";
static const double COUNT_MAX = 1e6;

static int cause_of(const char *id)
{
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (strcmp(reason_cause_id((enum reason_cause)c), id) == 0)
            return c;
    return -1;
}

/* ---- learning.ini -------------------------------------------------------------------------- */

struct reading {
    struct dirichlet *start;
    bool given[REASON_CAUSE_COUNT];
};

/* A plain decimal, with or without an exponent, and nothing else that strtod would take. */
static bool read_count(const char *word, double *count)
{
    char *end = NULL;
    if (word[0] == '\0' || strspn(word, "0123456789.eE+-") != strlen(word))
        return false;
    *count = strtod(word, &end);
    return *end == '\0' && *count > 0 && *count <= COUNT_MAX;
}

static bool take_entry(void *context, const struct inifile_entry *entry, struct fault *fault)
{
    struct reading *reading = context;
    int cause = cause_of(entry->key);
    double count = 0;
    if (strcmp(entry->section, "causes") != 0 || cause < 0)
        return fault_set(
            fault, FAULT_USAGE,
            "%s:%d: '%.40s' is no cause in a section [causes]: 'midthrow learn export' "
            "writes a file to start from.",
            entry->path, entry->line, entry->key);
    if (reading->given[cause])
        return fault_set(fault, FAULT_USAGE, "%s:%d: '%s' is given twice: leave one of them.",
                         entry->path, entry->line, entry->key);
    if (!read_count(entry->value, &count))
        return fault_set(fault, FAULT_USAGE,
                         "%s:%d: '%s' must be a number of jobs above 0, up to a million.",
                         entry->path, entry->line, entry->key);
    reading->given[cause] = true;
    reading->start->count[cause] = count;
    return true;
}

bool learn_load(const char *path, struct dirichlet *start, struct fault *fault)
{
    struct reading reading = {.start = start};
    dirichlet_init(start, DIRICHLET_STRENGTH);
    return inifile_read(path, take_entry, &reading, fault);
}

void learn_export(const struct learn *learn, FILE *out)
{
    fprintf(
        out,
        "# What a shop's jobs taught midthrow: jobs each cause is worth. As %s in another\n"
        "# station's data directory it is what that one starts from; with the same jobs imported\n"
        "# there as well they would count twice.\n"
        "[causes]\n",
        FILE_NAME);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        fprintf(out, "%s = %.17g\n", reason_cause_id((enum reason_cause)c), learn->now.count[c]);
}

/* ---- jobs ---------------------------------------------------------------------------------- */

#define TAUGHT " FROM jobs WHERE ending = 'fixed' AND cause <> '' AND twin_of = ''"

static bool count_jobs(struct journal *journal, struct learn *learn, struct fault *fault)
{
    sqlite3_stmt *rows = journal_prepare(
        journal, "SELECT cause, sum(learns <> 0), count(*)" TAUGHT " GROUP BY cause", fault);
    int step = SQLITE_DONE;
    if (rows == NULL)
        return false;
    while ((step = sqlite3_step(rows)) == SQLITE_ROW) {
        const char *id = (const char *)sqlite3_column_text(rows, 0);
        int cause = id == NULL ? -1 : cause_of(id);
        if (cause < 0)
            continue;
        learn->jobs[cause] = sqlite3_column_int64(rows, 1);
        learn->all += learn->jobs[cause];
        learn->forgotten += sqlite3_column_int64(rows, 2) - learn->jobs[cause];
    }
    bool ok = step == SQLITE_DONE || journal_sql_fault(journal, fault);
    sqlite3_finalize(rows);
    return ok;
}

bool learn_read(struct journal *journal, struct learn *learn, struct fault *fault)
{
    char path[STORE_PATH];
    *learn = (struct learn){.all = 0};
    dirichlet_init(&learn->start, DIRICHLET_STRENGTH);
    if (!store_path(journal_directory(journal), FILE_NAME, 0, path, fault))
        return false;
    learn->own_start = access(path, F_OK) == 0;
    if ((learn->own_start && !learn_load(path, &learn->start, fault)) ||
        !count_jobs(journal, learn, fault))
        return false;
    learn->now = learn->start;
    dirichlet_learn(&learn->now, learn->jobs);
    return true;
}

bool learn_priors(struct journal *journal, double priors[REASON_CAUSE_COUNT], bool *learned,
                  struct fault *fault)
{
    struct learn learn;
    if (!learn_read(journal, &learn, fault))
        return false;
    dirichlet_mean(&learn.now, priors);
    *learned = learn.own_start || learn.all > 0;
    return true;
}

bool learn_forget(struct journal *journal, int64_t *jobs, struct fault *fault)
{
    return journal_ask_number(journal, "SELECT coalesce(sum(learns <> 0), 0)" TAUGHT, jobs,
                              fault) &&
           journal_execute(journal, "UPDATE jobs SET learns = 0 WHERE learns <> 0", fault);
}
