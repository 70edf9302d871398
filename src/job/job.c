/*
 * The engine: walks the question tables, folds answers into the state, and says what to do next.
 * What the questions are and what their answers mean is in the phase files; here is only how one is
 * asked, heard, doubted, repeated and taken back.
 */
#include "job/job.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"

enum {
    REMIND_MS = 60 * 1000,
    MISSES_FOR_KEYS = 2, /* misses in a row after which the pad's keys are offered */
};

static const struct job_question *row_of(const struct job *job)
{
    return job_question_at(job->question);
}

/* ---- state -------------------------------------------------------------------------------- */

/* From what the shop had learned when the job was opened; priors that are none are not believed. */
static void begin_ranking(struct job *job)
{
    if (!job->has_priors || !reason_init_with(&job->reason, job->priors))
        reason_init(&job->reason);
    reason_use(&job->reason, &job->shop);
}

/* Everything that follows from the answers; the answers themselves, what was corrected and what was
 * counted stay. */
static void forget_what_was_derived(struct job *job)
{
    job->order[0] = '\0';
    job->odometer = -1;
    begin_ranking(job);
    job->checks_done = 0;
    job->checks = 0;
    job->in_millimetres = false;
    if (job->has_profile)
        job->numbers = job->profile;
    else
        profile_init(&job->numbers);
    job->rounds = 0;
    memset(&job->turn, 0, sizeof job->turn);
    job->centring = JOB_NOT_MEASURED;
    job->hook = -1;
    job->proofs = 0;
    job->ending = JOB_STILL_OPEN;
    job->cause = -1;
    job->closed_ms = 0;
    job->cautions = 0;
    job->wanted_profile[0] = '\0';
    job->safe = 0;
    job->block = JOB_CARD;
    job->again = 0;
    job->access_is_open = false;
    job->reading.n = 0;
    job->tries = 0;
    job->level = -1;
    job->condition = -1;
    job->count.n = 0;
    job->volume_unit = LANGUAGE_MILLILITRES;
    job->kind_asked = false;
    job->offered = -1;
    job->course = 0;
    job->left_out = 0;
    job->feel = -1;
    job->measured_now = false;
    job->plates = 0;
    job->has_whole = false;
    job->has_warp = false;
    job->pack_sign = MEASURE_PACK_CANNOT_TELL;
    job->proving_for = -1;
    job->proof_passed = false;
    job->proof_failed = false;
    job->running = false;
    job->has_finer = false;
    job->says_fixed = false;
    job->phase = JOB_CARD;
    job->question = 0;
    job->misses = 0;
    job->mode = JOB_ASKING;
    job->reminded = false;
}

void job_init(struct job *job)
{
    memset(job, 0, sizeof *job);
    forget_what_was_derived(job);
}

bool job_is_closed(const struct job *job)
{
    return job->ending != JOB_STILL_OPEN;
}

bool job_has_left(const struct job *job)
{
    return job->mode == JOB_LEFT;
}

const char *job_question_id(const struct job *job)
{
    return row_of(job)->id;
}

const char *job_grammar(const struct job *job)
{
    switch (job->mode) {
    case JOB_SURE:
        return "yesno";
    case JOB_WHICH:
        return "either";
    case JOB_STOPPED:
        return "resume";
    case JOB_ASKING:
    case JOB_FETCHING:
    case JOB_LEFT:
        break;
    }
    const char *grammar = row_of(job)->grammar;
    if (grammar == NULL)
        return "yesno";
    bool length = strcmp(grammar, "distance") == 0;
    return length && job->in_millimetres ? "millimetres" : grammar;
}

enum language_phrase job_phrase(const struct job *job)
{
    return job->mode == JOB_ASKING ? row_of(job)->phrase : LANGUAGE_NOT_YET;
}

void job_block_begin(struct job *job)
{
    job->safe = 0;
    job->block = job->phase;
}

bool job_is_safe(const struct job *job, enum language_phrase phrase)
{
    return (job->safe & (1u << phrase)) != 0;
}

void job_observe(struct job *job, enum reason_evidence evidence, int value)
{
    reason_observe(&job->reason, evidence, value);
}

/* ---- asking ------------------------------------------------------------------------------- */

static void listen(const struct job *job, struct job_effects *effects)
{
    struct job_effect *effect = job_effect_add(effects, JOB_LISTEN);
    effect->grammar = job_grammar(job);
    effect->phrase = job_phrase(job);
    const struct job_question *row = row_of(job);
    effect = job_effect_add(effects, JOB_REMIND);
    effect->delay_ms = row->remind_ms != 0 ? row->remind_ms : REMIND_MS;
}

