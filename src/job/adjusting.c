/*
 * Adjusting: one round is cautions, loosen the lock nut, turn the stem by the advice, tighten, read
 * both throws again. Round after round until even, or until the advice says to stop.
 */
#include <math.h>
#include <string.h>

#include "job/question.h"

enum {
    UNHURRIED_MS = 5 * 60 * 1000,
};
static const double HAIR_TURNS = 1e-9; /* rounding in a sum of binary fractions */

static void begin(struct job *job)
{
    struct measure_turn_prior prior = profile_turn_prior(&job->numbers);
    measure_turn_init(&job->turn, &prior, NULL);
}

static void length_or(struct job_effect *say, const char *name, const struct profile_length *length,
                      const char *otherwise)
{
    if (length->known)
        job_effect_length(say, name, length->value);
    else
        job_effect_argument(say, name, "%s", otherwise);
}

static void fill_tools(const struct job *job, struct job_effect *say)
{
    length_or(say, "nut", &job->numbers.lock_nut_size, "the size the manual gives");
    length_or(say, "stem", &job->numbers.stem_size, "the size the manual gives");
}

/* ---- how far to turn, where the profile does not say --------------------------------------- */

static bool increment_unknown(const struct job *job)
{
    return job->walk >= 5 && !job->numbers.increment_turns.known;
}

static bool total_unknown(const struct job *job)
{
    return job->walk >= 5 && !job->numbers.total_turns.known;
}

static bool a_limit_is_unknown(const struct job *job)
{
    return increment_unknown(job) || total_unknown(job);
}

/* No turn was made yet: the prior begins anew with what was given. */
static void give(struct job *job, struct profile_number *to, double turns)
{
    *to = (struct profile_number){.known = true, .value = turns};
    begin(job);
}

static const char *take_increment(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_AMOUNT)
        return NULL; /* skipped: it stays open */
    double turns = language_amount_value(answer->value.as.amount);
    const struct profile_number *total = &job->numbers.total_turns;
    if (turns <= 0 || turns >= 0.5)
        return "adjusting.half_a_turn";
    if (total->known && turns > total->value)
        return "checks.low_above_high";
    give(job, &job->numbers.increment_turns, turns);
    return NULL;
}

static void fill_usual(const struct job *job, struct job_effect *say)
{
    char words[LANGUAGE_WORDS];
    language_amount_words(job->turn.prior.increment_turns, LANGUAGE_TURNS, words, sizeof words);
    job_effect_argument(say, "most", "%s", words);
    language_amount_words(job->turn.prior.total_turns, LANGUAGE_TURNS, words, sizeof words);
    job_effect_argument(say, "total", "%s", words);
}

static const char *take_total(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_AMOUNT)
        return NULL;
    double turns = language_amount_value(answer->value.as.amount);
    if (turns < job->turn.prior.increment_turns)
        return "adjusting.total_too_small";
    give(job, &job->numbers.total_turns, turns);
    return NULL;
}

/* ---- advice ------------------------------------------------------------------------------- */

static void advise(struct job *job)
{
    struct job_round *round = job_round_now(job);
    measure_turn_advise(&job->turn, round->balance.offset_mm, round->balance.offset_u_mm,
                        &round->advice);
    if (job->rounds == JOB_ROUNDS_MAX)
        round->advice.kind = MEASURE_STOP_ROUNDS;
    round->advised = true;
}

static bool advises_a_turn(const struct job *job)
{
    enum measure_turn_kind kind = job_round_at(job)->advice.kind;
    return kind == MEASURE_TURN_ADJUST || kind == MEASURE_TURN_PROBE;
}

static const char *turn_or_stop(const struct job *job)
{
    if (advises_a_turn(job))
        return "adjusting.round";
    bool too_coarse =
        job->centring == JOB_CANNOT_TELL && job_round_at(job)->advice.kind == MEASURE_TURN_NONE;
    return too_coarse ? "adjusting.finer" : "adjusting.stopped";
}

