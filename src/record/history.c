/* What the jobs say together: see history.h. One statement each, over columns and indexes. */
#include "record/history.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/utf8.h"
#include "record/journal_inside.h"

/* ---- words into filters -------------------------------------------------------------------- */

static int digits(const char *at, int n)
{
    int value = 0;
    for (int i = 0; i < n; i++) {
        if (at[i] < '0' || at[i] > '9')
            return -1;
        value = value * 10 + (at[i] - '0');
    }
    return value;
}

static int days_in(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && leap);
}

bool history_date(const char *word, int64_t *ms, struct fault *fault)
{
    bool shaped = strlen(word) == 10 && word[4] == '-' && word[7] == '-';
    int year = shaped ? digits(word, 4) : -1;
    int month = shaped ? digits(word + 5, 2) : -1;
    int day = shaped ? digits(word + 8, 2) : -1;
    if (year < 1970 || month < 1 || month > 12 || day < 1 || day > days_in(year, month))
        return fault_set(fault, FAULT_USAGE, "'%.40s' is no date: write it as 2026-11-25.", word);
    int64_t since_1970 = day - 1;
    for (int y = 1970; y < year; y++)
        since_1970 += days_in(y, 2) + 337;
    for (int m = 1; m < month; m++)
        since_1970 += days_in(year, m);
    *ms = since_1970 * 86400000;
    return true;
}

static int cause_of(const char *id)
{
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        if (strcmp(reason_cause_id((enum reason_cause)c), id) == 0)
            return c;
    return -1;
}

bool history_is_cause(const char *word, struct fault *fault)
{
    char list[384];
    struct text text = text_into(list, sizeof list);
    if (cause_of(word) >= 0)
        return true;
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        text_addf(&text, "%s%s", c == 0 ? "" : ", ", reason_cause_id((enum reason_cause)c));
    return fault_set(fault, FAULT_USAGE, "'%.40s' is no cause: there are %s.", word, list);
}

static bool is_printable(const char *given)
{
    size_t length = strlen(given);
    uint32_t point;
    for (size_t i = 0, n; i < length; i += n)
        if ((n = utf8_next(given + i, length - i, &point)) == 0 || utf8_is_control(point))
            return false;
    return true;
}

bool history_bike(const char *given, char bike[JOB_BIKE], struct fault *fault)
{
    struct text text = text_into(bike, JOB_BIKE);
    bool gap = false;
    for (const char *c = given; *c != '\0'; c++) {
        if (*c == ' ' || *c == '\t') {
            gap = text.used > 0;
            continue;
        }
        if (gap)
            text_add_n(&text, " ", 1);
        gap = false;
        char capital = *c >= 'a' && *c <= 'z' ? (char)(*c - 'a' + 'A') : *c;
        text_add_n(&text, &capital, 1);
    }
    if (text.used > 0 && !text.cut && is_printable(bike))
        return true;
    return fault_set(fault, FAULT_USAGE,
                     "that is no name for a bike: give its plate or frame number, at most %d "
                     "letters and figures.",
                     (int)JOB_BIKE - 1);
}

/* ---- lists --------------------------------------------------------------------------------- */

/* Numbered parameters: bind_filter fills those that are there. */
static void add_conditions(struct text *sql, const struct history_filter *filter)
{
    text_add(sql, " WHERE 1");
    if (filter->has_since)
        text_add(sql, " AND opened_ms >= ?1");
    if (filter->has_until)
        text_add(sql, " AND opened_ms < ?2");
    if (filter->text != NULL)
        text_add(sql, " AND instr(upper(bike || char(10) || profile || char(10) || work_order),"
                      " upper(?3)) > 0");
    if (filter->cause != NULL)
        text_add(sql, " AND cause = ?4");
    if (filter->open)
        text_add(sql, " AND closed_ms = 0");
    if (filter->closed)
        text_add(sql, " AND closed_ms <> 0");
}

/* A parameter that is not in the statement is refused by SQLite, and that is no fault. */
static void bind_filter(sqlite3_stmt *statement, const struct history_filter *filter)
{
    sqlite3_bind_int64(statement, 1, filter->since_ms);
    sqlite3_bind_int64(statement, 2, filter->until_ms);
    if (filter->text != NULL)
        journal_bind_text(statement, 3, filter->text);
    if (filter->cause != NULL)
        journal_bind_text(statement, 4, filter->cause);
}

