/* What the jobs say together, against counting them by hand, and the figures against print. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include <time.h>

#include "record/history.h"
#include "record/history_plot.h"
#include "seeded_shop.h"

enum { JOBS = 120, BIKES = 40, DAY_MS = 86400000 };
static const int64_t START_MS = 1600000000000; /* 2020-09-13T12:26:40Z */

static char directory[SCRATCH_PATH];
static struct journal *journal;

/* The same jobs, kept apart from the journal. */
static struct expected {
    int64_t opened_ms, closed_ms, active_ms, heard, unsure, rejected;
    char bike[JOB_BIKE];
    enum job_ending ending;
    int cause;
} expected[JOBS];

static void keep_expected(const struct shop_job *shop, const char *bike, struct expected *out)
{
    *out = (struct expected){.opened_ms = shop->event[0].at_ms,
                             .closed_ms = shop->job.closed_ms,
                             .ending = shop->job.ending,
                             .cause = shop->job.cause};
    strcpy(out->bike, bike);
    for (size_t i = 0; i < shop->events; i++) {
        const struct job_event *event = &shop->event[i];
        if (event->kind != JOB_HEARD || event->source != JOB_BY_EAR)
            continue;
        out->heard++;
        out->unsure += event->verdict == JOB_UNSURE;
        out->rejected += event->verdict == JOB_REJECTED;
    }
    out->active_ms = shop->event[shop->events - 1].at_ms - shop->event[0].at_ms;
}

/* Two jobs a day, on bikes that come again; every fifth has no named bike. */
static int open_shop(void **state)
{
    (void)state;
    struct fault fault = {0};
    struct shop_job *shop = malloc(sizeof *shop);
    uint64_t seed = 20201;
    scratch_make(directory);
    journal = journal_open(directory, &fault);
    assert_non_null(journal);
    for (int i = 0; i < JOBS; i++) {
        char bike[JOB_BIKE] = "";
        int64_t number;
        if (i % 5 != 0)
            snprintf(bike, sizeof bike, "PLATE %zu", seeded_below(&seed, BIKES));
        shop_work(shop, &seed, START_MS + (int64_t)i * (DAY_MS / 2), bike);
        keep_expected(shop, bike, &expected[i]);
        assert_true(journal_new_job(journal, shop->event[0].at_ms, &number, &fault));
        for (size_t e = 0; e < shop->events; e++)
            if (!journal_append(journal, number, &shop->event[e], &fault))
                fail_msg("%s", fault.sentence);
        assert_true(journal_summarise(journal, number, &shop->job, &fault));
    }
    free(shop);
    return 0;
}

static int close_shop(void **state)
{
    (void)state;
    journal_close(journal);
    scratch_remove(directory);
    return 0;
}

/* ---- lists ---------------------------------------------------------------------------------- */

static bool collect(void *context, const struct journal_job *job)
{
    int64_t *numbers = context;
    numbers[++numbers[0]] = job->number;
    return true;
}

static void assert_lists(const struct history_filter *filter,
                         bool (*wanted)(const struct expected *))
{
    int64_t numbers[JOBS + 1] = {0};
    struct fault fault = {0};
    if (!history_jobs(journal, filter, collect, numbers, &fault))
        fail_msg("%s", fault.sentence);
    int64_t n = 0;
    for (int i = 0; i < JOBS; i++)
        if (wanted(&expected[i])) {
            assert_true(n < numbers[0]);
            assert_int_equal(numbers[++n], i + 1);
        }
    assert_int_equal(n, numbers[0]);
    assert_in_range(n, 1, JOBS); /* or nothing was tested */
}

static bool is_any(const struct expected *job)
{
    return job != NULL;
}

static bool is_by_free_play(const struct expected *job)
{
    return job->cause == REASON_FREE_PLAY;
}

static bool is_in_october(const struct expected *job)
{
    return job->opened_ms >= 1601510400000 && job->opened_ms < 1604188800000;
}

static bool is_on_a_seven(const struct expected *job)
{
    return strncmp(job->bike, "PLATE 7", 7) == 0;
}

