/* What the screen is told of the job: see show.h. */
#include "station/show.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"
#include "keypad/keypad.h"
#include "language/language.h"

/* ---- sentences ---------------------------------------------------------------------------- */

/* Said beside a question, which stays open as it was. */
static bool is_aside(const char *key)
{
    static const char *const asides[] = {"use_keys", "keys", "keypad", "waiting"};
    for (size_t i = 0; i < sizeof asides / sizeof asides[0]; i++)
        if (strcmp(asides[i], key) == 0)
            return true;
    return strncmp(key, "help.", 5) == 0 || strncmp(key, "ear.", 4) == 0;
}

void station_show_said(const struct screen *screen, struct station_shown *shown, const char *key,
                       const char *sentence, bool caution)
{
    screen_said(screen, sentence, caution);
    if (is_aside(key))
        return;
    text_copy(shown->prompt, sizeof shown->prompt, sentence);
    shown->prompt_is_new = true;
    shown->caution = caution;
}

void station_show_asked(const struct screen *screen, struct station_shown *shown, const char *id,
                        const char *grammar, enum language_phrase phrase)
{
    char keys[PROMPT_VALUE];
    keypad_keys(grammar, phrase, keys, sizeof keys);
    screen_asked(screen, &(struct screen_question){
                             .id = id,
                             .prompt = shown->prompt_is_new ? shown->prompt : NULL,
                             .grammar = grammar,
                             .keys = keys,
                             .caution = shown->caution,
                         });
    shown->prompt_is_new = false;
}

/* ---- what was heard ----------------------------------------------------------------------- */

static enum screen_source source_of(enum job_source source)
{
    switch (source) {
    case JOB_BY_EAR:
        return SCREEN_BY_EAR;
    case JOB_BY_PAD:
        return SCREEN_BY_PAD;
    case JOB_BY_TYPING:
    case JOB_BY_STATION:
        break;
    }
    return SCREEN_BY_TYPING;
}

static enum screen_verdict verdict_of(enum job_verdict verdict)
{
    switch (verdict) {
    case JOB_ACCEPTED:
        return SCREEN_ACCEPTED;
    case JOB_UNSURE:
        return SCREEN_UNSURE;
    case JOB_REJECTED:
        break;
    }
    return SCREEN_REJECTED;
}

void station_show_heard(const struct screen *screen, const struct job_event *event)
{
    screen_heard(screen, &(struct screen_heard){
                             .words = event->words,
                             .keys = event->keys,
                             .source = source_of(event->source),
                             .verdict = verdict_of(event->verdict),
                             .score = event->score,
                         });
}

/* ---- the job ------------------------------------------------------------------------------ */

enum { NUMBER = 64 };

/* "5/16 in" as number and unit, and what it is in millimetres, or in inches. */
static void show_length(const struct screen *screen, struct measure_length length)
{
    char number[NUMBER], also[NUMBER] = "";
    measure_length_print(length, number, sizeof number);
    char *space = strrchr(number, ' ');
    const char *unit = space != NULL ? space + 1 : "";
    if (space != NULL)
        *space = '\0';
    double mm = measure_length_mm(length);
    if (length.unit == MEASURE_MM)
        snprintf(also, sizeof also, "%.3f in", mm / 25.4);
    else
        snprintf(also, sizeof also, "%.2f mm", mm);
    screen_value(screen, &(struct screen_value){
                             .what = "taken", .number = number, .unit = unit, .also = also});
}

static void show_amount(const struct screen *screen, struct language_amount amount)
{
    static const char *const units[] = {"turns", "ml", "fl oz"};
    char number[NUMBER];
    int64_t whole = amount.num / amount.den, rest = amount.num % amount.den;
    if (amount.unit != LANGUAGE_TURNS)
        snprintf(number, sizeof number, "%g", (double)amount.num / (double)amount.den);
    else if (rest == 0)
        snprintf(number, sizeof number, "%lld", (long long)whole);
    else if (whole == 0)
        snprintf(number, sizeof number, "%lld/%lld", (long long)rest, (long long)amount.den);
    else
        snprintf(number, sizeof number, "%lld-%lld/%lld", (long long)whole, (long long)rest,
                 (long long)amount.den);
    screen_value(screen,
                 &(struct screen_value){
                     .what = "taken", .number = number, .unit = units[amount.unit], .also = ""});
}

