/*
 * What the numbers of a profile say of one another: rules that no bike can break. A number that is
 * not known breaks none.
 */
#ifndef MIDTHROW_PROFILE_AGREE_H
#define MIDTHROW_PROFILE_AGREE_H

#include <stdbool.h>
#include <stddef.h>

#include "profile/profile.h"

enum { PROFILE_RULE_KEYS = 3, PROFILE_WHY = 256 };

struct profile_rule {
    const char *section;
    const char *key[PROFILE_RULE_KEYS]; /* whose numbers it is about; NULL where there are fewer */
    /* True when it is broken; `why` then says it, and what to do. */
    bool (*broken)(const struct profile_rule *rule, struct profile *profile, char why[PROFILE_WHY]);
};

extern const struct profile_rule profile_rules[];
extern const size_t profile_rules_n;

/* The first rule that is broken, profile_rules_n when all is well. */
size_t profile_rule_broken(const struct profile *profile, char why[PROFILE_WHY]);

#endif
