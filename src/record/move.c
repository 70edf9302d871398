/* Jobs between stations: see move.h. One transaction a file. */
#include "record/move.h"

#include <errno.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "record/journal_inside.h"
#include "record/writeup.h"

/* ---- out ----------------------------------------------------------------------------------- */

static int by_number(const void *a, const void *b)
{
    const int64_t *x = a;
    const int64_t *y = b;
    return (*x > *y) - (*x < *y);
}

static bool refuse_stored(int64_t number, int64_t seq, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "event %lld of job %lld is damaged or missing: put a backup of the journal in "
                     "its place, or export the other jobs.",
                     (long long)seq, (long long)number);
}

/* Sees that the body is an event before it goes out: the other station would refuse the file. */
static bool write_events(struct journal *journal, const struct journal_job *job, FILE *out,
                         struct fault *fault)
{
    sqlite3_stmt *events = journal_ready(journal, EVENTS);
    sqlite3_bind_int64(events, 1, job->number);
    int64_t seq = 0;
    bool ok = true;
    int step = SQLITE_DONE;
    while (ok && (step = sqlite3_step(events)) == SQLITE_ROW) {
        struct job_event event;
        const char *body = journal_column_body(events, 1);
        seq++;
        ok = body != NULL && strchr(body, '\n') == NULL && sqlite3_column_int64(events, 0) == seq &&
             journal_event_from_json(body, &event, NULL);
        if (ok)
            fprintf(out, "%s\n", body);
        else
            refuse_stored(job->number, seq, fault);
    }
    if (ok && step != SQLITE_DONE)
        ok = journal_sql_fault(journal, fault);
    sqlite3_reset(events);
    return ok && (seq == job->events || refuse_stored(job->number, seq + 1, fault));
}

static bool write_job(struct journal *journal, int64_t number, FILE *out, struct fault *fault)
{
    struct journal_job job;
    if (!journal_find(journal, number, &job, fault))
        return false;
    if (job.events == 0)
        return true;
    if (job.events > MOVE_EVENTS_MAX)
        return fault_set(fault, FAULT_FAILED,
                         "job %lld has more than %d events: no other station would take it.",
                         (long long)number, (int)MOVE_EVENTS_MAX);
    if (!journal_is_id(job.id) || (job.twin_of[0] != '\0' && !journal_is_id(job.twin_of)))
        return fault_set(fault, FAULT_FAILED,
                         "job %lld has an id that midthrow did not give it: put a backup of the "
                         "journal in its place, or export the other jobs.",
                         (long long)number);
    fprintf(out, "{\"job\":\"%s\"", job.id);
    if (job.twin_of[0] != '\0')
        fprintf(out, ",\"of\":\"%s\"", job.twin_of);
    fprintf(out, ",\"events\":%lld}\n", (long long)job.events);
    return write_events(journal, &job, out, fault);
}

/* Which of them there are, and have events; every number must be a job's. */
static bool choose(struct journal *journal, int64_t numbers[], size_t *n, struct fault *fault)
{
    size_t kept = 0;
    if (*n > 0)
        qsort(numbers, *n, sizeof *numbers, by_number);
    for (size_t i = 0; i < *n; i++) {
        struct journal_job job;
        if (i > 0 && numbers[i] == numbers[i - 1])
            continue;
        if (!journal_find(journal, numbers[i], &job, fault))
            return false;
        if (job.events > 0)
            numbers[kept++] = numbers[i];
    }
    *n = kept;
    return true;
}

static bool write_all(struct journal *journal, FILE *out, struct fault *fault)
{
    sqlite3_stmt *rows =
        journal_prepare(journal, "SELECT number FROM jobs WHERE events > 0 ORDER BY number", fault);
    bool ok = rows != NULL;
    int step = SQLITE_DONE;
    while (ok && (step = sqlite3_step(rows)) == SQLITE_ROW)
        ok = write_job(journal, sqlite3_column_int64(rows, 0), out, fault);
    if (ok && step != SQLITE_DONE)
        ok = journal_sql_fault(journal, fault);
    sqlite3_finalize(rows);
    return ok;
}

