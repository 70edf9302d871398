/* A shop's own judgement from its file: see shop.h. */
#include "profile/shop.h"

#include <string.h>

#include "base/inifile.h"
#include "base/text.h"
#include "profile/field.h"

static const char prior_section[] = "prior", rest_key[] = "rest";
#define WEIGHT_MOST 1e6

struct loading {
    struct profile_shop *shop;
    int prior_line[REASON_CAUSE_COUNT]; /* where each was given; 0: not */
    int row_line[REASON_ROWS_MAX];
};

static bool refuse(const struct inifile_entry *entry, const char *why, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "'%s' line %d: '%s' in [%s] %s", entry->path, entry->line,
                     entry->key, entry->section, why);
}

static bool refuse_twice(const struct inifile_entry *entry, int line, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "'%s' lines %d and %d both give '%s' in [%s]: keep one.",
                     entry->path, line, entry->line, entry->key, entry->section);
}

/* ---- ids ---------------------------------------------------------------------------------- */

static const char *evidence_id(int i)
{
    return i == REASON_EVIDENCE_COUNT ? prior_section : reason_evidence_id((enum reason_evidence)i);
}

static const char *cause_id(int i)
{
    return i == REASON_REST ? rest_key : reason_cause_id((enum reason_cause)i);
}

/* Index of the id nearest to `word` among 0 .. n - 1; `exact` tells whether it is the word. */
static int nearest(const char *word, const char *(*id)(int), int n, bool *exact)
{
    int best = 0;
    size_t best_letters = (size_t)-1;
    for (int i = 0; i < n; i++) {
        size_t letters = profile_letters_apart(id(i), word);
        if (letters < best_letters) {
            best = i;
            best_letters = letters;
        }
    }
    *exact = strcmp(id(best), word) == 0;
    return best;
}

static bool take_cause(const struct inifile_entry *entry, int n, int *cause, struct fault *fault)
{
    bool exact;
    char why[96];
    *cause = nearest(entry->key, cause_id, n, &exact);
    struct text text = text_into(why, sizeof why);
    text_addf(&text, "is no cause: did you mean '%s'?", cause_id(*cause));
    return exact || refuse(entry, why, fault);
}

/* ---- numbers ------------------------------------------------------------------------------ */

/* Numbers with spaces or commas between them: how many there were, -1 for one that is none. */
static int take_numbers(const char *value, double *number, int most)
{
    int n = 0;
    for (;;) {
        value += strspn(value, " \t,");
        size_t length = strcspn(value, " \t,");
        char word[32];
        if (length == 0)
            return n;
        if (length >= sizeof word)
            return -1;
        memcpy(word, value, length);
        word[length] = '\0';
        double one;
        if (!profile_number_parse(word, &one))
            return -1;
        if (n < most)
            number[n] = one;
        n++;
        value += length;
    }
}

static bool take_prior(struct loading *loading, const struct inifile_entry *entry,
                       struct fault *fault)
{
    int cause;
    double weight;
    if (!take_cause(entry, REASON_CAUSE_COUNT, &cause, fault))
        return false;
    if (loading->prior_line[cause] != 0)
        return refuse_twice(entry, loading->prior_line[cause], fault);
    if (take_numbers(entry->value, &weight, 1) != 1 || !(weight > 0 && weight <= WEIGHT_MOST))
        return refuse(entry, "must be one number above 0, at most a million.", fault);
    loading->prior_line[cause] = entry->line;
    loading->shop->priors[cause] = weight;
    loading->shop->has_priors = true;
    return true;
}

static bool refuse_count(const struct inifile_entry *entry, enum reason_evidence evidence,
                         struct fault *fault)
{
    char why[160];
    struct text text = text_into(why, sizeof why);
    text_addf(&text, "needs %d numbers, for", reason_values(evidence));
    for (int v = 0; v < reason_values(evidence); v++)
        text_addf(&text, "%s %s", v == 0 ? "" : ",", reason_value_id(evidence, v));
    text_add(&text, ".");
    return refuse(entry, why, fault);
}

static bool refuse_likelihoods(const struct inifile_entry *entry, const struct reason_row *row,
                               struct fault *fault)
{
    double sum = 0;
    char why[160];
    struct text text = text_into(why, sizeof why);
    for (int v = 0; v < reason_values((enum reason_evidence)row->evidence); v++) {
        if (!(row->likelihood[v] > 0))
            return refuse(entry, "holds a 0: the unlikeliest answer gets .005 or so.", fault);
        sum += row->likelihood[v];
    }
    text_addf(&text, "sums to %.4g: make it 1.", sum);
    return refuse(entry, why, fault);
}

static bool take_likelihoods(struct loading *loading, const struct inifile_entry *entry,
                             enum reason_evidence evidence, struct fault *fault)
{
    struct reason_shop *rows = &loading->shop->rows;
    struct reason_row row = {.evidence = (int)evidence};
    if (!take_cause(entry, REASON_REST + 1, &row.cause, fault))
        return false;
    for (int i = 0; i < rows->rows; i++)
        if (rows->row[i].evidence == row.evidence && rows->row[i].cause == row.cause)
            return refuse_twice(entry, loading->row_line[i], fault);
    if (rows->rows == REASON_ROWS_MAX)
        return refuse(entry, "is one line too many: 64 lines of likelihoods at most.", fault);
    if (take_numbers(entry->value, row.likelihood, REASON_VALUES_MAX) != reason_values(evidence))
        return refuse_count(entry, evidence, fault);
    if (!reason_row_is_good(&row))
        return refuse_likelihoods(entry, &row, fault);
    loading->row_line[rows->rows] = entry->line;
    rows->row[rows->rows++] = row;
    return true;
}

static bool take_entry(void *context, const struct inifile_entry *entry, struct fault *fault)
{
    bool exact;
    int section = nearest(entry->section, evidence_id, REASON_EVIDENCE_COUNT + 1, &exact);
    if (entry->continued)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' line %d begins with a space: write one 'key = value' a line, at its "
                         "start.",
                         entry->path, entry->line);
    if (!exact)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' line %d: there is no section [%s]: did you mean [%s]?", entry->path,
                         entry->line, entry->section, evidence_id(section));
    if (section == REASON_EVIDENCE_COUNT)
        return take_prior(context, entry, fault);
    return take_likelihoods(context, entry, (enum reason_evidence)section, fault);
}

bool profile_shop_load(const char *path, struct profile_shop *shop, struct fault *fault)
{
    struct profile_shop read;
    memset(&read, 0, sizeof read);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        read.priors[c] = reason_cause_weight((enum reason_cause)c);
    struct loading loading = {.shop = &read};
    if (!inifile_read(path, take_entry, &loading, fault))
        return false;
    *shop = read;
    return true;
}