/* Said once it is a warning; when the round after it scatters too, a part is bad, not a reading. */
static bool scatters_again(const struct job *job)
{
    return job->centring != JOB_CENTRED && job->round[job->rounds - 1].scatter_suspect &&
           job->rounds > 1 && job->round[job->rounds - 2].scatter_suspect;
}

static void fill_stopped(const struct job *job, struct job_effect *say)
{
    static const char *const keys[] = {
        [MEASURE_TURN_ADJUST] = "adjusting.stop_rounds",
        [MEASURE_TURN_PROBE] = "adjusting.stop_rounds",
        [MEASURE_TURN_NONE] = "adjusting.stop_none",
        [MEASURE_STOP_ROUNDS] = "adjusting.stop_rounds",
        [MEASURE_STOP_TOTAL] = "adjusting.stop_total",
        [MEASURE_STOP_NO_RESPONSE] = "adjusting.stop_no_response",
        [MEASURE_STOP_SIGN_CHANGED] = "adjusting.stop_sign_changed",
    };
    const struct job_round *round = job_round_at(job);
    bool too_coarse = job->centring == JOB_CANNOT_TELL && round->advice.kind == MEASURE_TURN_NONE;
    if (scatters_again(job)) {
        job_effect_key(say, "adjusting.stop_scatter");
        return;
    }
    job_effect_key(say, too_coarse ? "adjusting.stop_cannot_tell" : keys[round->advice.kind]);
    job_effect_argument(say, "rounds", "%d", job->rounds - 1);
}

/* ---- a round ------------------------------------------------------------------------------ */

static void begin_round(struct job *job)
{
    job_block_begin(job);
}

static void fill_round(const struct job *job, struct job_effect *say)
{
    job_effect_argument(say, "n", "%d", job->rounds);
}

/* The most one adjustment may turn, in whole steps of a hand: what is left over cannot be turned.
 */
static void most_words(const struct measure_turn *turn, char *out, size_t size)
{
    static const char sense[] = " clockwise";
    int steps = (int)floor(turn->prior.increment_turns * turn->steps_per_turn + HAIR_TURNS);
    language_turn_words(steps, turn->steps_per_turn, true, out, size);
    out[strlen(out) - strlen(sense)] = '\0';
}

static void fill_most(const struct job *job, struct job_effect *say)
{
    char words[JOB_ARGUMENT];
    most_words(&job->turn, words, sizeof words);
    job_effect_argument(say, "most", "%s", words);
}

static void fill_turn(const struct job *job, struct job_effect *say)
{
    const struct measure_turn_advice *advice = &job_round_at(job)->advice;
    char words[JOB_ARGUMENT];
    language_turn_words(advice->numerator, advice->denominator, advice->clockwise, words,
                        sizeof words);
    job_effect_argument(say, "turn", "%s", words);
    fill_most(job, say);
    job_effect_argument(say, "expected", "%.1f", fabs(advice->expected_offset_mm));
    if (advice->kind == MEASURE_TURN_PROBE)
        job_effect_key(say, "adjusting.probe");
}

static const char *take_turn(struct job *job, const struct job_answer *answer)
{
    struct job_round *round = job_round_now(job);
    round->turned = true;
    if (answer->value.type != LANGUAGE_TURN) {
        round->turn = (struct language_turn){.not_turned = true, .denominator = 1};
        round->turns = 0;
        return NULL;
    }
    round->turn = answer->value.as.turn;
    if (round->turn.as_told)
        round->turns = round->advice.turns;
    else if (round->turn.not_turned)
        round->turns = 0;
    else
        round->turns =
            (round->turn.clockwise ? 1.0 : -1.0) * round->turn.numerator / round->turn.denominator;
    return NULL;
}

static bool turned_too_far(const struct job *job)
{
    return fabs(job_round_at(job)->turns) > job->turn.prior.increment_turns + HAIR_TURNS;
}

