/* The simulated technician: see technician.h. */
#include "technician.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"
#include "language/language.h"
#include "reason/table.h"

/* ---- dice: splitmix64 (Steele, Lea and Flood, 2014), from memory -------------------------- */

void dice_seed(struct dice *dice, uint64_t seed)
{
    dice->state = seed;
}

static uint64_t dice_next(struct dice *dice)
{
    uint64_t z = dice->state += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

double dice_uniform(struct dice *dice, double low, double high)
{
    return low + (high - low) * (double)(dice_next(dice) >> 11) / 9007199254740992.0;
}

double dice_normal(struct dice *dice, double sd)
{
    double radius = sqrt(-2 * log(1 - dice_uniform(dice, 0, 1)));
    return sd * radius * cos(dice_uniform(dice, 0, 6.283185307179586));
}

bool dice_chance(struct dice *dice, double probability)
{
    return dice_uniform(dice, 0, 1) < probability;
}

int dice_below(struct dice *dice, int n)
{
    return (int)(dice_next(dice) % (uint64_t)n);
}

/* ---- the bike ----------------------------------------------------------------------------- */

static void make_deep(struct technician *technician, int idle, int adjuster, int pack);

void technician_begin(struct technician *technician, uint64_t seed)
{
    memset(technician, 0, sizeof *technician);
    struct dice *dice = &technician->dice;
    struct bike *bike = &technician->bike;
    dice_seed(dice, seed);
    bike->pawl_is_cause = dice_chance(dice, 0.7);
    bike->offset_mm = bike->pawl_is_cause
                          ? (dice_chance(dice, 0.5) ? 1 : -1) * dice_uniform(dice, 0.8, 3.0)
                          : dice_normal(dice, 0.05);
    bike->half_sum_mm = dice_uniform(dice, 6, 10);
    bike->gain_mm = (dice_chance(dice, 0.5) ? 1 : -1) * dice_uniform(dice, 4, 12);
    bike->lash_turns = dice_uniform(dice, 0, 1.0 / 64);
    bike->lock_nut_mm = dice_uniform(dice, 0, 0.08);
    bike->scatter_mm = dice_uniform(dice, 0.02, 0.12);
    bike->rule_mm = dice_chance(dice, 0.5) ? 25.4 / 64 : 0.1;
    bike->hook_is_bad = dice_chance(dice, 0.05);
    bike->stem_is_stuck = dice_chance(dice, 0.05);
    bike->free_play_mm = dice_uniform(dice, 0, 8);
    bike->level = dice_below(dice, 3);
    bike->condition = dice_below(dice, 4);
    bike->linkage_play_mm = dice_uniform(dice, 0, 5);
    bike->fasteners_loose = dice_chance(dice, 0.2);
    /* dice of their own: what the older parts of a bike are does not hang on these */
    struct dice after = *dice;
    dice_seed(dice, ~seed);
    bike->manual_is_silent = dice_chance(dice, 0.3);
    bike->clutch = (enum profile_clutch)dice_below(dice, 3);
    bike->cable_look = dice_below(dice, 3);
    bike->feel = dice_below(dice, 3);
    make_deep(technician, dice_below(dice, 3), dice_below(dice, 3), dice_below(dice, 3));
    *dice = after;
}

/* ---- what the dear checks find; the limits are those of technician_profile ----------------- */

static void make_pack(struct technician *technician, int pack)
{
    struct dice *dice = &technician->dice;
    struct bike *bike = &technician->bike;
    double sum = 0;
    for (int i = 0; i < 14; i++)
        sum += bike->plate_mm[i] = dice_uniform(dice, 1.9, 2.1);
    bike->warp_mm = dice_uniform(dice, 0, 0.08);
    if (pack == REASON_PACK_PLATES_BAD && dice_chance(dice, 0.5))
        bike->warp_mm = dice_uniform(dice, 0.3, 0.8);
    else if (pack == REASON_PACK_PLATES_BAD)
        bike->plate_mm[dice_below(dice, 14)] = dice_uniform(dice, 1.2, 1.6);
    bike->whole_mm = sum + (pack == REASON_PACK_STACK_OVER ? dice_uniform(dice, 2.5, 4) : 0);
}

/* `at`: 0 below the limits, 1 within, 2 above. */
static double place(struct dice *dice, int at, double low, double high)
{
    double width = high - low;
    return at == 0   ? dice_uniform(dice, fmax(0, low - width), low - width / 2)
           : at == 1 ? dice_uniform(dice, low + width / 4, high - width / 4)
                     : dice_uniform(dice, high + width / 2, high + width);
}

static void make_deep(struct technician *technician, int idle, int adjuster, int pack)
{
    struct dice *dice = &technician->dice;
    struct bike *bike = &technician->bike;
    bike->idle_rpm = (int)place(dice, idle, 900, 1100);
    bike->adjuster_turns = place(dice, adjuster, 0.5, 1);
    bike->drained_ml = place(dice, bike->level, 900, 1000);
    bike->travel_mm = place(dice, bike->feel > 0 ? 2 : 1, 10, 16);
    make_pack(technician, pack);
}

static int draw(struct dice *dice, enum reason_evidence evidence, enum reason_cause cause)
{
    double at = dice_uniform(dice, 0, 1);
    int value = 0;
    while (value + 1 < reason_values(evidence) &&
           (at -= reason_likelihood(evidence, cause, value)) >= 0)
        value++;
    return value;
}

void technician_begin_with(struct technician *technician, uint64_t seed, enum reason_cause truth)
{
    technician_begin(technician, seed);
    struct dice *dice = &technician->dice;
    struct bike *bike = &technician->bike;
    int *rider = bike->rider;
    for (int e = 0; e < REASON_EVIDENCE_COUNT; e++)
        rider[e] = draw(dice, (enum reason_evidence)e, truth);
    bike->has_truth = true;
    bike->truth = truth;
    bike->clutch = rider[REASON_CLUTCH_KIND] == REASON_CLUTCH_BY_CABLE ? PROFILE_CLUTCH_CABLE
                                                                       : PROFILE_CLUTCH_HYDRAULIC;
    bool uneven = rider[REASON_THROWS] == REASON_UNEVEN;
    bike->offset_mm = uneven ? (dice_chance(dice, 0.5) ? 1 : -1) * dice_uniform(dice, 0.8, 3.0)
                             : dice_normal(dice, 0.05);
    bike->pawl_is_cause = truth == REASON_PAWL;
    bike->hook_is_bad = rider[REASON_HOOK_LOOK] != REASON_HOOK_GOOD;
    bike->stem_is_stuck = false;
    bike->free_play_mm = place(dice, rider[REASON_FREE_PLAY_IS], 2, 4);
    bike->level = rider[REASON_FLUID_LEVEL];
    bike->condition = rider[REASON_FLUID_CONDITION];
    bike->linkage_play_mm = rider[REASON_LINKAGE_PLAY] == REASON_PLAY_OUT
                                ? dice_uniform(dice, 3.5, 5)
                                : dice_uniform(dice, 0, 0.8);
    bike->fasteners_loose = rider[REASON_FASTENERS] == REASON_LOOSE;
    bike->cable_look = rider[REASON_CABLE_LOOK];
    bike->feel = rider[REASON_HYDRAULIC_FEEL];
    make_deep(technician, rider[REASON_IDLE_SPEED], rider[REASON_ADJUSTER_IS],
              rider[REASON_PACK_IS]);
}

static struct profile_length length_known(int64_t num, int64_t den, enum measure_unit unit)
{
    return (struct profile_length){.known = true, .value = measure_length_of(num, den, unit)};
}

static struct profile_number number_known(double value)
{
    return (struct profile_number){.known = true, .value = value};
}

void technician_profile(const struct technician *technician, struct profile *profile)
{
    profile_init(profile);
    text_copy(profile->name, sizeof profile->name, "simulated");
    text_copy(profile->title, sizeof profile->title, "simulated bike");
    text_copy(profile->source, sizeof profile->source, "the simulator");
    bool fine = technician->bike.rule_mm < 0.2;
    profile->resolution =
        fine ? length_known(1, 10, MEASURE_MM) : length_known(1, 64, MEASURE_INCH);
    profile->tolerance = fine ? length_known(4, 10, MEASURE_MM) : length_known(1, 32, MEASURE_INCH);
    profile->step_turns = number_known(1.0 / 32);
    profile->increment_turns = number_known(1.0 / 8);
    profile->total_turns = number_known(1);
    profile->rounds = number_known(8);
    profile->gear =
        number_known(technician->bike.level == 2 ? 2 : 3); /* not every manual says third */
    profile->free_play_low = length_known(2, 1, MEASURE_MM);
    profile->free_play_high = length_known(4, 1, MEASURE_MM);
    profile->linkage_play_high = length_known(2, 1, MEASURE_MM);
    profile->clutch = technician->bike.clutch;
    if (technician->bike.manual_is_silent)
        return;
    profile->idle_low = number_known(900);
    profile->idle_high = number_known(1100);
    profile->travel_low = length_known(10, 1, MEASURE_MM);
    profile->travel_high = length_known(16, 1, MEASURE_MM);
    profile->adjuster_low = number_known(0.5);
    profile->adjuster_high = number_known(1);
    profile->fluid_low = number_known(900);
    profile->fluid_high = number_known(1000);
    profile->plates = number_known(14);
    profile->plate_low = length_known(18, 10, MEASURE_MM);
    profile->plate_high = length_known(22, 10, MEASURE_MM);
    profile->stack_low = length_known(26, 1, MEASURE_MM);
    profile->stack_high = length_known(30, 1, MEASURE_MM);
    profile->warp_high = length_known(15, 100, MEASURE_MM);
}

static void turn_stem(struct bike *bike, double turns)
{
    int sense = turns > 0 ? 1 : turns < 0 ? -1 : 0;
    if (sense == 0 || bike->stem_is_stuck)
        return;
    if (sense != bike->last_sense)
        bike->lost_turns = bike->lash_turns;
    bike->last_sense = sense;
    double size = fabs(turns);
    double lost = fmin(size, bike->lost_turns);
    bike->lost_turns -= lost;
    bike->offset_mm += bike->gain_mm * sense * (size - lost);
}

/* ---- answers ------------------------------------------------------------------------------ */

static void say_value(const char *grammar, struct language_value value, struct job_event *event)
{
    if (!language_say(grammar, &value, event->words, sizeof event->words)) {
        fprintf(stderr, "the grammar %s has no words for a value of type %d\n", grammar,
                (int)value.type);
        abort();
    }
}

static void say_yesno(bool yes, struct job_event *event)
{
    say_value("yesno", (struct language_value){.type = LANGUAGE_YESNO, .as.yes = yes}, event);
}

static void say_choice(const char *grammar, int choice, struct job_event *event)
{
    say_value(grammar, (struct language_value){.type = LANGUAGE_CHOICE, .as.choice = choice},
              event);
}

static void say_length(struct technician *technician, double mm, struct job_event *event)
{
    struct bike *bike = &technician->bike;
    double seen = mm + dice_normal(&technician->dice, bike->scatter_mm);
    double read = fmax(0.0, round(seen / bike->rule_mm));
    struct measure_length length = bike->rule_mm < 0.2
                                       ? measure_length_of((int64_t)read, 10, MEASURE_MM)
                                       : measure_length_of((int64_t)read, 64, MEASURE_INCH);
    say_value("distance", (struct language_value){.type = LANGUAGE_DISTANCE, .as.length = length},
              event);
}

static void confirm(struct bike *bike, enum language_phrase phrase)
{
    switch (phrase) {
    case LANGUAGE_LOCK_NUT_LOOSE:
        bike->lock_nut_loose = true;
        break;
    case LANGUAGE_LOCK_NUT_TIGHT:
        bike->lock_nut_loose = false;
        break;
    case LANGUAGE_ACCESS_OPEN:
        bike->access_open = true;
        break;
    case LANGUAGE_COVER_BACK:
        bike->access_open = false;
        break;
    default:
        break;
    }
}

/* Before a hand goes to the stem, every caution must have been confirmed in this round. */
static bool round_is_safe(const struct job *job)
{
    static const char *const needed[] = {"adjusting.strapped", "adjusting.wheel_clear",
                                         "adjusting.engine_off", "adjusting.hot_parts"};
    int round = job->rounds; /* the adjusting rounds count from 1 */
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++) {
        bool found = false;
        for (size_t j = 0; j < job->cautions; j++)
            found = found ||
                    (job->caution[j].round == round && strcmp(job->caution[j].id, needed[i]) == 0);
        if (!found)
            return false;
    }
    return true;
}

