/*
 * The verdict: a logistic score from several signs (verdict_table.h has the weights and where they
 * come from), and the rules that no score overrides.
 */
#include "speech/verdict.h"

#include <math.h>

#include "speech/verdict_table.h"

static const double ACCEPT_AT = 0.50; /* scores: believed at once */
static const double ASK_AT = 0.15;    /* worth a question; below, it was noise or chatter */
static const double NEAR_TWIN = 40;   /* a teen for a ten takes more: they differ in one sound */
static const double COVERED = 0.85;   /* words that leave more speech than this unexplained ... */

/* Noise fits some other value almost as well as the one that was said, and now and then better: the
 * louder it is, the clearer a reading must win. Chosen on the flite voices kal16 and awb in pink
 * noise (noise.sh tune, in tests/speech): the gentlest slope of 2, 2.5 and 3 under which
 * none of their 560 noisy hearings was accepted wrong. SNR is the front end's own estimate. */
static const double NEAR_RIVAL = 8;     /* nats: as good as a tie with a reading of another value */
static const double NEARER_A_DB = 2.5;  /* and this much more for each dB under ... */
static const double QUIET_DB = 28;      /* ... this, under which two passes must agree, too */
static const double ACCEPT_NOISY = 0.7; /* a score, under that too */
static const double LOUD_DB = 8;        /* under this nothing is believed unasked */
static const double DEAFENING_DB = 5;   /* under this it is not worth a question */

static bool is_near(const struct speech_signs *signs)
{
    double noise = fmax(0, QUIET_DB - signs->snr_db);
    double least = NEAR_RIVAL + NEARER_A_DB * noise;
    return signs->margin < (signs->twin ? fmax(NEAR_TWIN, least) : least);
}

/* In noise, a search that finds no rival at all has lost it, not beaten it. */
static bool is_doubtful(const struct speech_signs *signs, double score)
{
    if (signs->snr_db >= QUIET_DB)
        return false;
    return signs->snr_db < LOUD_DB || signs->agreed < 1 || score < ACCEPT_NOISY ||
           isinf(signs->margin);
}

bool speech_deafening(const struct speech_signs *signs)
{
    return !(signs->snr_db >= DEAFENING_DB);
}

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
    if (signs->words == 0 || !(score >= ASK_AT) || speech_deafening(signs))
        return SPEECH_REJECTED;
    if (score < ACCEPT_AT || is_near(signs) || is_doubtful(signs, score) ||
        signs->covered < COVERED)
        return SPEECH_UNSURE; /* ... are only a part of it */
    return SPEECH_ACCEPTED;
}
