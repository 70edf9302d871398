/* midthrow import: jobs of another station, none of them twice, and nothing written over. */
#include <errno.h>
#include <fcntl.h>
#include <jansson.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/plain.h"
#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "command/past.h"
#include "record/json_text.h"
#include "record/move.h"
#include "record/store.h"
#include "record/transcript.h"

static const char USAGE[] =
    "usage: midthrow import FILE [--keep-both] [--json] [--data DIR]\n"
    "Takes in the jobs of a file that 'midthrow export' wrote; '-' is standard input. A job that "
    "is\n"
    "here already is not taken twice; one that went on there goes on here. Where the two versions\n"
    "part, both are shown and neither is changed.\n"
    "\n"
    "  --keep-both  the file's version of such a job becomes one of its own\n"
    "  --json       what came in as a JSON object\n"
    "  --data DIR   where the jobs are kept\n";

enum { EVENT_SHOWN = 200 };

struct telling {
    bool json;
    json_t *conflicts;
};

static void print_version(const char *where, const struct move_version *version)
{
    char at[32];
    char event[EVENT_SHOWN + 1];
    char ending[4 * sizeof version->ending];
    transcript_time(version->last_ms, at);
    printf("  %-8s  %lld events, the last at %s, %s\n", where, (long long)version->events, at,
           plain_text(version->ending, ending, sizeof ending));
    if (version->event == NULL || version->event[0] == '\0') {
        puts("            ends before that event");
        return;
    }
    struct text text = text_into(event, sizeof event);
    plain_add(&text, version->event);
    printf("            %s%s\n", event, text.cut ? " ..." : "");
}

static json_t *json_of_version(const struct move_version *version)
{
    json_t *event = version->event == NULL ? NULL : json_loads(version->event, 0, NULL);
    return json_pack("{sI sI so so}", "events", (json_int_t)version->events, "last_ms",
                     (json_int_t)version->last_ms, "ending", json_text(version->ending), "event",
                     event == NULL ? json_null() : event);
}

static void tell_conflict(void *context, const struct move_conflict *conflict)
{
    struct telling *telling = context;
    if (telling->json) {
        json_array_append_new(
            telling->conflicts,
            json_pack("{ss sI sI so so so}", "id", conflict->id, "job",
                      (json_int_t)conflict->number, "parts_at", (json_int_t)conflict->parts_at,
                      "here", json_of_version(&conflict->here), "file",
                      json_of_version(&conflict->there), "kept_as",
                      conflict->kept_as == 0 ? json_null() : json_integer(conflict->kept_as)));
        return;
    }
    printf("Job %lld is another in the file (id %s): they part at event %lld.\n",
           (long long)conflict->number, conflict->id, (long long)conflict->parts_at);
    print_version("here", &conflict->here);
    print_version("the file", &conflict->there);
    if (conflict->kept_as != 0)
        printf("  The file's is kept as job %lld.\n", (long long)conflict->kept_as);
}

static bool print_report(const struct move_report *report, struct telling *telling,
                         struct fault *fault)
{
    if (telling->json)
        return past_print_json(
            json_pack("{sI sI sI sI sI so}", "added", (json_int_t)report->added, "extended",
                      (json_int_t)report->extended, "same", (json_int_t)report->same, "longer_here",
                      (json_int_t)report->longer_here, "kept_both", (json_int_t)report->kept,
                      "conflicts", json_incref(telling->conflicts)),
            fault);
    printf(
        "%lld added, %lld went on, %lld were here already, %lld are longer here, %lld kept beside "
        "another, %lld in conflict.\n",
        (long long)report->added, (long long)report->extended, (long long)report->same,
        (long long)report->longer_here, (long long)report->kept, (long long)report->conflicts);
    return command_printed(fault);
}

static bool take_in(struct journal *journal, FILE *in, const struct past_request *request,
                    struct fault *fault)
{
    struct telling telling = {.json = request->json, .conflicts = json_array()};
    struct move_report report;
    bool ok = move_import(journal, in, request->word[0], request->keep_both, tell_conflict,
                          &telling, &report, fault) &&
              print_report(&report, &telling, fault);
    json_decref(telling.conflicts);
    if (ok && report.conflicts > 0)
        return fault_set(
            fault, FAULT_FAILED,
            "%lld job%s in conflict and nothing of the file's was taken: 'midthrow import "
            "--keep-both' keeps the file's beside them.",
            (long long)report.conflicts, report.conflicts == 1 ? " is" : "s are");
    return ok;
}

/* A pipe that nobody writes to must not be waited for; one that is being written to may be. */
static FILE *open_to_read(const char *path)
{
    int fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    FILE *in = fd < 0 || fcntl(fd, F_SETFL, 0) != 0 ? NULL : fdopen(fd, "r");
    if (in == NULL && fd >= 0)
        close(fd);
    return in;
}

static bool run(const struct past_request *request, struct fault *fault)
{
    const struct data_options data = {.directory = request->directory};
    char directory[4096];
    if (request->words == 0)
        return fault_set(fault, FAULT_USAGE,
                         "say which file: 'midthrow import FILE', as 'midthrow export' wrote it.");
    if (!data_directory(&data, directory, sizeof directory, fault))
        return false;
    bool from_pipe = strcmp(request->word[0], "-") == 0;
    FILE *in = from_pipe ? stdin : open_to_read(request->word[0]);
    if (in == NULL)
        return fault_set(fault, FAULT_MISSING, "cannot read '%.200s' (%s): name the file again.",
                         request->word[0], strerror(errno));
    struct journal *journal = NULL;
    if (store_make_directory(directory, fault)) {
        command_confine(directory, NULL, NULL);
        journal = journal_open(directory, fault);
    }
    bool ok = journal != NULL && take_in(journal, in, request, fault);
    journal_close(journal);
    if (!from_pipe)
        fclose(in);
    return ok;
}

int command_import(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct past_request request;
    if (!past_read(argc, argv, PAST_JSON | PAST_KEEP_BOTH, 1, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    return run(&request, &fault) ? FAULT_NONE : command_fail(&fault);
}
