/* Words and figures of the write-up: see writeup_words.h. */
#include "record/writeup_words.h"

#include <math.h>
#include <string.h>

#include "job/question.h"
#include "record/figure.h"
#include "record/transcript.h"

/* ---- figures -------------------------------------------------------------------------------- */

const char *words_share(double probability, char out[16])
{
    struct text text = text_into(out, 16);
    if (!(probability >= 0.001))
        text_add(&text, "< 0.1");
    else if (probability > 0.999)
        text_add(&text, "> 99.9");
    else
        text_addf(&text, "%.1f", 100 * probability);
    return out;
}

const char *words_percent(double probability, char out[24])
{
    char share[16];
    struct text text = text_into(out, 24);
    text_addf(&text, "%s %%", words_share(probability, share));
    return out;
}

const char *words_time(int64_t at_ms, char out[40])
{
    char iso[32];
    transcript_time(at_ms, iso);
    struct text text = text_into(out, 40);
    const char *t = strchr(iso, 'T');
    const char *point = strchr(iso, '.');
    if (t == NULL || point == NULL) {
        text_add(&text, iso);
        return out;
    }
    text_add_n(&text, iso, (size_t)(t - iso));
    text_add(&text, " ");
    text_add_n(&text, t + 1, (size_t)(point - t - 1));
    text_add(&text, " UTC");
    return out;
}

uint64_t words_minutes(const struct job *job)
{
    uint64_t open_ms = (uint64_t)job->closed_ms - (uint64_t)job->opened_ms;
    return job->closed_ms > job->opened_ms ? open_ms / 60000 : 0;
}

double words_shown(double mm)
{
    return fabs(mm) < 0.005 ? 0 : mm;
}

const char *words_part(double turns, char out[24])
{
    struct text text = text_into(out, 24);
    for (int denominator = 1; denominator <= 64; denominator++) {
        double numerator = turns * denominator;
        if (fabs(numerator) > 1e6 || fabs(numerator - round(numerator)) > 1e-9)
            continue;
        text_addf(&text, denominator == 1 ? "%.0f" : "%.0f/%d", round(numerator), denominator);
        return out;
    }
    text_addf(&text, "%.3f", turns);
    return out;
}

const char *words_turn(double turns, char out[32])
{
    char part[24];
    struct text text = text_into(out, 32);
    text_addf(&text, "%s %s", words_part(fabs(turns), part), turns < 0 ? "ccw" : "cw");
    return out;
}

const char *words_advised(const struct job_round *round, char out[32])
{
    if (round->advised && round->advice.numerator > 0)
        return words_turn(round->advice.turns, out);
    text_copy(out, 32, round->advised ? "stop" : "-");
    return out;
}

const char *words_turned(const struct job_round *round, char out[32])
{
    if (words_was_turned(round))
        return words_turn(round->turns, out);
    text_copy(out, 32, round->turned ? "not turned" : "-");
    return out;
}

bool words_was_turned(const struct job_round *round)
{
    return round->turned && round->turns != 0 && !round->turn.not_turned;
}

int words_turned_rounds(const struct job *job)
{
    int n = 0;
    for (int i = 0; i < job->rounds; i++)
        n += words_was_turned(&job->round[i]);
    return n;
}

int words_last_balanced(const struct job *job)
{
    int i = job->rounds - 1;
    while (i >= 0 && !job->round[i].balanced)
        i--;
    return i;
}

const char *words_id(const char *id, char out[64])
{
    const char *dot = id == NULL ? NULL : strchr(id, '.');
    text_copy(out, 64, dot == NULL ? id : dot + 1);
    for (char *at = out; *at != '\0'; at++)
        if (*at == '_' || *at == '.')
            *at = ' ';
    return out;
}

/* The row of a question; NULL when the table has none of that id. */
static const struct job_question *question_of(const char *id)
{
    size_t index = id == NULL ? job_question_count() : job_question_index(id);
    return index < job_question_count() ? job_question_at(index) : NULL;
}

size_t words_proofs_with(const struct job *job, int result)
{
    size_t n = 0;
    for (size_t i = 0; i < job->proofs; i++)
        n += job->proof[i].result == result;
    return n;
}

