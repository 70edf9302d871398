/* midthrow why: what a job's answers say it may be, and because of what: every cause with its
 * probability, each answer's weight for and against it, what does not go together, and the check to
 * make next. */
#include <jansson.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "job/job.h"
#include "record/journal.h"

static const char USAGE[] =
    "usage: midthrow why [JOB] [--data DIR] [--json]\n"
    "What the answers of a job say it may be, and because of what. JOB is its number, as "
    "'midthrow\n"
    "jobs' lists it; without one the newest open job, or the newest of all. A factor says how "
    "many\n"
    "times likelier an answer is under that cause than under the others.\n"
    "\n"
    "  --data DIR   where the jobs are kept\n"
    "  --json       every weight (natural logarithm of its factor) as a JSON object\n";

enum { PATH_SIZE = 4096, PAIRS_MAX = 16, EXPLAINED = 5 };

/* ---- as text ------------------------------------------------------------------------------ */

static void print_evidence(const struct reason *reason, enum reason_cause cause)
{
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        enum reason_evidence evidence = (enum reason_evidence)e;
        double weight = reason_weight(reason, cause, evidence);
        if (fabs(weight) >= REASON_PERCEPTIBLE)
            printf("          %-8s x%-6.3g %s\n", weight > 0 ? "for" : "against", exp(weight),
                   reason_observation_words(evidence, reason->seen[e]));
    }
}

static void print_contradictions(const struct reason *reason)
{
    struct reason_contradiction pair[PAIRS_MAX];
    size_t n = reason_contradictions(reason, pair, PAIRS_MAX);
    for (size_t i = 0; i < n && i < PAIRS_MAX; i++)
        printf("\nThis does not go together: %s, yet %s: which?\n",
               reason_observation_words(pair[i].first, reason->seen[pair[i].first]),
               reason_observation_words(pair[i].second, reason->seen[pair[i].second]));
}

static int next_check(const struct job *job)
{
    return job_is_closed(job) && job->ending == JOB_FIXED
               ? -1
               : reason_next_check(&job->reason, job_checks_settled(job));
}

static void print_next(const struct job *job)
{
    int next = next_check(job);
    if (next < 0) {
        puts("\nNext check: none that could change anything.");
        return;
    }
    enum reason_check check = (enum reason_check)next;
    double chance = reason_check_chance(&job->reason, check);
    double minutes = reason_check_minutes(check);
    printf("\nNext check: %s, %.0f minutes, ends the search with %.0f %% (%.2f %% a minute).\n",
           reason_check_name(check), minutes, 100 * chance, 100 * chance / minutes);
}

static void print_text(const struct job *job, int64_t number)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    printf("Job %lld, work order %s, at %s.\n\n", (long long)number,
           job->order[0] != '\0' ? job->order : "none", job_phase_name(job->phase));
    for (int i = 0; i < REASON_CAUSE_COUNT; i++) {
        printf("%6.1f %%  %s\n", 100 * rank[i].probability, reason_cause_name(rank[i].cause));
        if (i < EXPLAINED)
            print_evidence(&job->reason, rank[i].cause);
    }
    print_contradictions(&job->reason);
    print_next(job);
}

/* ---- as JSON ------------------------------------------------------------------------------ */

static json_t *observation(const struct reason *reason, enum reason_evidence evidence)
{
    int value = reason->seen[evidence];
    return json_pack("{s:s, s:s, s:s}", "evidence", reason_evidence_id(evidence), "value",
                     reason_value_id(evidence, value), "words",
                     reason_observation_words(evidence, value));
}

static json_t *cause_json(const struct reason *reason, const struct reason_rank *rank)
{
    json_t *list = json_array();
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++) {
        if (reason->seen[e] < 0)
            continue;
        json_t *item = observation(reason, (enum reason_evidence)e);
        json_object_set_new(item, "weight",
                            json_real(reason_weight(reason, rank->cause, (enum reason_evidence)e)));
        json_array_append_new(list, item);
    }
    return json_pack("{s:s, s:s, s:f, s:f, s:o}", "id", reason_cause_id(rank->cause), "name",
                     reason_cause_name(rank->cause), "probability", rank->probability, "log_odds",
                     rank->log_odds, "evidence", list);
}