static bool is_caution_grammar(const struct job_question *row)
{
    return row->grammar != NULL && strcmp(row->grammar, "caution") == 0;
}

static const char *sentence_of(const struct job_question *row)
{
    return row->says != NULL ? row->says : row->id;
}

static void say_row(const struct job *job, const struct job_question *row,
                    struct job_effects *effects)
{
    size_t before = effects->n;
    struct job_effect *say = job_effect_say(effects, sentence_of(row));
    say->caution = row->caution;
    if (is_caution_grammar(row))
        job_effect_argument(say, "phrase", "%s", language_phrase_words(row->phrase));
    if (row->fill != NULL)
        row->fill(job, say);
    if (say->key[0] == '\0')
        effects->n = before; /* nothing to say this time */
}

static void fetch_profile(struct job *job, struct job_effects *effects)
{
    job->mode = JOB_FETCHING;
    struct job_effect *fetch = job_effect_add(effects, JOB_FETCH_PROFILE);
    job_effect_argument(fetch, "name", "%s", job->wanted_profile);
}

/* Whatever came between, a row that waits for a profile asks for it again. */
static void ask(struct job *job, struct job_effects *effects)
{
    if (row_of(job)->waits) {
        fetch_profile(job, effects);
        return;
    }
    job->mode = JOB_ASKING;
    say_row(job, row_of(job), effects);
    listen(job, effects);
}

static void leave(struct job *job, struct job_effects *effects)
{
    job->mode = JOB_LEFT;
    job_effect_add(effects, JOB_LEAVE);
}

/* Walks on from `index` to the next question, saying the statements on the way. The walk is
 * bounded: no statement leads back without a question between, which the tests prove by walking the
 * table. */
static void arrive(struct job *job, size_t index, struct job_effects *effects)
{
    for (size_t steps = 4 * job_question_count(); steps > 0; steps--) {
        const struct job_question *row = job_question_at(index);
        if (row == NULL)
            break;
        if (!job_row_is_wanted(job, index)) {
            index++;
            continue;
        }
        job->question = (uint16_t)index;
        job->phase = row->phase;
        job->misses = 0;
        job->reminded = false;
        job_row_arrive(job, index);
        if (row->waits || row->grammar != NULL) {
            ask(job, effects);
            return;
        }
        if (!row->silent)
            say_row(job, row, effects);
        index = job_row_after(job, index);
    }
    job->phase = JOB_OVER;
    leave(job, effects);
}

/* ---- started again ------------------------------------------------------------------------- */

/* The row that a phrase of this block was confirmed at; the first of those in `phrases`. */
static uint16_t first_confirmed(const struct job *job, unsigned phrases)
{
    uint16_t first = job->question;
    unsigned left = phrases;
    for (size_t i = job->answers; left != 0 && i-- > 0;) {
        const struct job_answer *answer = &job->answer[i];
        if (answer->value.type != LANGUAGE_PHRASE)
            continue;
        unsigned bit = 1u << answer->value.as.phrase;
        if ((left & bit) != 0)
            first = answer->question;
        left &= ~bit;
    }
    return first;
}

/* In these phases what is asked next may want the cautions of the block, whichever phase it began
 * in; in the others no hands go to the bike until a block begins. */
static bool block_goes_on(const struct job *job)
{
    return job->phase != JOB_CARD && job->phase != JOB_INTAKE && job->phase != JOB_CLOSING &&
           job->phase != JOB_OVER;
}

/* Nobody knows how long the tool was away and what was done to the bike meanwhile: what was
 * confirmed counts no more. Where the block goes on, each is asked for again, in the order in which
 * it was, before the question that waits; elsewhere the rows ask for what they need. */
static void lay_off(struct job *job)
{
    unsigned confirmed = job->safe & ~JOB_STEPS;
    job->safe &= JOB_STEPS;
    if (job->again == 0)
        job->stood_at = job->question;
    if (block_goes_on(job))
        job->again |= confirmed;
    job->question = job->again == 0 ? job->stood_at : first_confirmed(job, job->again);
}

/* The same when the answers are folded again: what was asked for again was confirmed again before
 * the next answer. */
static void lay_off_elsewhere(struct job *job)
{
    if (!block_goes_on(job))
        job->safe &= JOB_STEPS;
}

/* ---- answers ------------------------------------------------------------------------------ */

static bool is_skip(const struct language_value *value)
{
    return value->type == LANGUAGE_SKIP || value->type == LANGUAGE_DONT_KNOW;
}

