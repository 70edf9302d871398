/* midthrow history: the jobs on one bike, and how far out its shift arm was each time. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/plain.h"
#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "command/past.h"
#include "record/history_plot.h"
#include "record/json_text.h"
#include "record/transcript.h"

static const char USAGE[] =
    "usage: midthrow history BIKE [--json] [--svg FILE] [--data DIR]\n"
    "The jobs on one bike, oldest first: when, odometer, how ended, cause, and the offset of rest\n"
    "as found (o) and as left (*), too far back to the right of the bar's middle.\n"
    "BIKE is the name it was given with --bike when a job was started; 'midthrow jobs --bike "
    "TEXT'\n"
    "looks for part of a name, in profiles and work orders too.\n"
    "\n"
    "  --json      as a JSON object\n"
    "  --svg FILE  the offsets as a picture\n"
    "  --data DIR  where the jobs are kept\n";

struct past {
    struct journal_job *job;
    size_t n, room;
    bool full; /* out of memory */
};

static bool keep(void *context, const struct journal_job *job)
{
    struct past *past = context;
    if (past->n == past->room) {
        size_t room = past->room == 0 ? 64 : 2 * past->room;
        struct journal_job *more =
            room > SIZE_MAX / sizeof *more ? NULL : realloc(past->job, room * sizeof *more);
        past->full = more == NULL;
        if (past->full)
            return false;
        past->job = more;
        past->room = room;
    }
    past->job[past->n++] = *job;
    return true;
}

static double widest_mm(const struct past *past)
{
    double most = 0;
    for (size_t i = 0; i < past->n; i++)
        if (past->job[i].measured)
            most = fmax(most, fmax(fabs(past->job[i].found_mm), fabs(past->job[i].left_mm)));
    return most;
}

static void print_job(const struct journal_job *job, double full_mm)
{
    char at[32];
    char bar[HISTORY_BAR + 2];
    char odometer[24] = "-";
    transcript_time(job->opened_ms, at);
    at[10] = '\0';
    history_offset_bar(job, full_mm, bar);
    if (job->odometer >= 0)
        snprintf(odometer, sizeof odometer, "%lld", (long long)job->odometer);
    char ending[4 * sizeof job->ending], cause[4 * sizeof job->cause];
    printf("%5lld  %s  %8s  %-9s  %-16s", (long long)job->number, at, odometer,
           plain_text(job->ending, ending, sizeof ending),
           plain_text(job->cause[0] == '\0' ? "-" : job->cause, cause, sizeof cause));
    if (job->measured)
        printf("  [%s]  %+.2f to %+.2f mm", bar, job->found_mm, job->left_mm);
    putchar('\n');
}

static bool print_text(const char *bike, const struct past *past, struct fault *fault)
{
    char shown[4 * JOB_BIKE + 1];
    struct text text = text_into(shown, sizeof shown);
    plain_add(&text, bike);
    double full_mm = widest_mm(past);
    printf("Bike %s: %zu job%s.\n%5s  %-10s  %8s  %-9s  %-16s\n", shown, past->n,
           past->n == 1 ? "" : "s", "job", "opened", "odometer", "ending", "cause");
    for (size_t i = 0; i < past->n; i++)
        print_job(&past->job[i], full_mm);
    return command_printed(fault);
}

static json_t *whole_or_null(bool known, int64_t value)
{
    return known ? json_integer(value) : json_null();
}

static json_t *number_or_null(bool known, double value)
{
    return known && isfinite(value) ? json_real(value) : json_null();
}

static json_t *json_of_job(const struct journal_job *job)
{
    char at[32];
    transcript_time(job->opened_ms, at);
    return json_pack("{sI ss so so so so so so sI}", "job", (json_int_t)job->number, "opened_at",
                     at, "work_order", json_text_or_null(job->order), "odometer",
                     whole_or_null(job->odometer >= 0, job->odometer), "ending",
                     json_text_or_null(job->ending), "cause", json_text_or_null(job->cause),
                     "offset_found_mm", number_or_null(job->measured, job->found_mm),
                     "offset_left_mm", number_or_null(job->measured, job->left_mm), "active_ms",
                     (json_int_t)job->active_ms);
}

static bool print_json(const char *bike, const struct past *past, struct fault *fault)
{
    json_t *jobs = json_array();
    for (size_t i = 0; i < past->n; i++)
        if (json_array_append_new(jobs, json_of_job(&past->job[i])) != 0) {
            json_decref(jobs);
            return past_print_json(NULL, fault);
        }
    return past_print_json(json_pack("{so so}", "bike", json_text(bike), "jobs", jobs), fault);
}

static bool draw(const char *path, const char *bike, const struct past *past, struct fault *fault)
{
    struct past_out *out = malloc(sizeof *out);
    bool ok = out != NULL && past_out_open(out, path, fault);
    if (ok) {
        history_bike_svg(bike, past->job, past->n, out->file);
        ok = past_out_close(out, true, fault);
    }
    free(out);
    return ok;
}

static bool tell(struct journal *journal, const char *bike, const struct past_request *request,
                 struct past *past, struct fault *fault)
{
    if (journal != NULL && !history_of_bike(journal, bike, keep, past, fault))
        return false;
    if (past->full)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    if (past->n == 0)
        return fault_set(
            fault, FAULT_USAGE,
            "there is no job on a bike of that name: 'midthrow jobs --bike TEXT' looks "
            "for part of one, in profiles and work orders too.");
    if (request->svg != NULL && !draw(request->svg, bike, past, fault))
        return false;
    return request->json ? print_json(bike, past, fault) : print_text(bike, past, fault);
}

int command_history(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct past_request request;
    struct journal *journal = NULL;
    struct past past = {.n = 0};
    char bike[JOB_BIKE];
    if (!past_read(argc, argv, PAST_JSON | PAST_SVG, 1, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    if (request.words == 0) {
        fault_set(&fault, FAULT_USAGE,
                  "say which bike: 'midthrow history BIKE', as it was named with --bike.");
        return command_fail(&fault);
    }
    bool ok = history_bike(request.word[0], bike, &fault) &&
              past_open(&request, &journal, &fault) && tell(journal, bike, &request, &past, &fault);
    journal_close(journal);
    free(past.job);
    return ok ? FAULT_NONE : command_fail(&fault);
}
