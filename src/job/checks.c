/*
 * The cheap checks, before anybody opens a cover: lever free play, primary fluid, shift linkage.
 * Each has its cautions, the manual's limit (from the profile, or asked for), a verdict, and, when
 * it was out and put right, a proof.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"

enum {
    UNHURRIED_MS = 5 * 60 * 1000, /* a step done with both hands */
};

/* ---- which check next --------------------------------------------------------------------- */

static const unsigned cheap =
    1u << REASON_CHECK_FREE_PLAY | 1u << REASON_CHECK_FLUID | 1u << REASON_CHECK_LINKAGE;

static const char *next_check(const struct job *job)
{
    int check = reason_next_check(&job->reason, job->checks_done | ~cheap);
    switch (check) {
    case REASON_CHECK_FREE_PLAY:
        return "checks.free_play";
    case REASON_CHECK_FLUID:
        return "checks.fluid";
    case REASON_CHECK_LINKAGE:
        return "checks.linkage";
    default:
        break;
    }
    bool pawl_done = (job->checks_done & 1u << REASON_CHECK_PAWL) != 0;
    if (!pawl_done)
        return "centring.intro";
    return job->walk >= 2 ? "deep.next" : "closing.outcome";
}

static void forget_proof(struct job *job)
{
    job->proving_for = -1;
}

struct job_check *job_check_now(struct job *job)
{
    return &job->check[job->checks - 1];
}

const struct job_check *job_check_at(const struct job *job)
{
    return &job->check[job->checks - 1];
}

void job_check_begin(struct job *job, enum reason_check check)
{
    job->safe &= ~(1u << LANGUAGE_ENGINE_OFF);
    job->checks_done |= 1u << check;
    job->proving_for = (int)check;
    job->tries = 0;
    job->reading.n = 0;
    job->count.n = 0;
    job->measured_now = false;
}

void job_check_record(struct job *job, enum reason_check check, const char *what)
{
    if (job->checks == JOB_CHECKS_MAX)
        job->checks--;
    job->check[job->checks++] = (struct job_check){
        .check = check, .what = what, .cured = -1, .at_ms = job->now_ms, .found = "not measured"};
}

void job_check_between(struct job *job, const struct profile_length *low,
                       const struct profile_length *high, bool low_given, bool high_given)
{
    struct job_check *check = job_check_now(job);
    check->has_low = true;
    check->low = low->value;
    check->high = high->value;
    check->low_asked = !low_given;
    check->high_asked = !high_given;
}

/* One visit to the cheap checks is one hands-on block but for the key: whoever asked the bike to be
 * strapped a minute ago need not ask again, but the engine may have been tried in between. Once a
 * proof or another check was in between, it is a new visit, and what was confirmed counts no more.
 */
static void begin(struct job *job, enum reason_check check)
{
    if (job->walk >= 3 && job->block != JOB_CHECKS)
        job_block_begin(job);
    job_check_begin(job, check);
}

static void begin_free_play(struct job *job)
{
    begin(job, REASON_CHECK_FREE_PLAY);
}

static void begin_fluid(struct job *job)
{
    begin(job, REASON_CHECK_FLUID);
    job->level = -1;
    job->condition = -1;
}

static void begin_linkage(struct job *job)
{
    begin(job, REASON_CHECK_LINKAGE);
}

/* ---- a measured check --------------------------------------------------------------------- */

bool job_resolution_unknown(const struct job *job)
{
    return !job->numbers.resolution.known;
}

const char *job_take_resolution(struct job *job, const struct job_answer *answer)
{
    job->numbers.resolution =
        (struct profile_length){.known = true, .value = answer->value.as.length};
    return NULL;
}

double job_resolution_mm(const struct job *job)
{
    return job_resolution_unknown(job) ? 0 : measure_length_mm(job->numbers.resolution.value);
}

/* How well a hand repeats such a reading, before it has been repeated: within a division either way
 * (common practice, no source), taken as rectangular, u = a/sqrt(3) (JCGM 100, 4.3.7), and believed
 * to a quarter of itself, which is worth eight degrees of freedom (JCGM 100, G.4.2). */
static const double HAND_DOF = 8;

