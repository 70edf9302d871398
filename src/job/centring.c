/*
 * The pawl check: made safe step by step, then both throws read at least twice, balance, verdict.
 * The reading and the verdict serve the adjusting rounds too.
 */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"

enum {
    READINGS_LEAST = 2, /* of each throw, before a verdict */
    READINGS_MOST = 8,  /* of each throw in one round; after that it cannot be told */
    UNHURRIED_MS = 5 * 60 * 1000,
};
#define THROW_LEAST_MM 0.1 /* an arm that moves less does not move */
#define THROW_MOST_MM 60

/* ---- rounds ------------------------------------------------------------------------------- */

struct job_round *job_round_now(struct job *job)
{
    return &job->round[job->rounds - 1];
}

const struct job_round *job_round_at(const struct job *job)
{
    return &job->round[job->rounds - 1];
}

static const char *keep(struct job_readings *readings, const struct job_answer *answer)
{
    if (readings->n < MEASURE_READINGS_MAX)
        readings->value[readings->n++] = answer->value.as.length;
    return NULL;
}

const char *job_take_forward(struct job *job, const struct job_answer *answer)
{
    return keep(&job_round_now(job)->forward, answer);
}

const char *job_take_back(struct job *job, const struct job_answer *answer)
{
    return keep(&job_round_now(job)->back, answer);
}

void job_fill_reading(const struct job *job, struct job_effect *say)
{
    const struct job_round *round = job_round_at(job);
    bool forward = strstr(job_question_id(job), "forward") != NULL;
    size_t n = forward ? round->forward.n : round->back.n;
    job_effect_argument(say, "n", "%zu", n + 1);
}

static size_t in_mm(const struct job_readings *readings, double *mm)
{
    for (size_t i = 0; i < readings->n; i++)
        mm[i] = measure_length_mm(readings->value[i]);
    return readings->n;
}

/* Repeatability known from the rounds before: the same hand, rule and arm did the reading. */
static void pool_earlier_rounds(const struct job *job, struct measure_balance_input *input)
{
    for (int i = 0; i + 1 < job->rounds; i++)
        if (job->round[i].balanced)
            measure_balance_pool(&job->round[i].balance, &input->pooled_s_mm, &input->pooled_dof);
}

/* The scatter of one throw alone, over all rounds: a worn hook catches the pin now here, now there.
 */
static bool one_throw_scatters(const struct job *job, bool forward)
{
    double s_mm = 0, dof = 0;
    for (int i = 0; i < job->rounds; i++) {
        struct measure_balance alone = job->round[i].balance;
        if (forward)
            alone.back.n = 1; /* a single reading adds nothing */
        else
            alone.forward.n = 1;
        if (job->round[i].balanced)
            measure_balance_pool(&alone, &s_mm, &dof);
    }
    return measure_scatter_suspect(s_mm, dof, job_resolution_mm(job));
}

static void balance_round(struct job *job)
{
    struct job_round *round = job_round_now(job);
    double forward[MEASURE_READINGS_MAX], back[MEASURE_READINGS_MAX];
    struct measure_balance_input input = {
        .forward_mm = forward,
        .forward_n = in_mm(&round->forward, forward),
        .back_mm = back,
        .back_n = in_mm(&round->back, back),
        .tolerance_mm = measure_length_mm(job->numbers.tolerance.value),
        .resolution_mm = job_resolution_mm(job),
    };
    pool_earlier_rounds(job, &input);
    round->balanced = measure_balance_of(&input, &round->balance, NULL);
    round->at_ms = job->now_ms;
    round->more_wanted = false;
    round->sum_suspect = false;
    round->scatter_suspect = false;
    if (!round->balanced) { /* a tolerance of nothing, say: never called even for that */
        round->balance.verdict = MEASURE_CANNOT_TELL;
        return;
    }
    if (job->rounds > 1 && job->round[job->rounds - 2].balanced)
        round->sum_suspect =
            measure_sum_suspect(&job->round[job->rounds - 2].balance, &round->balance);
    round->scatter_suspect = one_throw_scatters(job, true) || one_throw_scatters(job, false);
    round->more_wanted = round->balance.verdict == MEASURE_CANNOT_TELL &&
                         round->balance.readings_needed >= 0 && round->forward.n < READINGS_MOST;
}

bool job_balance_is_final(struct job *job)
{
    if (job_round_at(job)->back.n < READINGS_LEAST)
        return false;
    balance_round(job);
    return job_round_at(job)->balanced && !job_round_at(job)->more_wanted;
}

bool job_scatter_is_suspect(const struct job *job)
{
    return !job_wants_more_readings(job) && job_round_at(job)->scatter_suspect;
}

bool job_wants_more_readings(const struct job *job)
{
    const struct job_round *round = job_round_at(job);
    return round->back.n < READINGS_LEAST || round->more_wanted;
}

static const char *nearer_side(const struct measure_balance *balance)
{
    return balance->offset_mm > 0 ? "too far back" : "too far forward";
}

