/*
 * The state of what is known: where it starts, what is observed, and the words for it.
 */
#include "reason/reason.h"

#include <math.h>
#include <string.h>

#include "reason/table.h"

/* An enum is handed in by callers that read files: both ends are checked. */
static bool is_cause(enum reason_cause cause)
{
    return (int)cause >= 0 && (int)cause < REASON_CAUSE_COUNT;
}

static bool is_evidence(enum reason_evidence evidence)
{
    return (int)evidence >= 0 && (int)evidence < REASON_EVIDENCE_COUNT;
}

static bool is_value(enum reason_evidence evidence, int value)
{
    return is_evidence(evidence) && value >= 0 && value < reason_evidence_table[evidence].values;
}

static void begin(struct reason *reason, const double weight[REASON_CAUSE_COUNT])
{
    memset(reason, 0, sizeof *reason); /* padding too: a job's state is compared byte by byte */
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        reason->prior[c] = log(weight[c]);
    double all = reason_log_sum(reason->prior, -1);
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        reason->prior[c] -= all;
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        reason->seen[e] = -1;
}

void reason_init(struct reason *reason)
{
    double weight[REASON_CAUSE_COUNT];
    for (int c = 0; c < REASON_CAUSE_COUNT; c++)
        weight[c] = reason_cause_table[c].weight;
    begin(reason, weight);
}

bool reason_init_with(struct reason *reason, const double weight[REASON_CAUSE_COUNT])
{
    for (int c = 0; c < REASON_CAUSE_COUNT; c++) {
        if (isfinite(weight[c]) && weight[c] > 0)
            continue;
        reason_init(reason);
        return false;
    }
    begin(reason, weight);
    return true;
}

bool reason_observe(struct reason *reason, enum reason_evidence evidence, int value)
{
    if (!is_value(evidence, value) && !(is_evidence(evidence) && value == -1))
        return false;
    reason->seen[evidence] = value;
    return true;
}

double reason_cause_weight(enum reason_cause cause)
{
    return is_cause(cause) ? reason_cause_table[cause].weight : 0;
}

const char *reason_cause_name(enum reason_cause cause)
{
    return is_cause(cause) ? reason_cause_table[cause].name : "";
}

const char *reason_cause_id(enum reason_cause cause)
{
    return is_cause(cause) ? reason_cause_table[cause].id : "";
}

const char *reason_observation_words(enum reason_evidence evidence, int value)
{
    return is_value(evidence, value) ? reason_evidence_table[evidence].value[value].words : "";
}

const char *reason_value_id(enum reason_evidence evidence, int value)
{
    return is_value(evidence, value) ? reason_evidence_table[evidence].value[value].id : "";
}

int reason_values(enum reason_evidence evidence)
{
    return is_evidence(evidence) ? reason_evidence_table[evidence].values : 0;
}

const char *reason_evidence_id(enum reason_evidence evidence)
{
    return is_evidence(evidence) ? reason_evidence_table[evidence].id : "";
}

enum reason_check reason_check_for(enum reason_cause cause)
{
    return is_cause(cause) ? reason_cause_table[cause].check : REASON_CHECK_COUNT;
}
