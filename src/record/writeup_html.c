/* The write-up as one page of HTML that needs nothing else: see writeup.h. It is well-formed XML as
 * well, so that any strict reader can check it. */
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "job/question.h"
#include "record/figure.h"
#include "record/markup.h"
#include "record/picture.h"
#include "record/transcript.h"
#include "record/writeup.h"
#include "record/writeup_style.h"
#include "record/writeup_words.h"

/* ---- parts ---------------------------------------------------------------------------------- */

static void begin_section(struct text *html, const char *heading)
{
    text_addf(html, "<section>\n<h2>%s</h2>\n", heading);
}

static void end_section(struct text *html)
{
    text_add(html, "</section>\n");
}

static void paragraph(struct text *html, const char *words)
{
    text_add(html, "<p>");
    markup_add(html, words);
    text_add(html, "</p>\n");
}

static void item(struct text *html, const char *words)
{
    text_add(html, "<li>");
    markup_add(html, words);
    text_add(html, "</li>\n");
}

static void cell(struct text *html, const char *class, const char *words)
{
    text_addf(html, "<td%s%s%s>", class[0] == '\0' ? "" : " class=\"", class,
              class[0] == '\0' ? "" : "\"");
    markup_add(html, words);
    text_add(html, "</td>");
}

static void row_head(struct text *html, const char *words)
{
    text_addf(html, "<tr><th scope=\"row\">%s</th>", words);
}

/* Two columns, where there is room for them. */
static void begin_pair(struct text *html)
{
    text_add(html, "<div class=\"pair\">\n<div>\n");
}
/* A table and its picture: below one another on a screen, where both want its width. */
static void begin_stack(struct text *html)
{
    text_add(html, "<div class=\"pair stack\">\n<div>\n");
}
static void next_of_pair(struct text *html)
{
    text_add(html, "</div>\n<div>\n");
}
static void end_pair(struct text *html)
{
    text_add(html, "</div>\n</div>\n");
}

/* The time of the day alone, of what was on the day the job was opened. */
static const char *clock_of(const struct job *job, int64_t at_ms, char out[40])
{
    char day[40];
    char at[40];
    words_time(job->opened_ms, day);
    words_time(at_ms, at);
    bool same = strlen(day) == 23 && strlen(at) == 23 && memcmp(day, at, 10) == 0;
    text_copy(out, 40, at + (same ? 11 : 0));
    char *zone = strstr(out, " UTC");
    if (zone != NULL)
        *zone = '\0';
    return out;
}

/* ---- head ----------------------------------------------------------------------------------- */

static void pair(struct text *html, const char *term, const char *words)
{
    text_addf(html, "<dt>%s</dt><dd>", term);
    markup_add(html, words);
    text_add(html, "</dd>\n");
}

static void put_bike(struct text *html, const struct job *job)
{
    if (!job->has_profile) {
        pair(html, "Bike", "no profile was chosen");
        return;
    }
    text_add(html, "<dt>Bike</dt><dd>");
    markup_addf(html, "%s (profile %s)", job->profile.title, job->profile.name);
    text_add(html, "</dd>\n");
    pair(html, "Numbers", job->profile.source);
}

static void put_closed(struct text *html, const struct job *job)
{
    char at[40];
    uint64_t minutes = words_minutes(job);
    text_add(html, "<dt>Closed</dt><dd>");
    markup_addf(html, "%s, %" PRIu64 " minute%s later", words_time(job->closed_ms, at), minutes,
                minutes == 1 ? "" : "s");
    text_add(html, "</dd>\n");
}

static void put_head(struct text *html, const struct job *job, int64_t number)
{
    char words[96];
    struct text result = text_into(words, sizeof words);
    words_result(job, &result);
    text_addf(html, "<header>\n<h1>midthrow write-up, job %" PRId64 " <strong>", number);
    markup_add(html, words);
    text_add(html, "</strong></h1>\n<dl>\n");
    pair(html, "Work order", job->order[0] == '\0' ? "not given" : job->order);
    if (job->bike[0] != '\0')
        pair(html, "Plate", job->bike);
    char odometer[32];
    struct text text = text_into(odometer, sizeof odometer);
    if (job->odometer >= 0)
        text_addf(&text, "%" PRId64, job->odometer);
    else
        text_add(&text, "not given");
    pair(html, "Odometer", odometer);
    put_bike(html, job);
    char at[40];
    pair(html, "Opened", words_time(job->opened_ms, at));
    if (job->closed_ms != 0)
        put_closed(html, job);
    text_add(html, "</dl>\n</header>\n");
}