/* ---- hands ---------------------------------------------------------------------------------- */

#define BIT(phrase) (1u << LANGUAGE_##phrase)
#define AT_THE_BIKE (BIT(BIKE_STRAPPED) | BIT(ENGINE_OFF))
#define AT_HOT_PARTS (AT_THE_BIKE | BIT(PARTS_COOL))
#define AT_THE_PAWL (AT_HOT_PARTS | BIT(WHEEL_CLEAR) | BIT(ACCESS_OPEN))
#define ENGINE_RUNS                                                                                \
    (BIT(BIKE_STRAPPED) | BIT(WHEEL_CLEAR) | BIT(EXHAUST_LED_AWAY) | BIT(HANDS_CLEAR))

/* What each step needs before a hand goes there, written down once more here. */
static const struct {
    const char *id;
    unsigned needs;
    bool runs; /* the engine runs for it */
} hands_on[] = {
    {"checks.free_play_reading", AT_THE_BIKE, false},
    {"checks.free_play_set", AT_THE_BIKE, false},
    {"checks.fluid_level", AT_HOT_PARTS, false},
    {"checks.fluid_set", AT_HOT_PARTS, false},
    {"checks.linkage_reading", AT_HOT_PARTS, false},
    {"checks.linkage_set", AT_HOT_PARTS, false},
    {"checks.linkage_tighten", AT_HOT_PARTS, false},
    {"centring.hook", AT_THE_PAWL, false},
    {"centring.forward", AT_THE_PAWL, false},
    {"centring.back", AT_THE_PAWL, false},
    {"deep.cable_look", AT_HOT_PARTS, false},
    {"deep.cable_set", AT_HOT_PARTS, false},
    {"deep.hydraulic_feel", AT_THE_BIKE, false},
    {"deep.travel_reading", AT_THE_BIKE, false},
    {"deep.hydraulic_bleed", AT_THE_BIKE | BIT(EYES_COVERED), false},
    {"deep.adjuster_reading", AT_HOT_PARTS | BIT(ACCESS_OPEN), false},
    {"deep.adjuster_set", AT_HOT_PARTS | BIT(ACCESS_OPEN), false},
    {"deep.change_drained", AT_HOT_PARTS, false},
    {"deep.change_fill", AT_HOT_PARTS, false},
    {"deep.pack_plate", AT_HOT_PARTS | BIT(BATTERY_OFF) | BIT(ACCESS_OPEN), false},
    {"deep.pack_whole", AT_HOT_PARTS | BIT(BATTERY_OFF) | BIT(ACCESS_OPEN), false},
    {"deep.pack_warp", AT_HOT_PARTS | BIT(BATTERY_OFF) | BIT(ACCESS_OPEN), false},
    {"deep.pack_set", AT_HOT_PARTS | BIT(BATTERY_OFF) | BIT(ACCESS_OPEN), false},
    {"deep.idle_reading", ENGINE_RUNS, true},
    {"deep.idle_set", ENGINE_RUNS, true},
    {"proving.first_off", AT_THE_BIKE | BIT(WHEEL_CLEAR) | BIT(HANDS_CLEAR), false},
    {"proving.first_running", ENGINE_RUNS, true},
    {"proving.second_running", ENGINE_RUNS, true},
    {"proving.cold", ENGINE_RUNS, true},
    {"proving.hot", ENGINE_RUNS, true},
};