static bool list(struct journal *journal, sqlite3_stmt *rows,
                 bool (*each)(void *context, const struct journal_job *job), void *context,
                 struct fault *fault)
{
    int step = SQLITE_ROW;
    while ((step = sqlite3_step(rows)) == SQLITE_ROW) {
        struct journal_job job;
        journal_take_job(rows, &job);
        if (!each(context, &job))
            break;
    }
    bool ok = step == SQLITE_ROW || step == SQLITE_DONE || journal_sql_fault(journal, fault);
    sqlite3_finalize(rows);
    return ok;
}

bool history_jobs(struct journal *journal, const struct history_filter *filter,
                  bool (*each)(void *context, const struct journal_job *job), void *context,
                  struct fault *fault)
{
    char sql[768];
    struct text text = text_into(sql, sizeof sql);
    text_add(&text, "SELECT " JOURNAL_JOB_COLUMNS " FROM jobs");
    add_conditions(&text, filter);
    text_add(&text, " ORDER BY number");
    sqlite3_stmt *rows = journal_prepare(journal, sql, fault);
    if (rows == NULL)
        return false;
    bind_filter(rows, filter);
    return list(journal, rows, each, context, fault);
}

bool history_of_bike(struct journal *journal, const char *bike,
                     bool (*each)(void *context, const struct journal_job *job), void *context,
                     struct fault *fault)
{
    sqlite3_stmt *rows = journal_prepare(journal,
                                         "SELECT " JOURNAL_JOB_COLUMNS
                                         " FROM jobs WHERE bike = ?1 ORDER BY opened_ms, number",
                                         fault);
    if (rows == NULL)
        return false;
    journal_bind_text(rows, 1, bike);
    return list(journal, rows, each, context, fault);
}

/* ---- figures ------------------------------------------------------------------------------- */

/* With z the normal quantile: centre (p + z^2/2n) / (1 + z^2/n), half width
 * z sqrt(p (1 - p)/n + z^2/4n^2) / (1 + z^2/n). */
struct history_rate history_wilson(int64_t hits, int64_t all)
{
    static const double z = 1.959963984540054; /* the normal quantile of 0.975 */
    struct history_rate rate = {.hits = hits, .all = all, .low = 0, .high = 1};
    if (all <= 0)
        return rate;
    double n = (double)all;
    double p = (double)hits / n;
    double scale = 1 + z * z / n;
    double centre = (p + z * z / (2 * n)) / scale;
    double half = z * sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / scale;
    rate.rate = p;
    rate.low = hits <= 0 ? 0 : fmax(0, centre - half);
    rate.high = hits >= all ? 1 : fmin(1, centre + half);
    return rate;
}

void history_quartiles(const int64_t sorted[], size_t n, double quartile[3])
{
    for (int q = 1; q <= 3; q++) {
        quartile[q - 1] = 0;
        if (n == 0)
            continue;
        double at = (double)(n - 1) * q / 4;
        size_t below = (size_t)at;
        size_t above = below + 1 < n ? below + 1 : below;
        quartile[q - 1] = (double)sorted[below] +
                          (at - (double)below) * ((double)sorted[above] - (double)sorted[below]);
    }
}

/* ---- the shop ------------------------------------------------------------------------------ */

struct tally {
    struct history_shop *shop;
    int64_t closed, fixed, named, cause[REASON_CAUSE_COUNT];
    int64_t told, stayed; /* closed on a named bike with its days over; fixed and not back */
    int64_t unsure, rejected;
    int64_t *active_ms;
    size_t n, room;
};

enum shop_column { CAUSE, ENDING, CLOSED, ACTIVE, HEARD, UNSURE, REJECTED, HAS_BIKE, CAME_BACK };

static bool keep_time(struct tally *tally, int64_t ms)
{
    if (tally->n == tally->room) {
        size_t room = tally->room == 0 ? 1024 : 2 * tally->room;
        if (room > SIZE_MAX / sizeof *tally->active_ms)
            return false;
        int64_t *more = realloc(tally->active_ms, room * sizeof *more);
        if (more == NULL)
            return false;
        tally->active_ms = more;
        tally->room = room;
    }
    tally->active_ms[tally->n++] = ms;
    return true;
}