/* ---- concern, cause, correction, checks ----------------------------------------------------- */

static void put_concern(struct text *html, const struct job *job)
{
    size_t answered = 0;
    begin_section(html, "Concern");
    text_add(html, "<ul class=\"list\">\n");
    for (size_t i = 0; i < WORDS_INTAKE; i++) {
        int value = job->reason.seen[words_intake[i].evidence];
        if (value < 0)
            continue;
        item(html, reason_observation_words(words_intake[i].evidence, value));
        answered++;
    }
    if (answered == 0)
        item(html, "No question about the concern was answered.");
    text_add(html, "</ul>\n");
    end_section(html);
}

static void put_ranked(struct text *html, const struct job *job, const struct reason_rank *rank,
                       const char *name)
{
    char reasons[512];
    char probability[24];
    struct text text = text_into(reasons, sizeof reasons);
    words_reasons(job, rank, &text);
    markup_addf(html, "%s %s%s.", name, words_percent(rank->probability, probability), reasons);
}

static void put_likeliest(struct text *html, const struct job *job, const struct reason_rank *rank)
{
    paragraph(html, "Not confirmed. Likeliest on what was seen (judgement, not measurement):");
    text_add(html, "<ol>\n");
    for (size_t i = 0; i < WORDS_NAMED; i++) {
        text_add(html, "<li>");
        put_ranked(html, job, &rank[i], reason_cause_name(rank[i].cause));
        text_add(html, "</li>\n");
    }
    text_add(html, "</ol>\n");
}

static void put_cause(struct text *html, const struct job *job)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    const struct reason_rank *confirmed = words_rank_of(rank, job->cause);
    begin_section(html, "Cause");
    if (confirmed != NULL) {
        text_add(html, "<p><strong>Confirmed: ");
        markup_add(html, reason_cause_name(confirmed->cause));
        text_add(html, ".</strong></p>\n<p>");
        put_ranked(html, job, confirmed, "What was seen gives it");
        text_add(html, "</p>\n");
    } else if (words_anything_seen(job)) {
        put_likeliest(html, job, rank);
    } else {
        paragraph(html, "Not known: nothing was answered or checked.");
    }
    end_section(html);
}

static void put_correction(struct text *html, const struct job *job)
{
    char line[256];
    struct text turns = text_into(line, sizeof line);
    const char *why = words_stop(job);
    begin_section(html, "Correction");
    text_add(html, "<ul>\n");
    for (size_t i = 0; i < job->checks; i++)
        if (job->check[i].put_right) {
            text_add(html, "<li>");
            markup_addf(html, "%s: set to the manual.", job->check[i].what);
            text_add(html, "</li>\n");
        }
    item(html, words_centring(job));
    if (why != NULL) {
        text_add(html, "<li>");
        markup_addf(html, "Why it was stopped: %s.", why);
        text_add(html, "</li>\n");
    }
    words_turns(job, &turns);
    if (turns.used > 0)
        item(html, line);
    text_add(html, "</ul>\n");
    end_section(html);
}

static void put_checks(struct text *html, const struct job *job)
{
    begin_section(html, "Checks");
    if (job->checks == 0 && job->hook < 0) {
        paragraph(html, "None was made.");
        end_section(html);
        return;
    }
    text_add(html, "<ul>\n");
    for (size_t i = 0; i < job->checks; i++) {
        char line[512];
        struct text text = text_into(line, sizeof line);
        words_check(&job->check[i], &text);
        text_add(&text, ".");
        item(html, line);
    }
    if (job->hook >= 0) {
        text_add(html, "<li>");
        markup_addf(html, "hook, pin and arm, by eye: %s.",
                    reason_observation_words(REASON_HOOK_LOOK, job->hook));
        text_add(html, "</li>\n");
    }
    text_add(html, "</ul>\n");
    end_section(html);
}