int technician_hands_on_steps(void)
{
    return (int)(sizeof hands_on / sizeof hands_on[0]);
}

/* Both must hold: the job had it confirmed in this hands-on block, and it is so at the bike. */
static void put_hands_in(struct technician *technician, const struct job *job)
{
    struct bike *bike = &technician->bike;
    for (size_t i = 0; i < sizeof hands_on / sizeof hands_on[0]; i++) {
        if (strcmp(job_question_id(job), hands_on[i].id) != 0)
            continue;
        technician->hands_on++;
        technician->hands_on_at |= UINT64_C(1) << i;
        bool safe = true;
        for (int phrase = 1; phrase < LANGUAGE_PHRASE_COUNT; phrase++)
            if ((hands_on[i].needs >> phrase & 1u) != 0)
                safe = safe && job_is_safe(job, (enum language_phrase)phrase);
        safe = safe && (bike->made_safe & hands_on[i].needs) == hands_on[i].needs;
        safe = safe && !(hands_on[i].runs && bike->access_open);
        safe = safe && !(bike->engine_running && !hands_on[i].runs);
        if (!safe)
            fprintf(stderr, "hands in unsafe at %s\n", hands_on[i].id);
        technician->hands_in_unsafe += !safe;
        if (hands_on[i].runs) {
            bike->engine_running = true;
            bike->made_safe &= ~(BIT(ENGINE_OFF) | BIT(PARTS_COOL));
        }
    }
}