static double hand_s_mm(const struct job *job)
{
    return job_resolution_mm(job) / sqrt(3);
}

/* Judges all readings since the last setting against the limits. */
void job_check_judge(struct job *job, struct job_check *check)
{
    double mm[MEASURE_READINGS_MAX];
    for (size_t i = 0; i < job->reading.n; i++)
        mm[i] = measure_length_mm(job->reading.value[i]);
    struct measure_estimate estimate;
    if (!measure_estimate_of(mm, job->reading.n, job_resolution_mm(job), hand_s_mm(job), HAND_DOF,
                             &estimate, NULL))
        return;
    double low = check->has_low ? measure_length_mm(check->low) : 0;
    check->measured = true;
    check->value = job->reading.value[job->reading.n - 1];
    check->limit = measure_limit_check(estimate.mean_mm, estimate.u_mm, estimate.dof, low,
                                       measure_length_mm(check->high));
    snprintf(check->found, sizeof check->found, "%s", measure_limit_name(check->limit.verdict));
    check->at_ms = job->now_ms;
}

void job_check_judge_count(struct job *job, struct job_check *check, double division,
                           double scatter)
{
    struct measure_estimate estimate; /* its figures are in the check's unit, whatever their name */
    if (!measure_estimate_of(job->count.value, job->count.n, division, scatter, HAND_DOF, &estimate,
                             NULL))
        return;
    check->counted = true;
    check->number = job->count.value[job->count.n - 1];
    check->limit = measure_limit_check(estimate.mean_mm, estimate.u_mm, estimate.dof,
                                       check->number_low, check->number_high);
    snprintf(check->found, sizeof check->found, "%s", measure_limit_name(check->limit.verdict));
    check->at_ms = job->now_ms;
}

const char *job_take_length_reading(struct job *job, const struct job_answer *answer)
{
    if (job->reading.n == MEASURE_READINGS_MAX)
        job->reading.n = 0;
    job->reading.value[job->reading.n++] = answer->value.as.length;
    return NULL;
}

bool job_check_verdict_is(const struct job *job, enum measure_limit_verdict verdict)
{
    return job_check_at(job)->limit.verdict == verdict;
}

static bool tries_left(const struct job *job)
{
    return job->tries < JOB_TRIES_MAX;
}

static void fill_count(const struct job *job, const struct job_check *check, struct job_effect *say)
{
    const double number[] = {check->number, check->number_low, check->number_high};
    static const char *const name[] = {"value", "low", "high"};
    for (int i = 0; i < 3; i++) {
        char words[JOB_ARGUMENT];
        double value = number[i];
        if (strcmp(check->unit, "rpm") == 0)
            snprintf(words, sizeof words, "%.0f", value);
        else if (strcmp(check->unit, "turns") == 0)
            language_amount_words(value, LANGUAGE_TURNS, words, sizeof words);
        else if (job->volume_unit == LANGUAGE_FLUID_OUNCES)
            language_amount_words(value / LANGUAGE_FLUID_OUNCE_ML, LANGUAGE_FLUID_OUNCES, words,
                                  sizeof words);
        else
            language_amount_words(value, LANGUAGE_MILLILITRES, words, sizeof words);
        job_effect_argument(say, name[i], "%s", words);
    }
}

void job_check_fill(const struct job *job, struct job_effect *say)
{
    const struct job_check *check = job_check_at(job);
    if (check->unit != NULL) {
        fill_count(job, check, say);
    } else {
        job_effect_length(say, "value", check->value);
        job_effect_length(say, "low", check->low);
        job_effect_length(say, "high", check->high);
    }
    const char *low = "", *high = "";
    for (size_t i = 0; i < say->arguments; i++) {
        if (strcmp(say->argument[i].name, "low") == 0)
            low = say->argument[i].value;
        if (strcmp(say->argument[i].name, "high") == 0)
            high = say->argument[i].value;
    }
    bool below = check->limit.side < 0 && (check->has_low || check->counted);
    job_effect_argument(say, "limit", below ? "at least %s" : "at most %s", below ? low : high);
    job_effect_argument(say, "percent", "%.0f", 100 * check->limit.probability_in);
}