void job_fill_balance(const struct job *job, struct job_effect *say)
{
    const struct measure_balance *balance = &job_round_at(job)->balance;
    if (job_round_at(job)->back.n < READINGS_LEAST) {
        job_effect_key(say, "");
        return;
    }
    job_effect_argument(say, "offset", "%.1f", fabs(balance->offset_mm));
    job_effect_argument(say, "side", "%s", nearer_side(balance));
    job_effect_argument(say, "forward", "%.0f", balance->forward_percent);
    job_effect_argument(say, "back", "%.0f", 100 - round(balance->forward_percent));
    job_effect_argument(say, "percent", "%.0f", 100 * balance->probability_even);
    job_effect_argument(say, "more", "%d", balance->readings_needed);
    const bool even = balance->verdict == MEASURE_EVEN;
    const bool uneven = balance->verdict == MEASURE_UNEVEN;
    job_effect_key(say, even                             ? "balance.even"
                        : uneven                         ? "balance.uneven"
                        : job_round_at(job)->more_wanted ? "balance.more"
                                                         : "balance.cannot_tell");
}

/* ---- the check ---------------------------------------------------------------------------- */

static void begin(struct job *job)
{
    job_block_begin(job);
    job->checks_done |= 1u << REASON_CHECK_PAWL;
    job->centring = JOB_CENTRING_SKIPPED; /* until a verdict says otherwise */
}

bool job_access_is_open(const struct job *job)
{
    return job->access_is_open;
}

const char *job_take_cover(struct job *job, const struct job_answer *answer)
{
    (void)answer;
    job->access_is_open = false;
    return NULL;
}

static void open_access(struct job *job)
{
    job->access_is_open = job_is_safe(job, LANGUAGE_ACCESS_OPEN);
}

static const char *gear_name(const struct job *job)
{
    static const char *const names[] = {"first", "second", "third", "fourth", "fifth", "sixth"};
    int gear = job->numbers.gear.known ? (int)job->numbers.gear.value : 3; /* common practice */
    return gear >= 1 && gear <= 6 ? names[gear - 1] : "third";
}

static bool gear_is_third(const struct job *job)
{
    return strcmp(gear_name(job), "third") == 0;
}

static bool gear_is_another(const struct job *job)
{
    return !gear_is_third(job);
}

static bool gear_unknown(const struct job *job)
{
    return job->walk >= 5 && !job->numbers.gear.known;
}

static const char *take_gear(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_NUMBER)
        return NULL; /* skipped: it stays open, and third is said to be common practice */
    if (answer->value.as.number > 6)
        return "centring.no_such_gear";
    job->numbers.gear =
        (struct profile_number){.known = true, .value = (double)answer->value.as.number};
    return NULL;
}

static void fill_gear(const struct job *job, struct job_effect *say)
{
    job_effect_argument(say, "gear", "%s", gear_name(job));
}

static const char *take_hook(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_CHOICE || answer->value.as.choice > REASON_HOOK_BENT)
        return NULL; /* "cannot see" says nothing */
    job->hook = answer->value.as.choice;
    job_observe(job, REASON_HOOK_LOOK, job->hook);
    if (job->hook != REASON_HOOK_GOOD)
        job->centring = JOB_HOOK_BAD;
    return NULL;
}

static const char *after_hook(const struct job *job)
{
    return job->centring == JOB_HOOK_BAD ? "centring.hook_bad" : "centring.tolerance";
}

static bool tolerance_unknown(const struct job *job)
{
    return !job->numbers.tolerance.known;
}

static const char *take_tolerance(struct job *job, const struct job_answer *answer)
{
    job->numbers.tolerance =
        (struct profile_length){.known = true, .value = answer->value.as.length};
    return NULL;
}

static void first_round(struct job *job)
{
    job->rounds = 1;
    memset(&job->round[0], 0, sizeof job->round[0]);
}

static void judge(struct job *job)
{
    if (!job_balance_is_final(job))
        return;
    static const enum job_centring ended[] = {
        [MEASURE_EVEN] = JOB_CENTRED_AS_FOUND,
        [MEASURE_UNEVEN] = JOB_ESCALATED, /* until a round of adjusting makes it even */
        [MEASURE_CANNOT_TELL] = JOB_CANNOT_TELL,
    };
    enum measure_verdict verdict = job_round_at(job)->balance.verdict;
    job->centring = ended[verdict];
    if (verdict != MEASURE_CANNOT_TELL)
        job_observe(job, REASON_THROWS, verdict == MEASURE_EVEN ? REASON_EVEN : REASON_UNEVEN);
}

static const char *after_balance(const struct job *job)
{
    if (job_wants_more_readings(job))
        return "centring.forward";
    if (job->centring == JOB_CANNOT_TELL)
        return "centring.finer";
    return job->centring == JOB_ESCALATED ? "adjusting.intro" : "centring.no_adjusting";
}

const char *job_take_has_finer(struct job *job, const struct job_answer *answer)
{
    job->has_finer = answer->value.type == LANGUAGE_YESNO && answer->value.as.yes;
    return NULL;
}

