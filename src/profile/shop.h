/*
 * A shop's own judgement in place of the table's, from an INI file (reason.ini beside the journal,
 * or --reason FILE): how often each cause comes in, and how likely an answer is under a cause.
 *
 *     [prior]
 *     pawl = 25                      any scale; causes not named keep the table's hundredths
 *     [temperature]                  hot, cold, both: the values in the order of reason.h
 *     pawl = .10 .10 .80             each above 0, together 1
 *     rest = .30 .10 .60             for all causes without a line of their own here
 *
 * Sections and keys are the ids of `midthrow why --json`. Above 0, for what was called impossible
 * could never be believed again, whatever was found.
 */
#ifndef MIDTHROW_PROFILE_SHOP_H
#define MIDTHROW_PROFILE_SHOP_H

#include <stdbool.h>

#include "base/fault.h"
#include "reason/reason.h"

struct profile_shop {
    bool has_priors;
    double priors[REASON_CAUSE_COUNT]; /* as reason_init_with takes them */
    struct reason_shop rows;
};

/* Refuses, with file, line and what to do: unreadable, an unknown section or key (naming the
 * nearest there is), a line given twice, values too few, too many, not above 0 or not summing to 1
 * to within a hundredth, more than REASON_ROWS_MAX lines of likelihoods. */
bool profile_shop_load(const char *path, struct profile_shop *shop, struct fault *fault);

#endif