/* ---- cures ---------------------------------------------------------------------------------- */

/* What putting each thing right cures, as often as the table says. */
static const struct {
    const char *id;
    enum reason_evidence cured_by;
} cures[] = {
    {"checks.free_play_set", REASON_CURED_BY_FREE_PLAY},
    {"checks.fluid_set", REASON_CURED_BY_FLUID},
    {"checks.linkage_set", REASON_CURED_BY_LINKAGE},
    {"checks.linkage_tighten", REASON_CURED_BY_LINKAGE},
    {"deep.idle_set", REASON_CURED_BY_IDLE},
    {"deep.cable_set", REASON_CURED_BY_CABLE},
    {"deep.hydraulic_bleed", REASON_CURED_BY_HYDRAULIC},
    {"deep.adjuster_set", REASON_CURED_BY_ADJUSTER},
    {"deep.change_fill", REASON_CURED_BY_FLUID_CHANGE},
    {"deep.pack_set", REASON_CURED_BY_PACK},
};

static void put_right(struct technician *technician, const char *id)
{
    struct bike *bike = &technician->bike;
    struct dice *dice = &technician->dice;
    if (strcmp(id, "checks.free_play_set") == 0)
        bike->free_play_mm = 3;
    if (strcmp(id, "checks.linkage_set") == 0)
        bike->linkage_play_mm = 0.5;
    if (strcmp(id, "deep.idle_set") == 0)
        bike->idle_rpm = 1000;
    if (strcmp(id, "deep.adjuster_set") == 0)
        bike->adjuster_turns = 0.75;
    if (strcmp(id, "deep.hydraulic_bleed") == 0) {
        bike->feel = dice_chance(dice, 0.8) ? 0 : bike->feel;
        bike->travel_mm = 13;
    }
    for (size_t i = 0; i < sizeof cures / sizeof cures[0]; i++)
        if (bike->has_truth && strcmp(id, cures[i].id) == 0)
            bike->cured =
                bike->cured ||
                dice_chance(dice, reason_likelihood(cures[i].cured_by, bike->truth, REASON_YES));
}