/* ---- throws --------------------------------------------------------------------------------- */

static void put_readings(struct text *html, const struct job_readings *readings)
{
    text_add(html, "<td class=\"many\">");
    if (readings->n == 0)
        text_add(html, "not read");
    for (size_t i = 0; i < readings->n && i < MEASURE_READINGS_MAX; i++) {
        char exact[64];
        measure_length_print(readings->value[i], exact, sizeof exact);
        markup_addf(html, "%s%s", i == 0 ? "" : ", ", exact);
    }
    text_add(html, "</td>");
}

static void put_mean(struct text *html, const struct measure_estimate *estimate)
{
    bool known = isfinite(estimate->U_mm); /* one reading says nothing of its scatter */
    text_add(html, "<td>");
    markup_addf(html, "%.2f", estimate->mean_mm);
    if (known)
        markup_addf(html, " \u00b1 %.2f", estimate->U_mm);
    text_add(html, " mm<br/>");
    markup_addf(html, "%.4f", estimate->mean_mm / 25.4);
    if (known)
        markup_addf(html, " \u00b1 %.4f", estimate->U_mm / 25.4);
    text_add(html, known ? " in</td>" : " in<br/>uncertainty not known</td>");
}

/* The rows of the table of throws, for one measurement or two: a function a row. */
static void row_times(struct text *html, const struct job *job, const struct job_round *round)
{
    char at[40];
    cell(html, "", round->balanced ? clock_of(job, round->at_ms, at) : "not finished");
}
static void row_forward(struct text *html, const struct job *job, const struct job_round *round)
{
    (void)job;
    put_readings(html, &round->forward);
}
static void row_back(struct text *html, const struct job *job, const struct job_round *round)
{
    (void)job;
    put_readings(html, &round->back);
}
static void row_forward_mean(struct text *html, const struct job *job,
                             const struct job_round *round)
{
    (void)job;
    put_mean(html, &round->balance.forward);
}
static void row_back_mean(struct text *html, const struct job *job, const struct job_round *round)
{
    (void)job;
    put_mean(html, &round->balance.back);
}
static void row_split(struct text *html, const struct job *job, const struct job_round *round)
{
    (void)job;
    text_addf(html, "<td>%.1f %% forward, %.1f %% back</td>", round->balance.forward_percent,
              round->balance.back_percent);
}
static void row_offset(struct text *html, const struct job *job, const struct job_round *round)
{
    (void)job;
    double offset = words_shown(round->balance.offset_mm);
    text_addf(html, "<td>%.2f mm (%.4f in)<br/>%s</td>", fabs(offset), fabs(offset) / 25.4,
              words_side(offset));
}
static void row_verdict(struct text *html, const struct job *job, const struct job_round *round)
{
    (void)job;
    char probability[24];
    text_addf(html, "<td>%s<br/>", measure_verdict_name(round->balance.verdict));
    markup_addf(html, "probability of even %s",
                words_percent(round->balance.probability_even, probability));
    text_add(html, "</td>");
}

static const struct throw_row {
    const char *head;
    bool needs_balance;
    void (*put)(struct text *html, const struct job *job, const struct job_round *round);
} throw_rows[] = {
    {"At", false, row_times},
    {"Forward, read", false, row_forward},
    {"Back, read", false, row_back},
    {"Forward, mean", true, row_forward_mean},
    {"Back, mean", true, row_back_mean},
    {"Split", true, row_split},
    {"Offset", true, row_offset},
    {"Verdict", true, row_verdict},
};

static void put_throw_table(struct text *html, const struct job *job, int last)
{
    text_add(html, "<table class=\"throws\">\n<thead><tr><th></th><th scope=\"col\">As found</th>");
    if (last > 0)
        text_add(html, "<th scope=\"col\">Last measured</th>");
    text_add(html, "</tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < sizeof throw_rows / sizeof throw_rows[0]; i++) {
        row_head(html, throw_rows[i].head);
        for (int j = 0; j <= last; j += last > 0 ? last : 1) {
            const struct job_round *round = &job->round[j];
            if (throw_rows[i].needs_balance && !round->balanced)
                cell(html, "", "-");
            else
                throw_rows[i].put(html, job, round);
        }
        text_add(html, "</tr>\n");
    }
    text_add(html, "</tbody>\n</table>\n");
}

