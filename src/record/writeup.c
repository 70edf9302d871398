/* The write-up: a section a function, in the order of the page, each from the job's state alone and
 * each saying so when there is nothing to say. */
#include "record/writeup.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "job/question.h"
#include "record/figure.h"
#include "record/page.h"
#include "record/transcript.h"

enum {
    HEAD = 13, /* column of what stands beside the head's labels */
    INDENT = 2,
    FIGURES = 14,  /* column of a throw's figures */
    TIMED = 27,    /* column behind a time */
    NAMED_MAX = 3, /* causes and checks named when nothing is confirmed */
};

/* ---- figures -----------------------------------------------------------------------------------
 */

/* In percent; never 100 nor 0 for what is only nearly so. */
static const char *share_figure(double probability, char out[16])
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

static const char *percent(double probability, char out[24])
{
    char share[16];
    struct text text = text_into(out, 24);
    text_addf(&text, "%s %%", share_figure(probability, share));
    return out;
}

/* "2026-11-25 09:14:03 UTC" */
static const char *time_figure(int64_t at_ms, char out[40])
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

/* Never "-0.00". */
static double shown(double mm)
{
    return fabs(mm) < 0.005 ? 0 : mm;
}

/* Part of a turn, as a fraction where it is one: "3/32", else "0.300". */
static const char *part_figure(double turns, char out[24])
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

/* A turn in the table of rounds: "1/16 cw". */
static const char *turn_figure(double turns, char out[32])
{
    char part[24];
    struct text text = text_into(out, 32);
    text_addf(&text, "%s %s", part_figure(fabs(turns), part), turns < 0 ? "ccw" : "cw");
    return out;
}

static bool was_turned(const struct job_round *round)
{
    return round->turned && round->turns != 0 && !round->turn.not_turned;
}

static int turned_rounds(const struct job *job)
{
    int n = 0;
    for (int i = 0; i < job->rounds; i++)
        n += was_turned(&job->round[i]);
    return n;
}

/* The newest round whose balance is known; -1: none. */
static int last_balanced(const struct job *job)
{
    int i = job->rounds - 1;
    while (i >= 0 && !job->round[i].balanced)
        i--;
    return i;
}

/* "adjusting.engine_off" as "engine off" */
static const char *plain_id(const char *id, char out[64])
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

/* ---- head --------------------------------------------------------------------------------------
 */

static size_t proofs_with(const struct job *job, int result)
{
    size_t n = 0;
    for (size_t i = 0; i < job->proofs; i++)
        n += job->proof[i].result == result;
    return n;
}

static void put_result(struct page *page, const struct job *job)
{
    size_t failed = proofs_with(job, 0);
    if (job->ending == JOB_STILL_OPEN)
        page_label(page, 0, HEAD, "Result", "still open, at the %s", job_phase_name(job->phase));
    else if (job->ending == JOB_NOT_FIXED)
        page_label(page, 0, HEAD, "Result", "NOT FIXED");
    else if (failed > 0)
        page_label(page, 0, HEAD, "Result", "closed as fixed, THOUGH %zu proving result%s FAILED",
                   failed, failed == 1 ? "" : "s");
    else if (proofs_with(job, 1) == 0)
        page_label(page, 0, HEAD, "Result", "closed as fixed, THOUGH NOTHING WAS PROVED");
    else
        page_label(page, 0, HEAD, "Result", "fixed");
}

static void put_times(struct page *page, const struct job *job)
{
    char at[40];
    page_label(page, 0, HEAD, "Opened", "%s", time_figure(job->opened_ms, at));
    if (job->closed_ms == 0)
        return;
    uint64_t open_ms = (uint64_t)job->closed_ms - (uint64_t)job->opened_ms;
    uint64_t minutes = job->closed_ms > job->opened_ms ? open_ms / 60000 : 0;
    page_label(page, 0, HEAD, "Closed", "%s, %llu minute%s after it was opened",
               time_figure(job->closed_ms, at), (unsigned long long)minutes,
               minutes == 1 ? "" : "s");
}