void words_result(const struct job *job, struct text *text)
{
    size_t failed = words_proofs_with(job, 0);
    if (job->ending == JOB_STILL_OPEN)
        text_addf(text, "still open, at the %s", job_phase_name(job->phase));
    else if (job->ending == JOB_NOT_FIXED)
        text_add(text, "NOT FIXED");
    else if (failed > 0)
        text_addf(text, "closed as fixed, THOUGH %zu proving result%s FAILED", failed,
                  failed == 1 ? "" : "s");
    else if (words_proofs_with(job, 1) == 0)
        text_add(text, "closed as fixed, THOUGH NOTHING WAS PROVED");
    else
        text_add(text, "fixed");
}

/* ---- concern and cause ---------------------------------------------------------------------- */

const struct words_intake words_intake[WORDS_INTAKE] = {
    {REASON_COMPLAINT, "what is wrong"},
    {REASON_TEMPERATURE, "hot or cold"},
    {REASON_ENGINE, "engine off or running"},
    {REASON_MOTION, "rolling or standing"},
    {REASON_CREEP, "creep with the lever pulled in"},
    {REASON_GEARS, "the other gears"},
    {REASON_ONSET, "sudden or gradual"},
    {REASON_SERVICED_FLUID, "fluid serviced lately"},
    {REASON_SERVICED_CLUTCH, "clutch serviced lately"},
    {REASON_SERVICED_LINKAGE, "linkage serviced lately"},
};

bool words_anything_seen(const struct job *job)
{
    for (size_t i = 0; i < REASON_EVIDENCE_COUNT; i++)
        if (job->reason.seen[i] >= 0)
            return true;
    return false;
}

void words_reasons(const struct job *job, const struct reason_rank *rank, struct text *text)
{
    const char *between = ": ";
    for (size_t i = 0; i < 2; i++) {
        int evidence = rank->because[i];
        if (evidence < 0 || evidence >= REASON_EVIDENCE_COUNT || job->reason.seen[evidence] < 0)
            continue;
        text_addf(
            text, "%s%s, %s", between, rank->weight[i] < 0 ? "against it" : "for it",
            reason_observation_words((enum reason_evidence)evidence, job->reason.seen[evidence]));
        between = "; ";
    }
}

const struct reason_rank *words_rank_of(const struct reason_rank *rank, int cause)
{
    for (size_t i = 0; i < REASON_CAUSE_COUNT; i++)
        if ((int)rank[i].cause == cause)
            return &rank[i];
    return NULL;
}

/* ---- correction and checks ------------------------------------------------------------------ */

const char *words_centring(const struct job *job)
{
    switch (job->centring) {
    case JOB_NOT_MEASURED:
        return job->rounds > 0 ? "Pawl: not centred; the throws were not settled."
                               : "Pawl: not checked.";
    case JOB_CENTRED_AS_FOUND:
        return "Pawl: the throws were even as found.";
    case JOB_CENTRED:
        return "Pawl: the throws were made even by adjusting.";
    case JOB_ESCALATED:
        return "Pawl: adjusting was stopped before the throws were even.";
    case JOB_HOOK_BAD:
        return "Pawl: hook, pin or arm is worn or bent; there was nothing to centre.";
    case JOB_CENTRING_SKIPPED:
        return "Pawl: the check was skipped.";
    case JOB_CANNOT_TELL:
        return "Pawl: the readings never settled whether the throws are even.";
    }
    return "Pawl: not known.";
}

static const char *stop_words(enum measure_turn_kind kind)
{
    switch (kind) {
    case MEASURE_STOP_ROUNDS:
        return "the rounds allowed had run out";
    case MEASURE_STOP_TOTAL:
        return "the total turn allowed had been used up";
    case MEASURE_STOP_NO_RESPONSE:
        return "the arm did not follow the stem";
    case MEASURE_STOP_SIGN_CHANGED:
        return "the arm moved one way, then the other";
    case MEASURE_TURN_NONE:
        return "no turn a hand can make would have made it better";
    case MEASURE_TURN_ADJUST:
    case MEASURE_TURN_PROBE:
        break;
    }
    return NULL;
}

