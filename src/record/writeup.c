/* The write-up: a section a function, in the order of the page, each from the job's state alone and
 * each saying so when there is nothing to say. */
#include "record/writeup.h"

#include <math.h>

#include "base/text.h"
#include "record/figure.h"
#include "record/page.h"
#include "record/writeup_words.h"

enum {
    HEAD = 13, /* column of what stands beside the head's labels */
    INDENT = 2,
    FIGURES = 14, /* column of a throw's figures */
    TIMED = 27,   /* column behind a time */
};

/* ---- head --------------------------------------------------------------------------------------
 */

static void put_result(struct page *page, const struct job *job)
{
    char result[96];
    struct text text = text_into(result, sizeof result);
    words_result(job, &text);
    page_label(page, 0, HEAD, "Result", "%s", result);
}

static void put_times(struct page *page, const struct job *job)
{
    char at[40];
    page_label(page, 0, HEAD, "Opened", "%s", words_time(job->opened_ms, at));
    if (job->closed_ms == 0)
        return;
    uint64_t minutes = words_minutes(job);
    page_label(page, 0, HEAD, "Closed", "%s, %llu minute%s after it was opened",
               words_time(job->closed_ms, at), (unsigned long long)minutes,
               minutes == 1 ? "" : "s");
}

static void put_head(struct page *page, const struct job *job, int64_t number)
{
    page_put(page, 0, 0, "MIDTHROW WRITE-UP, JOB %lld", (long long)number);
    page_blank(page);
    page_label(page, 0, HEAD, "Work order", "%s", job->order[0] == '\0' ? "not given" : job->order);
    if (job->bike[0] != '\0')
        page_label(page, 0, HEAD, "Plate", "%s", job->bike);
    if (job->has_profile) {
        page_label(page, 0, HEAD, "Bike", "%s (profile %s)", job->profile.title, job->profile.name);
        page_label(page, 0, HEAD, "Numbers", "%s", job->profile.source);
    } else {
        page_label(page, 0, HEAD, "Bike", "no profile was chosen");
    }
    if (job->odometer >= 0)
        page_label(page, 0, HEAD, "Odometer", "%lld", (long long)job->odometer);
    else
        page_label(page, 0, HEAD, "Odometer", "not given");
    put_times(page, job);
    put_result(page, job);
}

/* ---- concern -----------------------------------------------------------------------------------
 */

static void put_concern(struct page *page, const struct job *job)
{
    size_t answered = 0;
    page_heading(page, "CONCERN");
    for (size_t i = 0; i < WORDS_INTAKE; i++) {
        int value = job->reason.seen[words_intake[i].evidence];
        if (value < 0)
            continue;
        page_put(page, INDENT, INDENT + 2, "- %s",
                 reason_observation_words(words_intake[i].evidence, value));
        answered++;
    }
    if (answered == 0)
        page_put(page, INDENT, INDENT, "No question about the concern was answered.");
}

/* ---- cause -------------------------------------------------------------------------------------
 */

static void put_ranked(struct page *page, const struct job *job, const struct reason_rank *rank,
                       const char *lead, const char *name)
{
    char reasons[512];
    char probability[24];
    struct text text = text_into(reasons, sizeof reasons);
    words_reasons(job, rank, &text);
    page_put(page, INDENT, INDENT + 3, "%s%s %s%s.", lead, name,
             words_percent(rank->probability, probability), reasons);
}

static void put_cause(struct page *page, const struct job *job)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    const struct reason_rank *confirmed = words_rank_of(rank, job->cause);
    page_heading(page, "CAUSE");
    if (confirmed != NULL) {
        page_put(page, INDENT, INDENT, "Confirmed: %s.", reason_cause_name(confirmed->cause));
        put_ranked(page, job, confirmed, "", "What was seen gives it");
        return;
    }
    if (!words_anything_seen(job)) {
        page_put(page, INDENT, INDENT, "Not known: nothing was answered or checked.");
        return;
    }
    page_put(page, INDENT, INDENT,
             "Not confirmed. Likeliest on what was seen (judgement, not "
             "measurement):");
    static const char *const leads[WORDS_NAMED] = {"1. ", "2. ", "3. "};
    for (size_t i = 0; i < WORDS_NAMED; i++)
        put_ranked(page, job, &rank[i], leads[i], reason_cause_name(rank[i].cause));
}