static void put_head(struct page *page, const struct job *job, int64_t number)
{
    page_put(page, 0, 0, "MIDTHROW WRITE-UP, JOB %lld", (long long)number);
    page_blank(page);
    page_label(page, 0, HEAD, "Work order", "%s", job->order[0] == '\0' ? "not given" : job->order);
    if (job->has_profile) {
        page_label(page, 0, HEAD, "Bike", "%s (profile %s)", job->profile.title, job->profile.name);
        page_label(page, 0, HEAD, "Numbers", "%s", job->profile.source);
    } else {
        page_label(page, 0, HEAD, "Bike", "no profile was chosen");
    }
    if (job->odometer >= 0)
        page_label(page, 0, HEAD, "Odometer", "%lld", (long long)job->odometer);
    else
        page_label(page, 0, HEAD, "Odometer", "not given");
    put_times(page, job);
    put_result(page, job);
}

/* ---- concern -----------------------------------------------------------------------------------
 */

static const struct intake {
    enum reason_evidence evidence;
    const char *label; /* of what was not answered */
} INTAKE[] = {
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
enum { INTAKE_N = sizeof INTAKE / sizeof INTAKE[0] };

static void put_concern(struct page *page, const struct job *job)
{
    size_t answered = 0;
    page_heading(page, "CONCERN");
    for (size_t i = 0; i < INTAKE_N; i++) {
        int value = job->reason.seen[INTAKE[i].evidence];
        if (value < 0)
            continue;
        page_put(page, INDENT, INDENT + 2, "- %s",
                 reason_observation_words(INTAKE[i].evidence, value));
        answered++;
    }
    if (answered == 0)
        page_put(page, INDENT, INDENT, "No question about the concern was answered.");
}

/* ---- cause -------------------------------------------------------------------------------------
 */

static bool anything_seen(const struct job *job)
{
    for (size_t i = 0; i < REASON_EVIDENCE_COUNT; i++)
        if (job->reason.seen[i] >= 0)
            return true;
    return false;
}

static void add_reasons(struct text *text, const struct job *job, const struct reason_rank *rank)
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

static void put_ranked(struct page *page, const struct job *job, const struct reason_rank *rank,
                       const char *lead, const char *name)
{
    char reasons[512];
    char probability[24];
    struct text text = text_into(reasons, sizeof reasons);
    add_reasons(&text, job, rank);
    page_put(page, INDENT, INDENT + 3, "%s%s %s%s.", lead, name,
             percent(rank->probability, probability), reasons);
}

static const struct reason_rank *rank_of(const struct reason_rank *rank, int cause)
{
    for (size_t i = 0; i < REASON_CAUSE_COUNT; i++)
        if ((int)rank[i].cause == cause)
            return &rank[i];
    return NULL;
}

static void put_cause(struct page *page, const struct job *job)
{
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    const struct reason_rank *confirmed = rank_of(rank, job->cause);
    page_heading(page, "CAUSE");
    if (confirmed != NULL) {
        page_put(page, INDENT, INDENT, "Confirmed: %s.", reason_cause_name(confirmed->cause));
        put_ranked(page, job, confirmed, "", "What was seen gives it");
        return;
    }
    if (!anything_seen(job)) {
        page_put(page, INDENT, INDENT, "Not known: nothing was answered or checked.");
        return;
    }
    page_put(page, INDENT, INDENT,
             "Not confirmed. Likeliest on what was seen (judgement, not "
             "measurement):");
    static const char *const leads[NAMED_MAX] = {"1. ", "2. ", "3. "};
    for (size_t i = 0; i < NAMED_MAX; i++)
        put_ranked(page, job, &rank[i], leads[i], reason_cause_name(rank[i].cause));
}

/* ---- correction --------------------------------------------------------------------------------
 */

static const char *centring_words(const struct job *job)
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

static void put_turns(struct page *page, const struct job *job)
{
    int turned = turned_rounds(job);
    if (turned == 0) {
        if (job->rounds > 0)
            page_put(page, INDENT, INDENT + 2, "- The stem was not turned.");
        return;
    }
    double net = 0;
    double total = 0;
    for (int i = 0; i < job->rounds; i++) {
        if (!was_turned(&job->round[i]))
            continue;
        net += job->round[i].turns;
        total += fabs(job->round[i].turns);
    }
    char all[24];
    char away[24];
    page_put(page, INDENT, INDENT + 2,
             "- The stem was turned in %d round%s, %s of a turn in all; it stands %s of a turn %s "
             "from where it was, as seen facing the stem.",
             turned, turned == 1 ? "" : "s", part_figure(total, all), part_figure(fabs(net), away),
             net < 0 ? "counter-clockwise" : "clockwise");
}

static void put_stop(struct page *page, const struct job *job)
{
    int last = last_balanced(job);
    const char *why =
        last >= 0 && job->round[last].advised ? stop_words(job->round[last].advice.kind) : NULL;
    if (job->centring == JOB_ESCALATED && why != NULL)
        page_put(page, INDENT, INDENT + 2, "- Why it was stopped: %s.", why);
}

static void put_correction(struct page *page, const struct job *job)
{
    page_heading(page, "CORRECTION");
    for (size_t i = 0; i < job->checks; i++)
        if (job->check[i].put_right)
            page_put(page, INDENT, INDENT + 2, "- %s: set to the manual.", job->check[i].what);
    page_put(page, INDENT, INDENT + 2, "- %s", centring_words(job));
    put_stop(page, job);
    put_turns(page, job);
}

/* ---- checks ------------------------------------------------------------------------------------
 */

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

/* A count has its unit's name behind every figure: "950 rpm; limits 900 to 1000 rpm". */
static void add_count(struct text *text, const struct job_check *check)
{
    text_addf(text, "last read %.4g %s; limits %.4g to %.4g %s, %s", check->number, check->unit,
              check->number_low, check->number_high, check->unit,
              check->high_asked || check->low_asked ? "given by the technician"
                                                    : "from the profile");
}

static void put_check(struct page *page, const struct job_check *check)
{
    char figure[FIGURE_LENGTH];
    char probability[24];
    char line[512];
    struct text text = text_into(line, sizeof line);
    text_addf(&text, "- %s: ", check->what);
    if (check->measured || check->counted) {
        if (check->counted) {
            add_count(&text, check);
        } else {
            text_addf(&text, "last measured %s; ", figure_length(check->value, figure));
            add_limits(&text, check);
        }
        text_addf(&text, "; %s (probability in limits %s)",
                  measure_limit_name(check->limit.verdict),
                  percent(check->limit.probability_in, probability));
    }
    bool told = (check->measured || check->counted) && /* the verdict again, in the job's words */
                strcmp(check->found, measure_limit_name(check->limit.verdict)) == 0;
    if (check->found[0] != '\0' && !told)
        text_addf(&text, "%s%s", check->measured || check->counted ? "; " : "", check->found);
    if (check->put_right)
        text_add(&text, "; set to the manual");
    if (check->cured >= 0)
        text_add(&text, check->cured ? "; neutral was easy after that" : "; that did not cure it");
    page_put(page, INDENT, INDENT + 2, "%s.", line);
}

static void put_checks(struct page *page, const struct job *job)
{
    page_heading(page, "CHECKS");
    if (job->checks == 0 && job->hook < 0)
        page_put(page, INDENT, INDENT, "None was made.");
    for (size_t i = 0; i < job->checks; i++)
        put_check(page, &job->check[i]);
    if (job->hook >= 0)
        page_put(page, INDENT, INDENT + 2, "- hook, pin and arm, by eye: %s.",
                 reason_observation_words(REASON_HOOK_LOOK, job->hook));
}

/* ---- throws ------------------------------------------------------------------------------------
 */

static void put_throw(struct page *page, const char *label, const struct job_readings *readings,
                      const struct measure_estimate *estimate)
{
    char line[1024];
    struct text text = text_into(line, sizeof line);
    for (size_t i = 0; i < readings->n; i++) {
        char exact[64];
        measure_length_print(readings->value[i], exact, sizeof exact);
        text_addf(&text, "%s%s", i == 0 ? "" : ", ", exact);
    }
    page_label(page, INDENT + 2, FIGURES, label, "%s", readings->n == 0 ? "not read" : line);
    if (estimate != NULL && !isfinite(estimate->U_mm)) /* one reading says nothing of its scatter */
        page_put(page, FIGURES, FIGURES, "mean %.2f mm (%.4f in), uncertainty not known",
                 estimate->mean_mm, estimate->mean_mm / 25.4);
    else if (estimate != NULL)
        page_put(page, FIGURES, FIGURES, "mean %.2f mm +/- %.2f mm (%.4f in +/- %.4f in)",
                 estimate->mean_mm, estimate->U_mm, estimate->mean_mm / 25.4,
                 estimate->U_mm / 25.4);
}

static void put_balance(struct page *page, const struct job *job,
                        const struct measure_balance *balance)
{
    char tolerance[FIGURE_LENGTH];
    char probability[24];
    double offset = shown(balance->offset_mm);
    page_label(page, INDENT + 2, FIGURES, "split", "%.1f %% forward, %.1f %% back",
               balance->forward_percent, balance->back_percent);
    page_label(page, INDENT + 2, FIGURES, "offset", "%.2f mm (%.4f in)%s", fabs(offset),
               fabs(offset) / 25.4,
               offset > 0 ? ", rest too far back" : (offset < 0 ? ", rest too far forward" : ""));
    page_label(
        page, INDENT + 2, FIGURES, "verdict", "%s; probability of being even %s%s%s",
        measure_verdict_name(balance->verdict), percent(balance->probability_even, probability),
        job->numbers.tolerance.known ? "; tolerance " : "",
        job->numbers.tolerance.known ? figure_length(job->numbers.tolerance.value, tolerance) : "");
}

static void put_measurement(struct page *page, const struct job *job, int index, const char *when)
{
    const struct job_round *round = &job->round[index];
    char at[40];
    if (round->balanced)
        page_put(page, INDENT, INDENT, "%s, %s:", when, time_figure(round->at_ms, at));
    else
        page_put(page, INDENT, INDENT, "%s, not finished:", when);
    put_throw(page, "forward", &round->forward, round->balanced ? &round->balance.forward : NULL);
    put_throw(page, "back", &round->back, round->balanced ? &round->balance.back : NULL);
    if (round->balanced)
        put_balance(page, job, &round->balance);
}

static void put_throws(struct page *page, const struct job *job)
{
    int last = last_balanced(job);
    page_heading(page, "THROWS");
    if (job->rounds <= 0) {
        page_put(page, INDENT, INDENT, "Not measured.");
        return;
    }
    put_measurement(page, job, 0, "As found");
    if (last > 0)
        put_measurement(page, job, last, "Last measured");
    page_put(page, INDENT, INDENT,
             "+/- is the expanded uncertainty at 95 %% (JCGM 100); the verdict is a probability of "
             "conformity (JCGM 106).");
}

/* ---- rounds ------------------------------------------------------------------------------------
 */

static void put_round(struct page *page, const struct job_round *round, int index)
{
    char told[32] = "-";
    char turned[32] = "-";
    char even[16];
    if (round->advised && round->advice.numerator > 0)
        turn_figure(round->advice.turns, told);
    else if (round->advised)
        text_copy(told, sizeof told, "stop");
    if (was_turned(round))
        turn_figure(round->turns, turned);
    else if (round->turned)
        text_copy(turned, sizeof turned, "not turned");
    text_addf(&page->text, "  %5d", index);
    if (round->balanced)
        text_addf(&page->text, "  %10.2f  %7.2f  %+9.2f  %6s", round->balance.forward.mean_mm,
                  round->balance.back.mean_mm, shown(round->balance.offset_mm),
                  share_figure(round->balance.probability_even, even));
    else
        text_addf(&page->text, "  %10s  %7s  %9s  %6s", "-", "-", "-", "-");
    text_addf(&page->text, "  %-9s  %s\n", told, turned);
}

static void put_rounds(struct page *page, const struct job *job)
{
    if (turned_rounds(job) == 0)
        return;
    page_heading(page, "ADJUSTING ROUNDS");
    text_add(&page->text,
             "  round  forward mm  back mm  offset mm  even %  advised    turned then\n");
    for (int i = 0; i < job->rounds; i++)
        put_round(page, &job->round[i], i);
    page_put(page, INDENT, INDENT, "Parts of a turn; cw is clockwise, as seen facing the stem.");
    for (int i = 0; i < job->rounds; i++)
        if (job->round[i].sum_suspect)
            page_put(page, INDENT, INDENT,
                     "Round %d: forward and back together changed by more than their uncertainty; "
                     "a reading or a part is suspect.",
                     i);
}

/* ---- proving, cautions, what went wrong
 * ---------------------------------------------------------- */

static void put_proving(struct page *page, const struct job *job)
{
    char at[40];
    page_heading(page, "PROVING");
    if (proofs_with(job, 0) + proofs_with(job, 1) == 0)
        page_put(page, INDENT, INDENT, "Nothing was proved.");
    for (size_t i = 0; i < job->proofs; i++) {
        const struct job_proof *proof = &job->proof[i];
        if (proof->result >= 0)
            page_put(page, INDENT, INDENT + 2, "- %s: %s, %s", proof->what,
                     proof->result ? "passed" : "FAILED", time_figure(proof->at_ms, at));
    }
}

/* As it was confirmed, and where: "the lock nut is tight; adjusting, round 1". */
static void add_caution(struct text *text, const struct job_caution *caution)
{
    const struct job_question *question = question_of(caution->id);
    char name[64];
    if (question == NULL) {
        text_add(text, plain_id(caution->id, name));
        return;
    }
    bool spoken = question->grammar != NULL && strcmp(question->grammar, "caution") == 0;
    text_addf(text, "%s; %s",
              spoken ? language_phrase_words(question->phrase) : plain_id(caution->id, name),
              job_phase_name(question->phase));
    if (question->phase == JOB_ADJUSTING)
        text_addf(text, ", round %d", caution->round);
}

static void put_cautions(struct page *page, const struct job *job)
{
    page_heading(page, "CAUTIONS CONFIRMED");
    if (job->cautions == 0)
        page_put(page, INDENT, INDENT, "None.");
    for (size_t i = 0; i < job->cautions; i++) {
        const struct job_caution *caution = &job->caution[i];
        char line[256];
        char at[40];
        struct text text = text_into(line, sizeof line);
        add_caution(&text, caution);
        page_label(page, INDENT, TIMED, time_figure(caution->at_ms, at), "%s, by %s", line,
                   job_source_name(caution->source));
    }
}

static void add_item(struct text *list, const char *item)
{
    text_addf(list, "%s%s", list->used == 0 ? "" : ", ", item);
}

static void put_list(struct page *page, const char *lead, const struct text *list)
{
    if (list->used > 0)
        page_put(page, INDENT, INDENT + 2, "- %s: %s.", lead, list->at);
}

/* The last turn has no measurement after it: nobody knows where the arm stands. */
static bool left_unmeasured(const struct job *job)
{
    int last = last_balanced(job);
    for (int i = last < 0 ? 0 : last; i < job->rounds; i++)
        if (was_turned(&job->round[i]))
            return true;
    return false;
}

static void put_not_done(struct page *page, const struct job *job)
{
    char buffer[3][1024];
    struct text intake = text_into(buffer[0], sizeof buffer[0]);
    struct text checks = text_into(buffer[1], sizeof buffer[1]);
    struct text proofs = text_into(buffer[2], sizeof buffer[2]);
    for (size_t i = 0; i < INTAKE_N; i++)
        if (job->reason.seen[INTAKE[i].evidence] < 0)
            add_item(&intake, INTAKE[i].label);
    for (unsigned check = REASON_CHECK_FREE_PLAY; check <= REASON_CHECK_PAWL; check++)
        if ((job->checks_done & 1u << check) == 0)
            add_item(&checks, reason_check_name((enum reason_check)check));
    for (unsigned check = 0; check < REASON_CHECK_COUNT; check++)
        if ((job->left_out & 1u << check) != 0)
            add_item(&checks, reason_check_name((enum reason_check)check));
    for (size_t i = 0; i < job->proofs; i++)
        if (job->proof[i].result < 0)
            add_item(&proofs, job->proof[i].what);
    bool unmeasured = left_unmeasured(job);
    page_heading(page, "NOT DONE");
    put_list(page, "not answered or not known", &intake);
    put_list(page, "not checked", &checks);
    put_list(page, "not proved", &proofs);
    if (unmeasured)
        page_put(page, INDENT, INDENT + 2,
                 "- the throws were NOT measured again after the stem was last turned.");
    if (intake.used + checks.used + proofs.used == 0 && !unmeasured)
        page_put(page, INDENT, INDENT, "Nothing was left out.");
}

static void put_corrections(struct page *page, const struct job *job)
{
    page_heading(page, "HEARD AND CORRECTED");
    page_put(page, INDENT, INDENT, "%u answers taken, %u asked again, %u not understood.",
             job->heard, job->asked_again, job->rejected);
    for (size_t i = 0; i < job->corrections; i++) {
        const struct job_correction *correction = &job->correction[i];
        char name[64];
        char at[40];
        char line[256];
        struct text text = text_into(line, sizeof line);
        text_addf(&text, "%s: ", plain_id(correction->id, name));
        if (correction->was[0] != '\0')
            text_addf(&text, "\"%s\"", correction->was);
        else
            text_add(&text, "nothing");
        if (correction->became[0] != '\0')
            text_addf(&text, " became \"%s\".", correction->became);
        else
            text_add(&text, " was taken back.");
        page_label(page, INDENT, TIMED, time_figure(correction->at_ms, at), "%s", line);
    }
}

/* ---- tools and what is next
 * ---------------------------------------------------------------------- */

static void put_size(struct page *page, const char *tool, struct profile_length size)
{
    char figure[FIGURE_LENGTH];
    page_put(page, INDENT, INDENT + 2, "- %s: %s.", tool,
             size.known ? figure_length(size.value, figure)
                        : "size not given, see the service manual");
}

static void put_tools(struct page *page, const struct job *job)
{
    const struct profile *numbers = &job->numbers;
    char figure[FIGURE_LENGTH];
    page_heading(page, "TOOLS");
    put_size(page, "lock nut, across flats", numbers->lock_nut_size);
    if (numbers->lock_nut_nm.known)
        page_put(page, INDENT, INDENT + 2, "- lock nut torque: %.4g Nm.",
                 numbers->lock_nut_nm.value);
    put_size(page, "stem, across flats", numbers->stem_size);
    if (numbers->resolution.known)
        page_put(page, INDENT, INDENT + 2, "- rule or caliper read to %s.",
                 figure_length(numbers->resolution.value, figure));
}

static void put_next(struct page *page, const struct job *job)
{
    if (job->ending == JOB_FIXED)
        return;
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    unsigned named = job_checks_settled(job);
    int n = 0;
    page_heading(page, "NEXT CHECKS");
    for (size_t i = 0; i < REASON_CAUSE_COUNT && n < NAMED_MAX; i++) {
        enum reason_check check = reason_check_for(rank[i].cause);
        char probability[24];
        if ((named & 1u << (unsigned)check) != 0)
            continue;
        named |= 1u << (unsigned)check;
        page_put(page, INDENT, INDENT + 3, "%d. %s, about %.0f minutes: for %s, %s.", ++n,
                 reason_check_name(check), reason_check_minutes(check),
                 reason_cause_name(rank[i].cause), percent(rank[i].probability, probability));
    }
    page_put(page, INDENT, INDENT,
             n == 0 ? "No check of midthrow's is left: go back to the "
                      "service manual's diagnosis."
                    : "Do each as the service manual says.");
}

bool writeup_text(const struct job *job, int64_t number, char *out, size_t size)
{
    struct page page = page_into(out, size);
    put_head(&page, job, number);
    put_concern(&page, job);
    put_cause(&page, job);
    put_correction(&page, job);
    put_checks(&page, job);
    put_throws(&page, job);
    put_rounds(&page, job);
    put_proving(&page, job);
    put_cautions(&page, job);
    put_not_done(&page, job);
    put_corrections(&page, job);
    put_tools(&page, job);
    put_next(&page, job);
    page_blank(&page);
    page_put(&page, 0, 0, "Verify every value here against the service manual.");
    return !page.text.cut;
}
