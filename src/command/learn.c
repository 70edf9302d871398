/* midthrow learn: what the shop's jobs taught, to be looked at, taken along or forgotten. */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command/command.h"
#include "command/data.h"
#include "command/past.h"
#include "record/learn.h"

static const char USAGE[] =
    "usage: midthrow learn [show | export | forget] [--json] [-o FILE] [--data DIR]\n"
    "Closed jobs that were fixed, with a confirmed cause, teach how often each cause comes in; "
    "new\n"
    "jobs start from that.\n"
    "\n"
    "  show        where it started, what was learned; this if nothing is said\n"
    "  export      the same as a learning.ini, which another station can start from\n"
    "  forget      from now on the jobs so far count no more\n"
    "  --json      as a JSON object\n"
    "  -o FILE     export into a file\n"
    "  --data DIR  where the jobs are kept; a learning.ini there is what learning starts from\n";

enum { BAR = 24 };

static void bar(double share, double full, char out[BAR + 1])
{
    int n = full > 0 ? (int)(share / full * BAR + 0.5) : 0;
    for (int i = 0; i < BAR; i++)
        out[i] = i < n ? '#' : ' ';
    out[BAR] = '\0';
}

static bool show_text(const struct learn *learn, struct fault *fault)
{
    double start[REASON_CAUSE_COUNT];
    double now[REASON_CAUSE_COUNT];
    double full = 0;
    char drawn[BAR + 1];
    dirichlet_mean(&learn->start, start);
    dirichlet_mean(&learn->now, now);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        full = now[c] > full ? now[c] : full;
    printf("Fixed jobs with a confirmed cause: %lld; started from %s, worth %.4g jobs.\n",
           (long long)learn->all, learn->own_start ? "learning.ini" : "the table of judgement",
           dirichlet_strength(&learn->start));
    if (learn->forgotten > 0)
        printf("%lld more were forgotten.\n", (long long)learn->forgotten);
    printf("If the start was right, learning costs less than %.2f nats of log score a job.\n\n"
           "%-38s  %7s  %7s  %5s\n",
           dirichlet_cost(&learn->start), "cause", "start", "now", "jobs");
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        bar(now[c], full, drawn);
        printf("%-38s  %5.1f %%  %5.1f %%  %5lld  [%s]\n", reason_cause_name((enum reason_cause)c),
               100 * start[c], 100 * now[c], (long long)learn->jobs[c], drawn);
    }
    return command_printed(fault);
}

static json_t *json_of(const struct learn *learn)
{
    double start[REASON_CAUSE_COUNT];
    double now[REASON_CAUSE_COUNT];
    json_t *causes = json_array();
    dirichlet_mean(&learn->start, start);
    dirichlet_mean(&learn->now, now);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        enum reason_cause cause = (enum reason_cause)c;
        json_array_append_new(
            causes, json_pack("{ss ss sf sf sI sf}", "cause", reason_cause_id(cause), "name",
                              reason_cause_name(cause), "start", start[c], "now", now[c], "jobs",
                              (json_int_t)learn->jobs[c], "pseudo_count", learn->now.count[c]));
    }
    return json_pack("{sI sI ss sf sf so}", "jobs", (json_int_t)learn->all, "forgotten",
                     (json_int_t)learn->forgotten, "started_from",
                     learn->own_start ? "learning.ini" : "table", "start_strength",
                     dirichlet_strength(&learn->start), "cost_bound_nats",
                     dirichlet_cost(&learn->start), "causes", causes);
}

static bool show(struct journal *journal, const struct past_request *request, struct fault *fault)
{
    struct learn learn = {.all = 0};
    dirichlet_init(&learn.start, DIRICHLET_STRENGTH);
    learn.now = learn.start;
    if (journal != NULL && !learn_read(journal, &learn, fault))
        return false;
    return request->json ? past_print_json(json_of(&learn), fault) : show_text(&learn, fault);
}

static bool export(struct journal *journal, const struct past_request *request, struct fault *fault)
{
    struct learn learn = {.all = 0};
    if (journal == NULL)
        return fault_set(fault, FAULT_MISSING,
                         "there are no jobs yet, so nothing is learned: close some first.");
    if (request->json)
        return show(journal, request, fault);
    struct past_out *out = malloc(sizeof *out);
    bool ok = out != NULL && learn_read(journal, &learn, fault) &&
              past_out_open(out, request->out, fault);
    if (ok) {
        learn_export(&learn, out->file);
        ok = past_out_close(out, true, fault);
    }
    free(out);
    return ok;
}

static bool forget(struct journal *journal, const struct past_request *request, struct fault *fault)
{
    int64_t jobs = 0;
    if (journal != NULL && !learn_forget(journal, &jobs, fault))
        return false;
    if (request->json)
        return past_print_json(json_pack("{sI}", "forgotten", (json_int_t)jobs), fault);
    printf("%lld job%s will teach nothing any more.\n", (long long)jobs, jobs == 1 ? "" : "s");
    return command_printed(fault);
}

static const struct {
    const char *name;
    bool (*run)(struct journal *journal, const struct past_request *request, struct fault *fault);
} VERBS[] = {{"show", show}, {"export", export}, {"forget", forget}};

static bool run(const struct past_request *request, struct fault *fault)
{
    const char *verb = request->words == 0 ? "show" : request->word[0];
    struct journal *journal = NULL;
    for (size_t i = 0; i < sizeof VERBS / sizeof VERBS[0]; i++)
        if (strcmp(VERBS[i].name, verb) == 0) {
            bool ok = past_open(request, &journal, fault) && VERBS[i].run(journal, request, fault);
            journal_close(journal);
            return ok;
        }
    return fault_set(fault, FAULT_USAGE,
                     "'%.40s' is nothing to do with what was learned: say show, export or forget.",
                     verb);
}

int command_learn(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct past_request request;
    if (!past_read(argc, argv, PAST_JSON | PAST_OUT, 1, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    return run(&request, &fault) ? FAULT_NONE : command_fail(&fault);
}