static void fill_tighten(const struct job *job, struct job_effect *say)
{
    double nm = job->numbers.lock_nut_nm.value;
    if (job->numbers.lock_nut_nm.known)
        job_effect_argument(say, "torque", "to %.3g newton metres, %.3g foot pounds", nm,
                            nm / LANGUAGE_FOOT_POUND_NM);
    else
        job_effect_argument(say, "torque", "to the manual's torque");
}

static void next_round(struct job *job)
{
    memset(&job->round[job->rounds], 0, sizeof job->round[0]);
    job->rounds++;
}

/* A finer rule: the same throws again, from the first reading. */
static void measure_again(struct job *job)
{
    struct job_round *round = job_round_now(job);
    round->forward.n = 0;
    round->back.n = 0;
    round->balanced = false;
    round->advised = false;
}

static const char *finer_or_not(const struct job *job)
{
    return job->has_finer ? NULL : "adjusting.stopped";
}

/* ---- verdict ------------------------------------------------------------------------------ */

static void learn(struct job *job)
{
    const struct job_round *before = &job->round[job->rounds - 2];
    struct job_round *after = job_round_now(job);
    after->learned = true;
    measure_turn_learn(&job->turn, before->turns, before->balance.offset_mm,
                       before->balance.offset_u_mm, after->balance.offset_mm,
                       after->balance.offset_u_mm);
}

static void judge(struct job *job)
{
    if (!job_balance_is_final(job))
        return;
    const struct job_round *round = job_round_at(job);
    if (!round->learned)
        learn(job);
    static const enum job_centring ended[] = {
        [MEASURE_EVEN] = JOB_CENTRED,
        [MEASURE_UNEVEN] = JOB_ESCALATED,
        [MEASURE_CANNOT_TELL] = JOB_CANNOT_TELL,
    };
    job->centring = ended[round->balance.verdict];
    if (job->centring == JOB_CENTRED)
        job->proving_for = REASON_CHECK_PAWL;
}

static bool sum_is_suspect(const struct job *job)
{
    return !job_wants_more_readings(job) && job_round_at(job)->sum_suspect;
}

static void fill_sum(const struct job *job, struct job_effect *say)
{
    job_effect_argument(say, "before", "%.1f", job->round[job->rounds - 2].balance.sum_mm);
    job_effect_argument(say, "now", "%.1f", job_round_at(job)->balance.sum_mm);
}

static const char *after_balance(const struct job *job)
{
    if (job_wants_more_readings(job))
        return "adjusting.forward";
    if (job->centring == JOB_CENTRED)
        return "proving.intro";
    if (scatters_again(job))
        return "adjusting.stopped";
    return "adjusting.advise"; /* not shown to be even: what would make it so, or why to stop */
}

#define PHRASE(name, said)                                                                         \
    .id = "adjusting." name, .phase = JOB_ADJUSTING, .grammar = "caution", .phrase = said,         \
    .remind_ms = UNHURRIED_MS
#define CAUTION(name, said, sentence)                                                              \
    PHRASE(name, said), .says = sentence, .caution = true, .leave = "adjusting.left"
#define DISTANCE(name)                                                                             \
    .id = "adjusting." name, .phase = JOB_ADJUSTING, .grammar = "distance",                        \
    .remind_ms = UNHURRIED_MS, .leave = "adjusting.left"
#define AMOUNT(name)                                                                               \
    .id = "adjusting." name, .phase = JOB_ADJUSTING, .grammar = "turns", .dont_know = true,        \
    .remind_ms = UNHURRIED_MS, .leave = JOB_ON
#define READING(name)                                                                              \
    DISTANCE(name), .low_mm = 0.1, .high_mm = 60, .fill = job_fill_reading, .needs = JOB_AT_THE_PAWL

