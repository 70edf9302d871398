/*
 * The dear checks, when neither the cheap ones nor the pawl were it: walked in the order of
 * reason_next_check, each offered with its minutes and its chance, and done, left out, or handed
 * over. Each is a hands-on block of its own with its cautions, the manual's limit (from the
 * profile, or asked for), a verdict, and, when it was out and put right, a proof.
 */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"

enum { UNHURRIED_MS = 5 * 60 * 1000 };

/* How finely such things are read, and how well a hand repeats them (common practice, no source).
 */
static const double RPM_DIVISION = 50, RPM_SCATTER = 15;
static const double TURNS_DIVISION = 1.0 / 16, TURNS_SCATTER = 1.0 / 32;
static const double ML_DIVISION = 10, ML_SCATTER = 5;

/* ---- which check next --------------------------------------------------------------------- */

/* What does not belong to such a clutch. That a hydraulic one has no adjuster inside is common
 * practice, no source. */
static unsigned not_here(const struct job *job)
{
    unsigned none = 0;
    if (job->reason.seen[REASON_CLUTCH_KIND] == REASON_CLUTCH_BY_CABLE)
        none |= 1u << REASON_CHECK_HYDRAULIC;
    if (job->reason.seen[REASON_CLUTCH_KIND] == REASON_CLUTCH_BY_HYDRAULICS)
        none |= 1u << REASON_CHECK_CABLE | 1u << REASON_CHECK_INTERNAL_ADJUSTER;
    return none;
}

unsigned job_checks_settled(const struct job *job)
{
    return (job->checks_done & ~job->left_out) | not_here(job);
}

static const unsigned walked_before = 1u << REASON_CHECK_FREE_PLAY | 1u << REASON_CHECK_FLUID |
                                      1u << REASON_CHECK_LINKAGE | 1u << REASON_CHECK_PAWL;

static bool kind_unknown(const struct job *job)
{
    return job->reason.seen[REASON_CLUTCH_KIND] < 0 && !job->kind_asked &&
           job->centring != JOB_HOOK_BAD;
}

static const char *take_kind(struct job *job, const struct job_answer *answer)
{
    job->kind_asked = true;
    if (answer->value.type == LANGUAGE_CHOICE)
        job_observe(job, REASON_CLUTCH_KIND, answer->value.as.choice);
    return NULL;
}

/* A hook that was seen to be bad is named already: nothing is opened to look for another cause. */
static void choose(struct job *job)
{
    job->course = 0;
    job->offered =
        job->centring == JOB_HOOK_BAD
            ? -1
            : reason_next_check(&job->reason, job->checks_done | walked_before | not_here(job));
}

static const char *offer_or_hand_over(const struct job *job)
{
    return job->offered < 0 || job->offered == REASON_CHECK_GEARBOX ? "deep.hand_over" : NULL;
}

static void fill_offer(const struct job *job, struct job_effect *say)
{
    enum reason_check check = (enum reason_check)job->offered;
    job_effect_argument(say, "minutes", "%.0f", reason_check_minutes(check));
    job_effect_argument(say, "check", "%s", reason_check_name(check));
    job_effect_argument(say, "percent", "%.0f", 100 * reason_check_chance(&job->reason, check));
}

static const char *take_offer(struct job *job, const struct job_answer *answer)
{
    job->course = answer->value.type == LANGUAGE_CHOICE ? answer->value.as.choice : 1;
    if (job->course == 1) {
        job->checks_done |= 1u << job->offered;
        job->left_out |= 1u << job->offered;
    }
    return NULL;
}

static const char *after_offer(const struct job *job)
{
    static const char *const blocks[REASON_CHECK_COUNT] = {
        [REASON_CHECK_IDLE] = "deep.idle",
        [REASON_CHECK_HYDRAULIC] = "deep.hydraulic",
        [REASON_CHECK_CABLE] = "deep.cable",
        [REASON_CHECK_INTERNAL_ADJUSTER] = "deep.adjuster",
        [REASON_CHECK_FLUID_CHANGE] = "deep.change",
        [REASON_CHECK_PACK] = "deep.pack",
    };
    const char *block = job->course == 0 ? blocks[job->offered] : NULL;
    if (job->course == 2)
        return "deep.hand_over";
    return block != NULL ? block : "checks.next";
}

/* ---- what the checks share ---------------------------------------------------------------- */

static void begin(struct job *job, enum reason_check check)
{
    job_block_begin(job);
    job_check_begin(job, check);
}

static bool is_out(const struct job *job)
{
    return job->measured_now && job_check_verdict_is(job, MEASURE_OUT);
}

static bool tries_left(const struct job *job)
{
    return job->tries < JOB_TRIES_MAX;
}