static void tally_first_time(struct tally *tally, sqlite3_stmt *row, bool fixed, int64_t newest_ms)
{
    if (sqlite3_column_int(row, HAS_BIKE) == 0) {
        tally->shop->without_bike++;
    } else if (journal_column_ms(row, CLOSED) > newest_ms) {
        tally->shop->too_recent++;
    } else {
        tally->told++;
        tally->stayed += fixed && sqlite3_column_int(row, CAME_BACK) == 0;
    }
}

static bool tally_row(struct tally *tally, sqlite3_stmt *row, int64_t newest_ms)
{
    const char *ending = (const char *)sqlite3_column_text(row, ENDING);
    const char *cause = (const char *)sqlite3_column_text(row, CAUSE);
    bool fixed = ending != NULL && strcmp(ending, "fixed") == 0;
    tally->shop->jobs++;
    tally->shop->heard += journal_column_count(row, HEARD);
    tally->unsure += journal_column_count(row, UNSURE);
    tally->rejected += journal_column_count(row, REJECTED);
    if (journal_column_ms(row, CLOSED) == 0) {
        tally->shop->open++;
        return true;
    }
    tally->closed++;
    tally->fixed += fixed;
    if (fixed) {
        int which = cause == NULL ? -1 : cause_of(cause);
        if (which >= 0)
            tally->cause[which]++;
        tally->named += which >= 0;
        tally->shop->unnamed += which < 0;
    }
    tally_first_time(tally, row, fixed, newest_ms);
    return keep_time(tally, journal_column_ms(row, ACTIVE));
}

static int by_size(const void *a, const void *b)
{
    const int64_t *x = a;
    const int64_t *y = b;
    return (*x > *y) - (*x < *y);
}

static void sum_up(struct tally *tally)
{
    struct history_shop *shop = tally->shop;
    shop->fixed = history_wilson(tally->fixed, tally->closed);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        shop->cause[c] = history_wilson(tally->cause[c], tally->named);
    shop->first_time = history_wilson(tally->stayed, tally->told);
    shop->unsure = history_wilson(tally->unsure, shop->heard);
    shop->rejected = history_wilson(tally->rejected, shop->heard);
    if (tally->n > 0)
        qsort(tally->active_ms, tally->n, sizeof *tally->active_ms, by_size);
    history_quartiles(tally->active_ms, tally->n, shop->active_ms);
}

bool history_shop(struct journal *journal, const struct history_filter *filter, int comeback_days,
                  int64_t now_ms, struct history_shop *shop, struct fault *fault)
{
    char sql[1024];
    struct text text = text_into(sql, sizeof sql);
    text_add(&text, "SELECT cause, ending, closed_ms, active_ms, heard, unsure, rejected,"
                    " bike <> '', bike <> '' AND EXISTS (SELECT 1 FROM jobs AS later"
                    " WHERE later.bike = jobs.bike AND later.opened_ms > jobs.closed_ms"
                    " AND later.opened_ms <= jobs.closed_ms + ?5 AND later.twin_of = '')"
                    " FROM jobs");
    add_conditions(&text, filter);
    text_add(&text, " AND twin_of = ''");
    sqlite3_stmt *rows = journal_prepare(journal, sql, fault);
    if (rows == NULL)
        return false;
    int64_t window_ms = (int64_t)comeback_days * 86400000;
    bind_filter(rows, filter);
    sqlite3_bind_int64(rows, 5, window_ms);
    *shop = (struct history_shop){.comeback_days = comeback_days};
    struct tally tally = {.shop = shop};
    bool fits = true;
    int step = SQLITE_ROW;
    while (fits && (step = sqlite3_step(rows)) == SQLITE_ROW)
        fits = tally_row(&tally, rows, now_ms - window_ms);
    bool ok = !fits || step == SQLITE_DONE || journal_sql_fault(journal, fault);
    sqlite3_finalize(rows);
    sum_up(&tally);
    free(tally.active_ms);
    return ok && (fits ||
                  fault_set(fault, FAULT_FAILED, "out of memory: close something and try again."));
}