static void filters_let_through_what_they_say(void **state)
{
    (void)state;
    struct history_filter october = {.has_since = true, .has_until = true};
    assert_true(history_date("2020-10-01", &october.since_ms, NULL));
    assert_true(history_date("2020-11-01", &october.until_ms, NULL));
    assert_lists(&(struct history_filter){.cause = NULL}, is_any);
    assert_lists(&(struct history_filter){.closed = true}, is_any);
    assert_lists(&(struct history_filter){.cause = "free_play"}, is_by_free_play);
    assert_lists(&october, is_in_october);
    assert_lists(&(struct history_filter){.text = "plate 7"}, is_on_a_seven);
    assert_lists(&(struct history_filter){.text = "SIMULATED"}, is_any); /* the profile */
    assert_lists(&(struct history_filter){.text = "4712"}, is_any);      /* the work order */
    int64_t numbers[JOBS + 1] = {0};
    assert_true(
        history_jobs(journal, &(struct history_filter){.open = true}, collect, numbers, NULL));
    assert_true(history_jobs(journal, &(struct history_filter){.text = "' OR 1 --"}, collect,
                             numbers, NULL));
    assert_int_equal(numbers[0], 0);
}

static void a_bikes_jobs_are_all_its_own(void **state)
{
    (void)state;
    for (int b = 0; b < BIKES; b++) {
        char bike[JOB_BIKE];
        int64_t numbers[JOBS + 1] = {0};
        int64_t n = 0;
        snprintf(bike, sizeof bike, "PLATE %d", b);
        assert_true(history_of_bike(journal, bike, collect, numbers, NULL));
        for (int i = 0; i < JOBS; i++)
            if (strcmp(expected[i].bike, bike) == 0)
                assert_int_equal(numbers[++n], i + 1);
        assert_int_equal(n, numbers[0]);
    }
}

/* ---- the shop -------------------------------------------------------------------------------- */

static bool comes_back(int i, int64_t window_ms)
{
    for (int j = 0; j < JOBS; j++)
        if (strcmp(expected[i].bike, expected[j].bike) == 0 &&
            expected[j].opened_ms > expected[i].closed_ms &&
            expected[j].opened_ms <= expected[i].closed_ms + window_ms)
            return true;
    return false;
}

static int by_size(const void *a, const void *b)
{
    return (*(const int64_t *)a > *(const int64_t *)b) -
           (*(const int64_t *)a < *(const int64_t *)b);
}

static void the_shops_figures_are_those_counted_by_hand(void **state)
{
    (void)state;
    const int64_t now_ms = START_MS + (int64_t)JOBS * DAY_MS / 2;
    int64_t fixed = 0, told = 0, stayed = 0, named = 0, nameless = 0, recent = 0;
    int64_t heard = 0, unsure = 0, rejected = 0;
    int64_t cause[REASON_CAUSE_COUNT] = {0}, active_ms[JOBS];
    for (int i = 0; i < JOBS; i++) {
        const struct expected *job = &expected[i];
        bool was_fixed = job->ending == JOB_FIXED;
        fixed += was_fixed;
        if (was_fixed && job->cause >= 0) {
            cause[job->cause]++;
            named++;
        }
        if (job->bike[0] == '\0') {
            nameless++;
        } else if (job->closed_ms > now_ms - 30 * (int64_t)DAY_MS) {
            recent++;
        } else {
            told++;
            stayed += was_fixed && !comes_back(i, 30 * (int64_t)DAY_MS);
        }
        heard += job->heard;
        unsure += job->unsure;
        rejected += job->rejected;
        active_ms[i] = job->active_ms;
    }
    struct history_shop shop;
    assert_true(
        history_shop(journal, &(struct history_filter){.open = false}, 30, now_ms, &shop, NULL));
    assert_int_equal(shop.jobs, JOBS);
    assert_int_equal(shop.fixed.hits, fixed);
    assert_int_equal(shop.fixed.all, JOBS);
    assert_int_equal(shop.unnamed, fixed - named);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        assert_int_equal(shop.cause[c].hits, cause[c]);
        assert_int_equal(shop.cause[c].all, named);
    }
    assert_int_equal(shop.first_time.hits, stayed);
    assert_int_equal(shop.first_time.all, told);
    assert_int_equal(shop.without_bike, nameless);
    assert_int_equal(shop.too_recent, recent);
    assert_true(stayed > 0 && stayed < told && recent > 0); /* or nothing was tested */
    assert_int_equal(shop.heard, heard);
    assert_int_equal(shop.unsure.hits, unsure);
    assert_int_equal(shop.rejected.hits, rejected);
    assert_true(unsure > 0 && rejected > 0);
    double quartile[3];
    qsort(active_ms, JOBS, sizeof *active_ms, by_size);
    history_quartiles(active_ms, JOBS, quartile);
    for (int q = 0; q < 3; q++)
        assert_true(shop.active_ms[q] == quartile[q]);
}