const char *job_take_finer_rule(struct job *job, const struct job_answer *answer)
{
    if (measure_length_mm(answer->value.as.length) >= job_resolution_mm(job))
        return "centring.not_finer";
    return job_take_resolution(job, answer);
}

static const char *finer_or_not(const struct job *job)
{
    return job->has_finer ? NULL : "centring.no_adjusting";
}

static void fill_no_adjusting(const struct job *job, struct job_effect *say)
{
    job_effect_key(say, job->centring == JOB_CENTRED_AS_FOUND ? "centring.pawl_is_even"
                                                              : "centring.use_finer_rule");
    job_fill_ranking(job, say);
}

#define CAUTION(name, said, sentence)                                                              \
    .id = "centring." name, .phase = JOB_CENTRING, .says = sentence, .grammar = "caution",         \
    .phrase = said, .caution = true, .remind_ms = UNHURRIED_MS, .leave = "centring.left"
#define DISTANCE(name, least, most)                                                                \
    .id = "centring." name, .phase = JOB_CENTRING, .grammar = "distance", .low_mm = least,         \
    .high_mm = most, .remind_ms = UNHURRIED_MS, .leave = "centring.left"

static const struct job_question rows[] = {
    {.id = "centring.intro", .phase = JOB_CENTRING, .arrive = begin},
    {CAUTION("strapped", LANGUAGE_BIKE_STRAPPED, "caution.strapped")},
    {CAUTION("wheel_clear", LANGUAGE_WHEEL_CLEAR, "caution.wheel_clear")},
    {CAUTION("engine_off", LANGUAGE_ENGINE_OFF, "caution.engine_off")},
    {CAUTION("hot_parts", LANGUAGE_PARTS_COOL, "caution.hot_parts")},
    {.id = "centring.which_gear",
     .phase = JOB_CENTRING,
     .grammar = "item",
     .remind_ms = UNHURRIED_MS,
     .wanted = gear_unknown,
     .take = take_gear,
     .dont_know = true,
     .leave = JOB_ON},
    {CAUTION("gear", LANGUAGE_THIRD_GEAR, NULL), .wanted = gear_is_third, .fill = fill_gear},
    {CAUTION("other_gear", LANGUAGE_NAMED_GEAR, "centring.gear"), .wanted = gear_is_another,
     .fill = fill_gear},
    {CAUTION("access", LANGUAGE_ACCESS_OPEN, NULL)},
    {.id = "centring.hook",
     .needs = JOB_AT_THE_PAWL | JOB_BIT(ACCESS_OPEN),
     .phase = JOB_CENTRING,
     .grammar = "hook",
     .remind_ms = UNHURRIED_MS,
     .arrive = open_access,
     .take = take_hook,
     .branch = after_hook,
     .leads = JOB_LEADS("centring.hook_bad", "centring.tolerance"),
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "centring.hook_bad", .phase = JOB_CENTRING, .next = "checks.next"},
    {DISTANCE("tolerance", 0.001, 10), .wanted = tolerance_unknown, .take = take_tolerance},
    {DISTANCE("rule", 0.001, 5), .wanted = job_resolution_unknown, .take = job_take_resolution},
    {.id = "centring.how",
     .needs = JOB_AT_THE_PAWL | JOB_BIT(ACCESS_OPEN),
     .phase = JOB_CENTRING,
     .arrive = first_round},
    {DISTANCE("forward", THROW_LEAST_MM, THROW_MOST_MM),
     .needs = JOB_AT_THE_PAWL | JOB_BIT(ACCESS_OPEN), .fill = job_fill_reading,
     .take = job_take_forward},
    {DISTANCE("back", THROW_LEAST_MM, THROW_MOST_MM),
     .needs = JOB_AT_THE_PAWL | JOB_BIT(ACCESS_OPEN), .fill = job_fill_reading,
     .take = job_take_back},
    {.id = "centring.balance", .phase = JOB_CENTRING, .arrive = judge, .fill = job_fill_balance},
    {.id = "centring.scatter", .phase = JOB_CENTRING, .wanted = job_scatter_is_suspect},
    {.id = "centring.next",
     .phase = JOB_CENTRING,
     .silent = true,
     .branch = after_balance,
     .leads = JOB_LEADS("centring.forward", "centring.finer", "adjusting.intro",
                        "centring.no_adjusting")},
    {.id = "centring.finer",
     .phase = JOB_CENTRING,
     .grammar = "yesno",
     .take = job_take_has_finer,
     .branch = finer_or_not,
     .leads = JOB_LEADS("centring.no_adjusting"),
     .dont_know = true,
     .leave = JOB_ON},
    {DISTANCE("finer_rule", 0.001, 5), .take = job_take_finer_rule, .next = "centring.how"},
    {.id = "centring.no_adjusting",
     .phase = JOB_CENTRING,
     .fill = fill_no_adjusting,
     .next = "checks.next"},
    {.id = "centring.left", .phase = JOB_CENTRING, .next = "checks.next"},
};
const struct job_questions job_centring_questions = {rows, sizeof rows / sizeof rows[0]};