static void answer_phrase(struct technician *technician, const struct job *job,
                          struct job_event *event)
{
    enum language_phrase phrase = job_phrase(job);
    if (phrase == LANGUAGE_LOCK_NUT_LOOSE && !round_is_safe(job))
        technician->hands_in_unsafe++;
    put_right(technician, job_question_id(job));
    technician->bike.made_safe |= 1u << phrase;
    if (phrase == LANGUAGE_ENGINE_OFF)
        technician->bike.engine_running = false;
    confirm(&technician->bike, phrase);
    if (phrase == LANGUAGE_LOCK_NUT_TIGHT)
        technician->bike.offset_mm += dice_normal(&technician->dice, technician->bike.lock_nut_mm);
    say_value("caution", (struct language_value){.type = LANGUAGE_PHRASE, .as.phrase = phrase},
              event);
}

static void answer_turn(struct technician *technician, const struct job *job,
                        struct job_event *event)
{
    const struct measure_turn_advice *advice = &job->round[job->rounds - 1].advice;
    if (fabs(advice->turns) > job->turn.prior.increment_turns + 1e-12)
        technician->turns_over_increment++;
    if (!round_is_safe(job))
        technician->hands_in_unsafe++;
    /* a hand is not a protractor */
    turn_stem(&technician->bike, advice->turns * (1 + dice_normal(&technician->dice, 0.08)));
    say_value("turn", (struct language_value){.type = LANGUAGE_TURN, .as.turn = {.as_told = true}},
              event);
}