static bool write_file(struct journal *journal, int64_t numbers[], size_t n, FILE *out,
                       int64_t *jobs, struct fault *fault)
{
    bool all = n == 0;
    if (all ? !journal_ask_number(journal, "SELECT count(*) FROM jobs WHERE events > 0", jobs,
                                  fault)
            : !choose(journal, numbers, &n, fault))
        return false;
    if (!all)
        *jobs = (int64_t)n;
    if (*jobs > MOVE_JOBS_MAX)
        return fault_set(fault, FAULT_FAILED, "more than %d jobs: name fewer of them.",
                         (int)MOVE_JOBS_MAX);
    fprintf(out, "{\"midthrow\":\"jobs\",\"version\":%d,\"jobs\":%lld}\n", (int)MOVE_VERSION,
            (long long)*jobs);
    if (all)
        return write_all(journal, out, fault);
    for (size_t i = 0; i < n; i++)
        if (!write_job(journal, numbers[i], out, fault))
            return false;
    return true;
}

bool move_export(struct journal *journal, int64_t numbers[], size_t n, FILE *out, int64_t *jobs,
                 struct fault *fault)
{
    /* one moment of the journal, whatever another midthrow writes meanwhile */
    if (!journal_execute(journal, "BEGIN", fault))
        return false;
    bool ok = write_file(journal, numbers, n, out, jobs, fault);
    journal_end(journal, false, NULL); /* nothing was written */
    return ok;
}

/* ---- in: lines ----------------------------------------------------------------------------- */

enum { LOCKS_MAX = 64 };

struct incoming {
    struct journal *journal;
    FILE *in;
    const char *name;
    int64_t line;
    char bytes[JOURNAL_EVENT]; /* the line, without its end */
    size_t length;

    /* the job being read */
    char id[JOURNAL_ID], of[JOURNAL_ID];
    int64_t events;
    char *body; /* its events, each with a 0 behind it */
    size_t used, room;

    struct job job; /* folded from them */
    struct job_effects unsaid;
    struct job_event event;

    /* jobs that go on here, until all is committed */
    struct store_lock lock[LOCKS_MAX];
    size_t locks;

    bool keep_both;
    void (*conflict)(void *context, const struct move_conflict *conflict);
    void *context;
    struct move_report *report;
};

static bool refuse(const struct incoming *incoming, const char *why, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "'%.160s', line %lld: %s; nothing was taken from it: export it again.",
                     incoming->name, (long long)incoming->line, why);
}

/* The next line; false with a fault when there is none, or it cannot be one of ours. */
static bool next_line(struct incoming *incoming, struct fault *fault)
{
    int c = 0;
    incoming->line++;
    incoming->length = 0;
    while ((c = getc(incoming->in)) != EOF && c != '\n') {
        if (c == '\0')
            return refuse(incoming, "there is a zero byte in it", fault);
        if (incoming->length == sizeof incoming->bytes - 1)
            return refuse(incoming, "it is longer than any event", fault);
        incoming->bytes[incoming->length++] = (char)c;
    }
    incoming->bytes[incoming->length] = '\0';
    if (ferror(incoming->in) != 0)
        return fault_set(fault, FAULT_FAILED, "cannot read '%.160s' (%s): check the disk.",
                         incoming->name, strerror(errno));
    return c == '\n' || incoming->length > 0 ||
           refuse(incoming, "it ends here, before its last event", fault);
}

static json_t *line_object(const struct incoming *incoming)
{
    json_t *object = json_loadb(incoming->bytes, incoming->length, JSON_REJECT_DUPLICATES, NULL);
    if (json_is_object(object))
        return object;
    json_decref(object);
    return NULL;
}

static bool take_whole(json_t *object, const char *key, int64_t most, int64_t *number)
{
    const json_t *value = json_object_get(object, key);
    *number = json_integer_value(value);
    return json_is_integer(value) && *number >= 0 && *number <= most;
}