static void fill_verdict(const struct job *job, struct job_effect *say, const char *in,
                         const char *out, const char *cannot_tell)
{
    job_check_fill(job, say);
    job_effect_key(say, job_check_verdict_is(job, MEASURE_IN)    ? in
                        : job_check_verdict_is(job, MEASURE_OUT) ? out
                                                                 : cannot_tell);
}

/* What the first verdict of a check says is evidence; later ones only say that it was set well. */
static bool is_first_verdict(const struct job *job)
{
    return !job_check_at(job)->put_right;
}

/* ---- lever free play ---------------------------------------------------------------------- */

static bool free_play_low_unknown(const struct job *job)
{
    return !job->numbers.free_play_low.known;
}

static bool free_play_high_unknown(const struct job *job)
{
    return !job->numbers.free_play_high.known;
}

static struct profile_length known(const struct job_answer *answer)
{
    return (struct profile_length){.known = true, .value = answer->value.as.length};
}

static const char *take_free_play_low(struct job *job, const struct job_answer *answer)
{
    if (job->numbers.free_play_high.known &&
        measure_length_compare(answer->value.as.length, job->numbers.free_play_high.value) > 0)
        return "checks.low_above_high";
    job->numbers.free_play_low = known(answer);
    return NULL;
}

static const char *take_free_play_high(struct job *job, const struct job_answer *answer)
{
    if (job->numbers.free_play_low.known &&
        measure_length_compare(answer->value.as.length, job->numbers.free_play_low.value) < 0)
        return "checks.low_above_high";
    job->numbers.free_play_high = known(answer);
    return NULL;
}

static void record_free_play(struct job *job)
{
    job_check_record(job, REASON_CHECK_FREE_PLAY, "lever free play");
    job_check_between(job, &job->numbers.free_play_low, &job->numbers.free_play_high,
                      job->profile.free_play_low.known, job->profile.free_play_high.known);
}

static void judge_free_play(struct job *job)
{
    struct job_check *check = job_check_now(job);
    job_check_judge(job, check);
    job->tries++;
    if (check->limit.verdict == MEASURE_IN_OR_OUT || !is_first_verdict(job))
        return;
    job_observe(job, REASON_FREE_PLAY_IS,
                check->limit.verdict == MEASURE_IN ? REASON_WITHIN
                : check->limit.side < 0            ? REASON_BELOW
                                                   : REASON_ABOVE);
}

static void fill_free_play_verdict(const struct job *job, struct job_effect *say)
{
    fill_verdict(job, say, "checks.free_play_in", "checks.free_play_out",
                 "checks.free_play_cannot_tell");
}

static const char *after_free_play(const struct job *job)
{
    if (job_check_verdict_is(job, MEASURE_IN))
        return job_check_at(job)->put_right ? "checks.try" : "checks.next";
    if (!tries_left(job))
        return "checks.left_out";
    return job_check_verdict_is(job, MEASURE_OUT) ? "checks.free_play_set"
                                                  : "checks.free_play_reading";
}

const char *job_take_set(struct job *job, const struct job_answer *answer)
{
    (void)answer;
    job_check_now(job)->put_right = true;
    job->reading.n = 0; /* what was measured before it was set says nothing about it now */
    job->count.n = 0;
    return NULL;
}

/* ---- primary fluid ------------------------------------------------------------------------ */

static const char *take_level(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_CHOICE)
        return NULL;
    job->level = answer->value.as.choice;
    job_observe(job, REASON_FLUID_LEVEL, job->level);
    return NULL;
}

static const char *take_condition(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_CHOICE)
        return NULL;
    job->condition = answer->value.as.choice;
    job_observe(job, REASON_FLUID_CONDITION, job->condition);
    return NULL;
}

static bool fluid_is_bad(const struct job *job)
{
    return job->level == REASON_LEVEL_LOW || job->level == REASON_LEVEL_HIGH ||
           job->condition > REASON_CLEAN;
}

static bool fluid_was_seen(const struct job *job)
{
    return job->level >= 0 || job->condition >= 0;
}