static const char *take_count(struct job *job, const struct job_answer *answer)
{
    const struct language_value *value = &answer->value;
    if (job->count.n == MEASURE_READINGS_MAX)
        job->count.n = 0;
    double number = value->type == LANGUAGE_AMOUNT ? language_amount_value(value->as.amount)
                                                   : (double)value->as.number;
    job->count.value[job->count.n++] = number;
    if (value->type == LANGUAGE_AMOUNT && value->as.amount.unit != LANGUAGE_TURNS)
        job->volume_unit = value->as.amount.unit;
    return NULL;
}

/* A limit given by the technician, held against the other one if that is known. */
static const char *take_number(struct job *job, const struct job_answer *answer,
                               struct profile_number *to, const struct profile_number *other,
                               bool is_low)
{
    const struct language_value *value = &answer->value;
    double number = value->type == LANGUAGE_AMOUNT ? language_amount_value(value->as.amount)
                                                   : (double)value->as.number;
    if (other->known && (is_low ? number > other->value : number < other->value))
        return "checks.low_above_high";
    if (value->type == LANGUAGE_AMOUNT && value->as.amount.unit != LANGUAGE_TURNS)
        job->volume_unit = value->as.amount.unit;
    *to = (struct profile_number){.known = true, .value = number};
    return NULL;
}

static const char *take_length(const struct job_answer *answer, struct profile_length *to,
                               const struct profile_length *other, bool is_low)
{
    struct measure_length length = answer->value.as.length;
    if (other->known) {
        int side = measure_length_compare(length, other->value);
        if (is_low ? side > 0 : side < 0)
            return "checks.low_above_high";
    }
    *to = (struct profile_length){.known = true, .value = length};
    return NULL;
}

#define LIMIT_PAIR(low, high)                                                                      \
    static bool low##_unknown(const struct job *job)                                               \
    {                                                                                              \
        return !job->numbers.low.known;                                                            \
    }                                                                                              \
    static bool high##_unknown(const struct job *job)                                              \
    {                                                                                              \
        return !job->numbers.high.known;                                                           \
    }
#define NUMBERS(low, high)                                                                         \
    LIMIT_PAIR(low, high)                                                                          \
    static const char *take_##low(struct job *job, const struct job_answer *answer)                \
    {                                                                                              \
        return take_number(job, answer, &job->numbers.low, &job->numbers.high, true);              \
    }                                                                                              \
    static const char *take_##high(struct job *job, const struct job_answer *answer)               \
    {                                                                                              \
        return take_number(job, answer, &job->numbers.high, &job->numbers.low, false);             \
    }
#define LENGTHS(low, high)                                                                         \
    LIMIT_PAIR(low, high)                                                                          \
    static const char *take_##low(struct job *job, const struct job_answer *answer)                \
    {                                                                                              \
        return take_length(answer, &job->numbers.low, &job->numbers.high, true);                   \
    }                                                                                              \
    static const char *take_##high(struct job *job, const struct job_answer *answer)               \
    {                                                                                              \
        return take_length(answer, &job->numbers.high, &job->numbers.low, false);                  \
    }
NUMBERS(idle_low, idle_high)
NUMBERS(adjuster_low, adjuster_high)
NUMBERS(fluid_low, fluid_high)
LENGTHS(travel_low, travel_high)

static void record_count(struct job *job, enum reason_check check, const char *what,
                         const char *unit, const struct profile_number *low,
                         const struct profile_number *high)
{
    job_check_record(job, check, what);
    struct job_check *now = job_check_now(job);
    now->unit = unit;
    now->number_low = low->value;
    now->number_high = high->value;
}

static void judge_count(struct job *job, double division, double scatter)
{
    struct job_check *check = job_check_now(job);
    job_check_judge_count(job, check, division, scatter);
    job->measured_now = true;
    job->tries++;
}

/* What the first verdict says is evidence; later ones only say that it was set well. */
static void observe_side(struct job *job, enum reason_evidence evidence)
{
    const struct job_check *check = job_check_at(job);
    if (check->limit.verdict == MEASURE_IN_OR_OUT || check->put_right)
        return;
    job_observe(job, evidence,
                check->limit.verdict == MEASURE_IN ? REASON_WITHIN
                : check->limit.side < 0            ? REASON_BELOW
                                                   : REASON_ABOVE);
}

static void fill_verdict(const struct job *job, struct job_effect *say)
{
    static const char *const keys[] = {
        [MEASURE_IN] = "deep.in", [MEASURE_OUT] = "deep.out", [MEASURE_IN_OR_OUT] = "deep.again"};
    job_check_fill(job, say);
    bool last = !tries_left(job) && !job_check_verdict_is(job, MEASURE_IN);
    job_effect_key(say, last ? "checks.left_out" : keys[job_check_at(job)->limit.verdict]);
}

/* After a verdict: measured again, set, or done. */
static const char *after_verdict(const struct job *job, const char *again, const char *set)
{
    if (job_check_verdict_is(job, MEASURE_IN) || !tries_left(job))
        return NULL;
    return job_check_verdict_is(job, MEASURE_OUT) ? set : again;
}