static bool take_id(json_t *object, const char *key, char id[JOURNAL_ID])
{
    const json_t *value = json_object_get(object, key);
    const char *word = json_string_value(value);
    if (word == NULL || json_string_length(value) != JOURNAL_ID - 1 || !journal_is_id(word))
        return false;
    memcpy(id, word, JOURNAL_ID);
    return true;
}

static bool read_head(struct incoming *incoming, int64_t *jobs, struct fault *fault)
{
    int64_t version = 0;
    if (!next_line(incoming, fault))
        return false;
    json_t *object = line_object(incoming);
    const char *what = json_string_value(json_object_get(object, "midthrow"));
    bool ours = what != NULL && strcmp(what, "jobs") == 0 &&
                take_whole(object, "version", INT64_MAX, &version);
    bool good = ours && version == MOVE_VERSION && json_object_size(object) == 3 &&
                take_whole(object, "jobs", MOVE_JOBS_MAX, jobs);
    json_decref(object);
    if (!ours)
        return refuse(incoming, "it is no file of 'midthrow export'", fault);
    if (version > MOVE_VERSION)
        return fault_set(fault, FAULT_FAILED,
                         "'%.160s' was exported by a newer midthrow (version %lld, this one knows "
                         "%d): import it with that one.",
                         incoming->name, (long long)version, (int)MOVE_VERSION);
    return good || refuse(incoming, "it does not say how many jobs follow", fault);
}

static bool read_job_head(struct incoming *incoming, struct fault *fault)
{
    if (!next_line(incoming, fault))
        return false;
    json_t *object = line_object(incoming);
    bool has_of = json_object_get(object, "of") != NULL;
    bool good =
        take_id(object, "job", incoming->id) && (!has_of || take_id(object, "of", incoming->of)) &&
        json_object_size(object) == (has_of ? 3u : 2u) &&
        take_whole(object, "events", MOVE_EVENTS_MAX, &incoming->events) && incoming->events > 0;
    json_decref(object);
    if (!has_of)
        incoming->of[0] = '\0';
    return good || refuse(incoming, "it is no job, with its id and number of events", fault);
}

static bool keep_body(struct incoming *incoming)
{
    size_t wanted = incoming->used + incoming->length + 1;
    if (wanted > MOVE_BYTES_MAX)
        return false;
    if (wanted > incoming->room) {
        size_t room = wanted < 4096 ? 8192 : 2 * wanted;
        char *more = realloc(incoming->body, room);
        if (more == NULL)
            return false;
        incoming->body = more;
        incoming->room = room;
    }
    memcpy(incoming->body + incoming->used, incoming->bytes, incoming->length + 1);
    incoming->used = wanted;
    return true;
}

static bool read_events(struct incoming *incoming, struct fault *fault)
{
    incoming->used = 0;
    for (int64_t i = 0; i < incoming->events; i++) {
        if (!next_line(incoming, fault))
            return false;
        if (!journal_event_from_json(incoming->bytes, &incoming->event, NULL))
            return refuse(incoming, "it is no event, or a newer midthrow's", fault);
        if ((incoming->event.kind == JOB_OPENED) != (i == 0))
            return refuse(incoming, "the first event of a job, and no other, opens it", fault);
        if (!keep_body(incoming))
            return refuse(incoming, "the job is too big", fault);
    }
    return true;
}

static bool read_end(struct incoming *incoming, struct fault *fault)
{
    incoming->line++;
    return getc(incoming->in) == EOF ||
           refuse(incoming, "there is more than the first line says", fault);
}

/* ---- in: jobs ------------------------------------------------------------------------------ */

/* Folds the first `n` events of the file's version: what its summary is made from. */
static void fold(struct incoming *incoming)
{
    const char *body = incoming->body;
    job_init(&incoming->job);
    for (int64_t i = 0; i < incoming->events; i++, body += strlen(body) + 1)
        if (journal_event_from_json(body, &incoming->event, NULL))
            job_step(&incoming->job, &incoming->event, &incoming->unsaid);
}