static void keep_caution(struct job *job, const struct job_question *row,
                         const struct job_answer *answer)
{
    job->safe |= 1u << row->phrase;
    if (!row->caution || job->cautions == JOB_CAUTIONS_MAX)
        return;
    job->caution[job->cautions++] = (struct job_caution){
        .id = row->id,
        .round = job->phase == JOB_ADJUSTING ? job->rounds : 0,
        .source = answer->source,
        .at_ms = answer->at_ms,
    };
}

/* Folds one answer that belongs to the present question. NULL, or why it cannot stand. */
static const char *fold(struct job *job, const struct job_answer *answer,
                        struct job_effects *effects)
{
    size_t index = job->question;
    const struct job_question *row = job_question_at(index);
    bool skipped = is_skip(&answer->value);
    if (row->take != NULL && (!skipped || strcmp(row->leave, JOB_ON) == 0)) {
        const char *refusal = job_row_take(job, index, answer);
        if (refusal != NULL)
            return refusal;
    }
    if (answer->value.type == LANGUAGE_DISTANCE)
        job->in_millimetres = answer->value.as.length.unit == MEASURE_MM;
    if (answer->value.type == LANGUAGE_PHRASE && answer->value.as.phrase == row->phrase)
        keep_caution(job, row, answer);
    bool leaves = skipped && strcmp(row->leave, JOB_ON) != 0;
    arrive(job, leaves ? job_question_index(row->leave) : job_row_after(job, index), effects);
    return NULL;
}

static void value_words(const struct job_question *row, const struct language_value *value,
                        char *out, size_t size)
{
    if (value->type == LANGUAGE_SKIP)
        text_copy(out, size, "skip");
    else if (value->type == LANGUAGE_DONT_KNOW)
        text_copy(out, size, "don't know");
    else if (!language_say(row->grammar, value, out, size))
        text_copy(out, size, "?");
}

static void complete_correction(struct job *job, const struct job_question *row,
                                const struct language_value *value)
{
    for (size_t i = job->corrections; i-- > 0;) {
        struct job_correction *correction = &job->correction[i];
        if (correction->id == row->id && correction->became[0] == '\0') {
            value_words(row, value, correction->became, sizeof correction->became);
            return;
        }
    }
}

static void note_correction(struct job *job, const struct job_question *row, const char *was)
{
    if (job->corrections == JOB_CORRECTIONS_MAX)
        return;
    struct job_correction *correction = &job->correction[job->corrections++];
    *correction = (struct job_correction){.id = row->id, .at_ms = job->now_ms};
    text_copy(correction->was, sizeof correction->was, was);
}

static bool is_measured(const struct language_value *value)
{
    return value->type == LANGUAGE_DISTANCE || value->type == LANGUAGE_NUMBER ||
           value->type == LANGUAGE_DIGITS || value->type == LANGUAGE_AMOUNT ||
           (value->type == LANGUAGE_TURN && !value->as.turn.as_told);
}

static void miss(struct job *job, const char *key, struct job_effects *effects);

/* No answer of its own: the one it was confirmed by at first stands. */
static void confirm_again(struct job *job, enum job_source source, struct job_effects *effects)
{
    const struct job_question *row = row_of(job);
    const struct job_answer answer = {.source = source, .at_ms = job->now_ms};
    keep_caution(job, row, &answer);
    job->again &= ~(1u << row->phrase);
    job->question = job->again == 0 ? job->stood_at : first_confirmed(job, job->again);
    job->misses = 0;
    job->reminded = false;
    job->heard++;
    ask(job, effects);
}

static void accept(struct job *job, const struct language_value *value, enum job_source source,
                   struct job_effects *effects)
{
    const struct job_question *row = row_of(job);
    if (job->again != 0) {
        confirm_again(job, source, effects);
        return;
    }
    if (job->answers == JOB_ANSWERS_MAX) {
        job_effect_say(effects, "job.too_long");
        leave(job, effects);
        return;
    }
    struct job_answer *answer = &job->answer[job->answers];
    *answer = (struct job_answer){
        .question = job->question,
        .source = source,
        .at_ms = job->now_ms,
        .anew = job->anew,
        .value = *value,
    };
    job->mode = JOB_ASKING;
    if (is_measured(value)) {
        struct job_effect *say = job_effect_say(effects, "read_back");
        char words[JOB_ARGUMENT];
        if (!language_read_back(row->grammar, value, words, sizeof words))
            value_words(row, value, words, sizeof words);
        job_effect_argument(say, "value", "%s", words);
    }
    const char *refusal = fold(job, answer, effects);
    if (refusal != NULL) {
        miss(job, refusal, effects);
        return;
    }
    job->answers++;
    job->anew = false;
    job->heard++;
    complete_correction(job, row, value);
}