/* ---- correction --------------------------------------------------------------------------------
 */

static void put_correction(struct page *page, const struct job *job)
{
    char line[256];
    struct text turns = text_into(line, sizeof line);
    const char *why = words_stop(job);
    page_heading(page, "CORRECTION");
    for (size_t i = 0; i < job->checks; i++)
        if (job->check[i].put_right)
            page_put(page, INDENT, INDENT + 2, "- %s: set to the manual.", job->check[i].what);
    page_put(page, INDENT, INDENT + 2, "- %s", words_centring(job));
    if (why != NULL)
        page_put(page, INDENT, INDENT + 2, "- Why it was stopped: %s.", why);
    words_turns(job, &turns);
    if (turns.used > 0)
        page_put(page, INDENT, INDENT + 2, "- %s", line);
}

/* ---- checks ------------------------------------------------------------------------------------
 */

static void put_check(struct page *page, const struct job_check *check)
{
    char line[512];
    struct text text = text_into(line, sizeof line);
    words_check(check, &text);
    page_put(page, INDENT, INDENT + 2, "- %s.", line);
}

static void put_checks(struct page *page, const struct job *job)
{
    page_heading(page, "CHECKS");
    if (job->checks == 0 && job->hook < 0)
        page_put(page, INDENT, INDENT, "None was made.");
    for (size_t i = 0; i < job->checks; i++)
        put_check(page, &job->check[i]);
    if (job->hook >= 0)
        page_put(page, INDENT, INDENT + 2, "- hook, pin and arm, by eye: %s.",
                 reason_observation_words(REASON_HOOK_LOOK, job->hook));
}

/* ---- throws ------------------------------------------------------------------------------------
 */

static void put_throw(struct page *page, const char *label, const struct job_readings *readings,
                      const struct measure_estimate *estimate)
{
    char line[1024];
    struct text text = text_into(line, sizeof line);
    for (size_t i = 0; i < readings->n; i++) {
        char exact[64];
        measure_length_print(readings->value[i], exact, sizeof exact);
        text_addf(&text, "%s%s", i == 0 ? "" : ", ", exact);
    }
    page_label(page, INDENT + 2, FIGURES, label, "%s", readings->n == 0 ? "not read" : line);
    if (estimate != NULL && !isfinite(estimate->U_mm)) /* one reading says nothing of its scatter */
        page_put(page, FIGURES, FIGURES, "mean %.2f mm (%.4f in), uncertainty not known",
                 estimate->mean_mm, estimate->mean_mm / 25.4);
    else if (estimate != NULL)
        page_put(page, FIGURES, FIGURES, "mean %.2f mm +/- %.2f mm (%.4f in +/- %.4f in)",
                 estimate->mean_mm, estimate->U_mm, estimate->mean_mm / 25.4,
                 estimate->U_mm / 25.4);
}

static void put_balance(struct page *page, const struct job *job,
                        const struct measure_balance *balance)
{
    char tolerance[FIGURE_LENGTH];
    char probability[24];
    double offset = words_shown(balance->offset_mm);
    page_label(page, INDENT + 2, FIGURES, "split", "%.1f %% forward, %.1f %% back",
               balance->forward_percent, balance->back_percent);
    page_label(page, INDENT + 2, FIGURES, "offset", "%.2f mm (%.4f in)%s%s", fabs(offset),
               fabs(offset) / 25.4, offset != 0 ? ", " : "", words_side(offset));
    page_label(page, INDENT + 2, FIGURES, "verdict", "%s; probability of being even %s%s%s",
               measure_verdict_name(balance->verdict),
               words_percent(balance->probability_even, probability),
               job->numbers.tolerance.known ? "; tolerance " : "",
               job->numbers.tolerance.known ? figure_length(job->numbers.tolerance.value, tolerance)
                                            : "");
}

