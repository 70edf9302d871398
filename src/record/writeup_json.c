/* The write-up as JSON: see writeup.h for its members. Every helper may return NULL when memory
 * runs out, which spoils the object it is put in and so the whole. */
#include <jansson.h>
#include <math.h>

#include "base/text.h"
#include "job/question.h"
#include "record/json_text.h"
#include "record/transcript.h"
#include "record/writeup.h"
#include "record/writeup_words.h"

/* An object being filled; `bad` once anything could not be put in. */
struct filling {
    json_t *object;
    bool bad;
};

static struct filling begin(void)
{
    struct filling filling = {.object = json_object()};
    filling.bad = filling.object == NULL;
    return filling;
}

static void set(struct filling *filling, const char *key, json_t *value)
{
    filling->bad |= json_object_set_new(filling->object, key, value) != 0;
}

static json_t *end(struct filling *filling)
{
    if (!filling->bad)
        return filling->object;
    json_decref(filling->object);
    return NULL;
}

/* ---- values ------------------------------------------------------------------------------------
 */

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *time_or_null(int64_t at_ms)
{
    char at[32];
    if (at_ms == 0)
        return json_null();
    transcript_time(at_ms, at);
    return json_string(at);
}

static json_t *length(struct measure_length value)
{
    char exact[64];
    struct filling filling = begin();
    measure_length_print(value, exact, sizeof exact);
    set(&filling, "value", json_string(exact));
    set(&filling, "mm", number(measure_length_mm(value)));
    return end(&filling);
}

