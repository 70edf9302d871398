/* The simulated technician: see technician.h. */
#include "technician.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"
#include "language/language.h"

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
    profile->gear = number_known(3);
    profile->free_play_low = length_known(2, 1, MEASURE_MM);
    profile->free_play_high = length_known(4, 1, MEASURE_MM);
    profile->linkage_play_high = length_known(2, 1, MEASURE_MM);
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

static void answer_phrase(struct technician *technician, const struct job *job,
                          struct job_event *event)
{
    enum language_phrase phrase = job_phrase(job);
    if (phrase == LANGUAGE_LOCK_NUT_LOOSE && !round_is_safe(job))
        technician->hands_in_unsafe++;
    if (strcmp(job_question_id(job), "checks.free_play_set") == 0)
        technician->bike.free_play_mm = 3;
    if (strcmp(job_question_id(job), "checks.linkage_set") == 0)
        technician->bike.linkage_play_mm = 0.5;
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
    else
        say_length(technician, bike->linkage_play_mm, event);
}

static void answer_yesno(struct technician *technician, const struct job *job,
                         struct job_event *event)
{
    const struct bike *bike = &technician->bike;
    const char *id = job_question_id(job);
    bool neutral_is_easy = bike->pawl_is_cause && job->centring == JOB_CENTRED;
    if (strncmp(id, "proving.", 8) == 0 && !is_question(job, "proving.run"))
        say_yesno(neutral_is_easy, event);
    else if (strstr(id, ".finer") != NULL)
        say_yesno(bike->rule_mm > 0.2, event);
    else if (is_question(job, "closing.fixed"))
        say_yesno(neutral_is_easy, event);
    else if (is_question(job, "closing.cause") || is_question(job, "proving.run"))
        say_yesno(true, event);
    else
        say_yesno(dice_chance(&technician->dice, 0.5), event);
}

static void answer_choice(struct technician *technician, const struct job *job,
                          struct job_event *event)
{
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
    case LANGUAGE_CHOICES:
        value.as.choices = (unsigned)dice_below(&technician->dice, 8);
        break;
    case LANGUAGE_NUMBER:
        value.as.number = strcmp(grammar, "item") == 0 ? 1 : dice_below(&technician->dice, 99999);
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
    static const char *const asides[] = {"say again",     "help", "where are we", "keypad",
                                         "purple monkey", "",     "forty inches", "not yet"};
    struct dice *dice = &technician->dice;
    if (!dice_chance(dice, technician->distracted) || job->mode == JOB_STOPPED)
        return false;
    int which = dice_below(dice, 10);
    if (which < 8) {
        text_copy(event->words, sizeof event->words, asides[which]);
        event->verdict = which == 5 ? JOB_REJECTED : JOB_ACCEPTED;
        return true;
    }
    if (job->mode != JOB_ASKING)
        return false;
    if (which == 8) {
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