static bool is_question(const struct job *job, const char *id)
{
    return strcmp(job_question_id(job), id) == 0;
}

/* Limits out of the manual, and the pack by caliper, to a hundredth. */
static void answer_caliper(struct technician *technician, const struct job *job,
                           struct job_event *event)
{
    const struct bike *bike = &technician->bike;
    const struct {
        const char *id;
        double mm;
    } values[] = {
        {"deep.travel_low", 10},
        {"deep.travel_high", 16},
        {"deep.pack_caliper", .01},
        {"deep.plate_low", 1.8},
        {"deep.plate_high", 2.2},
        {"deep.stack_low", 26},
        {"deep.stack_high", 30},
        {"deep.warp_high", .15},
        {"deep.pack_whole", bike->whole_mm},
        {"deep.pack_warp", bike->warp_mm},
        {"deep.pack_plate", bike->plate_mm[job->plates % 14]},
    };
    double mm = -1;
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
        if (is_question(job, values[i].id))
            mm = values[i].mm;
    if (mm < 0) {
        fprintf(stderr, "no length for %s\n", job_question_id(job));
        abort();
    }
    say_value(
        "distance",
        (struct language_value){.type = LANGUAGE_DISTANCE,
                                .as.length = measure_length_of(llround(mm * 100), 100, MEASURE_MM)},
        event);
}

static struct language_value amount(int64_t num, int64_t den, enum language_unit unit)
{
    for (int64_t d = den; d > 1; d--)
        if (num % d == 0 && den % d == 0) {
            num /= d;
            den /= d;
        }
    return (struct language_value){.type = LANGUAGE_AMOUNT,
                                   .as.amount = {.num = num, .den = den, .unit = unit}};
}

static void answer_amount(struct technician *technician, const struct job *job,
                          struct job_event *event)
{
    const struct bike *bike = &technician->bike;
    if (is_question(job, "deep.adjuster_low") || is_question(job, "deep.adjuster_high")) {
        say_value("turns", amount(is_question(job, "deep.adjuster_low") ? 1 : 2, 2, LANGUAGE_TURNS),
                  event);
    } else if (is_question(job, "adjusting.increment") || is_question(job, "adjusting.total")) {
        int eighths = is_question(job, "adjusting.total") ? 8 : 1;
        say_value("turns", amount(eighths, 8, LANGUAGE_TURNS), event);
    } else if (is_question(job, "deep.adjuster_reading")) {
        say_value("turns", amount(llround(bike->adjuster_turns * 8), 8, LANGUAGE_TURNS), event);
    } else {
        double ml = is_question(job, "deep.change_low")    ? 900
                    : is_question(job, "deep.change_high") ? 1000
                                                           : bike->drained_ml;
        say_value("volume",
                  bike->rule_mm < 0.2 ? amount(llround(ml), 1, LANGUAGE_MILLILITRES)
                                      : amount(llround(ml / LANGUAGE_FLUID_OUNCE_ML * 10), 10,
                                               LANGUAGE_FLUID_OUNCES),
                  event);
    }
}

