/*
 * The table of judgement, as the rest of reason/ and its tests read it. Nothing outside the room
 * includes this: reason.h is the contract.
 */
#ifndef MIDTHROW_REASON_TABLE_H
#define MIDTHROW_REASON_TABLE_H

#include <stdbool.h>

#include "reason/reason.h"

struct reason_cause_row {
    const char *id;
    const char *name;
    double weight; /* prior, in hundredths */
    enum reason_check check;
};

struct reason_value_row {
    const char *id;
    const char *words;
};

/* How likely each value is under each cause. Causes without a row of their own share `rest`: for
 * them the observation is what it would be on any bike. Every row sums to 1 and holds no 0. */
struct reason_evidence_row {
    const char *id;
    int values;
    struct reason_value_row value[REASON_VALUES_MAX];
    double rest[REASON_VALUES_MAX];
    double of[REASON_CAUSE_COUNT][REASON_VALUES_MAX];
};

struct reason_check_row {
    const char *id;
    const char *name;
    double minutes;
    bool cheap;
    double finds[REASON_CAUSE_COUNT]; /* chance that it ends the search if it is this cause */
};

extern const struct reason_cause_row reason_cause_table[REASON_CAUSE_COUNT];
extern const struct reason_evidence_row reason_evidence_table[REASON_EVIDENCE_COUNT];
extern const struct reason_check_row reason_check_table[REASON_CHECK_COUNT];

/* All three in range. */
double reason_likelihood(enum reason_evidence evidence, enum reason_cause cause, int value);

/* Natural log of each cause's posterior probability; they sum to 1 when raised. */
void reason_log_posterior(const struct reason *reason, double log_p[REASON_CAUSE_COUNT]);

/* log of the sum of exp(term), leaving out the term at `but` (-1: none left out); no overflow. */
double reason_log_sum(const double term[REASON_CAUSE_COUNT], int but);

#endif