/* Appends the events after the first `from`, and makes the summary. */
static bool store(struct incoming *incoming, int64_t number, int64_t from, struct fault *fault)
{
    const char *body = incoming->body;
    for (int64_t i = 0; i < incoming->events; i++, body += strlen(body) + 1)
        if (i >= from &&
            (!journal_event_from_json(body, &incoming->event, fault) ||
             !journal_add_event(incoming->journal, number, &incoming->event, body, fault)))
            return false;
    fold(incoming);
    return journal_summarise(incoming->journal, number, &incoming->job, fault);
}

static bool add(struct incoming *incoming, const char *id, const char *twin_of, int64_t *number,
                struct fault *fault)
{
    if (!journal_event_from_json(incoming->body, &incoming->event, fault))
        return false;
    return journal_add_job(incoming->journal, incoming->event.at_ms, id, twin_of, number, fault) &&
           store(incoming, *number, 0, fault);
}

/* A job that another midthrow works on must not grow under its hands. */
static bool extend(struct incoming *incoming, int64_t number, int64_t from, struct fault *fault)
{
    char path[STORE_PATH];
    if (incoming->locks == LOCKS_MAX)
        return fault_set(fault, FAULT_FAILED,
                         "'%.160s' has more than %d jobs that go on here: export fewer at a time.",
                         incoming->name, (int)LOCKS_MAX);
    if (!store_path(incoming->journal->directory, "job-%lld.lock", number, path, fault) ||
        !store_lock(&incoming->lock[incoming->locks], path, number, fault))
        return false;
    incoming->locks++;
    return store(incoming, number, from, fault);
}

/* How far a job here and the file's are the same, and what comes then. */
struct meeting {
    int64_t number;
    int64_t here;              /* events here */
    int64_t same;              /* of them, from the first on */
    char event[JOURNAL_EVENT]; /* the first that is different here; "": none */
    const char *other;         /* the same of the file; NULL: none */
};

static bool meet(struct incoming *incoming, int64_t number, struct meeting *meeting,
                 struct fault *fault)
{
    struct journal *journal = incoming->journal;
    const char *body = incoming->body;
    sqlite3_stmt *events = journal_ready(journal, EVENTS);
    sqlite3_bind_int64(events, 1, number);
    meeting->number = number;
    meeting->here = meeting->same = 0;
    meeting->event[0] = '\0';
    bool parted = false;
    int step = SQLITE_DONE;
    while ((step = sqlite3_step(events)) == SQLITE_ROW) {
        const char *here = journal_column_body(events, 1);
        bool more = meeting->same < incoming->events;
        meeting->here++;
        if (parted)
            continue;
        parted = !more || here == NULL || strcmp(here, body) != 0;
        if (parted) {
            text_copy(meeting->event, sizeof meeting->event, here);
        } else {
            meeting->same++;
            body += strlen(body) + 1;
        }
    }
    meeting->other = meeting->same < incoming->events ? body : NULL;
    bool ok = step == SQLITE_DONE || journal_sql_fault(journal, fault);
    sqlite3_reset(events);
    return ok;
}

enum outcome { ADDS, SAME, LONGER_HERE, EXTENDS, PARTS };

static enum outcome outcome_of(const struct incoming *incoming, const struct meeting *meeting)
{
    if (meeting->same == incoming->events)
        return meeting->same == meeting->here ? SAME : LONGER_HERE;
    return meeting->same == meeting->here ? EXTENDS : PARTS;
}

/* Meets every version of the job there is here; the best outcome counts: nothing to do before
 * going on before a conflict, which is with the first of them. */
static bool meet_all(struct incoming *incoming, enum outcome *outcome, struct meeting *best,
                     struct fault *fault)
{
    struct meeting *meeting = malloc(sizeof *meeting);
    sqlite3_stmt *rows = journal_prepare(incoming->journal,
                                         "SELECT number FROM jobs WHERE id IN (?1, ?2)"
                                         " OR twin_of IN (?1, ?2) ORDER BY number",
                                         fault);
    bool ok = meeting != NULL && rows != NULL;
    int step = SQLITE_DONE;
    *outcome = ADDS;
    if (ok) {
        journal_bind_text(rows, 1, incoming->id);
        journal_bind_text(rows, 2, incoming->of[0] == '\0' ? incoming->id : incoming->of);
    }
    while (ok && (step = sqlite3_step(rows)) == SQLITE_ROW) {
        ok = meet(incoming, sqlite3_column_int64(rows, 0), meeting, fault);
        enum outcome one = outcome_of(incoming, meeting);
        if (ok && (*outcome == ADDS || one < *outcome)) {
            *outcome = one;
            *best = *meeting;
        }
    }
    if (ok && step != SQLITE_DONE)
        ok = journal_sql_fault(incoming->journal, fault);
    sqlite3_finalize(rows);
    free(meeting);
    return ok;
}