/* ---- taking back -------------------------------------------------------------------------- */

/* The state over again from the answers that still stand. An answer counts at the question it was
 * given to and at no other: should the way ever lead past it, it and what follows fall away. */
static void refold(struct job *job)
{
    int64_t now_ms = job->now_ms;
    struct job_effects unsaid;
    unsaid.n = 0;
    forget_what_was_derived(job);
    arrive(job, 0, &unsaid);
    for (size_t i = 0; i < job->answers; i++) {
        if (job->answer[i].question != job->question) {
            job->answers = i;
            break;
        }
        unsaid.n = 0;
        job->now_ms = job->answer[i].at_ms;
        if (job->answer[i].anew)
            lay_off_elsewhere(job);
        fold(job, &job->answer[i], &unsaid);
    }
    if (job->anew)
        lay_off_elsewhere(job);
    job->now_ms = now_ms;
}

/* What was confirmed again since the tool was started is asked for once more, from the first. */
static bool take_back_confirmed(struct job *job, struct job_effects *effects)
{
    if (!job->anew || !block_goes_on(job) || (job->safe & ~JOB_STEPS) == 0)
        return false;
    lay_off(job);
    job_effect_argument(job_effect_say(effects, "taken_back"), "value", "the cautions");
    ask(job, effects);
    return true;
}

static void go_back(struct job *job, struct job_effects *effects)
{
    if (job->mode == JOB_SURE || job->mode == JOB_WHICH || job->mode == JOB_STOPPED) {
        ask(job, effects);
        return;
    }
    if (job->answers == 0) {
        job_effect_say(effects, "nothing_to_take_back");
        ask(job, effects);
        return;
    }
    if (take_back_confirmed(job, effects))
        return;
    const struct job_answer *answer = &job->answer[--job->answers];
    bool away_since = job->anew;
    job->anew = job->anew || answer->anew;
    const struct job_question *row = job_question_at(answer->question);
    char was[sizeof job->correction[0].was];
    value_words(row, &answer->value, was, sizeof was);
    note_correction(job, row, was);
    refold(job);
    if (away_since)
        lay_off(job);
    job_effect_argument(job_effect_say(effects, "taken_back"), "value", "%s", was);
    ask(job, effects);
}

/* ---- doubt -------------------------------------------------------------------------------- */

static void read_back_words(const struct job *job, const struct language_value *value, char *out,
                            size_t size)
{
    const struct job_question *row = row_of(job);
    if (value->type == LANGUAGE_COMMAND)
        text_copy(out, size, language_command_words(value->as.command));
    else if (!language_read_back(row->grammar, value, out, size))
        value_words(row, value, out, size);
}

static void say_doubt(const struct job *job, struct job_effects *effects)
{
    bool two = job->mode == JOB_WHICH;
    struct job_effect *say = job_effect_say(effects, two ? "which" : "sure");
    char words[JOB_ARGUMENT];
    read_back_words(job, &job->held, words, sizeof words);
    job_effect_argument(say, "first", "%s", words);
    if (two) {
        read_back_words(job, &job->held_other, words, sizeof words);
        job_effect_argument(say, "second", "%s", words);
    }
}

/* What is being asked just now, whichever mode it is asked in. */
static void say_what_is_open(struct job *job, struct job_effects *effects)
{
    if (job->mode == JOB_STOPPED)
        job_effect_say(effects, "stopped");
    else if (job->mode == JOB_ASKING)
        say_row(job, row_of(job), effects);
    else
        say_doubt(job, effects);
}

/* Counts a miss and listens again: after the first the question is repeated, from the second on the
 * number pad's keys are offered instead. */
static void try_again(struct job *job, struct job_effects *effects)
{
    if (++job->misses >= MISSES_FOR_KEYS)
        job_effect_say(effects, "use_keys");
    else
        say_what_is_open(job, effects);
    listen(job, effects);
}

static void miss(struct job *job, const char *key, struct job_effects *effects)
{
    struct job_effect *say = job_effect_say(effects, key);
    const struct job_question *row = row_of(job);
    if (is_caution_grammar(row))
        job_effect_argument(say, "phrase", "%s", language_phrase_words(row->phrase));
    effects->missed = true;
    try_again(job, effects);
}

/* ---- the ear ------------------------------------------------------------------------------ */

bool job_listens(const struct job *job)
{
    return job->ear == JOB_EAR_OPEN && !job->on_pad;
}

