/* midthrow shop: what the shop's jobs say together. */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>

#include "command/command.h"
#include "command/data.h"
#include "command/past.h"
#include "record/history_plot.h"

static const char USAGE[] =
    "usage: midthrow shop [--since DATE] [--until DATE] [--comeback DAYS] [--json] [--svg FILE]\n"
    "                     [--data DIR]\n"
    "The shop's figures: cures by cause, time per job, first-time fixes, how often the ear asked\n"
    "again. Rates have 95 % intervals (Wilson's score); a bar is '#' up to the rate and '-' on to\n"
    "the upper limit.\n"
    "\n"
    "  --since DATE     jobs opened on that day or later, --until DATE on that day or before\n"
    "                   (2026-11-25, in UTC)\n"
    "  --comeback DAYS  a bike back within so many days was not fixed the first time; 30 if not\n"
    "                   given (judgement, no source)\n"
    "  --json           as a JSON object\n"
    "  --svg FILE       the cures by cause as a picture\n"
    "  --data DIR       where the jobs are kept\n";

enum { COMEBACK_DAYS = 30 };
static const double MS_PER_MINUTE = 60000;

static void print_rate(const char *name, const struct history_rate *rate)
{
    if (rate->all == 0)
        printf("%-22s not known yet\n", name);
    else
        printf("%-22s %5.1f %%  (%.1f to %.1f %%)  %lld of %lld\n", name, 100 * rate->rate,
               100 * rate->low, 100 * rate->high, (long long)rate->hits, (long long)rate->all);
}

static void print_causes(const struct history_shop *shop)
{
    int order[REASON_CAUSE_COUNT];
    int n = history_causes(shop, order);
    double full = 0;
    char bar[HISTORY_BAR + 1];
    puts("\nCures by cause");
    if (n == 0)
        puts("  none yet");
    for (int i = 0; i < n; i++)
        full = shop->cause[order[i]].high > full ? shop->cause[order[i]].high : full;
    for (int i = 0; i < n; i++) {
        const struct history_rate *rate = &shop->cause[order[i]];
        history_bar(rate, full, bar);
        printf("  %-38s [%s] %5.1f %%  (%.1f to %.1f %%)  %lld\n",
               reason_cause_name((enum reason_cause)order[i]), bar, 100 * rate->rate,
               100 * rate->low, 100 * rate->high, (long long)rate->hits);
    }
    if (shop->unnamed > 0)
        printf("  %lld more fixed with no cause confirmed\n", (long long)shop->unnamed);
}

static bool print_text(const struct history_shop *shop, struct fault *fault)
{
    printf("jobs: %lld, of them open: %lld\n", (long long)shop->jobs, (long long)shop->open);
    print_rate("closed as fixed", &shop->fixed);
    print_rate("fixed the first time", &shop->first_time);
    printf("%-22s not back within %d days; on no named bike: %lld, too recent: %lld\n", "",
           shop->comeback_days, (long long)shop->without_bike, (long long)shop->too_recent);
    if (shop->fixed.all > 0)
        printf("%-22s median %.1f min, quartiles %.1f and %.1f min\n", "time per closed job",
               shop->active_ms[1] / MS_PER_MINUTE, shop->active_ms[0] / MS_PER_MINUTE,
               shop->active_ms[2] / MS_PER_MINUTE);
    print_rate("ear: asked if right", &shop->unsure);
    print_rate("ear: not believed", &shop->rejected);
    print_causes(shop);
    return command_printed(fault);
}

static json_t *json_of(const struct history_rate *rate)
{
    if (rate->all == 0)
        return json_pack("{sI sI sn sn sn}", "count", (json_int_t)0, "of", (json_int_t)0, "rate",
                         "low", "high");
    return json_pack("{sI sI sf sf sf}", "count", (json_int_t)rate->hits, "of",
                     (json_int_t)rate->all, "rate", rate->rate, "low", rate->low, "high",
                     rate->high);
}

static json_t *json_of_causes(const struct history_shop *shop)
{
    json_t *causes = json_array();
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        json_t *row = json_of(&shop->cause[c]);
        enum reason_cause cause = (enum reason_cause)c;
        json_object_set_new(row, "cause", json_string(reason_cause_id(cause)));
        json_object_set_new(row, "name", json_string(reason_cause_name(cause)));
        if (json_array_append_new(causes, row) != 0) {
            json_decref(causes);
            return NULL;
        }
    }
    return causes;
}

static json_t *json_of_time(const struct history_shop *shop)
{
    if (shop->fixed.all == 0)
        return json_null();
    return json_pack("{sf sf sf}", "first_quartile", shop->active_ms[0], "median",
                     shop->active_ms[1], "third_quartile", shop->active_ms[2]);
}

static bool print_json(const struct history_shop *shop, struct fault *fault)
{
    return past_print_json(
        json_pack("{sI sI so so si sI sI so so so so sI}", "jobs", (json_int_t)shop->jobs, "open",
                  (json_int_t)shop->open, "fixed", json_of(&shop->fixed), "first_time_fix",
                  json_of(&shop->first_time), "comeback_days", shop->comeback_days, "without_bike",
                  (json_int_t)shop->without_bike, "too_recent", (json_int_t)shop->too_recent,
                  "active_ms", json_of_time(shop), "ear_asked_if_right", json_of(&shop->unsure),
                  "ear_not_believed", json_of(&shop->rejected), "cures", json_of_causes(shop),
                  "fixed_without_cause", (json_int_t)shop->unnamed),
        fault);
}

static bool draw(const char *path, const struct history_shop *shop, struct fault *fault)
{
    struct past_out *out = malloc(sizeof *out);
    bool ok = out != NULL && past_out_open(out, path, fault);
    if (ok) {
        history_shop_svg(shop, out->file);
        ok = past_out_close(out, true, fault);
    }
    free(out);
    return ok;
}

int command_shop(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct past_request request;
    struct journal *journal = NULL;
    if (!past_read(argc, argv, PAST_JSON | PAST_DATES | PAST_SVG | PAST_COMEBACK, 0, &request,
                   &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    if (!past_open(&request, &journal, &fault))
        return command_fail(&fault);
    int days = request.comeback_days > 0 ? request.comeback_days : COMEBACK_DAYS;
    struct history_shop shop = {.comeback_days = days};
    bool ok = (journal == NULL ||
               history_shop(journal, &request.filter, days, past_now_ms(), &shop, &fault)) &&
              (request.svg == NULL || draw(request.svg, &shop, &fault)) &&
              (request.json ? print_json(&shop, &fault) : print_text(&shop, &fault));
    journal_close(journal);
    return ok ? FAULT_NONE : command_fail(&fault);
}