const char *words_stop(const struct job *job)
{
    int last = words_last_balanced(job);
    bool advised = last >= 0 && job->round[last].advised;
    return job->centring == JOB_ESCALATED && advised ? stop_words(job->round[last].advice.kind)
                                                     : NULL;
}

void words_turns(const struct job *job, struct text *text)
{
    int turned = words_turned_rounds(job);
    if (turned == 0) {
        text_add(text, job->rounds > 0 ? "The stem was not turned." : "");
        return;
    }
    double net = 0;
    double total = 0;
    for (int i = 0; i < job->rounds; i++) {
        if (!words_was_turned(&job->round[i]))
            continue;
        net += job->round[i].turns;
        total += fabs(job->round[i].turns);
    }
    char all[24];
    char away[24];
    text_addf(text,
              "The stem was turned in %d round%s, %s of a turn in all; it stands %s of a turn %s "
              "from where it was, as seen facing the stem.",
              turned, turned == 1 ? "" : "s", words_part(total, all), words_part(fabs(net), away),
              net < 0 ? "counter-clockwise" : "clockwise");
}

const char *words_side(double offset_mm)
{
    double offset = words_shown(offset_mm);
    return offset > 0 ? "rest too far back" : (offset < 0 ? "rest too far forward" : "");
}

static void add_limits(struct text *text, const struct job_check *check)
{
    char low[FIGURE_LENGTH];
    char high[FIGURE_LENGTH];
    if (check->has_low)
        text_addf(text, "limits %s to %s", figure_length(check->low, low),
                  figure_length(check->high, high));
    else
        text_addf(text, "at most %s", figure_length(check->high, high));
    if (check->has_low && check->low_asked != check->high_asked)
        text_addf(text, ", one from the profile, one given by the technician");
    else
        text_add(text, check->high_asked ? ", given by the technician" : ", from the profile");
}

void words_check(const struct job_check *check, struct text *text)
{
    char figure[FIGURE_LENGTH];
    char probability[24];
    text_addf(text, "%s: ", check->what);
    if (check->measured) {
        text_addf(text, "last measured %s; ", figure_length(check->value, figure));
        add_limits(text, check);
        text_addf(text, "; %s (probability in limits %s)", measure_limit_name(check->limit.verdict),
                  words_percent(check->limit.probability_in, probability));
    }
    bool told = check->measured && /* the verdict again, in the job's words */
                strcmp(check->found, measure_limit_name(check->limit.verdict)) == 0;
    if (check->found[0] != '\0' && !told)
        text_addf(text, "%s%s", check->measured ? "; " : "", check->found);
    if (check->put_right)
        text_add(text, "; set to the manual");
    if (check->cured >= 0)
        text_add(text, check->cured ? "; neutral was easy after that" : "; that did not cure it");
}

/* ---- cautions and corrections --------------------------------------------------------------- */

void words_caution(const struct job_caution *caution, struct text *text)
{
    const struct job_question *question = question_of(caution->id);
    bool spoken =
        question != NULL && question->grammar != NULL && strcmp(question->grammar, "caution") == 0;
    char name[64];
    text_add(text, spoken ? language_phrase_words(question->phrase) : words_id(caution->id, name));
}

void words_caution_place(const struct job_caution *caution, struct text *text)
{
    const struct job_question *question = question_of(caution->id);
    if (question == NULL)
        return;
    text_add(text, job_phase_name(question->phase));
    if (question->phase == JOB_ADJUSTING)
        text_addf(text, ", round %d", caution->round);
}

void words_correction(const struct job_correction *correction, struct text *text)
{
    char name[64];
    text_addf(text, "%s: ", words_id(correction->id, name));
    if (correction->was[0] != '\0')
        text_addf(text, "\"%s\"", correction->was);
    else
        text_add(text, "nothing");
    if (correction->became[0] != '\0')
        text_addf(text, " became \"%s\".", correction->became);
    else
        text_add(text, " was taken back.");
}

/* ---- what was not done ---------------------------------------------------------------------- */