/* Says how the ear is, and goes on with the question by what is left. */
static void use_ear(struct job *job, struct job_effects *effects)
{
    struct job_effect *say = job_effect_say(effects, "");
    char key[JOB_KEY];
    snprintf(key, sizeof key, "ear.%s", job_ear_name(job->ear));
    job_effect_key(say, key);
    if (job->ear != JOB_EAR_OPEN) {
        job_effect_say(effects, "use_keys");
        job_effect_add(effects, JOB_TO_PAD);
    } else {
        say_what_is_open(job, effects);
    }
    listen(job, effects);
}

static void ear_changed(struct job *job, enum job_ear ear, struct job_effects *effects)
{
    if ((unsigned)ear >= JOB_EAR_COUNT || ear == job->ear)
        return;
    job->ear = ear;
    if (job->mode == JOB_FETCHING)
        return;
    if (job->on_pad)
        listen(job, effects); /* nobody listens anyway: not worth a word */
    else
        use_ear(job, effects);
}

/* ---- what was heard ----------------------------------------------------------------------- */

static void stop(struct job *job, struct job_effects *effects)
{
    if (job->mode == JOB_STOPPED) {
        job_effect_say(effects, "put_away");
        leave(job, effects);
        return;
    }
    job->mode = JOB_STOPPED;
    job->misses = 0;
    job_effect_say(effects, "stopped");
    listen(job, effects);
}

static void help(struct job *job, struct job_effects *effects)
{
    struct job_effect *say = job_effect_say(effects, "");
    if (job->mode != JOB_ASKING) {
        job_effect_key(say, job->mode == JOB_STOPPED ? "help.stopped"
                            : job->mode == JOB_WHICH ? "help.which"
                                                     : "help.sure");
    } else {
        const struct job_question *row = row_of(job);
        if (is_caution_grammar(row))
            job_effect_argument(say, "phrase", "%s", language_phrase_words(row->phrase));
        if (row->fill != NULL)
            row->fill(job, say);
        say->caution = row->caution;
        /* the help's key last: a fill may change the sentence's, by which it means another sentence
         */
        snprintf(say->key, sizeof say->key, "help.%s", sentence_of(row));
    }
    job_effect_say(effects, "keys");
    listen(job, effects);
}

static void where_are_we(struct job *job, struct job_effects *effects)
{
    struct job_effect *say = job_effect_say(effects, "where");
    job_effect_argument(say, "phase", "%s", job_phase_name(job->phase));
    job_effect_argument(say, "order", "%s", job->order[0] != '\0' ? job->order : "none");
    job_effect_argument(say, "round", "%d", job->rounds > 0 ? job->rounds - 1 : 0);
    job_effect_argument(say, "answers", "%zu", job->answers);
    say_what_is_open(job, effects);
    listen(job, effects);
}

enum { CONTRADICTIONS_SAID = 2 }; /* more of them at once is a lecture */

/* What it may be, the two answers that moved that most, and what cannot well both be true. */
static void explain(struct job *job, struct job_effects *effects)
{
    job_fill_why(job, effects);
    struct reason_contradiction pair[CONTRADICTIONS_SAID];
    size_t n = reason_contradictions(&job->reason, pair, CONTRADICTIONS_SAID);
    for (size_t i = 0; i < n && i < CONTRADICTIONS_SAID; i++) {
        const int *seen = job->reason.seen;
        struct job_effect *say = job_effect_say(effects, "why.contradiction");
        job_effect_argument(say, "first", "%s",
                            reason_observation_words(pair[i].first, seen[pair[i].first]));
        job_effect_argument(say, "second", "%s",
                            reason_observation_words(pair[i].second, seen[pair[i].second]));
    }
    say_what_is_open(job, effects);
    listen(job, effects);
}

static void say_again(struct job *job, struct job_effects *effects)
{
    if (job->last.n > 0)
        *effects = job->last;
    else
        ask(job, effects);
}

/* The question again, in the voice as it is now. */
static void change_voice(struct job *job, enum job_voice voice, struct job_effects *effects)
{
    job_effect_add(effects, JOB_VOICE)->voice = voice;
    say_what_is_open(job, effects);
    listen(job, effects);
}