static bool any_limit_asked(const struct profile_number *low, const struct profile_number *high)
{
    return !low->known || !high->known;
}

/* ---- idle speed: the one check with the engine running ------------------------------------- */

static void begin_idle(struct job *job)
{
    begin(job, REASON_CHECK_IDLE);
}

static void record_idle(struct job *job)
{
    record_count(job, REASON_CHECK_IDLE, "idle speed", "rpm", &job->numbers.idle_low,
                 &job->numbers.idle_high);
    job_check_now(job)->low_asked = job_check_now(job)->high_asked =
        any_limit_asked(&job->profile.idle_low, &job->profile.idle_high);
}

/* What no engine idles at is a slip of the tongue. */
static const char *take_rpm(struct job *job, const struct job_answer *answer)
{
    if (answer->value.as.number < 200 || answer->value.as.number > 6000)
        return "deep.no_such_idle";
    return take_count(job, answer);
}

static const char *take_rpm_low(struct job *job, const struct job_answer *answer)
{
    if (answer->value.as.number < 300 || answer->value.as.number > 4000)
        return "deep.no_such_idle";
    return take_idle_low(job, answer);
}

static const char *take_rpm_high(struct job *job, const struct job_answer *answer)
{
    if (answer->value.as.number < 300 || answer->value.as.number > 4000)
        return "deep.no_such_idle";
    return take_idle_high(job, answer);
}

static void judge_idle(struct job *job)
{
    judge_count(job, RPM_DIVISION, RPM_SCATTER);
    observe_side(job, REASON_IDLE_SPEED);
}

static const char *after_idle(const struct job *job)
{
    const char *next = after_verdict(job, "deep.idle_reading", "deep.idle_set");
    return next != NULL ? next : "deep.idle_off";
}

/* ---- hydraulics --------------------------------------------------------------------------- */

static void begin_hydraulic(struct job *job)
{
    begin(job, REASON_CHECK_HYDRAULIC);
    job->feel = -1;
}

static const char *const feels[] = {"firm", "spongy", "sinks while held"};

static struct job_check *find_record(struct job *job, const char *what)
{
    for (size_t i = job->checks; i-- > 0;)
        if (strcmp(job->check[i].what, what) == 0)
            return &job->check[i];
    return NULL;
}

static const char lever_feel[] = "clutch lever feel", lever_travel[] = "clutch lever travel";

static const char *take_feel(struct job *job, const struct job_answer *answer)
{
    job->tries++;
    if (answer->value.type != LANGUAGE_CHOICE)
        return NULL;
    job->feel = answer->value.as.choice;
    if (job->tries == 1) { /* as found */
        job_observe(job, REASON_HYDRAULIC_FEEL, job->feel);
        job_check_record(job, REASON_CHECK_HYDRAULIC, lever_feel);
    }
    struct job_check *check = find_record(job, lever_feel);
    if (check != NULL)
        text_copy(check->found, sizeof check->found, feels[job->feel]);
    return NULL;
}

/* The limits are asked for once, not after every bleeding. */
static bool wants_rule(const struct job *job)
{
    return job->tries == 1 && job_resolution_unknown(job);
}

static bool wants_travel_low(const struct job *job)
{
    return job->tries == 1 && travel_low_unknown(job);
}

static bool wants_travel_high(const struct job *job)
{
    return job->tries == 1 && travel_high_unknown(job);
}

static bool travel_cannot_be_judged(const struct job *job)
{
    return job_resolution_unknown(job) || travel_low_unknown(job) || travel_high_unknown(job);
}

static void record_travel(struct job *job)
{
    if (find_record(job, lever_travel) != NULL)
        return;
    job_check_record(job, REASON_CHECK_HYDRAULIC, lever_travel);
    job_check_between(job, &job->numbers.travel_low, &job->numbers.travel_high,
                      job->profile.travel_low.known, job->profile.travel_high.known);
}

/* Travel that is lost before the clutch lets go is free play by another name. */
static void judge_travel(struct job *job)
{
    job_check_judge(job, job_check_now(job));
    job->measured_now = true;
    if (job->reason.seen[REASON_FREE_PLAY_IS] < 0)
        observe_side(job, REASON_FREE_PLAY_IS);
}

static bool hydraulics_are_bad(const struct job *job)
{
    return job->feel == REASON_SPONGY || job->feel == REASON_SINKS || is_out(job);
}

static const char *after_travel(const struct job *job)
{
    return hydraulics_are_bad(job) ? NULL : "deep.done";
}

static bool bled_enough(const struct job *job)
{
    return !tries_left(job);
}

static const char *take_bled(struct job *job, const struct job_answer *answer)
{
    job->measured_now = false;
    return job_take_set(job, answer);
}

static void fill_travel_verdict(const struct job *job, struct job_effect *say)
{
    job_check_fill(job, say);
    job_effect_key(say, job_check_verdict_is(job, MEASURE_IN)    ? "deep.in"
                        : job_check_verdict_is(job, MEASURE_OUT) ? "deep.out"
                        : job->reading.n < JOB_TRIES_MAX         ? "deep.again"
                                                                 : "deep.near");
}