/* A list of n things, each made by `make`; stops at the first that cannot be. */
static json_t *list(const struct job *job, size_t n,
                    json_t *(*make)(const struct job *job, size_t index))
{
    json_t *array = json_array();
    for (size_t i = 0; array != NULL && i < n; i++)
        if (json_array_append_new(array, make(job, i)) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

/* ---- concern and cause -------------------------------------------------------------------------
 */

static json_t *evidence_of(const struct job *job, int evidence)
{
    enum reason_evidence which = (enum reason_evidence)evidence;
    struct filling filling = begin();
    set(&filling, "evidence", json_string(reason_evidence_id(which)));
    set(&filling, "value", json_integer(job->reason.seen[evidence]));
    set(&filling, "words",
        json_text_or_null(reason_observation_words(which, job->reason.seen[evidence])));
    return end(&filling);
}

static json_t *seen(const struct job *job)
{
    json_t *array = json_array();
    bool bad = array == NULL;
    for (int i = 0; i < REASON_EVIDENCE_COUNT && !bad; i++)
        if (job->reason.seen[i] >= 0)
            bad = json_array_append_new(array, evidence_of(job, i)) != 0;
    if (!bad)
        return array;
    json_decref(array);
    return NULL;
}

static json_t *cause(const struct job *job)
{
    if (job->cause < 0 || job->cause >= REASON_CAUSE_COUNT)
        return json_null();
    struct filling filling = begin();
    set(&filling, "id", json_string(reason_cause_id((enum reason_cause)job->cause)));
    set(&filling, "name", json_string(reason_cause_name((enum reason_cause)job->cause)));
    return end(&filling);
}

static json_t *because(const struct job *job, const struct reason_rank *rank)
{
    json_t *array = json_array();
    for (size_t i = 0; i < 2 && array != NULL; i++) {
        int evidence = rank->because[i];
        if (evidence < 0 || evidence >= REASON_EVIDENCE_COUNT || job->reason.seen[evidence] < 0)
            continue;
        json_t *reason = evidence_of(job, evidence);
        int bad =
            reason == NULL ? -1 : json_object_set_new(reason, "weight", number(rank->weight[i]));
        if (json_array_append_new(array, reason) != 0 || bad != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *ranked(const struct job *job, size_t index)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    struct filling filling = begin();
    set(&filling, "id", json_string(reason_cause_id(rank[index].cause)));
    set(&filling, "name", json_string(reason_cause_name(rank[index].cause)));
    set(&filling, "probability", number(rank[index].probability));
    set(&filling, "because", because(job, &rank[index]));
    return end(&filling);
}

/* ---- what was answered and checked -------------------------------------------------------- */

static json_t *answer(const struct job *job, size_t index)
{
    const struct job_answer *given = &job->answer[index];
    const struct job_question *question = job_question_at(given->question);
    const char *grammar = question == NULL ? NULL : question->grammar;
    char words[LANGUAGE_WORDS] = "";
    if (grammar != NULL)
        language_say(grammar, &given->value, words, sizeof words);
    bool is_length = given->value.type == LANGUAGE_DISTANCE;
    struct filling filling = begin();
    set(&filling, "question", json_text_or_null(question == NULL ? NULL : question->id));
    set(&filling, "at", time_or_null(given->at_ms));
    set(&filling, "by", json_string(job_source_name(given->source)));
    set(&filling, "words", json_text_or_null(words));
    if (is_length)
        set(&filling, "mm", number(measure_length_mm(given->value.as.length)));
    return end(&filling);
}

static json_t *check(const struct job *job, size_t index)
{
    const struct job_check *done = &job->check[index];
    bool measured = done->measured;
    bool counted = done->counted;
    bool judged = measured || counted;
    struct filling filling = begin();
    set(&filling, "check", json_string(reason_check_name(done->check)));
    set(&filling, "what", json_text_or_null(done->what));
    set(&filling, "value", measured ? length(done->value) : json_null());
    set(&filling, "low", measured && done->has_low ? length(done->low) : json_null());
    set(&filling, "high", measured ? length(done->high) : json_null());
    set(&filling, "unit", json_text_or_null(done->unit));
    set(&filling, "number", counted ? number(done->number) : json_null());
    set(&filling, "number_low", counted ? number(done->number_low) : json_null());
    set(&filling, "number_high", counted ? number(done->number_high) : json_null());
    set(&filling, "low_asked", json_boolean(done->low_asked));
    set(&filling, "high_asked", json_boolean(done->high_asked));
    set(&filling, "probability_in", judged ? number(done->limit.probability_in) : json_null());
    set(&filling, "verdict",
        judged ? json_string(measure_limit_name(done->limit.verdict)) : json_null());
    set(&filling, "found", json_text_or_null(done->found));
    set(&filling, "put_right", json_boolean(done->put_right));
    set(&filling, "cured", done->cured < 0 ? json_null() : json_boolean(done->cured));
    set(&filling, "at", time_or_null(done->at_ms));
    return end(&filling);
}

/* ---- throws ------------------------------------------------------------------------------------
 */

static json_t *throw_of(const struct job_readings *readings,
                        const struct measure_estimate *estimate)
{
    struct filling filling = begin();
    json_t *values = json_array();
    bool bad = values == NULL;
    for (size_t i = 0; i < readings->n && i < MEASURE_READINGS_MAX && !bad; i++)
        bad = json_array_append_new(values, length(readings->value[i])) != 0;
    filling.bad |= bad;
    set(&filling, "readings", values);
    set(&filling, "mean_mm", estimate == NULL ? json_null() : number(estimate->mean_mm));
    set(&filling, "standard_mm", estimate == NULL ? json_null() : number(estimate->u_mm));
    set(&filling, "expanded_mm", estimate == NULL ? json_null() : number(estimate->U_mm));
    return end(&filling);
}

/* Of a measurement that was not finished: null. */
static void set_balance(struct filling *filling, const struct measure_balance *balance)
{
    const bool has = balance != NULL;
    set(filling, "offset_mm", has ? number(balance->offset_mm) : json_null());
    set(filling, "offset_standard_mm", has ? number(balance->offset_u_mm) : json_null());
    set(filling, "sum_mm", has ? number(balance->sum_mm) : json_null());
    set(filling, "forward_percent", has ? number(balance->forward_percent) : json_null());
    set(filling, "probability_even", has ? number(balance->probability_even) : json_null());
    set(filling, "verdict",
        has ? json_string(measure_verdict_name(balance->verdict)) : json_null());
}

static json_t *round_of(const struct job *job, size_t index)
{
    const struct job_round *round = &job->round[index];
    const struct measure_balance *balance = round->balanced ? &round->balance : NULL;
    struct filling filling = begin();
    set(&filling, "round", json_integer((json_int_t)index));
    set(&filling, "at", time_or_null(round->at_ms));
    set(&filling, "forward", throw_of(&round->forward, balance ? &balance->forward : NULL));
    set(&filling, "back", throw_of(&round->back, balance ? &balance->back : NULL));
    set_balance(&filling, balance);
    set(&filling, "sum_suspect", json_boolean(round->sum_suspect));
    set(&filling, "scatter_suspect", json_boolean(round->scatter_suspect));
    set(&filling, "advised_turns", round->advised ? number(round->advice.turns) : json_null());
    set(&filling, "turned_turns", round->turned ? number(round->turns) : json_null());
    return end(&filling);
}

static const char *centring_name(enum job_centring centring)
{
    static const char *const names[] = {
        [JOB_NOT_MEASURED] = "not measured", [JOB_CENTRED_AS_FOUND] = "even as found",
        [JOB_CENTRED] = "made even",         [JOB_ESCALATED] = "stopped",
        [JOB_HOOK_BAD] = "hook bad",         [JOB_CENTRING_SKIPPED] = "skipped",
        [JOB_CANNOT_TELL] = "cannot tell",
    };
    return (size_t)centring < sizeof names / sizeof names[0] ? names[centring] : "not measured";
}

/* ---- the rest ----------------------------------------------------------------------------------
 */

static json_t *proof(const struct job *job, size_t index)
{
    const struct job_proof *done = &job->proof[index];
    struct filling filling = begin();
    set(&filling, "id", json_text_or_null(done->id));
    set(&filling, "what", json_text_or_null(done->what));
    set(&filling, "passed", done->result < 0 ? json_null() : json_boolean(done->result));
    set(&filling, "at", done->result < 0 ? json_null() : time_or_null(done->at_ms));
    return end(&filling);
}

static json_t *caution(const struct job *job, size_t index)
{
    const struct job_caution *done = &job->caution[index];
    struct filling filling = begin();
    set(&filling, "id", json_text_or_null(done->id));
    set(&filling, "round", json_integer(done->round));
    set(&filling, "by", json_string(job_source_name(done->source)));
    set(&filling, "at", time_or_null(done->at_ms));
    return end(&filling);
}

static json_t *correction(const struct job *job, size_t index)
{
    const struct job_correction *done = &job->correction[index];
    struct filling filling = begin();
    set(&filling, "id", json_text_or_null(done->id));
    set(&filling, "was", json_text_or_null(done->was));
    set(&filling, "became", json_text_or_null(done->became));
    set(&filling, "at", time_or_null(done->at_ms));
    return end(&filling);
}

const char *writeup_ending_name(enum job_ending ending)
{
    static const char *const names[] = {
        [JOB_STILL_OPEN] = "open", [JOB_FIXED] = "fixed", [JOB_NOT_FIXED] = "not fixed"};
    return (size_t)ending < sizeof names / sizeof names[0] ? names[ending] : "open";
}

static void set_head(struct filling *filling, const struct job *job, int64_t job_number)
{
    bool has = job->has_profile;
    set(filling, "version", json_integer(1));
    set(filling, "job", json_integer(job_number));
    set(filling, "work_order", json_text_or_null(job->order));
    set(filling, "bike", json_text_or_null(job->bike));
    set(filling, "profile", has ? json_text_or_null(job->profile.name) : json_null());
    set(filling, "title", has ? json_text_or_null(job->profile.title) : json_null());
    set(filling, "source", has ? json_text_or_null(job->profile.source) : json_null());
    set(filling, "odometer", job->odometer < 0 ? json_null() : json_integer(job->odometer));
    set(filling, "opened_at", time_or_null(job->opened_ms));
    set(filling, "closed_at", time_or_null(job->closed_ms));
    set(filling, "ending", json_string(writeup_ending_name(job->ending)));
    set(filling, "phase", json_text_or_null(job_phase_name(job->phase)));
    set(filling, "question", json_text_or_null(job_question_id(job)));
}

static void set_lists(struct filling *filling, const struct job *job)
{
    set(filling, "seen", seen(job));
    set(filling, "cause", cause(job));
    set(filling, "ranking", list(job, REASON_CAUSE_COUNT, ranked));
    set(filling, "answers", list(job, job->answers, answer));
    set(filling, "checks", list(job, job->checks, check));
    set(filling, "centring",
        json_string(words_is_adjusting(job) ? "under way" : centring_name(job->centring)));
    set(filling, "rounds", list(job, job->rounds > 0 ? (size_t)job->rounds : 0, round_of));
    set(filling, "proving", list(job, job->proofs, proof));
    set(filling, "cautions", list(job, job->cautions, caution));
    set(filling, "corrections", list(job, job->corrections, correction));
    set(filling, "heard", json_integer(job->heard));
    set(filling, "asked_again", json_integer(job->asked_again));
    set(filling, "rejected", json_integer(job->rejected));
}

char *writeup_json(const struct job *job, int64_t job_number)
{
    struct filling filling = begin();
    set_head(&filling, job, job_number);
    set_lists(&filling, job);
    json_t *object = end(&filling);
    char *text =
        object == NULL
            ? NULL
            : json_dumps(object, JSON_INDENT(2) | JSON_ENSURE_ASCII | JSON_REAL_PRECISION(15));
    json_decref(object);
    return text;
}