static void obey(struct job *job, enum language_command command, struct job_effects *effects)
{
    switch (command) {
    case LANGUAGE_SAY_AGAIN:
        say_again(job, effects);
        return;
    case LANGUAGE_GO_BACK:
    case LANGUAGE_WRONG:
        go_back(job, effects);
        return;
    case LANGUAGE_STOP:
        stop(job, effects);
        return;
    case LANGUAGE_HELP:
        help(job, effects);
        return;
    case LANGUAGE_WHERE_ARE_WE:
        where_are_we(job, effects);
        return;
    case LANGUAGE_EXPLAIN:
        explain(job, effects);
        return;
    case LANGUAGE_KEYPAD:
        job->on_pad = true;
        job_effect_say(effects, "keypad");
        job_effect_say(effects, "keys");
        job_effect_add(effects, JOB_TO_PAD);
        listen(job, effects);
        return;
    case LANGUAGE_LISTEN:
        job->on_pad = false;
        use_ear(job, effects);
        return;
    case LANGUAGE_LOUDER:
    case LANGUAGE_QUIETER:
    case LANGUAGE_FASTER:
    case LANGUAGE_SLOWER:
        change_voice(job, (enum job_voice)(command - LANGUAGE_LOUDER), effects);
        return;
    case LANGUAGE_COMMAND_COUNT:
        return;
    }
}

/* A value in the question's own grammar, understood and believed. */
static void answer_question(struct job *job, const struct language_value *value,
                            enum job_source source, struct job_effects *effects)
{
    const struct job_question *row = row_of(job);
    if (value->type == LANGUAGE_DONT_KNOW && !row->dont_know) {
        help(job, effects);
        return;
    }
    if (is_skip(value) && (row->leave == NULL || job->again != 0)) {
        miss(job, row->caution ? "caution_stays" : "cannot_skip", effects);
        return;
    }
    if (value->type == LANGUAGE_PHRASE && value->as.phrase == LANGUAGE_NOT_YET) {
        job->mode = JOB_ASKING;
        job->misses = 0;
        job_effect_argument(job_effect_say(effects, "waiting"), "phrase", "%s",
                            language_phrase_words(row->phrase));
        listen(job, effects);
        return;
    }
    if (value->type == LANGUAGE_PHRASE && value->as.phrase != row->phrase) {
        miss(job, "other_phrase", effects);
        return;
    }
    if (value->type == LANGUAGE_DISTANCE) {
        double mm = measure_length_mm(value->as.length);
        if (mm < row->low_mm || mm > row->high_mm) {
            struct job_effect *say = job_effect_say(effects, "not_believable");
            job_effect_length(say, "value", value->as.length);
            job_effect_length(say, "low", measure_length_nearest_64th(row->low_mm));
            job_effect_length(say, "high", measure_length_nearest_64th(row->high_mm));
            try_again(job, effects);
            return;
        }
    }
    accept(job, value, source, effects);
}

/* An answer to "did you say ...?", "was it ..., or ...?" or "stopped". */
static void answer_doubt(struct job *job, const struct language_value *value,
                         enum job_source source, struct job_effects *effects)
{
    if (is_skip(value)) {
        ask(job, effects);
        return;
    }
    if (job->mode == JOB_STOPPED) {
        if (value->as.choice == 0) {
            ask(job, effects);
            return;
        }
        job_effect_say(effects, "put_away");
        leave(job, effects);
        return;
    }
    bool first = job->mode == JOB_SURE ? value->as.yes : value->as.choice == 0;
    bool second = job->mode == JOB_WHICH && value->as.choice == 1;
    if (!first && !second) {
        note_correction(job, row_of(job), job->held_words);
        ask(job, effects);
        return;
    }
    struct language_value held = first ? job->held : job->held_other;
    job->mode = JOB_ASKING;
    job->last.n = 0; /* "say again" means the question, not the doubt that is settled now */
    if (held.type == LANGUAGE_COMMAND)
        obey(job, held.as.command, effects);
    else
        answer_question(job, &held, source, effects);
}

/* Is there a "stop" in it, however doubtful? Then it counts: stopping harms nobody. */
static bool means_stop(const char *grammar, const struct job_event *event)
{
    struct language_value value;
    return (language_parse(grammar, event->words, &value, NULL) == LANGUAGE_OK &&
            value.type == LANGUAGE_COMMAND && value.as.command == LANGUAGE_STOP) ||
           (event->other[0] != '\0' &&
            language_parse(grammar, event->other, &value, NULL) == LANGUAGE_OK &&
            value.type == LANGUAGE_COMMAND && value.as.command == LANGUAGE_STOP);
}

/* Heard, but not well enough to be believed: asked about. A caution's phrase, even as the second
 * reading, is never offered for a "yes": it is said whole, or not at all. */