static void put_measurement(struct page *page, const struct job *job, int index, const char *when)
{
    const struct job_round *round = &job->round[index];
    char at[40];
    if (round->balanced)
        page_put(page, INDENT, INDENT, "%s, %s:", when, words_time(round->at_ms, at));
    else
        page_put(page, INDENT, INDENT, "%s, not finished:", when);
    put_throw(page, "forward", &round->forward, round->balanced ? &round->balance.forward : NULL);
    put_throw(page, "back", &round->back, round->balanced ? &round->balance.back : NULL);
    if (round->balanced)
        put_balance(page, job, &round->balance);
}

static void put_throws(struct page *page, const struct job *job)
{
    int last = words_last_balanced(job);
    page_heading(page, "THROWS");
    if (job->rounds <= 0) {
        page_put(page, INDENT, INDENT, "Not measured.");
        return;
    }
    put_measurement(page, job, 0, "As found");
    if (last > 0)
        put_measurement(page, job, last, "Last measured");
    page_put(page, INDENT, INDENT,
             "+/- is the expanded uncertainty at 95 %% (JCGM 100); the verdict is a probability of "
             "conformity (JCGM 106).");
}

/* ---- rounds ------------------------------------------------------------------------------------
 */

static void put_round(struct page *page, const struct job_round *round, int index)
{
    char told[32];
    char turned[32];
    char even[16];
    text_addf(&page->text, "  %5d", index);
    if (round->balanced)
        text_addf(&page->text, "  %10.2f  %7.2f  %+9.2f  %6s", round->balance.forward.mean_mm,
                  round->balance.back.mean_mm, words_shown(round->balance.offset_mm),
                  words_share(round->balance.probability_even, even));
    else
        text_addf(&page->text, "  %10s  %7s  %9s  %6s", "-", "-", "-", "-");
    text_addf(&page->text, "  %-9s  %s\n", words_advised(round, told), words_turned(round, turned));
}

static void put_rounds(struct page *page, const struct job *job)
{
    if (words_turned_rounds(job) == 0)
        return;
    page_heading(page, "ADJUSTING ROUNDS");
    text_add(&page->text,
             "  round  forward mm  back mm  offset mm  even %  advised    turned then\n");
    for (int i = 0; i < job->rounds; i++)
        put_round(page, &job->round[i], i);
    page_put(page, INDENT, INDENT, "Parts of a turn; cw is clockwise, as seen facing the stem.");
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].sum_suspect)
            page_put(page, INDENT, INDENT,
                     "Round %d: forward and back together changed by more than their uncertainty; "
                     "a reading or a part is suspect.",
                     i);
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].scatter_suspect)
            page_put(page, INDENT, INDENT,
                     "Round %d: the readings of one throw scatter more than a hand does; hook or "
                     "pin is suspect.",
                     i);
}

/* ---- proving, cautions, what went wrong --------------------------------------------------- */

static void put_proving(struct page *page, const struct job *job)
{
    char at[40];
    page_heading(page, "PROVING");
    if (words_proofs_with(job, 0) + words_proofs_with(job, 1) == 0)
        page_put(page, INDENT, INDENT, "Nothing was proved.");
    for (size_t i = 0; i < job->proofs; i++) {
        const struct job_proof *proof = &job->proof[i];
        if (proof->result >= 0)
            page_put(page, INDENT, INDENT + 2, "- %s: %s, %s", proof->what,
                     proof->result ? "passed" : "FAILED", words_time(proof->at_ms, at));
    }
}