static const char *after_travel_verdict(const struct job *job)
{
    bool again = job_check_verdict_is(job, MEASURE_IN_OR_OUT) && job->reading.n < JOB_TRIES_MAX;
    return again ? "deep.travel_reading" : NULL;
}

/* ---- cable -------------------------------------------------------------------------------- */

static void begin_cable(struct job *job)
{
    begin(job, REASON_CHECK_CABLE);
}

static const char *take_cable(struct job *job, const struct job_answer *answer)
{
    static const char *const found[] = {"looks good", "frayed or stiff", "badly routed"};
    if (answer->value.type != LANGUAGE_CHOICE)
        return NULL;
    job_observe(job, REASON_CABLE_LOOK, answer->value.as.choice);
    job_check_record(job, REASON_CHECK_CABLE, "clutch cable");
    text_copy(job_check_now(job)->found, sizeof job_check_now(job)->found,
              found[answer->value.as.choice]);
    return NULL;
}

static const char *after_cable(const struct job *job)
{
    return job->reason.seen[REASON_CABLE_LOOK] > REASON_CABLE_GOOD ? NULL : "deep.done";
}

/* ---- internal adjuster -------------------------------------------------------------------- */

static void begin_adjuster(struct job *job)
{
    begin(job, REASON_CHECK_INTERNAL_ADJUSTER);
}

static void open_access(struct job *job)
{
    job->access_is_open = job->access_is_open || job_is_safe(job, LANGUAGE_ACCESS_OPEN);
}

static void record_adjuster(struct job *job)
{
    open_access(job);
    record_count(job, REASON_CHECK_INTERNAL_ADJUSTER, "internal clutch adjuster, out from contact",
                 "turns", &job->numbers.adjuster_low, &job->numbers.adjuster_high);
    job_check_now(job)->low_asked = job_check_now(job)->high_asked =
        any_limit_asked(&job->profile.adjuster_low, &job->profile.adjuster_high);
}

static void judge_adjuster(struct job *job)
{
    judge_count(job, TURNS_DIVISION, TURNS_SCATTER);
    observe_side(job, REASON_ADJUSTER_IS); /* too few, right, too many: below, within, above */
}

static const char *after_adjuster(const struct job *job)
{
    const char *next = after_verdict(job, "deep.adjuster_reading", "deep.adjuster_set");
    return next != NULL ? next : "deep.adjuster_back";
}

/* Whatever came of it, the lock nut is loose by then, and the cable slack. */
static bool adjuster_is_put_back(const struct job *job)
{
    return job->walk >= 8;
}

/* ---- fluid change ------------------------------------------------------------------------- */

static void begin_change(struct job *job)
{
    begin(job, REASON_CHECK_FLUID_CHANGE);
}

static void record_change(struct job *job)
{
    record_count(job, REASON_CHECK_FLUID_CHANGE, "primary fluid drained", "ml",
                 &job->numbers.fluid_low, &job->numbers.fluid_high);
    job_check_now(job)->low_asked = job_check_now(job)->high_asked =
        any_limit_asked(&job->profile.fluid_low, &job->profile.fluid_high);
}

/* The dipstick's word comes first: what drains is the second best witness of the level. */
static void judge_change(struct job *job)
{
    judge_count(job, ML_DIVISION, ML_SCATTER);
    const struct job_check *check = job_check_at(job);
    if (check->limit.verdict == MEASURE_IN_OR_OUT || job->level >= 0)
        return;
    job->level = check->limit.verdict == MEASURE_IN ? REASON_LEVEL_RIGHT
                 : check->limit.side < 0            ? REASON_LEVEL_LOW
                                                    : REASON_LEVEL_HIGH;
    job_observe(job, REASON_FLUID_LEVEL, job->level);
}

static void fill_change_verdict(const struct job *job, struct job_effect *say)
{
    job_check_fill(job, say);
    job_effect_key(say, job_check_verdict_is(job, MEASURE_IN)    ? "deep.in"
                        : job_check_verdict_is(job, MEASURE_OUT) ? "deep.out"
                                                                 : "deep.near");
}

static bool quantity_unknown(const struct job *job)
{
    return !job->numbers.fluid_low.known || !job->numbers.fluid_high.known;
}

static void record_unmeasured_change(struct job *job)
{
    if (job->checks == 0 || job_check_at(job)->check != REASON_CHECK_FLUID_CHANGE)
        job_check_record(job, REASON_CHECK_FLUID_CHANGE, "primary fluid change");
}

static void fill_fluid(const struct job *job, struct job_effect *say)
{
    const char *fluid = job->numbers.fluid;
    job_effect_argument(say, "fluid", "%s",
                        fluid[0] != '\0' ? fluid : "the fluid the manual names");
}