static void hear_unsure(struct job *job, const struct job_event *event, const char *grammar,
                        const struct language_value *value, struct job_effects *effects)
{
    job->asked_again++;
    /* Made out twice, "carry on" is taken: it only asks the question again, and whoever has no keys
     * at hand would be shut out of the job by noise. */
    if (job->mode == JOB_STOPPED && job->walk >= 6 && job->misses > 0 &&
        value->type == LANGUAGE_CHOICE && value->as.choice == 0) {
        ask(job, effects);
        return;
    }
    if (job->mode != JOB_ASKING) {
        miss(job, "not_understood", effects);
        return;
    }
    struct language_value other = *value;
    bool two = event->other[0] != '\0' &&
               language_parse(grammar, event->other, &other, NULL) == LANGUAGE_OK &&
               !language_equal(value, &other);
    if (value->type == LANGUAGE_PHRASE || other.type == LANGUAGE_PHRASE) {
        miss(job, "whole_phrase", effects);
        return;
    }
    job->held = *value;
    job->held_other = other;
    text_copy(job->held_words, sizeof job->held_words, event->words);
    job->mode = two ? JOB_WHICH : JOB_SURE;
    job->misses = 0;
    say_doubt(job, effects);
    listen(job, effects);
}

/* What the walk that the job was opened with did not know was nonsense then, and is again when its
 * journal is replayed. */
static enum language_outcome parse(const struct job *job, const char *grammar, const char *words,
                                   struct language_value *value, char *why)
{
    enum language_outcome outcome = language_parse(grammar, words, value, why);
    bool voice = outcome == LANGUAGE_OK && value->type == LANGUAGE_COMMAND &&
                 value->as.command >= LANGUAGE_LOUDER;
    return voice && job->walk < 4 ? LANGUAGE_NONSENSE : outcome;
}

static void hear(struct job *job, const struct job_event *event, struct job_effects *effects)
{
    const char *grammar = job_grammar(job);
    if (event->verdict != JOB_REJECTED && means_stop(grammar, event)) {
        stop(job, effects);
        return;
    }
    if (job->mode == JOB_FETCHING)
        return; /* nothing was asked */
    struct language_value value;
    char why[LANGUAGE_WHY];
    enum language_outcome outcome = LANGUAGE_NONSENSE;
    if (event->verdict != JOB_REJECTED)
        outcome = parse(job, grammar, event->words, &value, why);
    bool in_doubt = job->mode == JOB_SURE || job->mode == JOB_WHICH;
    if (outcome == LANGUAGE_NONSENSE && in_doubt && event->verdict == JOB_ACCEPTED) {
        /* said over again instead of "yes" or "no" */
        enum job_mode mode = job->mode;
        job->mode = JOB_ASKING;
        grammar = job_grammar(job);
        outcome = parse(job, grammar, event->words, &value, why);
        if (outcome == LANGUAGE_NONSENSE)
            job->mode = mode;
    }
    if (outcome == LANGUAGE_OUT_OF_SENSE) {
        job_effect_argument(job_effect_say(effects, "out_of_sense"), "why", "%s", why);
        try_again(job, effects);
    } else if (outcome == LANGUAGE_NONSENSE) {
        job->rejected++;
        miss(job, event->deafening ? "deafening" : "not_understood", effects);
    } else if (event->verdict == JOB_UNSURE) {
        hear_unsure(job, event, grammar, &value, effects);
    } else if (value.type == LANGUAGE_COMMAND) {
        obey(job, value.as.command, effects);
    } else if (job->mode == JOB_ASKING) {
        answer_question(job, &value, event->source, effects);
    } else {
        answer_doubt(job, &value, event->source, effects);
    }
}

/* ---- the fold ----------------------------------------------------------------------------- */

static void open_job(struct job *job, const struct job_event *event, struct job_effects *effects)
{
    if (job->opened_ms != 0)
        return; /* opened already */
    job->opened_ms = event->at_ms;
    job->profile_names_n = event->names_n < PROFILES_MAX ? event->names_n : PROFILES_MAX;
    for (size_t i = 0; i < job->profile_names_n; i++)
        text_copy(job->profile_names[i], sizeof job->profile_names[i], event->names[i]);
    text_copy(job->bike, sizeof job->bike, event->bike);
    job->has_priors = event->has_priors;
    job->walk = event->walk;
    job->shop = event->shop;
    memcpy(job->priors, event->priors, sizeof job->priors);
    begin_ranking(job);
    arrive(job, 0, effects);
}

static void profile_read(struct job *job, const struct job_event *event,
                         struct job_effects *effects)
{
    if (job->mode != JOB_FETCHING || strcmp(event->profile.name, job->wanted_profile) != 0)
        return;
    job->profile = event->profile;
    job->numbers = event->profile;
    job->has_profile = true;
    job->mode = JOB_ASKING;
    arrive(job, job->question, effects);
}

