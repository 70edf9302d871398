/*
 * A shop's own likelihoods in place of the table's: checked, used, and as text for the journal.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "reason/reason.h"

static const double ROUNDING = 0.01; /* "a third each" is written .33 .33 .33 */

bool reason_row_is_good(const struct reason_row *row)
{
    if (row->evidence < 0 || row->evidence >= REASON_EVIDENCE_COUNT || row->cause < 0 ||
        row->cause > REASON_REST)
        return false;
    int values = reason_values((enum reason_evidence)row->evidence);
    double sum = 0;
    for (int v = 0; v < REASON_VALUES_MAX; v++) {
        double p = row->likelihood[v];
        if (v < values ? !(p > 0 && p <= 1) : p != 0)
            return false;
        sum += p;
    }
    return fabs(sum - 1) <= ROUNDING + 1e-9;
}

static bool is_good(const struct reason_shop *shop)
{
    bool good = shop->rows >= 0 && shop->rows <= REASON_ROWS_MAX;
    for (int i = 0; good && i < shop->rows; i++)
        good = reason_row_is_good(&shop->row[i]);
    return good;
}

bool reason_use(struct reason *reason, const struct reason_shop *shop)
{
    memset(&reason->shop, 0, sizeof reason->shop); /* a job's state is compared byte by byte */
    if (!is_good(shop))
        return false;
    for (int i = 0; i < shop->rows; i++) {
        struct reason_row *row = &reason->shop.row[i];
        row->evidence = shop->row[i].evidence;
        row->cause = shop->row[i].cause;
        double sum = 0;
        for (int v = 0; v < REASON_VALUES_MAX; v++)
            sum += shop->row[i].likelihood[v];
        for (int v = 0; v < REASON_VALUES_MAX; v++)
            row->likelihood[v] = shop->row[i].likelihood[v] / sum;
    }
    reason->shop.rows = shop->rows;
    return true;
}

/* ---- as text ------------------------------------------------------------------------------ */

static const char rest[] = "rest";

bool reason_shop_to_text(const struct reason_shop *shop, char *out, size_t size)
{
    struct text text = text_into(out, size);
    if (!is_good(shop))
        return false;
    for (int i = 0; i < shop->rows; i++) {
        const struct reason_row *row = &shop->row[i];
        text_addf(&text, "%s %s", reason_evidence_id((enum reason_evidence)row->evidence),
                  row->cause == REASON_REST ? rest
                                            : reason_cause_id((enum reason_cause)row->cause));
        for (int v = 0; v < reason_values((enum reason_evidence)row->evidence); v++)
            text_addf(&text, " %.17g", row->likelihood[v]);
        text_add(&text, "\n");
    }
    return !text.cut;
}

static int id_of(const char *word, size_t length, const char *(*id)(int), int n)
{
    for (int i = 0; i < n; i++)
        if (strlen(id(i)) == length && strncmp(id(i), word, length) == 0)
            return i;
    return -1;
}

static const char *evidence_id(int i)
{
    return reason_evidence_id((enum reason_evidence)i);
}

static const char *cause_id(int i)
{
    return i == REASON_REST ? rest : reason_cause_id((enum reason_cause)i);
}

/* One line without its end. */
static bool take_line(const char *line, size_t length, struct reason_row *row)
{
    char copy[256];
    if (length >= sizeof copy)
        return false;
    memcpy(copy, line, length);
    copy[length] = '\0';
    memset(row, 0, sizeof *row);
    const char *at = copy;
    size_t word = strcspn(at, " ");
    row->evidence = id_of(at, word, evidence_id, REASON_EVIDENCE_COUNT);
    at += word + (at[word] == ' ');
    word = strcspn(at, " ");
    row->cause = id_of(at, word, cause_id, REASON_REST + 1);
    at += word;
    for (int v = 0; v < REASON_VALUES_MAX && *at == ' '; v++) {
        char *end;
        row->likelihood[v] = strtod(at + 1, &end);
        if (end == at + 1)
            return false;
        at = end;
    }
    return *at == '\0' && reason_row_is_good(row);
}

bool reason_shop_from_text(const char *text, struct reason_shop *shop)
{
    memset(shop, 0, sizeof *shop);
    while (*text != '\0') {
        const char *end = strchr(text, '\n');
        if (end == NULL || shop->rows == REASON_ROWS_MAX ||
            !take_line(text, (size_t)(end - text), &shop->row[shop->rows])) {
            memset(shop, 0, sizeof *shop);
            return false;
        }
        shop->rows++;
        text = end + 1;
    }
    return true;
}