static int64_t answer_number(struct technician *technician, const struct job *job)
{
    if (is_question(job, "centring.which_gear"))
        return 3;
    if (is_question(job, "deep.idle_low"))
        return 900;
    if (is_question(job, "deep.idle_high"))
        return 1100;
    if (is_question(job, "deep.idle_reading"))
        return technician->bike.idle_rpm;
    if (is_question(job, "deep.pack_count"))
        return 14;
    if (strcmp(job_grammar(job), "item") == 0)
        return 1;
    return dice_below(&technician->dice, 99999);
}

static void answer_distance(struct technician *technician, const struct job *job,
                            struct job_event *event)
{
    struct bike *bike = &technician->bike;
    if (strstr(job_question_id(job), "finer_rule") != NULL) {
        bike->rule_mm = 0.1;
        say_value("distance",
                  (struct language_value){.type = LANGUAGE_DISTANCE,
                                          .as.length = measure_length_of(1, 10, MEASURE_MM)},
                  event);
    } else if (strstr(job_question_id(job), "forward") != NULL)
        say_length(technician, bike->half_sum_mm + bike->offset_mm, event);
    else if (strstr(job_question_id(job), ".back") != NULL)
        say_length(technician, bike->half_sum_mm - bike->offset_mm, event);
    else if (is_question(job, "checks.free_play_reading"))
        say_length(technician, bike->free_play_mm, event);
    else if (is_question(job, "deep.travel_reading"))
        say_length(technician, bike->travel_mm, event);
    else if (strncmp(job_question_id(job), "deep.", 5) == 0)
        answer_caliper(technician, job, event);
    else
        say_length(technician, bike->linkage_play_mm, event);
}

static void answer_yesno(struct technician *technician, const struct job *job,
                         struct job_event *event)
{
    const struct bike *bike = &technician->bike;
    const char *id = job_question_id(job);
    bool centred = bike->pawl_is_cause && job->centring == JOB_CENTRED;
    bool neutral_is_easy = centred || (bike->has_truth && bike->cured);
    bool rider_knows = bike->has_truth && strncmp(id, "intake.", 7) == 0;
    if (strncmp(id, "proving.", 8) == 0 && !is_question(job, "proving.run"))
        say_yesno(neutral_is_easy, event);
    else if (strstr(id, ".finer") != NULL)
        say_yesno(bike->rule_mm > 0.2, event);
    else if (is_question(job, "closing.fixed"))
        say_yesno(neutral_is_easy, event);
    else if (is_question(job, "closing.cause") || is_question(job, "proving.run"))
        say_yesno(true, event);
    else if (rider_knows)
        say_yesno(bike->rider[is_question(job, "intake.creep") ? REASON_CREEP : REASON_GEARS] == 1,
                  event);
    else
        say_yesno(dice_chance(&technician->dice, bike->has_truth ? 0.9 : 0.5), event);
}

static void answer_choice(struct technician *technician, const struct job *job,
                          struct job_event *event)
{
    static const struct {
        const char *id;
        enum reason_evidence evidence;
    } intake[] = {
        {"intake.complaint", REASON_COMPLAINT}, {"intake.temperature", REASON_TEMPERATURE},
        {"intake.engine", REASON_ENGINE},       {"intake.motion", REASON_MOTION},
        {"intake.onset", REASON_ONSET},
    };
    struct bike *bike = &technician->bike;
    const char *grammar = job_grammar(job);
    int choice = dice_below(&technician->dice, (int)language_choice_count(grammar));
    if (is_question(job, "checks.fluid_level"))
        choice = bike->level;
    else if (is_question(job, "checks.fluid_condition"))
        choice = bike->condition;
    else if (is_question(job, "checks.linkage_fasteners"))
        choice = bike->fasteners_loose ? 1 : 0;
    else if (is_question(job, "centring.hook"))
        choice = bike->hook_is_bad ? 1 : 0;
    else if (is_question(job, "deep.cable_look"))
        choice = bike->cable_look;
    else if (is_question(job, "deep.hydraulic_feel"))
        choice = bike->feel;
    else if (is_question(job, "deep.kind"))
        choice = bike->has_truth ? bike->rider[REASON_CLUTCH_KIND] : choice;
    else if (is_question(job, "deep.offer"))
        choice = bike->has_truth || dice_chance(&technician->dice, 0.7) ? 0 : choice;
    for (size_t i = 0; bike->has_truth && i < sizeof intake / sizeof intake[0]; i++)
        if (is_question(job, intake[i].id))
            choice = bike->rider[intake[i].evidence];
    say_choice(grammar, choice, event);
}