/* Time put away, a pause over two hours and a clock set back are not work. */
static void pauses_are_not_work(void **state)
{
    (void)state;
    static const struct {
        enum job_event_kind kind;
        int64_t at_ms;
    } events[] = {
        {JOB_OPENED, 1000},
        {JOB_HEARD, 61000},   /* one minute */
        {JOB_HUNG_UP, 71000}, /* ten seconds */
        {JOB_RESUMED, 5071000},
        {JOB_HEARD, 5081000},                     /* put away; ten seconds */
        {JOB_HEARD, 5080000},                     /* a clock set back */
        {JOB_HEARD, 5085000},                     /* five seconds */
        {JOB_HEARD, 5085000 + 7200001},           /* lunch, and more */
        {JOB_HEARD, 5085000 + 7200001 + 7200000}, /* two hours: an engine cools */
    };
    char own[SCRATCH_PATH];
    int64_t number;
    struct journal_job job;
    scratch_make(own);
    struct journal *small = journal_open(own, NULL);
    assert_true(journal_new_job(small, 900, &number, NULL));
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
        struct job_event event = {.kind = events[i].kind, .at_ms = events[i].at_ms};
        assert_true(journal_append(small, number, &event, NULL));
    }
    assert_true(journal_find(small, number, &job, NULL));
    assert_int_equal(job.active_ms, 60000 + 10000 + 10000 + 5000 + 7200000);
    journal_close(small);
    scratch_remove(own);
}

/* ---- figures --------------------------------------------------------------------------------- */

/* R. G. Newcombe, "Two-sided confidence intervals for the single proportion: comparison of seven
 * methods", Statistics in Medicine 17 (1998), table I, method 3 (score, no continuity correction);
 * from memory. */
static void wilsons_interval_is_as_printed(void **state)
{
    (void)state;
    static const struct {
        int64_t hits, all;
        double low, high;
    } printed[] = {{81, 263, 0.2553, 0.3662},
                   {15, 148, 0.0624, 0.1605},
                   {0, 20, 0.0000, 0.1611},
                   {1, 29, 0.0061, 0.1718}};
    for (size_t i = 0; i < sizeof printed / sizeof printed[0]; i++) {
        struct history_rate rate = history_wilson(printed[i].hits, printed[i].all);
        assert_true(fabs(rate.low - printed[i].low) < 0.00005);
        assert_true(fabs(rate.high - printed[i].high) < 0.00005);
        struct history_rate other =
            history_wilson(printed[i].all - printed[i].hits, printed[i].all);
        assert_true(fabs(1 - other.low - rate.high) < 1e-12); /* the mirror image */
    }
    struct history_rate none = history_wilson(0, 0);
    assert_true(none.low == 0 && none.high == 1);
}

/* Definition 7 by its formula: x[1 + (n - 1) p], so of 1 ... 10 it is 3.25, 5.5 and 7.75. */
static void quartiles_are_those_of_definition_7(void **state)
{
    (void)state;
    static const int64_t ten[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10};
    double quartile[3];
    history_quartiles(ten, 10, quartile);
    assert_true(quartile[0] == 3.25 && quartile[1] == 5.5 && quartile[2] == 7.75);
    history_quartiles(ten, 1, quartile);
    assert_true(quartile[0] == 1 && quartile[2] == 1);
    history_quartiles(NULL, 0, quartile);
    assert_true(quartile[1] == 0);
}

/* Against the C library's own calendar. */
static void dates_are_days_in_utc(void **state)
{
    (void)state;
    static const char *const bad[] = {"",           "2026",       "2026-13-01", "2026-02-29",
                                      "2026-00-10", "1969-12-31", "2026-1-1",   "2026-11-25T10:00",
                                      "20261-1-01", "+026-11-25", "2100-02-29"};
    int64_t ms;
    for (time_t day = 0; day < 60000; day += 13) {
        char word[16];
        time_t at = day * 86400;
        struct tm tm;
        gmtime_r(&at, &tm);
        strftime(word, sizeof word, "%Y-%m-%d", &tm);
        assert_true(history_date(word, &ms, NULL));
        assert_int_equal(ms, (int64_t)at * 1000);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct fault fault = {0};
        assert_false(history_date(bad[i], &ms, &fault));
        assert_int_equal(fault.code, FAULT_USAGE);
    }
}