static json_t *contradictions_json(const struct reason *reason)
{
    json_t *list = json_array();
    struct reason_contradiction pair[PAIRS_MAX];
    size_t n = reason_contradictions(reason, pair, PAIRS_MAX);
    for (size_t i = 0; i < n && i < PAIRS_MAX; i++)
        json_array_append_new(list, json_pack("{s:s, s:o, s:o}", "id", pair[i].id, "first",
                                              observation(reason, pair[i].first), "second",
                                              observation(reason, pair[i].second)));
    return list;
}

static json_t *next_json(const struct job *job)
{
    int next = next_check(job);
    if (next < 0)
        return json_null();
    enum reason_check check = (enum reason_check)next;
    double chance = reason_check_chance(&job->reason, check);
    double minutes = reason_check_minutes(check);
    return json_pack("{s:s, s:s, s:f, s:f, s:f}", "id", reason_check_id(check), "name",
                     reason_check_name(check), "minutes", minutes, "chance", chance,
                     "chance_per_minute", chance / minutes);
}

static bool print_json(const struct job *job, int64_t number, struct fault *fault)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    json_t *causes = json_array();
    for (int i = 0; i < REASON_CAUSE_COUNT; i++)
        json_array_append_new(causes, cause_json(&job->reason, &rank[i]));
    json_t *object =
        json_pack("{s:I, s:s, s:s, s:o, s:o, s:o}", "job", (json_int_t)number, "work_order",
                  job->order, "phase", job_phase_name(job->phase), "causes", causes,
                  "contradictions", contradictions_json(&job->reason), "next", next_json(job));
    char *text =
        object == NULL ? NULL : json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(object);
    if (text == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    puts(text);
    free(text);
    return true;
}

/* ---- which job ---------------------------------------------------------------------------- */

/* An open job before a closed one, then the newest. */
static bool keep_best(void *context, const struct journal_job *job)
{
    struct journal_job *best = context;
    bool open = job->closed_ms == 0, best_is_open = best->closed_ms == 0;
    if (best->number == 0 || (open && !best_is_open) ||
        (open == best_is_open && job->last_ms >= best->last_ms))
        *best = *job;
    return true;
}

static bool find_job(struct journal *journal, const struct data_options *options, int64_t *number,
                     struct fault *fault)
{
    struct journal_job found = {0};
    if (options->word != NULL)
        return journal_find(journal, *number, &found, fault);
    if (!journal_jobs(journal, keep_best, &found, fault))
        return false;
    *number = found.number;
    return found.number != 0 ||
           fault_set(fault, FAULT_USAGE, "there is no job yet: start one with 'midthrow'.");
}

static bool why(struct journal *journal, const struct data_options *options, int64_t number,
                struct fault *fault)
{
    if (!find_job(journal, options, &number, fault))
        return false;
    struct job *job = malloc(sizeof *job);
    if (job == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    bool ok = journal_fold(journal, number, job, fault);
    if (ok && options->json)
        ok = print_json(job, number, fault);
    else if (ok)
        print_text(job, number);
    free(job);
    return ok;
}

int command_why(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct data_options options;
    char directory[PATH_SIZE];
    int64_t number = 0;
    if (!data_options_read(argc, argv, &options, &fault))
        return command_fail(&fault);
    if (options.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    if (options.transcript || (options.word != NULL && !data_number(options.word, &number))) {
        fault_set(&fault, FAULT_USAGE,
                  "use 'midthrow why', or 'midthrow why JOB' with its number.");
        return command_fail(&fault);
    }
    if (!data_directory(&options, directory, sizeof directory, &fault))
        return command_fail(&fault);
    if (!journal_exists(directory)) {
        fault_set(&fault, FAULT_USAGE,
                  "there is no job in '%s': start one, or name another directory with --data.",
                  directory);
        return command_fail(&fault);
    }
    command_confine(directory, NULL, NULL);
    struct journal *journal = journal_open(directory, &fault);
    bool ok = journal != NULL && why(journal, &options, number, &fault) && command_printed(&fault);
    journal_close(journal);
    return ok ? FAULT_NONE : command_fail(&fault);
}
