/* A shop's own judgement, reason.ini: likelihoods that a ranking can use, or a sentence. */
#include <math.h>

#include "fuzz.h"
#include "profile/shop.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct profile_shop shop;
    static struct reason reason;
    struct fault fault = {0};
    if (!profile_shop_load(fuzz_file(data, size), &shop, &fault)) {
        FUZZ_PROMISED(fault.sentence[0] != '\0');
        return 0;
    }
    reason_init(&reason);
    if (shop.has_priors)
        FUZZ_PROMISED(reason_init_with(&reason, shop.priors));
    reason_use(&reason, &shop.rows);
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        reason_observe(&reason, (enum reason_evidence)e, 0);
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&reason, rank);
    double sum = 0;
    for (int i = 0; i < REASON_CAUSE_COUNT; i++)
        sum += rank[i].probability;
    FUZZ_PROMISED(fabs(sum - 1) < 1e-6);
    return 0;
}