static void put_throws_picture(struct text *html, const struct job *job)
{
    struct picture_throws throws;
    if (!picture_throws_of(job, &throws))
        return;
    text_add(html, "<figure>\n");
    picture_throws_draw(&throws, html);
    text_add(html, "</figure>\n");
}

static void put_throws(struct text *html, const struct job *job)
{
    int last = words_last_balanced(job);
    char tolerance[FIGURE_LENGTH];
    begin_section(html, "Throws, before and after");
    if (job->rounds <= 0) {
        paragraph(html, "Not measured.");
        end_section(html);
        return;
    }
    begin_stack(html);
    put_throw_table(html, job, last > 0 ? last : 0);
    next_of_pair(html);
    put_throws_picture(html, job);
    end_pair(html);
    text_add(html, "<p class=\"soft\">");
    if (job->numbers.tolerance.known)
        markup_addf(html, "Tolerance of the difference: %s. ",
                    figure_length(job->numbers.tolerance.value, tolerance));
    markup_add(html, "\u00b1 is the expanded uncertainty at 95 % (JCGM 100); the verdict is a "
                     "probability of conformity (JCGM 106).");
    text_add(html, "</p>\n");
    end_section(html);
}

/* ---- rounds --------------------------------------------------------------------------------- */

static void put_round(struct text *html, const struct job_round *round, int index)
{
    char words[32];
    char even[16];
    const struct measure_balance *balance = &round->balance;
    text_addf(html, "<tr><td class=\"n\">%d</td>", index);
    if (round->balanced)
        text_addf(html,
                  "<td class=\"n\">%.2f</td><td class=\"n\">%.2f</td><td class=\"n\">%+.2f</td>",
                  balance->forward.mean_mm, balance->back.mean_mm, words_shown(balance->offset_mm));
    else
        text_add(html, "<td class=\"n\">-</td><td class=\"n\">-</td><td class=\"n\">-</td>");
    cell(html, "n", round->balanced ? words_share(balance->probability_even, even) : "-");
    cell(html, "", words_advised(round, words));
    cell(html, "", words_turned(round, words));
    text_add(html, "</tr>\n");
}

static void put_rounds_table(struct text *html, const struct job *job)
{
    text_add(html,
             "<table class=\"figures\">\n<thead><tr><th scope=\"col\" class=\"n\">round</th>"
             "<th scope=\"col\" class=\"n\">forward mm</th><th scope=\"col\" class=\"n\">back mm"
             "</th><th scope=\"col\" class=\"n\">offset mm</th><th scope=\"col\" class=\"n\">even %"
             "</th><th scope=\"col\">advised</th><th scope=\"col\">turned then</th></tr></thead>\n"
             "<tbody>\n");
    for (int i = 0; i < job->rounds; i++)
        put_round(html, &job->round[i], i);
    text_add(html,
             "</tbody>\n</table>\n<p class=\"soft\">Parts of a turn; cw is clockwise, as seen "
             "facing the stem.</p>\n");
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].sum_suspect)
            text_addf(html,
                      "<p>Round %d: forward and back together changed by more than their "
                      "uncertainty; a reading or a part is suspect.</p>\n",
                      i);
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].scatter_suspect)
            text_addf(html,
                      "<p>Round %d: the readings of one throw scatter more than a hand does; hook "
                      "or pin is suspect.</p>\n",
                      i);
}

static void put_rounds(struct text *html, const struct job *job)
{
    struct picture_rounds rounds;
    if (words_turned_rounds(job) == 0)
        return;
    begin_section(html, "Adjusting rounds");
    begin_stack(html);
    put_rounds_table(html, job);
    next_of_pair(html);
    if (picture_rounds_of(job, &rounds)) {
        text_add(html, "<figure>\n");
        picture_rounds_draw(&rounds, html);
        text_add(html, "</figure>\n");
    }
    end_pair(html);
    end_section(html);
}