/* ---- the clutch pack ---------------------------------------------------------------------- */

LENGTHS(plate_low, plate_high)
LENGTHS(stack_low, stack_high)

static bool plates_unknown(const struct job *job)
{
    return !job->numbers.plates.known;
}

static bool warp_limit_unknown(const struct job *job)
{
    return !job->numbers.warp_high.known;
}

static bool warp_limit_known(const struct job *job)
{
    return job->numbers.warp_high.known;
}

static void begin_pack(struct job *job)
{
    begin(job, REASON_CHECK_PACK);
    job->plates = 0;
    job->has_whole = false;
    job->has_warp = false;
}

static const char *take_plates(struct job *job, const struct job_answer *answer)
{
    job->numbers.plates =
        (struct profile_number){.known = true, .value = (double)answer->value.as.number};
    return NULL;
}

static const char *take_caliper(struct job *job, const struct job_answer *answer)
{
    job->caliper = answer->value.as.length;
    return NULL;
}

static const char *take_warp_limit(struct job *job, const struct job_answer *answer)
{
    if (answer->value.type == LANGUAGE_DISTANCE)
        job->numbers.warp_high =
            (struct profile_length){.known = true, .value = answer->value.as.length};
    return NULL;
}

static size_t plates_in_all(const struct job *job)
{
    double n = job->numbers.plates.value;
    return n >= 1 && n <= MEASURE_PLATES_MAX ? (size_t)n : 1;
}

static void record_pack(struct job *job)
{
    open_access(job);
    job_check_record(job, REASON_CHECK_PACK, "clutch pack");
    job_check_between(job, &job->numbers.stack_low, &job->numbers.stack_high,
                      job->profile.stack_low.known, job->profile.stack_high.known);
}

static void fill_plate(const struct job *job, struct job_effect *say)
{
    job_effect_argument(say, "n", "%zu", job->plates + 1);
    job_effect_argument(say, "count", "%zu", plates_in_all(job));
}

static const char *take_plate(struct job *job, const struct job_answer *answer)
{
    if (job->plates < MEASURE_PLATES_MAX)
        job->plate[job->plates++] = answer->value.as.length;
    return NULL;
}

static const char *next_plate(const struct job *job)
{
    return job->plates < plates_in_all(job) ? "deep.pack_plate" : NULL;
}

static const char *take_whole(struct job *job, const struct job_answer *answer)
{
    job->has_whole = answer->value.type == LANGUAGE_DISTANCE;
    if (job->has_whole)
        job->whole = answer->value.as.length;
    return NULL;
}

static const char *take_warp(struct job *job, const struct job_answer *answer)
{
    job->has_warp = answer->value.type == LANGUAGE_DISTANCE;
    if (job->has_warp)
        job->warp = answer->value.as.length;
    return NULL;
}

/* A feeler gauge shows the warp between one leaf and the next, a few hundredths apart: rectangular
 * (JCGM 100, 4.3.7). The step is common practice, no source. */
static bool is_warped(const struct job *job)
{
    static const double leaf_mm = 0.03;
    if (!job->has_warp || !job->numbers.warp_high.known)
        return false;
    struct measure_limit limit =
        measure_limit_check(measure_length_mm(job->warp), leaf_mm / sqrt(12), HUGE_VAL, -HUGE_VAL,
                            measure_length_mm(job->numbers.warp_high.value));
    return limit.verdict == MEASURE_OUT;
}

/* A caliper's zero is off by up to a division, and a hand repeats a plate to within one: both
 * rectangular (JCGM 100, 4.3.7; the widths are common practice, no source). */
static bool measure_pack(const struct job *job, struct measure_pack *pack)
{
    struct measure_plate plate[MEASURE_PLATES_MAX];
    double division = measure_length_mm(job->caliper);
    for (size_t i = 0; i < job->plates; i++)
        plate[i] = (struct measure_plate){
            .thickness_mm = measure_length_mm(job->plate[i]),
            .low_mm = measure_length_mm(job->numbers.plate_low.value),
            .high_mm = measure_length_mm(job->numbers.plate_high.value),
        };
    struct measure_pack_input input = {
        .plate = plate,
        .n = job->plates,
        .whole_mm = job->has_whole ? measure_length_mm(job->whole) : 0,
        .low_mm = measure_length_mm(job->numbers.stack_low.value),
        .high_mm = measure_length_mm(job->numbers.stack_high.value),
        .resolution_mm = division,
        .zero_u_mm = division / sqrt(12),
        .scatter_mm = division / sqrt(12),
        .scatter_dof = HUGE_VAL,
    };
    struct fault fault;
    return measure_pack_of(&input, pack, &fault);
}

