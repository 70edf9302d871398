/*
 * The verdict: a logistic score from several signs (verdict_table.h has the weights and where they
 * come from), and the rules that no score overrides.
 */
#include "speech/verdict.h"

#include <math.h>

#include "speech/verdict_table.h"

static const double ACCEPT_AT = 0.50; /* scores: believed at once */
static const double ASK_AT = 0.15;    /* worth a question; below, it was noise or chatter */
static const double NEAR_RIVAL = 8;   /* nats: as good as a tie with a reading of another value */
static const double NEAR_TWIN = 40;   /* a teen for a ten takes more: they differ in one sound */
static const double COVERED = 0.85;   /* words that leave more speech than this unexplained ... */

/* Chosen on the tuning voices (verdict_table.h), each by what it lets through wrong. SNR is the
 * front end's own estimate. */
static const double QUIET_DB = 28;     /* under this, all hearings must agree ... */
static const double CLEAR_MARGIN = 15; /* ... and above, too, unless the reading wins by so much */
static const double ACCEPT_NOISY = 0.85; /* a score, in noise */
static const double LOUD_DB = 8;         /* under this nothing is believed unasked */
static const double DEAFENING_DB = 5;    /* under this it is not worth a question */

/* A sentence is said, not rattled off: other talk forced into a long one is too short for it. Of a
 * person's 358 sentences that answer nothing one was believed to be a caution's phrase, "it is set
 * to the manual", at 6 frames a sound; five synthetic voices said such phrases at 7.2 to 11.6. */
static const size_t LONG_PHONES = 13;
static const double HURRIED = 7; /* frames of 10 ms a sound */

static bool is_hurried(const struct speech_signs *signs)
{
    return signs->phones >= LONG_PHONES && signs->pace < HURRIED;
}

static bool is_quiet(const struct speech_signs *signs)
{
    return signs->snr_db >= QUIET_DB;
}

static bool is_near(const struct speech_signs *signs)
{
    return signs->margin < (signs->twin ? NEAR_TWIN : NEAR_RIVAL);
}

static bool is_doubtful(const struct speech_signs *signs, double score)
{
    if (is_quiet(signs))
        return score < ACCEPT_AT || (signs->agreed < 1 && signs->margin < CLEAR_MARGIN);
    return score < ACCEPT_NOISY || signs->agreed < 1 || signs->snr_db < LOUD_DB;
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
    return verdict_chance(sign, VERDICT_MEANT, is_quiet(signs)) *
           verdict_chance(sign, VERDICT_VALUE, is_quiet(signs));
}

enum speech_verdict speech_judge(const struct speech_signs *signs, double score)
{
    if (signs->words == 0 || !(score >= ASK_AT) || speech_deafening(signs))
        return SPEECH_REJECTED;
    if (is_near(signs) || is_doubtful(signs, score) || is_hurried(signs) ||
        signs->covered < COVERED)
        return SPEECH_UNSURE; /* ... are only a part of it */
    return SPEECH_ACCEPTED;
}