static void show_turn(const struct screen *screen, struct language_turn turn)
{
    char number[NUMBER];
    if (turn.as_told || turn.not_turned)
        return;
    snprintf(number, sizeof number, "%d/%d", turn.numerator, turn.denominator);
    screen_value(
        screen, &(struct screen_value){.what = "taken",
                                       .number = number,
                                       .unit = "turn",
                                       .also = turn.clockwise ? "clockwise" : "counter-clockwise"});
}

static void show_value(const struct screen *screen, const struct job_answer *answer)
{
    const struct language_value *value = &answer->value;
    char number[NUMBER];
    switch (value->type) {
    case LANGUAGE_DISTANCE:
        show_length(screen, value->as.length);
        return;
    case LANGUAGE_AMOUNT:
        show_amount(screen, value->as.amount);
        return;
    case LANGUAGE_TURN:
        show_turn(screen, value->as.turn);
        return;
    case LANGUAGE_NUMBER: {
        const struct job_question *row = job_question_at(answer->question);
        bool rpm = row->grammar != NULL && strcmp(row->grammar, "rpm") == 0;
        snprintf(number, sizeof number, "%lld", (long long)value->as.number);
        screen_value(screen,
                     &(struct screen_value){
                         .what = "taken", .number = number, .unit = rpm ? "rpm" : "", .also = ""});
        return;
    }
    case LANGUAGE_DIGITS:
        screen_value(screen,
                     &(struct screen_value){
                         .what = "taken", .number = value->as.digits, .unit = "", .also = ""});
        return;
    case LANGUAGE_COMMAND:
    case LANGUAGE_DONT_KNOW:
    case LANGUAGE_SKIP:
    case LANGUAGE_YESNO:
    case LANGUAGE_CHOICE:
    case LANGUAGE_CHOICES:
    case LANGUAGE_PHRASE:
        return;
    }
}

/* The turn that is asked for: the number not to be mistaken. */
static void show_advice(const struct screen *screen, const struct job *job)
{
    const struct measure_turn_advice *advice =
        job->rounds > 0 ? &job->round[job->rounds - 1].advice : NULL;
    char number[NUMBER];
    if (advice == NULL || strcmp(job_question_id(job), "adjusting.turn") != 0 ||
        advice->denominator == 0)
        return;
    snprintf(number, sizeof number, "%d/%d", advice->numerator, advice->denominator);
    screen_value(screen, &(struct screen_value){.what = "TURN",
                                                .number = number,
                                                .unit = "turn",
                                                .also = advice->clockwise ? "clockwise"
                                                                          : "counter-clockwise"});
}

static void in_millimetres(const struct job_readings *readings, double *mm)
{
    for (size_t i = 0; i < readings->n; i++)
        mm[i] = measure_length_mm(readings->value[i]);
}

/* The round being measured; while that has no readings, the one before it. */
static void show_balance(const struct screen *screen, const struct job *job)
{
    double forward_mm[MEASURE_READINGS_MAX], back_mm[MEASURE_READINGS_MAX];
    int at = job->rounds - 1;
    if (at > 0 && job->round[at].forward.n == 0 && job->round[at].back.n == 0)
        at--;
    if (at < 0 || (job->phase != JOB_CENTRING && job->phase != JOB_ADJUSTING)) {
        screen_balance(screen, NULL);
        return;
    }
    const struct job_round *round = &job->round[at];
    const struct profile_length *tolerance = &job->numbers.tolerance;
    in_millimetres(&round->forward, forward_mm);
    in_millimetres(&round->back, back_mm);
    screen_balance(screen,
                   &(struct screen_balance){
                       .balance = round->balanced ? &round->balance : NULL,
                       .forward_mm = forward_mm,
                       .forward_n = round->forward.n,
                       .back_mm = back_mm,
                       .back_n = round->back.n,
                       .tolerance_mm = tolerance->known ? measure_length_mm(tolerance->value) : 0,
                   });
}

/* The adjusting round at hand, from 1; 0 outside them. One begins with its advice and ends with the
 * measurement that follows it. */
static int round_of(const struct job *job)
{
    if (job->phase != JOB_ADJUSTING || job->rounds == 0)
        return 0;
    return job->round[job->rounds - 1].advised ? job->rounds : job->rounds - 1;
}

void station_show_job(const struct screen *screen, struct station_shown *shown,
                      const struct job *job)
{
    screen_progress(screen, &(struct screen_progress){
                                .phase = job_phase_name(job->phase),
                                .order = job->order,
                                .round = round_of(job),
                                .answers = job->answers,
                            });
    if (job->answers > shown->answers)
        show_value(screen, &job->answer[job->answers - 1]);
    shown->answers = job->answers;
    show_advice(screen, job);
    show_balance(screen, job);
}
