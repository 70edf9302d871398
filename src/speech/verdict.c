/*
 * The verdict: a logistic score from several signs (verdict_table.h has the weights and where they
 * come from), and the rules that no score overrides.
 */
#include "speech/verdict.h"

#include "speech/verdict_table.h"

static const double ACCEPT_AT = 0.50; /* scores: believed at once */
static const double ASK_AT = 0.15;    /* worth a question; below, it was noise or chatter */
static const double NEAR_RIVAL = 8;   /* nats: as good as a tie with a reading of another value */
static const double NEAR_TWIN = 40;   /* a teen for a ten takes more: they differ in one sound */
static const double COVERED = 0.85;   /* words that leave more speech than this unexplained ... */

double speech_score(const struct speech_signs *signs)
{
    if (signs->words == 0)
        return 0;
    double sign[SIGN_COUNT];
    verdict_shape(signs, sign);
    return verdict_chance(sign, VERDICT_MEANT) * verdict_chance(sign, VERDICT_VALUE);
}

enum speech_verdict speech_judge(const struct speech_signs *signs, double score)
{
    if (signs->words == 0 || !(score >= ASK_AT))
        return SPEECH_REJECTED;
    bool near = signs->margin < (signs->twin ? NEAR_TWIN : NEAR_RIVAL);
    if (score < ACCEPT_AT || near || signs->covered < COVERED) /* ... are only a part of it */
        return SPEECH_UNSURE;
    return SPEECH_ACCEPTED;
}
