/* The loop: take an event, commit it, step the job, carry out its effects. */
#include "station/station.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/text.h"
#include "language/language.h"
#include "profile/profile.h"
#include "record/said.h"
#include "station/await.h"
#include "station/beep.h"

int64_t station_now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* ---- saying ------------------------------------------------------------------------------- */

static bool say(struct station *station, const char *key, const char *sentence, int64_t at_ms,
                bool caution, struct fault *fault)
{
    station_show_said(station->screen, &station->shown, key, sentence, caution);
    if (station->transcript != NULL &&
        !transcript_said(station->transcript, at_ms, sentence, caution, fault))
        return false;
    return (station->live == NULL || station_live_say(station->live, sentence, caution, fault)) &&
           station_mouth_say(station->mouth, sentence, fault);
}

/* In the transcript with the time of the event that it answers, so that the journal can make the
 * same lines again. */
static bool say_effect(struct station *station, const struct job_effect *effect, int64_t at_ms,
                       struct fault *fault)
{
    char sentence[PROMPT_SENTENCE];
    return said_effect(station->prompts, station->job, effect, sentence, sizeof sentence, fault) &&
           say(station, effect->key, sentence, at_ms, effect->caution, fault);
}

/* ---- hearing ------------------------------------------------------------------------------ */

bool station_is_interrupted(const struct station *station)
{
    return station->interrupted != NULL && *station->interrupted != 0;
}

/* Waits for what happens next, whatever it is. */
static bool await(struct station *station, const struct station_question *question,
                  struct job_event *event, struct fault *fault)
{
    struct station_question asked = *question;
    memset(event, 0, sizeof *event);
    if (!station_asks(station, &asked, fault))
        return false;
    for (;;) {
        if (station_is_interrupted(station)) {
            event->kind = JOB_HUNG_UP;
            return true;
        }
        event->kind = JOB_HEARD;
        switch (station_next(station, station->job, &asked, event, fault)) {
        case STATION_ANSWER:
            return station_make_way(station, event, asked.grammar, fault);
        case STATION_AGAIN:
        case STATION_WAIT:
            screen_tick(station->screen);
            break;
        case STATION_QUIET:
            if (station->job->reminded) {
                asked.remind_ms = 0; /* once is enough */
                break;
            }
            event->kind = JOB_REMINDED;
            return true;
        case STATION_END:
            event->kind = JOB_HUNG_UP;
            return true;
        case STATION_BROKEN:
            return false;
        }
    }
}

/* ---- the loop ----------------------------------------------------------------------------- */

/* What the effects of one step leave to be done. */
struct pending {
    struct station_question question;
    bool fetch;
    char profile[PROFILE_NAME];
    bool leave;
};

static bool carry_out(struct station *station, const struct job_effects *effects, int64_t at_ms,
                      struct pending *pending, struct fault *fault)
{
    memset(pending, 0, sizeof *pending);
    for (size_t i = 0; i < effects->n; i++) {
        const struct job_effect *effect = &effects->effect[i];
        switch (effect->kind) {
        case JOB_SAY:
            if (!say_effect(station, effect, at_ms, fault))
                return false;
            break;
        case JOB_LISTEN:
            pending->question.grammar = effect->grammar;
            pending->question.phrase = effect->phrase;
            break;
        case JOB_REMIND:
            pending->question.remind_ms = effect->delay_ms;
            break;
        case JOB_FETCH_PROFILE:
            pending->fetch = true;
            text_copy(pending->profile, sizeof pending->profile, effect->argument[0].value);
            break;
        case JOB_TO_PAD:
            break; /* the job knows, and whoever waits asks it: job_listens */
        case JOB_VOICE:
            station_change_voice(station, effect->voice);
            break;
        case JOB_LEAVE:
            pending->leave = true;
            break;
        }
    }
    return true;
}

static void fetch(const struct station *station, const char *name, struct job_event *event)
{
    struct fault fault = {0};
    memset(event, 0, sizeof *event);
    event->kind = JOB_PROFILE_READ;
    event->source = JOB_BY_STATION;
    if (profile_find(name, station->own_profiles, station->shared_profiles, &event->profile,
                     &fault))
        return;
    event->kind = JOB_PROFILE_FAILED;
    text_copy(event->words, sizeof event->words, fault.sentence);
    text_begin_sentence(event->words);
}

/* What a step leads to, worked out before anything is kept and done only when it is. */
struct outcome {
    struct job after;
    struct job_effects effects;
};

static bool commit(struct station *station, const struct job_event *event, struct outcome *outcome,
                   struct fault *fault)
{
    outcome->after = *station->job;
    job_step(&outcome->after, event, &outcome->effects);
    return journal_commit(station->journal, station->number, event, &outcome->after, fault);
}