static void observe_pack(struct job *job, enum measure_pack_sign sign)
{
    bool plates = sign == MEASURE_PACK_PLATES || sign == MEASURE_PACK_THIN || is_warped(job);
    if (plates)
        job_observe(job, REASON_PACK_IS, REASON_PACK_PLATES_BAD);
    else if (sign != MEASURE_PACK_CANNOT_TELL)
        job_observe(job, REASON_PACK_IS,
                    sign == MEASURE_PACK_SPRING_PLATE ? REASON_PACK_STACK_OVER : REASON_PACK_GOOD);
}

static void judge_pack(struct job *job)
{
    struct measure_pack pack;
    job->pack_sign = MEASURE_PACK_CANNOT_TELL;
    if (!measure_pack(job, &pack))
        return;
    job->pack_sign = pack.sign;
    struct job_check *check = job_check_now(job);
    check->measured = true;
    check->value = job->has_whole ? job->whole
                                  : measure_length_of(llround(pack.sum_mm * 100), 100, MEASURE_MM);
    check->limit = pack.stack;
    struct text found = text_into(check->found, sizeof check->found);
    text_addf(&found, "%s%s", measure_pack_sign_name(pack.sign),
              is_warped(job) ? ", a plate is warped" : "");
    observe_pack(job, pack.sign);
}

static void fill_pack(const struct job *job, struct job_effect *say)
{
    static const char *const keys[] = {
        [MEASURE_PACK_RIGHT] = "deep.pack_right",
        [MEASURE_PACK_THIN] = "deep.pack_thin",
        [MEASURE_PACK_PLATES] = "deep.pack_plates",
        [MEASURE_PACK_SPRING_PLATE] = "deep.pack_spring_plate",
        [MEASURE_PACK_CANNOT_TELL] = "deep.pack_cannot_tell",
    };
    job_check_fill(job, say);
    bool only_warped = is_warped(job) && job->pack_sign != MEASURE_PACK_PLATES;
    job_effect_key(say, only_warped ? "deep.pack_warped" : keys[job->pack_sign]);
    if (only_warped)
        job_effect_length(say, "warp", job->warp);
}

static const char *after_pack(const struct job *job)
{
    return job->reason.seen[REASON_PACK_IS] > REASON_PACK_GOOD ? NULL : "deep.done";
}

/* ---- handing over ------------------------------------------------------------------------- */

static void fill_hand_over(const struct job *job, struct job_effect *say)
{
    job_fill_ranking(job, say);
    job_effect_key(say, job->centring == JOB_HOOK_BAD          ? "deep.over_hook"
                        : job->course == 2                     ? "deep.over_wish"
                        : job->offered == REASON_CHECK_GEARBOX ? "deep.over_gearbox"
                                                               : "deep.over_none");
}

/* ---- the rows ----------------------------------------------------------------------------- */

#define ROW(name) .id = "deep." name, .phase = JOB_DEEP
#define ASKED(name, words) ROW(name), .grammar = words, .remind_ms = UNHURRIED_MS
#define CAUTION(name, said, sentence)                                                              \
    ASKED(name, "caution"), .says = sentence, .phrase = said, .caution = true
#define CAUTION_OF(check, name, said)                                                              \
    {                                                                                              \
        CAUTION(check "_" name, said, "caution." name), .leave = "checks.next"                     \
    }
#define DONE(name) ASKED(name, "caution"), .phrase = LANGUAGE_SET_TO_MANUAL
#define DISTANCE(name, least, most) ASKED(name, "distance"), .low_mm = least, .high_mm = most