static void record_fluid(struct job *job)
{
    static const char *const levels[] = {"level low", "level right", "level high"};
    static const char *const conditions[] = {"clean", "dark", "milky", "wrong fluid"};
    if (!fluid_was_seen(job))
        return;
    job_check_record(job, REASON_CHECK_FLUID, "primary fluid");
    struct job_check *check = job_check_now(job);
    struct text found = text_into(check->found, sizeof check->found);
    if (job->level >= 0)
        text_add(&found, levels[job->level]);
    if (job->condition >= 0)
        text_addf(&found, "%s%s", found.used > 0 ? ", " : "", conditions[job->condition]);
}

static void fill_fluid(const struct job *job, struct job_effect *say)
{
    const char *fluid = job->numbers.fluid;
    job_effect_argument(say, "fluid", "%s",
                        fluid[0] != '\0' ? fluid : "the fluid the manual names");
}

static void fill_fluid_verdict(const struct job *job, struct job_effect *say)
{
    if (!fluid_was_seen(job)) {
        job_effect_key(say, "checks.fluid_not_seen");
        return;
    }
    job_effect_key(say, fluid_is_bad(job) ? "checks.fluid_bad" : "checks.fluid_good");
    job_effect_argument(say, "found", "%s", job_check_at(job)->found);
    fill_fluid(job, say);
}

static const char *after_fluid(const struct job *job)
{
    return fluid_is_bad(job) ? NULL : "checks.next";
}

/* ---- shift linkage ------------------------------------------------------------------------ */

static bool linkage_limit_unknown(const struct job *job)
{
    return !job->numbers.linkage_play_high.known;
}

static const char *take_linkage_limit(struct job *job, const struct job_answer *answer)
{
    job->numbers.linkage_play_high = known(answer);
    return NULL;
}

static void record_linkage(struct job *job)
{
    job_check_record(job, REASON_CHECK_LINKAGE, "shift linkage play");
    struct job_check *check = job_check_now(job);
    check->low = measure_length_of(0, 1, job->numbers.linkage_play_high.value.unit);
    check->has_low = false;
    check->high = job->numbers.linkage_play_high.value;
    check->high_asked = !job->profile.linkage_play_high.known;
}

static void judge_linkage(struct job *job)
{
    struct job_check *check = job_check_now(job);
    job_check_judge(job, check);
    job->tries++;
    if (check->limit.verdict != MEASURE_IN_OR_OUT && is_first_verdict(job))
        job_observe(job, REASON_LINKAGE_PLAY,
                    check->limit.verdict == MEASURE_IN ? REASON_PLAY_IN : REASON_PLAY_OUT);
}

static void fill_linkage_verdict(const struct job *job, struct job_effect *say)
{
    fill_verdict(job, say, "checks.linkage_in", "checks.linkage_out", "checks.linkage_cannot_tell");
}

static const char *after_linkage_play(const struct job *job)
{
    if (!job_check_verdict_is(job, MEASURE_IN) && tries_left(job))
        return job_check_verdict_is(job, MEASURE_OUT) ? "checks.linkage_set"
                                                      : "checks.linkage_reading";
    return job_check_at(job)->put_right ? "checks.linkage_fasteners" : NULL;
}

static const char *take_fasteners(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type != LANGUAGE_CHOICE)
        return NULL;
    job_observe(job, REASON_FASTENERS, answer->value.as.choice);
    job_check_record(job, REASON_CHECK_LINKAGE, "shift linkage fasteners");
    text_copy(job_check_now(job)->found, sizeof job_check_now(job)->found,
              answer->value.as.choice == REASON_TIGHT ? "tight" : "loose");
    return NULL;
}

static bool fasteners_are_loose(const struct job *job)
{
    return job->reason.seen[REASON_FASTENERS] == REASON_LOOSE;
}

static const char *after_fasteners(const struct job *job)
{
    return fasteners_are_loose(job) ? "checks.linkage_tighten" : "checks.linkage_done";
}

static bool anything_put_right(const struct job *job)
{
    for (size_t i = job->checks; i-- > 0 && (int)job->check[i].check == job->proving_for;)
        if (job->check[i].put_right)
            return true;
    return false;
}

const char *job_check_prove_or_go_on(const struct job *job)
{
    return anything_put_right(job) ? "checks.try" : "checks.next";
}

/* ---- proving at once ---------------------------------------------------------------------- */