static void profile_failed(struct job *job, const struct job_event *event,
                           struct job_effects *effects)
{
    if (job->mode != JOB_FETCHING)
        return;
    job_effect_argument(job_effect_say(effects, "card.profile_failed"), "why", "%s", event->words);
    if (job->profile_names_n < 2 || job->answers == 0) {
        leave(job, effects);
        return;
    }
    job->answers--; /* the choice of that profile */
    refold(job);
    ask(job, effects);
}

static void remind(struct job *job, struct job_effects *effects)
{
    if (job->reminded || job->mode == JOB_FETCHING)
        return;
    job->reminded = true;
    job_effect_say(effects, "reminder");
    say_what_is_open(job, effects);
    listen(job, effects);
}

static void resume(struct job *job, int walk, struct job_effects *effects)
{
    if (job->mode == JOB_STOPPED || job->mode == JOB_LEFT)
        job->mode = JOB_ASKING;
    job->misses = 0;
    job->reminded = false;
    struct job_effect *say = job_effect_say(effects, "caution.resumed");
    say->caution = true;
    job_effect_argument(say, "phase", "%s", job_phase_name(job->phase));
    if (walk >= 7) {
        job->anew = true;
        lay_off(job);
    }
    ask(job, effects);
}

/* For "say again". What followed a change of the voice is not kept: it would change it again; nor
 * that nothing was understood, for who says "say again" then has not made out the question. */
static bool is_to_be_repeated(const struct job_effects *effects)
{
    bool says = false;
    if (effects->missed)
        return false;
    for (size_t i = 0; i < effects->n; i++) {
        if (effects->effect[i].kind == JOB_VOICE)
            return false;
        says = says || effects->effect[i].kind == JOB_SAY;
    }
    return says;
}

void job_step(struct job *job, const struct job_event *event, struct job_effects *effects)
{
    effects->n = 0;
    effects->missed = false;
    if (job->opened_ms == 0 && event->kind != JOB_OPENED)
        return;
    if (job_is_closed(job) || (job->mode == JOB_LEFT && event->kind != JOB_RESUMED))
        return;
    if (event->at_ms > job->now_ms)
        job->now_ms = event->at_ms; /* a clock set back does not turn the job's time */
    switch (event->kind) {
    case JOB_OPENED:
        open_job(job, event, effects);
        break;
    case JOB_HEARD:
        hear(job, event, effects);
        break;
    case JOB_PROFILE_READ:
        profile_read(job, event, effects);
        break;
    case JOB_PROFILE_FAILED:
        profile_failed(job, event, effects);
        break;
    case JOB_REMINDED:
        remind(job, effects);
        break;
    case JOB_RESUMED:
        resume(job, event->walk, effects);
        break;
    case JOB_HUNG_UP:
        leave(job, effects);
        break;
    case JOB_EAR_CHANGED:
        ear_changed(job, event->ear, effects);
        break;
    }
    if (is_to_be_repeated(effects))
        job->last = *effects;
}

/* ---- names -------------------------------------------------------------------------------- */

const char *job_phase_name(enum job_phase phase)
{
    static const char *const names[JOB_PHASE_COUNT] = {
        [JOB_CARD] = "job card",       [JOB_INTAKE] = "questions to the rider",
        [JOB_CHECKS] = "cheap checks", [JOB_CENTRING] = "pawl check",
        [JOB_ADJUSTING] = "adjusting", [JOB_DEEP] = "further checks",
        [JOB_PROVING] = "proving",     [JOB_CLOSING] = "closing",
        [JOB_OVER] = "over",
    };
    return (unsigned)phase < JOB_PHASE_COUNT ? names[phase] : "?";
}

const char *job_source_name(enum job_source source)
{
    static const char *const names[] = {"ear", "typed", "pad", "station"};
    return (unsigned)source < sizeof names / sizeof names[0] ? names[source] : "?";
}

const char *job_verdict_name(enum job_verdict verdict)
{
    static const char *const names[] = {"accepted", "unsure", "rejected"};
    return (unsigned)verdict < sizeof names / sizeof names[0] ? names[verdict] : "?";
}

const char *job_ear_name(enum job_ear ear)
{
    static const char *const names[JOB_EAR_COUNT] = {
        [JOB_EAR_OPEN] = "open",         [JOB_EAR_MISSING] = "missing", [JOB_EAR_SILENT] = "silent",
        [JOB_EAR_CLIPPING] = "clipping", [JOB_EAR_NOISE] = "noise",
    };
    return (unsigned)ear < JOB_EAR_COUNT ? names[ear] : "?";
}
