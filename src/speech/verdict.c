/*
 * The verdict: a logistic score from several signs (verdict_table.h has the weights and where they
 * come from), and the rules that no score overrides.
 */
#include "speech/verdict.h"

#include <math.h>

#include "speech/verdict_table.h"

/* Scores, by how far the speech is above the noise: believed at once from so many on. By the front
 * end's own estimate, which is some 2 dB over what the bench mixed, but no more than OVER_DB above
 * what is around the words: others' talk, a hammer have pauses. Below the last, nothing is worth a
 * question. */
static const struct {
    double from_db, accept_at;
} loudness[] = {{28, 0.70}, {14, 0.70}, {8, 0.74}, {4, 0.87}, {1, 0.90}};
enum { LOUDNESSES = sizeof loudness / sizeof loudness[0] };
static const double OVER_DB = 4;

/* A command is listened for all day, and short: most of what is believed of sounds and of talk to
 * others is one. Of the tuning voices' 262 commands that were believed and right none has less; of
 * 65 other sounds and sentences that were read as one, with 0.5 or more, five have as much. */
static const double COMMAND_AT = 0.90;

static const double ASK_AT = 0.35; /* worth a question; below, it was noise or chatter */

static const double QUIET_DB = 28;

/* Nats: near enough to a reading of another value to ask, whatever the score. A word more is a word
 * more to mishear, and a voice that the model knows badly (talk far from 0) is misheard with
 * confidence. Numbers from ten on are many and like each other, and in noise two digits become one
 * ("three two", "eighty"): of the tuning voices' digits at 10 and 5 dB the most that were read so
 * had 15 to 31 to spare. */
static const double NEAR_A_WORD = 12, NEAR_MOST = 16;
static const double NEAR = 8, NEAR_TENS = 20, NEAR_TENS_NOISY = 32;

/* One digit for another, and a word that somebody else may have said, where there is any sound
 * around the words. Of the tuning voices' readings that are believed without these and the bound
 * above 26 of 2343 are wrong, and 19 of 2298 with them. Of all that are right and believed, eight
 * have grown by a word there; of those who had enrolled one of the neighbours' had 61 nats. */
static const double NEAR_DIGIT = 20, NEAR_GROWN = 64, GROWN_BELOW_DB = 25;

/* Nats that talk gains where the words have silence: more, and they are a part of what was said. Of
 * right readings 99 % of the tuning voices' have less than 6 in quiet, less than 131 at 10 dB,
 * where another's talk is nearly as loud now and then. */
static const double LEFT_OUT = 30, LEFT_OUT_NOISY = 150;

/* Frames of speech besides the words, as loud: the words are a part of what was said, or were made
 * out of somebody's who said something else. Of two tuning voices' 556 right readings that were
 * believed without this, once they had enrolled, one has so many. */
static const size_t BESIDES = 12;

/* So many are no answer at all, but talk: music and a radio, with nobody answering, were asked
 * about three times a minute without this, and most such readings leave a second or two. */
static const size_t TALK_BESIDES = 40;

/* Familiarity: what somebody else says fits no better for being heard by an ear that knows who
 * speaks. Of four tuning voices' right answers, once they had enrolled, half have 0.43 and 95 in a
 * hundred 0.12; of two voices' answers heard by the other's ear 71 in a hundred have less than 0.
 * What is wanting to FAMILIAR takes so many times as much, in nats, from the score's odds: a short
 * word tells little of who says it. */
static const double FAMILIAR = 0.15, UNFAMILIAR_A_FRAME = 0.125, UNFAMILIAR_MOST = 8;

/* Who is known is heard well, or it is somebody else: other talk fits so much better, nats a frame,
 * in 5 of 678 right answers of four tuning voices that were believed, once they had enrolled, and
 * in both things that an ear that knew a voice believed of others' talk without this. */
static const double STRANGE_TALK = -1.7;

/* Goodness: so little of the words' phones does the network hear that something else made them. Of
 * the tuning voices' right readings that were believed without this, five of 2339 are under it. */
static const double UNHEARD = -2.5;

/* As far as is known. */
static double around_db(const struct speech_signs *signs)
{
    return signs->over_db == HUGE_VAL ? signs->snr_db : signs->over_db;
}

static bool is_near(const struct speech_signs *signs)
{
    double strange = fmax(0.25, fmin(1, -signs->talk - 0.2));
    double near = strange * fmin(NEAR_MOST, NEAR_A_WORD * (double)signs->words);
    if (signs->tens)
        near = fmax(near, signs->snr_db >= QUIET_DB ? NEAR_TENS : NEAR_TENS_NOISY);
    if (signs->digit)
        near = fmax(near, NEAR_DIGIT);
    if (signs->grown && around_db(signs) < GROWN_BELOW_DB)
        near = fmax(near, NEAR_GROWN);
    return signs->margin < fmax(near, NEAR);
}

static bool is_part(const struct speech_signs *signs)
{
    return signs->left_out > (signs->snr_db >= QUIET_DB ? LEFT_OUT : LEFT_OUT_NOISY) ||
           signs->besides >= BESIDES;
}

bool speech_deafening(const struct speech_signs *signs)
{
    return !(signs->snr_db >= loudness[LOUDNESSES - 1].from_db);
}

static double enough_for(double snr_db)
{
    size_t l = 0;
    while (l + 1 < LOUDNESSES && snr_db < loudness[l].from_db)
        l++;
    return loudness[l].accept_at;
}

double speech_score(const struct speech_signs *signs)
{
    if (signs->words == 0)
        return 0;
    double sign[SIGN_COUNT];
    verdict_shape(signs, sign);
    double score = verdict_chance(sign, VERDICT_MEANT) * verdict_chance(sign, VERDICT_VALUE);
    double wanting = verdict_clamp(FAMILIAR - signs->familiar, 0, 5); /* 0 where nobody is known */
    double by = fmin(UNFAMILIAR_MOST, UNFAMILIAR_A_FRAME * (double)signs->frames);
    return score / (score + (1 - score) * exp(by * wanting));
}

enum speech_verdict speech_judge(const struct speech_signs *signs, double score)
{
    if (signs->words == 0 || !(score >= ASK_AT) || speech_deafening(signs) ||
        verdict_is_drawn_out(signs) || signs->besides >= TALK_BESIDES)
        return SPEECH_REJECTED;
    double loud_db = fmin(signs->snr_db, around_db(signs) + OVER_DB);
    double enough = fmax(enough_for(loud_db), signs->command ? COMMAND_AT : 0);
    bool strange = signs->familiar != HUGE_VAL && signs->talk < STRANGE_TALK;
    bool doubtful =
        !(score >= enough) || signs->good < UNHEARD || strange || is_near(signs) || is_part(signs);
    return doubtful ? SPEECH_UNSURE : SPEECH_ACCEPTED;
}