static void a_plate_is_the_same_however_it_was_typed(void **state)
{
    (void)state;
    char bike[JOB_BIKE];
    assert_true(history_bike("  ab   12\tcd ", bike, NULL));
    assert_string_equal(bike, "AB 12 CD");
    assert_true(history_bike("\xC3\xA9-7", bike, NULL));
    assert_string_equal(bike, "\xC3\xA9-7");
    static const char *const bad[] = {
        "",     "   ",        "a\x1B[2J",
        "\xFF", "a\xC2\x9Bz", "0123456789 0123456789 0123456789 0123456789 01234"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct fault fault = {0};
        assert_false(history_bike(bad[i], bike, &fault));
        assert_int_equal(fault.code, FAULT_USAGE);
    }
}

/* ---- plots ----------------------------------------------------------------------------------- */

static void bars_are_as_long_as_what_they_show(void **state)
{
    (void)state;
    char bar[HISTORY_BAR + 1];
    struct history_rate rate = {.rate = 0.25, .high = 0.5};
    history_bar(&rate, 0.5, bar);
    assert_string_equal(bar, "###############---------------");
    history_bar(&rate, 0, bar);
    assert_string_equal(bar, "                              ");
    char line[HISTORY_BAR + 2];
    struct journal_job job = {.measured = true, .found_mm = 1.5, .left_mm = -1.5};
    history_offset_bar(&job, 1.5, line);
    assert_string_equal(line, "*              |              o");
    job.left_mm = 0;
    history_offset_bar(&job, 3, line);
    assert_string_equal(line, "               *       o       ");
}

static char *drawn(void (*draw)(FILE *out))
{
    static char text[65536];
    FILE *out = fmemopen(text, sizeof text, "w");
    draw(out);
    fclose(out);
    return text;
}

static void draw_shop(FILE *out)
{
    struct history_shop shop = {.jobs = 4};
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        shop.cause[c] = history_wilson(c == REASON_PAWL ? 3 : c == REASON_HOOK ? 1 : 0, 4);
    history_shop_svg(&shop, out);
}

static void draw_bike(FILE *out)
{
    const struct journal_job jobs[] = {
        {.measured = true, .found_mm = 2, .left_mm = 0, .odometer = 100, .opened_ms = START_MS},
        {.odometer = -1},
        {.measured = true, .found_mm = -1, .left_mm = 0, .odometer = -1, .opened_ms = START_MS}};
    history_bike_svg("<A & \"B\">", jobs, 3, out);
}

static void pictures_put_things_where_they_belong(void **state)
{
    (void)state;
    const char *svg = drawn(draw_shop);
    /* 3 of 4: 0.75, interval 0.300642 to 0.954413; the widest bar's upper limit fills 300 units
     * from x = 270: 270 + 300 * 0.75/0.954413 = 505.75, 270 + 300 * 0.300642/0.954413 = 364.50 */
    assert_non_null(strstr(svg, "width=\"235.75\""));
    assert_non_null(strstr(svg, "d=\"M364.50 64.0H570.00"));
    assert_non_null(strstr(svg, "shifter pawl out of centre"));
    assert_null(strstr(svg, "idle too high"));
    svg = drawn(draw_bike);
    /* 2 mm fills 90 units above 160; the second visit that was measured is at 3/4 of 600 */
    assert_non_null(strstr(svg, "cx=\"240.00\" cy=\"70.00\""));
    assert_non_null(strstr(svg, "cx=\"540.00\" cy=\"205.00\""));
    assert_non_null(strstr(svg, "&lt;A &amp; &quot;B&quot;&gt;"));
    assert_non_null(strstr(svg, "2020-09-13"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(filters_let_through_what_they_say),
        cmocka_unit_test(a_bikes_jobs_are_all_its_own),
        cmocka_unit_test(the_shops_figures_are_those_counted_by_hand),
        cmocka_unit_test(pauses_are_not_work),
        cmocka_unit_test(wilsons_interval_is_as_printed),
        cmocka_unit_test(quartiles_are_those_of_definition_7),
        cmocka_unit_test(dates_are_days_in_utc),
        cmocka_unit_test(a_plate_is_the_same_however_it_was_typed),
        cmocka_unit_test(bars_are_as_long_as_what_they_show),
        cmocka_unit_test(pictures_put_things_where_they_belong),
    };
    return cmocka_run_group_tests_name("history", tests, open_shop, close_shop);
}