static void answer_question(struct technician *technician, const struct job *job,
                            struct job_event *event)
{
    const char *grammar = job_grammar(job);
    enum language_type type;
    if (!language_grammar_type(grammar, &type)) {
        fprintf(stderr, "no such grammar: %s\n", grammar);
        abort();
    }
    struct language_value value = {.type = type};
    put_hands_in(technician, job);
    switch (type) {
    case LANGUAGE_PHRASE:
        answer_phrase(technician, job, event);
        return;
    case LANGUAGE_TURN:
        answer_turn(technician, job, event);
        return;
    case LANGUAGE_DISTANCE:
        answer_distance(technician, job, event);
        return;
    case LANGUAGE_YESNO:
        answer_yesno(technician, job, event);
        return;
    case LANGUAGE_CHOICE:
        answer_choice(technician, job, event);
        return;
    case LANGUAGE_AMOUNT:
        answer_amount(technician, job, event);
        return;
    case LANGUAGE_CHOICES:
        value.as.choices = (unsigned)dice_below(&technician->dice, 8);
        if (technician->bike.has_truth)
            value.as.choices = (unsigned)(technician->bike.rider[REASON_SERVICED_FLUID] |
                                          technician->bike.rider[REASON_SERVICED_CLUTCH] << 1 |
                                          technician->bike.rider[REASON_SERVICED_LINKAGE] << 2);
        break;
    case LANGUAGE_NUMBER:
        value.as.number = answer_number(technician, job);
        break;
    case LANGUAGE_DIGITS:
        text_copy(value.as.digits, sizeof value.as.digits, "4712");
        break;
    default:
        break;
    }
    say_value(grammar, value, event);
}

/* Something else first: every one of these must leave the job where it was. */
static bool be_distracted(struct technician *technician, const struct job *job,
                          struct job_event *event)
{
    static const char *const asides[] = {
        "why do you think so", "help",         "where are we", "keypad", "",
        "purple monkey",       "forty inches", "say again",    "not yet"};
    struct dice *dice = &technician->dice;
    if (!dice_chance(dice, technician->distracted) || job->mode == JOB_STOPPED)
        return false;
    int which = dice_below(dice, 11);
    if (which < 9) {
        text_copy(event->words, sizeof event->words, asides[which]);
        event->verdict = which == 4 ? JOB_REJECTED : JOB_ACCEPTED;
        return true;
    }
    if (job->mode != JOB_ASKING)
        return false;
    if (which == 9) {
        text_copy(event->words, sizeof event->words, "stop");
        return true;
    }
    return false;
}

void technician_answer(struct technician *technician, const struct job *job,
                       struct job_event *event)
{
    struct dice *dice = &technician->dice;
    memset(event, 0, sizeof *event);
    event->kind = JOB_HEARD;
    event->source = JOB_BY_EAR;
    event->at_ms = job->now_ms + 1000;
    event->verdict = JOB_ACCEPTED;
    event->score = 0.9;
    technician->answers++;
    if (job->mode == JOB_SURE) {
        say_yesno(true, event);
    } else if (job->mode == JOB_WHICH || job->mode == JOB_STOPPED) {
        say_choice(job_grammar(job), 0, event);
    } else if (!be_distracted(technician, job, event)) {
        answer_question(technician, job, event);
        bool phrase = job_phrase(job) != LANGUAGE_NOT_YET;
        bool turn = strcmp(job_grammar(job), "turn") == 0;
        if (!phrase && !turn && dice_chance(dice, technician->distracted / 2))
            event->verdict = JOB_UNSURE;
    }
}