static bool part(struct incoming *incoming, const struct meeting *meeting, struct fault *fault)
{
    struct journal_job here;
    struct move_conflict conflict = {
        .id = incoming->id, .number = meeting->number, .parts_at = meeting->same + 1};
    if (!journal_find(incoming->journal, meeting->number, &here, fault))
        return false;
    if (incoming->keep_both &&
        !add(incoming, NULL, incoming->of[0] == '\0' ? incoming->id : incoming->of,
             &conflict.kept_as, fault))
        return false;
    fold(incoming);
    conflict.here = (struct move_version){
        .events = here.events, .last_ms = here.last_ms, .event = meeting->event};
    conflict.there = (struct move_version){
        .events = incoming->events, .last_ms = incoming->event.at_ms, .event = meeting->other};
    text_copy(conflict.here.ending, sizeof conflict.here.ending, here.ending);
    text_copy(conflict.there.ending, sizeof conflict.there.ending,
              writeup_ending_name(incoming->job.ending));
    if (incoming->keep_both)
        incoming->report->kept++;
    else
        incoming->report->conflicts++;
    if (incoming->conflict != NULL)
        incoming->conflict(incoming->context, &conflict);
    return true;
}

static bool take_job(struct incoming *incoming, struct meeting *meeting, struct fault *fault)
{
    enum outcome outcome = ADDS;
    int64_t number = 0;
    if (!meet_all(incoming, &outcome, meeting, fault))
        return false;
    switch (outcome) {
    case ADDS:
        incoming->report->added++;
        return add(incoming, incoming->id, incoming->of, &number, fault);
    case SAME:
        incoming->report->same++;
        return true;
    case LONGER_HERE:
        incoming->report->longer_here++;
        return true;
    case EXTENDS:
        incoming->report->extended++;
        return extend(incoming, meeting->number, meeting->same, fault);
    case PARTS:
        return part(incoming, meeting, fault);
    }
    return false;
}

static bool take_file(struct incoming *incoming, struct fault *fault)
{
    struct meeting *meeting = malloc(sizeof *meeting);
    int64_t jobs = 0;
    bool ok = meeting != NULL && read_head(incoming, &jobs, fault);
    for (int64_t i = 0; ok && i < jobs; i++)
        ok = read_job_head(incoming, fault) && read_events(incoming, fault) &&
             take_job(incoming, meeting, fault);
    ok = ok && read_end(incoming, fault);
    free(meeting);
    return ok;
}

bool move_import(struct journal *journal, FILE *in, const char *name, bool keep_both,
                 void (*conflict)(void *context, const struct move_conflict *conflict),
                 void *context, struct move_report *report, struct fault *fault)
{
    struct incoming *incoming = calloc(1, sizeof *incoming);
    if (incoming == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    *report = (struct move_report){.added = 0};
    incoming->journal = journal;
    incoming->in = in;
    incoming->name = name;
    incoming->keep_both = keep_both;
    incoming->conflict = conflict;
    incoming->context = context;
    incoming->report = report;
    fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    bool ok = journal_begin(journal, fault);
    if (ok)
        ok = journal_end(journal, take_file(incoming, fault), fault);
    for (size_t i = 0; i < incoming->locks; i++)
        store_unlock(&incoming->lock[i]);
    free(incoming->body);
    free(incoming);
    if (ok && fault != NULL)
        *fault = (struct fault){.code = FAULT_NONE};
    return ok;
}