static void put_causes_picture(struct text *html, const struct job *job)
{
    struct picture_causes causes;
    picture_causes_of(job, &causes);
    begin_section(html, "Causes, before and after the evidence");
    text_add(html, "<figure>\n");
    picture_causes_draw(&causes, html);
    text_add(html, "</figure>\n");
    end_section(html);
}

/* ---- proving, cautions, the rest ------------------------------------------------------------ */

static void put_proving(struct text *html, const struct job *job)
{
    begin_section(html, "Proving");
    if (words_proofs_with(job, 0) + words_proofs_with(job, 1) == 0) {
        paragraph(html, "Nothing was proved.");
        end_section(html);
        return;
    }
    text_add(html, "<table>\n<tbody>\n");
    for (size_t i = 0; i < job->proofs; i++) {
        const struct job_proof *proof = &job->proof[i];
        char at[40];
        if (proof->result < 0)
            continue;
        text_add(html, "<tr>");
        cell(html, "", proof->what);
        text_add(html, proof->result ? "<td>passed</td>" : "<td><strong>FAILED</strong></td>");
        cell(html, "n", clock_of(job, proof->at_ms, at));
        text_add(html, "</tr>\n");
    }
    text_add(html, "</tbody>\n</table>\n");
    end_section(html);
}

static void put_caution(struct text *html, const struct job *job, const struct job_caution *caution,
                        const struct job_caution *before)
{
    char line[256];
    char at[40];
    struct text text = text_into(line, sizeof line);
    words_caution(caution, &text);
    text_add(html, before == NULL ? "" : "; ");
    if (before == NULL || before->source != caution->source)
        text_addf(html, "<i>%s</i> ", job_source_name(caution->source));
    markup_add(html, line);
    text_add(html, " <span class=\"soft\">");
    markup_add(html, clock_of(job, caution->at_ms, at));
    text_add(html, "</span>");
}

/* The cautions of one place in one row; returns the first that is not of them. */
static size_t put_caution_row(struct text *html, const struct job *job, size_t from)
{
    char place[64];
    char other[64];
    struct text where = text_into(place, sizeof place);
    words_caution_place(&job->caution[from], &where);
    text_add(html, "<tr><th scope=\"row\">");
    markup_add(html, place[0] == '\0' ? "-" : place);
    text_add(html, "</th><td>");
    size_t i = from;
    for (; i < job->cautions; i++) {
        where = text_into(other, sizeof other);
        words_caution_place(&job->caution[i], &where);
        if (strcmp(place, other) != 0)
            break;
        put_caution(html, job, &job->caution[i], i == from ? NULL : &job->caution[i - 1]);
    }
    text_add(html, "</td></tr>\n");
    return i;
}

static void put_cautions(struct text *html, const struct job *job)
{
    begin_section(html, "Cautions confirmed: by ear, typed words or pad, and when (UTC)");
    if (job->cautions == 0)
        paragraph(html, "None.");
    else
        text_add(html, "<table class=\"cautions\">\n<tbody>\n");
    for (size_t i = 0; i < job->cautions;)
        i = put_caution_row(html, job, i);
    if (job->cautions > 0)
        text_add(html, "</tbody>\n</table>\n");
    end_section(html);
}

static void put_left_out(struct text *html, const char *lead, const char *list)
{
    if (list[0] == '\0')
        return;
    text_add(html, "<li>");
    markup_addf(html, "%s: %s.", lead, list);
    text_add(html, "</li>\n");
}

static void put_not_done(struct text *html, const struct job *job)
{
    struct words_not_done left;
    words_not_done(job, &left);
    begin_section(html, "Not done");
    text_add(html, "<ul>\n");
    put_left_out(html, "not answered or not known", left.intake);
    put_left_out(html, "not checked", left.checks);
    put_left_out(html, "not proved", left.proofs);
    if (left.unmeasured)
        item(html, "the throws were NOT measured again after the stem was last turned.");
    if (words_nothing_left_out(&left))
        item(html, "Nothing was left out.");
    text_add(html, "</ul>\n");
    end_section(html);
}