/* Writes and says what was committed. */
static bool live(struct station *station, const struct job_event *event,
                 const struct outcome *outcome, struct pending *pending, struct fault *fault)
{
    if (event->kind == JOB_HEARD)
        station_show_heard(station->screen, event);
    if (station->transcript != NULL &&
        !transcript_heard(station->transcript, event, job_question_id(station->job),
                          job_grammar(station->job), job_phrase(station->job), fault))
        return false;
    enum audio_tone tone;
    if (station_beep_for(station->job, &outcome->after, event, &tone) &&
        !station_beep(station, tone, fault))
        return false;
    *station->job = outcome->after;
    station_show_job(station->screen, &station->shown, station->job);
    return carry_out(station, &outcome->effects, event->at_ms, pending, fault);
}

/* One event: commits it together with where it leads, then carries out its effects. */
static bool happen(struct station *station, struct job_event *event, struct pending *pending,
                   struct fault *fault)
{
    struct outcome *outcome = calloc(1, sizeof *outcome);
    if (outcome == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: the job is kept, start again.");
    event->at_ms = station_now_ms();
    bool ok =
        commit(station, event, outcome, fault) && live(station, event, outcome, pending, fault);
    free(outcome);
    return ok;
}

static void first_event(const struct station *station, bool resumed, struct job_event *event)
{
    memset(event, 0, sizeof *event);
    event->source = JOB_BY_STATION;
    if (resumed) {
        event->kind = JOB_RESUMED;
        event->walk = JOB_WALK;
        return;
    }
    event->kind = JOB_OPENED;
    event->walk = JOB_WALK;
    if (station->shop != NULL)
        event->shop = *station->shop;
    text_copy(event->bike, sizeof event->bike, station->bike);
    event->has_priors = station->priors != NULL;
    if (event->has_priors)
        memcpy(event->priors, station->priors, sizeof event->priors);
    if (station->only_profile != NULL) {
        event->names_n = 1;
        text_copy(event->names[0], sizeof event->names[0], station->only_profile);
        return;
    }
    event->names_n = profile_names(station->own_profiles, station->shared_profiles, event->names);
}

bool station_run(struct station *station, bool resumed, struct fault *fault)
{
    struct job_event *event = calloc(1, sizeof *event);
    if (event == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: the job is kept, start again.");
    struct pending pending = {0};
    first_event(station, resumed, event);
    bool ok = happen(station, event, &pending, fault);
    while (ok && !pending.leave) {
        if (pending.fetch) {
            fetch(station, pending.profile, event);
        } else {
            station_show_asked(station->screen, &station->shown, job_question_id(station->job),
                               pending.question.grammar, pending.question.phrase);
            ok = await(station, &pending.question, event, fault);
        }
        ok = ok && happen(station, event, &pending, fault);
    }
    free(event);
    screen_finished(station->screen, job_is_closed(station->job));
    if (ok && station->live != NULL && !station_is_interrupted(station))
        station_live_say_out(station->live, false, fault); /* a signal cuts that short, no more */
    return ok;
}

bool station_say(struct station *station, const char *sentence, struct fault *fault)
{
    return say(station, "", sentence, station_now_ms(), false, fault);
}

enum station_got station_ask(struct station *station, const char *sentence,
                             const struct station_question *question, struct job_event *event,
                             struct fault *fault)
{
    struct station_question asked = *question;
    if (!station_say(station, sentence, fault))
        return STATION_BROKEN;
    station_show_asked(station->screen, &station->shown, "", asked.grammar, asked.phrase);
    if (!station_asks(station, &asked, fault))
        return STATION_BROKEN;
    for (;;) {
        memset(event, 0, sizeof *event);
        enum station_got got = station_next(station, NULL, &asked, event, fault);
        if (station_is_interrupted(station))
            return STATION_END;
        if (got == STATION_QUIET && asked.remind_ms > 0) {
            asked.remind_ms = 0; /* once is enough */
            if (!station_say(station, sentence, fault))
                return STATION_BROKEN;
        }
        if (got == STATION_QUIET || got == STATION_AGAIN || got == STATION_WAIT) {
            screen_tick(station->screen);
            continue;
        }
        if (got == STATION_ANSWER && !station_make_way(station, event, asked.grammar, fault))
            return STATION_BROKEN;
        if (got == STATION_ANSWER)
            station_show_heard(station->screen, event);
        return got;
    }
}

int station_choose(struct station *station, const char *key,
                   const struct prompt_argument *arguments, size_t n, const char *grammar,
                   struct fault *fault)
{
    const struct station_question question = {.grammar = grammar, .phrase = LANGUAGE_NOT_YET};
    struct job_event *event = calloc(1, sizeof *event);
    int chosen = event == NULL ? -1 : 0;
    while (event != NULL) {
        char sentence[PROMPT_SENTENCE];
        enum station_got got = STATION_BROKEN;
        if (said_prompt(station->prompts, key, arguments, n, sentence, sizeof sentence, fault))
            got = station_ask(station, sentence, &question, event, fault);
        if (got == STATION_BROKEN)
            chosen = -1;
        if (got != STATION_ANSWER)
            break;
        struct language_value value;
        if (event->verdict == JOB_ACCEPTED &&
            language_parse(grammar, event->words, &value, NULL) == LANGUAGE_OK &&
            value.type == LANGUAGE_CHOICE) {
            chosen = value.as.choice;
            break;
        }
    }
    free(event);
    return chosen;
}