/* As it was confirmed, and where: "the lock nut is tight; adjusting, round 1". */
static void put_caution(struct page *page, const struct job_caution *caution)
{
    char line[256];
    char place[64];
    char at[40];
    struct text text = text_into(line, sizeof line);
    struct text where = text_into(place, sizeof place);
    words_caution(caution, &text);
    words_caution_place(caution, &where);
    page_label(page, INDENT, TIMED, words_time(caution->at_ms, at), "%s%s%s, by %s", line,
               where.used > 0 ? "; " : "", place, job_source_name(caution->source));
}

static void put_cautions(struct page *page, const struct job *job)
{
    page_heading(page, "CAUTIONS CONFIRMED");
    if (job->cautions == 0)
        page_put(page, INDENT, INDENT, "None.");
    for (size_t i = 0; i < job->cautions; i++)
        put_caution(page, &job->caution[i]);
}

static void put_list(struct page *page, const char *lead, const char *list)
{
    if (list[0] != '\0')
        page_put(page, INDENT, INDENT + 2, "- %s: %s.", lead, list);
}

static void put_not_done(struct page *page, const struct job *job)
{
    struct words_not_done left;
    words_not_done(job, &left);
    page_heading(page, "NOT DONE");
    put_list(page, "not answered or not known", left.intake);
    put_list(page, "not checked", left.checks);
    put_list(page, "not proved", left.proofs);
    if (left.unmeasured)
        page_put(page, INDENT, INDENT + 2,
                 "- the throws were NOT measured again after the stem was last turned.");
    if (words_nothing_left_out(&left))
        page_put(page, INDENT, INDENT, "Nothing was left out.");
}

static void put_corrections(struct page *page, const struct job *job)
{
    page_heading(page, "HEARD AND CORRECTED");
    page_put(page, INDENT, INDENT, "%u answers taken, %u asked again, %u not understood.",
             job->heard, job->asked_again, job->rejected);
    for (size_t i = 0; i < job->corrections; i++) {
        const struct job_correction *correction = &job->correction[i];
        char at[40];
        char line[256];
        struct text text = text_into(line, sizeof line);
        words_correction(correction, &text);
        page_label(page, INDENT, TIMED, words_time(correction->at_ms, at), "%s", line);
    }
}

/* ---- tools and what is next --------------------------------------------------------------- */

static void put_tools(struct page *page, const struct job *job)
{
    char tool[WORDS_TOOLS][WORDS_TOOL];
    size_t n = words_tools(job, tool);
    page_heading(page, "TOOLS");
    for (size_t i = 0; i < n; i++)
        page_put(page, INDENT, INDENT + 2, "- %s.", tool[i]);
    if (n == 0)
        page_put(page, INDENT, INDENT, "Nothing that was done needed one.");
}

static void put_next(struct page *page, const struct job *job)
{
    if (job->ending == JOB_FIXED)
        return;
    struct words_next next[WORDS_NAMED];
    size_t n = words_next(job, next);
    page_heading(page, "NEXT CHECKS");
    for (size_t i = 0; i < n; i++) {
        char probability[24];
        page_put(page, INDENT, INDENT + 3, "%zu. %s, about %.0f minutes: for %s, %s.", i + 1,
                 reason_check_name(next[i].check), reason_check_minutes(next[i].check),
                 reason_cause_name(next[i].cause), words_percent(next[i].probability, probability));
    }
    page_put(page, INDENT, INDENT,
             n == 0 ? "No check of midthrow's is left: go back to the "
                      "service manual's diagnosis."
                    : "Do each as the service manual says.");
}

bool writeup_text(const struct job *job, int64_t number, char *out, size_t size)
{
    struct page page = page_into(out, size);
    put_head(&page, job, number);
    put_concern(&page, job);
    put_cause(&page, job);
    put_correction(&page, job);
    put_checks(&page, job);
    put_throws(&page, job);
    put_rounds(&page, job);
    put_proving(&page, job);
    put_cautions(&page, job);
    put_not_done(&page, job);
    put_corrections(&page, job);
    put_tools(&page, job);
    put_next(&page, job);
    page_blank(&page);
    page_put(&page, 0, 0, "Verify every value here against the service manual.");
    return !page.text.cut;
}