static const char *prove_or_go_on(const struct job *job)
{
    return job->says_fixed ? "proving.intro" : "checks.next";
}

static const char *take_try(struct job *job, const struct job_answer *answer)
{
    job->says_fixed = answer->value.type == LANGUAGE_YESNO && answer->value.as.yes;
    return NULL;
}

static bool not_strapped(const struct job *job)
{
    return !job_is_safe(job, LANGUAGE_BIKE_STRAPPED);
}

static bool may_be_hot(const struct job *job)
{
    return !job_is_safe(job, LANGUAGE_PARTS_COOL);
}

#define CAUTION(name, said, sentence, condition)                                                   \
    {                                                                                              \
        .id = "checks." name, .phase = JOB_CHECKS, .says = sentence, .grammar = "caution",         \
        .phrase = said, .caution = true, .wanted = condition, .remind_ms = UNHURRIED_MS,           \
        .leave = "checks.next"                                                                     \
    }
#define DISTANCE(name, least, most)                                                                \
    .id = "checks." name, .phase = JOB_CHECKS, .grammar = "distance", .low_mm = least,             \
    .high_mm = most, .remind_ms = UNHURRIED_MS, .leave = "checks.next"

static const struct job_question rows[] = {
    {.id = "checks.next",
     .phase = JOB_CHECKS,
     .silent = true,
     .arrive = forget_proof,
     .branch = next_check,
     .leads = JOB_LEADS("checks.free_play", "checks.fluid", "checks.linkage", "centring.intro",
                        "deep.next", "closing.outcome")},

    {.id = "checks.free_play", .phase = JOB_CHECKS, .arrive = begin_free_play},
    CAUTION("free_play_strapped", LANGUAGE_BIKE_STRAPPED, "caution.strapped", not_strapped),
    CAUTION("free_play_engine_off", LANGUAGE_ENGINE_OFF, "caution.engine_off", NULL),
    {DISTANCE("free_play_rule", 0.001, 5), .wanted = job_resolution_unknown,
     .take = job_take_resolution},
    {DISTANCE("free_play_low", 0, 50), .wanted = free_play_low_unknown, .take = take_free_play_low},
    {DISTANCE("free_play_high", 0.1, 50), .wanted = free_play_high_unknown,
     .take = take_free_play_high},
    {.id = "checks.free_play_measure",
     .phase = JOB_CHECKS,
     .silent = true,
     .arrive = record_free_play},
    {DISTANCE("free_play_reading", 0, 80), .needs = JOB_AT_THE_BIKE,
     .take = job_take_length_reading},
    {.id = "checks.free_play_verdict",
     .phase = JOB_CHECKS,
     .arrive = judge_free_play,
     .fill = fill_free_play_verdict,
     .branch = after_free_play,
     .leads = JOB_LEADS("checks.try", "checks.next", "checks.left_out", "checks.free_play_set",
                        "checks.free_play_reading")},
    {.id = "checks.free_play_set",
     .needs = JOB_AT_THE_BIKE,
     .phase = JOB_CHECKS,
     .grammar = "caution",
     .phrase = LANGUAGE_SET_TO_MANUAL,
     .remind_ms = UNHURRIED_MS,
     .fill = job_check_fill,
     .take = job_take_set,
     .next = "checks.free_play_reading",
     .leave = "checks.next"},

    {.id = "checks.fluid", .phase = JOB_CHECKS, .arrive = begin_fluid},
    CAUTION("fluid_strapped", LANGUAGE_BIKE_STRAPPED, "caution.strapped", not_strapped),
    CAUTION("fluid_engine_off", LANGUAGE_ENGINE_OFF, "caution.engine_off", NULL),
    CAUTION("fluid_hot_parts", LANGUAGE_PARTS_COOL, "caution.hot_parts", may_be_hot),
    {.id = "checks.fluid_level",
     .needs = JOB_AT_HOT_PARTS,
     .phase = JOB_CHECKS,
     .grammar = "level",
     .remind_ms = UNHURRIED_MS,
     .take = take_level,
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "checks.fluid_condition",
     .needs = JOB_AT_HOT_PARTS,
     .phase = JOB_CHECKS,
     .grammar = "condition",
     .remind_ms = UNHURRIED_MS,
     .fill = fill_fluid,
     .take = take_condition,
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "checks.fluid_verdict",
     .phase = JOB_CHECKS,
     .arrive = record_fluid,
     .fill = fill_fluid_verdict,
     .branch = after_fluid,
     .leads = JOB_LEADS("checks.next")},
    {.id = "checks.fluid_set",
     .needs = JOB_AT_HOT_PARTS,
     .phase = JOB_CHECKS,
     .grammar = "caution",
     .phrase = LANGUAGE_SET_TO_MANUAL,
     .remind_ms = UNHURRIED_MS,
     .fill = fill_fluid,
     .take = job_take_set,
     .next = "checks.try",
     .leave = "checks.next"},

    {.id = "checks.linkage", .phase = JOB_CHECKS, .arrive = begin_linkage},
    CAUTION("linkage_strapped", LANGUAGE_BIKE_STRAPPED, "caution.strapped", not_strapped),
    CAUTION("linkage_engine_off", LANGUAGE_ENGINE_OFF, "caution.engine_off", NULL),
    CAUTION("linkage_hot_parts", LANGUAGE_PARTS_COOL, "caution.hot_parts", may_be_hot),
    {DISTANCE("linkage_rule", 0.001, 5), .wanted = job_resolution_unknown,
     .take = job_take_resolution},
    {DISTANCE("linkage_limit", 0.1, 50), .wanted = linkage_limit_unknown,
     .take = take_linkage_limit},
    {.id = "checks.linkage_measure", .phase = JOB_CHECKS, .silent = true, .arrive = record_linkage},
    {DISTANCE("linkage_reading", 0, 80), .needs = JOB_AT_HOT_PARTS,
     .take = job_take_length_reading},
    {.id = "checks.linkage_verdict",
     .phase = JOB_CHECKS,
     .arrive = judge_linkage,
     .fill = fill_linkage_verdict,
     .branch = after_linkage_play,
     .leads = JOB_LEADS("checks.linkage_set", "checks.linkage_reading", "checks.linkage_fasteners"),
     .next = "checks.linkage_fasteners"},
    {.id = "checks.linkage_set",
     .needs = JOB_AT_HOT_PARTS,
     .phase = JOB_CHECKS,
     .grammar = "caution",
     .phrase = LANGUAGE_SET_TO_MANUAL,
     .remind_ms = UNHURRIED_MS,
     .fill = job_check_fill,
     .take = job_take_set,
     .next = "checks.linkage_reading",
     .leave = "checks.linkage_fasteners"},
    {.id = "checks.linkage_fasteners",
     .needs = JOB_AT_HOT_PARTS,
     .phase = JOB_CHECKS,
     .grammar = "fasteners",
     .remind_ms = UNHURRIED_MS,
     .take = take_fasteners,
     .branch = after_fasteners,
     .leads = JOB_LEADS("checks.linkage_tighten", "checks.linkage_done"),
     .dont_know = true,
     .leave = JOB_ON},
    {.id = "checks.linkage_tighten",
     .needs = JOB_AT_HOT_PARTS,
     .phase = JOB_CHECKS,
     .grammar = "caution",
     .phrase = LANGUAGE_SET_TO_MANUAL,
     .remind_ms = UNHURRIED_MS,
     .take = job_take_set,
     .leave = "checks.next"},
    {.id = "checks.linkage_done",
     .phase = JOB_CHECKS,
     .silent = true,
     .branch = job_check_prove_or_go_on,
     .leads = JOB_LEADS("checks.try", "checks.next")},

    {.id = "checks.left_out",
     .phase = JOB_CHECKS,
     .fill = job_check_fill,
     .branch = job_check_prove_or_go_on,
     .leads = JOB_LEADS("checks.try", "checks.next")},
    {.id = "checks.try",
     .phase = JOB_CHECKS,
     .grammar = "yesno",
     .take = take_try,
     .branch = prove_or_go_on,
     .leads = JOB_LEADS("proving.intro", "checks.next"),
     .dont_know = true,
     .leave = JOB_ON},
};
const struct job_questions job_checks_questions = {rows, sizeof rows / sizeof rows[0]};