static void add_item(struct text *list, const char *item)
{
    text_addf(list, "%s%s", list->used == 0 ? "" : ", ", item);
}

/* The last turn has no measurement after it: nobody knows where the arm stands. */
bool words_left_unmeasured(const struct job *job)
{
    int last = words_last_balanced(job);
    for (int i = last < 0 ? 0 : last; i < job->rounds; i++)
        if (words_was_turned(&job->round[i]))
            return true;
    return false;
}

void words_not_done(const struct job *job, struct words_not_done *out)
{
    struct text intake = text_into(out->intake, sizeof out->intake);
    struct text checks = text_into(out->checks, sizeof out->checks);
    struct text proofs = text_into(out->proofs, sizeof out->proofs);
    for (size_t i = 0; i < WORDS_INTAKE; i++)
        if (job->reason.seen[words_intake[i].evidence] < 0)
            add_item(&intake, words_intake[i].label);
    for (unsigned check = REASON_CHECK_FREE_PLAY; check <= REASON_CHECK_PAWL; check++)
        if ((job->checks_done & 1u << check) == 0)
            add_item(&checks, reason_check_name((enum reason_check)check));
    for (size_t i = 0; i < job->proofs; i++)
        if (job->proof[i].result < 0)
            add_item(&proofs, job->proof[i].what);
    out->unmeasured = words_left_unmeasured(job);
}

bool words_nothing_left_out(const struct words_not_done *left)
{
    return left->intake[0] == '\0' && left->checks[0] == '\0' && left->proofs[0] == '\0' &&
           !left->unmeasured;
}

/* ---- tools and what is next ----------------------------------------------------------------- */

static void add_tool(char out[WORDS_TOOLS][WORDS_TOOL], size_t *n, const char *tool,
                     const char *figure)
{
    struct text text = text_into(out[(*n)++], WORDS_TOOL);
    text_addf(&text, "%s: %s", tool, figure);
}

static const char *size_words(struct profile_length size, char out[FIGURE_LENGTH])
{
    return size.known ? figure_length(size.value, out) : "size not given, see the service manual";
}

/* The lock nut was loosened in every round that came to its turn, whether one was made or not. */
static bool lock_nut_was_loosened(const struct job *job)
{
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].turned)
            return true;
    return false;
}

static bool anything_measured(const struct job *job)
{
    for (size_t i = 0; i < job->checks; i++)
        if (job->check[i].measured)
            return true;
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].forward.n + job->round[i].back.n > 0)
            return true;
    return false;
}

size_t words_tools(const struct job *job, char out[WORDS_TOOLS][WORDS_TOOL])
{
    const struct profile *numbers = &job->numbers;
    char figure[FIGURE_LENGTH];
    size_t n = 0;
    if (lock_nut_was_loosened(job)) {
        add_tool(out, &n, "lock nut, across flats", size_words(numbers->lock_nut_size, figure));
        struct text torque = text_into(figure, sizeof figure);
        if (numbers->lock_nut_nm.known)
            text_addf(&torque, "%.4g Nm", numbers->lock_nut_nm.value);
        else
            text_add(&torque, "not given, see the service manual");
        add_tool(out, &n, "lock nut torque", figure);
    }
    if (words_turned_rounds(job) > 0)
        add_tool(out, &n, "stem, across flats", size_words(numbers->stem_size, figure));
    if (anything_measured(job)) {
        bool known = numbers->resolution.known;
        add_tool(out, &n, "rule or caliper, read to",
                 known ? figure_length(numbers->resolution.value, figure) : "not said");
    }
    return n;
}

size_t words_next(const struct job *job, struct words_next out[WORDS_NAMED])
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    unsigned named = job->checks_done;
    size_t n = 0;
    for (size_t i = 0; i < REASON_CAUSE_COUNT && n < WORDS_NAMED; i++) {
        enum reason_check check = reason_check_for(rank[i].cause);
        if ((named & 1u << (unsigned)check) != 0)
            continue;
        named |= 1u << (unsigned)check;
        out[n++] = (struct words_next){check, rank[i].cause, rank[i].probability};
    }
    return n;
}