static void put_corrections(struct text *html, const struct job *job)
{
    begin_section(html, "Heard and corrected");
    text_addf(html, "<p>%u answers taken, %u asked again, %u not understood.</p>\n", job->heard,
              job->asked_again, job->rejected);
    if (job->corrections > 0)
        text_add(html, "<ul class=\"list\">\n");
    for (size_t i = 0; i < job->corrections; i++) {
        char line[256];
        char at[40];
        struct text text = text_into(line, sizeof line);
        words_correction(&job->correction[i], &text);
        text_add(html, "<li>");
        markup_add(html, line);
        text_add(html, " <span class=\"soft\">");
        markup_add(html, clock_of(job, job->correction[i].at_ms, at));
        text_add(html, "</span></li>\n");
    }
    text_add(html, job->corrections > 0 ? "</ul>\n" : "");
    end_section(html);
}

static void put_tools(struct text *html, const struct job *job)
{
    char tool[WORDS_TOOLS][WORDS_TOOL];
    size_t n = words_tools(job, tool);
    begin_section(html, "Tools");
    text_add(html, "<ul>\n");
    for (size_t i = 0; i < n; i++)
        item(html, tool[i]);
    if (n == 0)
        item(html, "Nothing that was done needed one.");
    text_add(html, "</ul>\n");
    end_section(html);
}

static void put_next(struct text *html, const struct job *job)
{
    struct words_next next[WORDS_NAMED];
    if (job->ending == JOB_FIXED)
        return;
    size_t n = words_next(job, next);
    begin_section(html, "Next checks");
    text_add(html, n > 0 ? "<ol>\n" : "");
    for (size_t i = 0; i < n; i++) {
        char probability[24];
        text_add(html, "<li>");
        markup_addf(html, "%s, about %.0f minutes: for %s, %s.", reason_check_name(next[i].check),
                    reason_check_minutes(next[i].check), reason_cause_name(next[i].cause),
                    words_percent(next[i].probability, probability));
        text_add(html, "</li>\n");
    }
    text_add(html, n > 0 ? "</ol>\n" : "");
    paragraph(html, n == 0 ? "No check of midthrow's is left: go back to the service manual's "
                             "diagnosis."
                           : "Do each as the service manual says.");
    end_section(html);
}

/* ---- the page ------------------------------------------------------------------------------- */

/* The policy forbids the page itself to run or to fetch anything (W3C, Content Security Policy 3).
 */
static void put_top(struct text *html, int64_t number)
{
    text_addf(html,
              "<!DOCTYPE html>\n<html lang=\"en\" xmlns=\"http://www.w3.org/1999/xhtml\">\n<head>\n"
              "<meta charset=\"utf-8\"/>\n"
              "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
              "style-src 'unsafe-inline'\"/>\n"
              "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
              "<title>midthrow write-up, job %" PRId64 "</title>\n<style>\n",
              number);
    text_add(html, writeup_style);
    text_add(html, "</style>\n</head>\n<body>\n");
}

static void put_findings(struct text *html, const struct job *job)
{
    begin_pair(html);
    put_concern(html, job);
    put_cause(html, job);
    put_correction(html, job);
    next_of_pair(html);
    put_causes_picture(html, job);
    put_checks(html, job);
    end_pair(html);
}

static void put_account(struct text *html, const struct job *job)
{
    begin_pair(html);
    put_proving(html, job);
    put_not_done(html, job);
    next_of_pair(html);
    put_tools(html, job);
    put_next(html, job);
    end_pair(html);
    put_corrections(html, job);
}

bool writeup_html(const struct job *job, int64_t number, char *out, size_t size)
{
    struct text html = text_into(out, size);
    put_top(&html, number);
    put_head(&html, job, number);
    put_findings(&html, job);
    put_throws(&html, job);
    put_rounds(&html, job);
    put_account(&html, job);
    put_cautions(&html, job);
    text_add(&html, "<footer>Verify every value here against the service manual.</footer>\n"
                    "</body>\n</html>\n");
    return !html.cut;
}