static const struct job_question rows[] = {
    {ROW("next"), .silent = true},
    {ASKED("kind", "clutch"), .wanted = kind_unknown, .take = take_kind, .dont_know = true,
     .leave = JOB_ON},
    {ROW("choose"), .silent = true, .arrive = choose, .branch = offer_or_hand_over,
     .leads = JOB_LEADS("deep.hand_over")},
    {ASKED("offer", "course"), .fill = fill_offer, .take = take_offer, .branch = after_offer,
     .leads = JOB_LEADS("checks.next", "deep.hand_over", "deep.idle", "deep.hydraulic",
                        "deep.cable", "deep.adjuster", "deep.change", "deep.pack"),
     .dont_know = true, .leave = JOB_ON},

    {ROW("idle"), .arrive = begin_idle},
    {CAUTION("idle_cover", LANGUAGE_COVER_BACK, "caution.cover_back"), .wanted = job_access_is_open,
     .take = job_take_cover, .leave = "checks.next"},
    CAUTION_OF("idle", "strapped", LANGUAGE_BIKE_STRAPPED),
    {ASKED("idle_low", "rpm"), .wanted = idle_low_unknown, .take = take_rpm_low,
     .leave = "checks.next"},
    {ASKED("idle_high", "rpm"), .wanted = idle_high_unknown, .take = take_rpm_high,
     .leave = "checks.next"},
    CAUTION_OF("idle", "wheel_clear", LANGUAGE_WHEEL_CLEAR),
    CAUTION_OF("idle", "exhaust", LANGUAGE_EXHAUST_LED_AWAY),
    CAUTION_OF("idle", "moving_parts", LANGUAGE_HANDS_CLEAR),
    {ROW("idle_measure"), .silent = true, .arrive = record_idle},
    {ASKED("idle_reading", "rpm"), .needs = JOB_ENGINE_RUNS, .take = take_rpm,
     .leave = "deep.idle_off"},
    {ROW("idle_verdict"), .arrive = judge_idle, .fill = fill_verdict, .branch = after_idle,
     .leads = JOB_LEADS("deep.idle_reading", "deep.idle_set", "deep.idle_off")},
    {DONE("idle_set"), .needs = JOB_ENGINE_RUNS, .fill = job_check_fill, .take = job_take_set,
     .next = "deep.idle_reading", .leave = "deep.idle_off"},
    {CAUTION("idle_off", LANGUAGE_ENGINE_OFF, "caution.engine_off"), .next = "deep.done"},

    {ROW("cable"), .arrive = begin_cable},
    CAUTION_OF("cable", "strapped", LANGUAGE_BIKE_STRAPPED),
    CAUTION_OF("cable", "engine_off", LANGUAGE_ENGINE_OFF),
    CAUTION_OF("cable", "hot_parts", LANGUAGE_PARTS_COOL),
    {ASKED("cable_look", "cable"), .needs = JOB_AT_HOT_PARTS, .take = take_cable,
     .branch = after_cable, .leads = JOB_LEADS("deep.done"), .dont_know = true, .leave = JOB_ON},
    {DONE("cable_set"), .needs = JOB_AT_HOT_PARTS, .take = job_take_set, .next = "deep.done",
     .leave = "checks.next"},

    {ROW("hydraulic"), .arrive = begin_hydraulic},
    CAUTION_OF("hydraulic", "strapped", LANGUAGE_BIKE_STRAPPED),
    CAUTION_OF("hydraulic", "engine_off", LANGUAGE_ENGINE_OFF),
    {ASKED("hydraulic_feel", "feel"), .needs = JOB_AT_THE_BIKE, .take = take_feel,
     .dont_know = true, .leave = JOB_ON},
    {DISTANCE("hydraulic_rule", 0.001, 5), .wanted = wants_rule, .take = job_take_resolution,
     .leave = "deep.hydraulic_felt"},
    {DISTANCE("travel_low", 0, 100), .wanted = wants_travel_low, .take = take_travel_low,
     .leave = "deep.hydraulic_felt"},
    {DISTANCE("travel_high", 0.1, 100), .wanted = wants_travel_high, .take = take_travel_high,
     .leave = "deep.hydraulic_felt"},
    {ROW("travel_unknown"), .silent = true, .wanted = travel_cannot_be_judged,
     .next = "deep.hydraulic_felt"},
    {ROW("travel_measure"), .silent = true, .arrive = record_travel},
    {DISTANCE("travel_reading", 0, 100), .needs = JOB_AT_THE_BIKE, .take = job_take_length_reading,
     .leave = "deep.hydraulic_felt"},
    {ROW("travel_verdict"), .arrive = judge_travel, .fill = fill_travel_verdict,
     .branch = after_travel_verdict, .leads = JOB_LEADS("deep.travel_reading")},
    {ROW("hydraulic_felt"), .silent = true, .branch = after_travel,
     .leads = JOB_LEADS("deep.done")},
    {ROW("hydraulic_seal"), .wanted = bled_enough, .next = "deep.done"},
    CAUTION_OF("hydraulic", "eyes", LANGUAGE_EYES_COVERED),
    {DONE("hydraulic_bleed"), .needs = JOB_AT_THE_BIKE | JOB_BIT(EYES_COVERED), .take = take_bled,
     .next = "deep.hydraulic_feel", .leave = "deep.done"},

    {ROW("adjuster"), .arrive = begin_adjuster},
    CAUTION_OF("adjuster", "strapped", LANGUAGE_BIKE_STRAPPED),
    CAUTION_OF("adjuster", "engine_off", LANGUAGE_ENGINE_OFF),
    CAUTION_OF("adjuster", "hot_parts", LANGUAGE_PARTS_COOL),
    {ASKED("adjuster_low", "turns"), .wanted = adjuster_low_unknown, .take = take_adjuster_low,
     .leave = "checks.next"},
    {ASKED("adjuster_high", "turns"), .wanted = adjuster_high_unknown, .take = take_adjuster_high,
     .leave = "checks.next"},
    CAUTION_OF("adjuster", "access", LANGUAGE_ACCESS_OPEN),
    {ROW("adjuster_measure"), .silent = true, .arrive = record_adjuster},
    {ASKED("adjuster_reading", "turns"), .needs = JOB_AT_HOT_PARTS | JOB_BIT(ACCESS_OPEN),
     .take = take_count, .leave = "deep.adjuster_back"},
    {ROW("adjuster_verdict"), .arrive = judge_adjuster, .fill = fill_verdict,
     .branch = after_adjuster,
     .leads = JOB_LEADS("deep.adjuster_reading", "deep.adjuster_set", "deep.adjuster_back")},
    {DONE("adjuster_set"), .needs = JOB_AT_HOT_PARTS | JOB_BIT(ACCESS_OPEN), .fill = job_check_fill,
     .take = job_take_set, .next = "deep.adjuster_reading", .leave = "deep.adjuster_back"},
    {DONE("adjuster_back"), .wanted = adjuster_is_put_back,
     .needs = JOB_AT_HOT_PARTS | JOB_BIT(ACCESS_OPEN), .next = "deep.done"},
    {ROW("adjuster_end"), .silent = true, .next = "deep.done"},

    {ROW("change"), .arrive = begin_change},
    CAUTION_OF("change", "strapped", LANGUAGE_BIKE_STRAPPED),
    CAUTION_OF("change", "engine_off", LANGUAGE_ENGINE_OFF),
    CAUTION_OF("change", "hot_parts", LANGUAGE_PARTS_COOL),
    {ASKED("change_low", "volume"), .wanted = fluid_low_unknown, .take = take_fluid_low,
     .leave = "deep.change_drain"},
    {ASKED("change_high", "volume"), .wanted = fluid_high_unknown, .take = take_fluid_high,
     .leave = "deep.change_drain"},
    {ROW("change_drain"), .needs = JOB_AT_HOT_PARTS},
    {ROW("change_unknown"), .silent = true, .wanted = quantity_unknown,
     .next = "deep.change_empty"},
    {ROW("change_measure"), .silent = true, .arrive = record_change},
    {ASKED("change_drained", "volume"), .needs = JOB_AT_HOT_PARTS, .take = take_count,
     .leave = "deep.change_empty"},
    {ROW("change_verdict"), .arrive = judge_change, .fill = fill_change_verdict},
    {ROW("change_empty"), .silent = true, .arrive = record_unmeasured_change},
    {DONE("change_fill"), .needs = JOB_AT_HOT_PARTS, .fill = fill_fluid, .take = job_take_set,
     .next = "deep.done"},

    {ROW("pack"), .arrive = begin_pack},
    CAUTION_OF("pack", "strapped", LANGUAGE_BIKE_STRAPPED),
    CAUTION_OF("pack", "engine_off", LANGUAGE_ENGINE_OFF),
    CAUTION_OF("pack", "battery", LANGUAGE_BATTERY_OFF),
    CAUTION_OF("pack", "hot_parts", LANGUAGE_PARTS_COOL),
    {ASKED("pack_count", "count"), .wanted = plates_unknown, .take = take_plates,
     .leave = "checks.next"},
    {DISTANCE("pack_caliper", 0.001, 1), .take = take_caliper, .leave = "checks.next"},
    {DISTANCE("plate_low", 0.3, 25), .wanted = plate_low_unknown, .take = take_plate_low,
     .leave = "checks.next"},
    {DISTANCE("plate_high", 0.3, 25), .wanted = plate_high_unknown, .take = take_plate_high,
     .leave = "checks.next"},
    {DISTANCE("stack_low", 3, 150), .wanted = stack_low_unknown, .take = take_stack_low,
     .leave = "checks.next"},
    {DISTANCE("stack_high", 3, 150), .wanted = stack_high_unknown, .take = take_stack_high,
     .leave = "checks.next"},
    {DISTANCE("warp_high", 0.01, 3), .wanted = warp_limit_unknown, .take = take_warp_limit,
     .leave = JOB_ON},
    CAUTION_OF("pack", "access", LANGUAGE_ACCESS_OPEN),
    {ROW("pack_measure"), .silent = true, .arrive = record_pack},
    {DISTANCE("pack_plate", 0.3, 25), .needs = JOB_AT_THE_PACK, .fill = fill_plate,
     .take = take_plate, .branch = next_plate, .leads = JOB_LEADS("deep.pack_plate"),
     .leave = "deep.done"},
    {DISTANCE("pack_whole", 3, 150), .needs = JOB_AT_THE_PACK, .take = take_whole,
     .dont_know = true, .leave = JOB_ON},
    {DISTANCE("pack_warp", 0, 5), .needs = JOB_AT_THE_PACK, .wanted = warp_limit_known,
     .take = take_warp, .dont_know = true, .leave = JOB_ON},
    {ROW("pack_verdict"), .arrive = judge_pack, .fill = fill_pack, .branch = after_pack,
     .leads = JOB_LEADS("deep.done")},
    {DONE("pack_set"), .needs = JOB_AT_THE_PACK, .take = job_take_set, .next = "deep.done",
     .leave = "deep.done"},

    {ROW("done"), .silent = true, .branch = job_check_prove_or_go_on,
     .leads = JOB_LEADS("checks.try", "checks.next")},
    {ROW("hand_over"), .fill = fill_hand_over, .next = "closing.outcome"},
};
const struct job_questions job_deep_questions = {rows, sizeof rows / sizeof rows[0]};