static const struct job_question rows[] = {
    {.id = "adjusting.intro", .phase = JOB_ADJUSTING, .arrive = begin, .fill = fill_tools},
    {AMOUNT("increment"), .wanted = increment_unknown, .take = take_increment},
    {AMOUNT("total"), .wanted = total_unknown, .take = take_total},
    {.id = "adjusting.usual",
     .phase = JOB_ADJUSTING,
     .wanted = a_limit_is_unknown,
     .fill = fill_usual},
    {PHRASE("tools", LANGUAGE_TOOLS_READY), .fill = fill_tools, .leave = "adjusting.left"},
    {.id = "adjusting.advise",
     .phase = JOB_ADJUSTING,
     .silent = true,
     .arrive = advise,
     .branch = turn_or_stop,
     .leads = JOB_LEADS("adjusting.round", "adjusting.finer", "adjusting.stopped")},
    {.id = "adjusting.finer",
     .phase = JOB_ADJUSTING,
     .grammar = "yesno",
     .take = job_take_has_finer,
     .branch = finer_or_not,
     .leads = JOB_LEADS("adjusting.stopped"),
     .dont_know = true,
     .leave = JOB_ON},
    {DISTANCE("finer_rule"), .low_mm = 0.001, .high_mm = 5, .take = job_take_finer_rule},
    {.id = "adjusting.again",
     .phase = JOB_ADJUSTING,
     .silent = true,
     .arrive = measure_again,
     .next = "adjusting.forward"},
    {.id = "adjusting.round", .phase = JOB_ADJUSTING, .arrive = begin_round, .fill = fill_round},
    {CAUTION("strapped", LANGUAGE_BIKE_STRAPPED, "caution.strapped")},
    {CAUTION("wheel_clear", LANGUAGE_WHEEL_CLEAR, "caution.wheel_clear")},
    {CAUTION("engine_off", LANGUAGE_ENGINE_OFF, "caution.engine_off")},
    {CAUTION("hot_parts", LANGUAGE_PARTS_COOL, "caution.hot_parts")},
    {PHRASE("loosen", LANGUAGE_LOCK_NUT_LOOSE), .needs = JOB_AT_THE_PAWL, .fill = fill_tools,
     .leave = "adjusting.left"},
    {.id = "adjusting.turn",
     .needs = JOB_AT_THE_PAWL,
     .phase = JOB_ADJUSTING,
     .grammar = "turn",
     .remind_ms = UNHURRIED_MS,
     .fill = fill_turn,
     .take = take_turn,
     .leave = JOB_ON},
    {.id = "adjusting.too_far",
     .needs = JOB_AT_THE_PAWL,
     .phase = JOB_ADJUSTING,
     .wanted = turned_too_far,
     .fill = fill_most},
    {PHRASE("tighten", LANGUAGE_LOCK_NUT_TIGHT), .needs = JOB_AT_THE_PAWL, .caution = true,
     .fill = fill_tighten},
    {.id = "adjusting.measure",
     .needs = JOB_AT_THE_PAWL,
     .phase = JOB_ADJUSTING,
     .arrive = next_round},
    {READING("forward"), .says = "centring.forward", .take = job_take_forward},
    {READING("back"), .says = "centring.back", .take = job_take_back},
    {.id = "adjusting.balance", .phase = JOB_ADJUSTING, .arrive = judge, .fill = job_fill_balance},
    {.id = "adjusting.suspect", .phase = JOB_ADJUSTING, .wanted = sum_is_suspect, .fill = fill_sum},
    {.id = "adjusting.scatter",
     .phase = JOB_ADJUSTING,
     .says = "centring.scatter",
     .wanted = job_scatter_is_suspect},
    {.id = "adjusting.next",
     .phase = JOB_ADJUSTING,
     .silent = true,
     .branch = after_balance,
     .leads =
         JOB_LEADS("adjusting.forward", "proving.intro", "adjusting.stopped", "adjusting.advise")},
    {.id = "adjusting.stopped",
     .phase = JOB_ADJUSTING,
     .fill = fill_stopped,
     .next = "checks.next"},
    {.id = "adjusting.left", .phase = JOB_ADJUSTING, .next = "checks.next"},
};
const struct job_questions job_adjusting_questions = {rows, sizeof rows / sizeof rows[0]};
