/* midthrow jobs: what jobs there are, and where each stands. */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "record/journal.h"
#include "record/plain.h"
#include "record/transcript.h"

static const char USAGE[] = "usage: midthrow jobs [--data DIR] [--json]\n"
                            "Lists the jobs: number, work order, when opened, how ended, where it "
                            "stands.\n"
                            "\n"
                            "  --data DIR  where the jobs are kept\n"
                            "  --json      as a JSON array\n";

enum { CELL = 4 * 64 + 1, DIRECTORY = 4096 };

static const char *plain(const char *string, char out[CELL])
{
    struct text text = text_into(out, CELL);
    plain_add(&text, string[0] == '\0' ? "-" : string);
    return out;
}

static bool print_row(void *context, const struct journal_job *job)
{
    bool *first = context;
    char at[32];
    char order[CELL];
    char question[CELL];
    char ending[CELL];
    transcript_time(job->opened_ms, at);
    if (*first)
        printf("%5s  %-12s  %-20s  %-9s  %6s  %s\n", "job", "work order", "opened (UTC)", "ending",
               "events", "stands at");
    *first = false;
    char *point = strchr(at, '.');
    if (point != NULL)
        memcpy(point, "Z", sizeof "Z");
    printf("%5lld  %-12s  %-20s  %-9s  %6lld  %s\n", (long long)job->number,
           plain(job->order, order), at, plain(job->ending, ending), (long long)job->events,
           plain(job->question, question));
    return true;
}

static json_t *string_or_null(const char *string)
{
    return string[0] == '\0' ? json_null() : json_string(string);
}

static json_t *time_or_null(int64_t at_ms)
{
    char at[32];
    if (at_ms == 0)
        return json_null();
    transcript_time(at_ms, at);
    return json_string(at);
}

static bool add_object(void *context, const struct journal_job *job)
{
    json_t *array = context;
    json_t *object = json_object();
    json_object_set_new(object, "job", json_integer(job->number));
    json_object_set_new(object, "work_order", string_or_null(job->order));
    json_object_set_new(object, "profile", string_or_null(job->profile));
    json_object_set_new(object, "opened_at", time_or_null(job->opened_ms));
    json_object_set_new(object, "last_at", time_or_null(job->last_ms));
    json_object_set_new(object, "closed_at", time_or_null(job->closed_ms));
    json_object_set_new(object, "ending", string_or_null(job->ending));
    json_object_set_new(object, "question", string_or_null(job->question));
    json_object_set_new(object, "events", json_integer(job->events));
    return json_array_append_new(array, object) == 0;
}

static bool list_json(struct journal *journal, struct fault *fault)
{
    json_t *array = json_array();
    bool ok = journal == NULL || journal_jobs(journal, add_object, array, fault);
    char *text = ok ? json_dumps(array, JSON_INDENT(2) | JSON_ENSURE_ASCII) : NULL;
    json_decref(array);
    if (ok && text == NULL)
        ok = fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    if (ok)
        puts(text);
    free(text);
    return ok;
}

static bool list_text(struct journal *journal, struct fault *fault)
{
    bool none = true;
    if (journal != NULL && !journal_jobs(journal, print_row, &none, fault))
        return false;
    if (none)
        puts("There are no jobs yet.");
    return true;
}

int command_jobs(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct data_options options;
    char directory[DIRECTORY];
    if (!data_options_read(argc, argv, &options, &fault))
        return command_fail(&fault);
    if (options.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    if (options.word != NULL || options.transcript) {
        fault_set(&fault, FAULT_USAGE,
                  "'midthrow jobs' lists all jobs: for one of them use 'midthrow show JOB'.");
        return command_fail(&fault);
    }
    if (!data_directory(&options, directory, sizeof directory, &fault))
        return command_fail(&fault);
    /* Listing makes nothing: without a journal there are no jobs. */
    struct journal *journal = NULL;
    if (journal_exists(directory) && (journal = journal_open(directory, &fault)) == NULL)
        return command_fail(&fault);
    bool ok = options.json ? list_json(journal, &fault) : list_text(journal, &fault);
    ok = ok && data_printed(&fault);
    journal_close(journal);
    return ok ? FAULT_NONE : command_fail(&fault);
}
