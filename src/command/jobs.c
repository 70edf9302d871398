/* midthrow jobs: what jobs there are, and where each stands. */
#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "base/plain.h"
#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "command/past.h"
#include "record/journal.h"
#include "record/json_text.h"
#include "record/transcript.h"

static const char USAGE[] =
    "usage: midthrow jobs [FILTER...] [--data DIR] [--json]\n"
    "Lists the jobs: number, work order, when opened, how ended, where it stands; the bike and "
    "the\n"
    "rider if they are named.\n"
    "\n"
    "  --since DATE  opened on that day or later, --until DATE on that day or before\n"
    "                (2026-11-25, in UTC)\n"
    "  --bike TEXT   with TEXT in the bike's name, the profile's or the work order\n"
    "  --cause ID    with that cause confirmed; 'midthrow shop --json' has the ids\n"
    "  --open        open ones only, --closed closed ones only\n"
    "  --data DIR    where the jobs are kept\n"
    "  --json        as a JSON array\n";

enum { CELL = 4 * 64 + 1, OBJECT = 8192 };

struct listing {
    struct journal *journal;
    bool first;
    struct fault *fault;
    bool failed; /* a name could not be read */
};

static const char *plain(const char *string, char out[CELL])
{
    struct text text = text_into(out, CELL);
    plain_add(&text, string[0] == '\0' ? "-" : string);
    return out;
}

static bool read_rider(struct listing *listing, int64_t number, char name[JOURNAL_RIDER])
{
    listing->failed = !journal_rider(listing->journal, number, name, listing->fault);
    return !listing->failed;
}

static void print_names(const struct journal_job *job, const char *rider)
{
    char cell[CELL];
    if (job->bike[0] != '\0')
        printf("  bike %s", plain(job->bike, cell));
    if (rider[0] != '\0')
        printf("  rider %s", plain(rider, cell));
    putchar('\n');
}

static bool print_row(void *context, const struct journal_job *job)
{
    struct listing *listing = context;
    char rider[JOURNAL_RIDER];
    if (!read_rider(listing, job->number, rider))
        return false;
    char at[32];
    char order[CELL];
    char question[CELL];
    char ending[CELL];
    transcript_time(job->opened_ms, at);
    if (listing->first)
        printf("%5s  %-12s  %-20s  %-9s  %6s  %s\n", "job", "work order", "opened (UTC)", "ending",
               "events", "stands at");
    listing->first = false;
    char *point = strchr(at, '.');
    if (point != NULL)
        memcpy(point, "Z", sizeof "Z");
    printf("%5lld  %-12s  %-20s  %-9s  %6lld  %s", (long long)job->number, plain(job->order, order),
           at, plain(job->ending, ending), (long long)job->events, plain(job->question, question));
    print_names(job, rider);
    return true;
}

static json_t *time_or_null(int64_t at_ms)
{
    char at[32];
    if (at_ms == 0)
        return json_null();
    transcript_time(at_ms, at);
    return json_string(at);
}

/* One job a line, as it comes: a tree of ten thousand jobs takes longer to build than to read. */
static bool print_object(struct listing *listing, json_t *object)
{
    char bytes[OBJECT];
    size_t length = json_dumpb(object, bytes, sizeof bytes, JSON_ENSURE_ASCII);
    json_decref(object);
    if (length == 0 || length > sizeof bytes) {
        listing->failed = !fault_set(listing->fault, FAULT_FAILED,
                                     "out of memory: close something and try again.");
        return false;
    }
    fputs(listing->first ? "[\n  " : ",\n  ", stdout);
    fwrite(bytes, 1, length, stdout);
    listing->first = false;
    return true;
}

static bool add_object(void *context, const struct journal_job *job)
{
    struct listing *listing = context;
    char rider[JOURNAL_RIDER];
    if (!read_rider(listing, job->number, rider))
        return false;
    json_t *object = json_object();
    json_object_set_new(object, "job", json_integer(job->number));
    json_object_set_new(object, "work_order", json_text_or_null(job->order));
    json_object_set_new(object, "profile", json_text_or_null(job->profile));
    json_object_set_new(object, "opened_at", time_or_null(job->opened_ms));
    json_object_set_new(object, "last_at", time_or_null(job->last_ms));
    json_object_set_new(object, "closed_at", time_or_null(job->closed_ms));
    json_object_set_new(object, "ending", json_text_or_null(job->ending));
    json_object_set_new(object, "question", json_text_or_null(job->question));
    json_object_set_new(object, "events", json_integer(job->events));
    json_object_set_new(object, "id", json_text(job->id));
    json_object_set_new(object, "bike", json_text_or_null(job->bike));
    json_object_set_new(object, "odometer",
                        job->odometer < 0 ? json_null() : json_integer(job->odometer));
    json_object_set_new(object, "cause", json_text_or_null(job->cause));
    if (job->twin_of[0] != '\0')
        json_object_set_new(object, "twin_of", json_text(job->twin_of));
    if (rider[0] != '\0')
        json_object_set_new(object, "rider", json_text(rider));
    return print_object(listing, object);
}

static bool list_json(struct journal *journal, const struct history_filter *filter,
                      struct fault *fault)
{
    struct listing listing = {.journal = journal, .first = true, .fault = fault};
    if (journal != NULL &&
        (!history_jobs(journal, filter, add_object, &listing, fault) || listing.failed))
        return false;
    puts(listing.first ? "[]" : "\n]");
    return command_printed(fault);
}

static bool list_text(struct journal *journal, const struct history_filter *filter,
                      struct fault *fault)
{
    struct listing listing = {.journal = journal, .first = true, .fault = fault};
    if (journal != NULL &&
        (!history_jobs(journal, filter, print_row, &listing, fault) || listing.failed))
        return false;
    bool all = filter->text == NULL && filter->cause == NULL && !filter->has_since &&
               !filter->has_until && !filter->open && !filter->closed;
    if (listing.first)
        puts(all ? "There are no jobs yet." : "There are no such jobs.");
    return command_printed(fault);
}

int command_jobs(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct past_request request;
    struct journal *journal;
    if (!past_read(argc, argv, PAST_JSON | PAST_DATES | PAST_FILTER, SIZE_MAX, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    if (request.words > 0) {
        fault_set(&fault, FAULT_USAGE,
                  "'midthrow jobs' lists jobs: for one of them use 'midthrow show JOB'.");
        return command_fail(&fault);
    }
    if (!past_open(&request, &journal, &fault))
        return command_fail(&fault);
    bool ok = request.json ? list_json(journal, &request.filter, &fault)
                           : list_text(journal, &request.filter, &fault);
    journal_close(journal);
    return ok ? FAULT_NONE : command_fail(&fault);
}
