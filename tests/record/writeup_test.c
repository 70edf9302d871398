/* The write-up: what it must say of a job done well, done in part, or not done at all. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>

#include "base/utf8.h"
#include "record/page.h"
#include "record/writeup.h"
#include "seeded_event.h"

static struct job *job;
static char page[WRITEUP_SIZE];
static char html[WRITEUP_HTML_SIZE];

/* 2026-11-25T09:14:03.120Z */
static const int64_t morning_ms = INT64_C(1795598043120);

static int make_job(void **state)
{
    (void)state;
    job = calloc(1, sizeof *job);
    if (job == NULL)
        return -1;
    job_init(job);
    job->opened_ms = morning_ms;
    return 0;
}

static int free_job(void **state)
{
    (void)state;
    free(job);
    return 0;
}

static void write_up(void)
{
    assert_true(writeup_text(job, 12, page, sizeof page));
}

/* The text with every run of white space as one space, so that what is looked for may be wrapped.
 */
static const char *unwrapped(void)
{
    static char flat[WRITEUP_SIZE];
    size_t used = 0;
    for (const char *at = page; *at != '\0'; at++)
        if (*at != ' ' && *at != '\n')
            flat[used++] = *at;
        else if (used > 0 && flat[used - 1] != ' ')
            flat[used++] = ' ';
    flat[used] = '\0';
    return flat;
}

static void assert_says(const char *what)
{
    if (strstr(unwrapped(), what) == NULL)
        fail_msg("no '%s' in:\n%s", what, page);
}

static void assert_silent(const char *what)
{
    if (strstr(unwrapped(), what) != NULL)
        fail_msg("'%s' in:\n%s", what, page);
}

/* ---- jobs --------------------------------------------------------------------------------------
 */

static struct measure_length inches(int64_t num, int64_t den)
{
    return measure_length_of(num, den, MEASURE_INCH);
}

static void read_throw(struct job_readings *readings, int64_t num, int64_t den)
{
    readings->value[readings->n++] = inches(num, den);
}

static void balance(struct job_round *round, int64_t at_ms)
{
    double forward[MEASURE_READINGS_MAX];
    double back[MEASURE_READINGS_MAX];
    for (size_t i = 0; i < round->forward.n; i++)
        forward[i] = measure_length_mm(round->forward.value[i]);
    for (size_t i = 0; i < round->back.n; i++)
        back[i] = measure_length_mm(round->back.value[i]);
    const struct measure_balance_input input = {.forward_mm = forward,
                                                .forward_n = round->forward.n,
                                                .back_mm = back,
                                                .back_n = round->back.n,
                                                .tolerance_mm = 25.4 / 32,
                                                .resolution_mm = 25.4 / 64};
    struct fault fault = {0};
    if (!measure_balance_of(&input, &round->balance, &fault))
        fail_msg("%s", fault.sentence);
    round->balanced = true;
    round->at_ms = at_ms;
}

static void turn(struct job_round *round, int numerator, int denominator, bool clockwise)
{
    round->advised = true;
    round->advice = (struct measure_turn_advice){.kind = MEASURE_TURN_ADJUST,
                                                 .numerator = numerator,
                                                 .denominator = denominator,
                                                 .clockwise = clockwise};
    round->advice.turns = (clockwise ? 1.0 : -1.0) * numerator / denominator;
    round->turned = true;
    round->turn = (struct language_turn){.as_told = true};
    round->turns = round->advice.turns;
}

static void choose_profile(void)
{
    struct fault fault = {0};
    if (!profile_load(SHIPPED "/generic-big-twin.ini", &job->profile, &fault))
        fail_msg("%s", fault.sentence);
    job->numbers = job->profile;
    job->has_profile = true;
}

static void proof(const char *what, int result)
{
    job->proof[job->proofs++] =
        (struct job_proof){.id = "proving.x", .what = what, .result = result, .at_ms = morning_ms};
}

/* A job as it should go: uneven as found, two turns, even, proved. */
static void do_the_job(void)
{
    choose_profile();
    strcpy(job->order, "4712");
    job->odometer = 20345;
    job->reason.seen[REASON_COMPLAINT] = REASON_HARD_TO_FIND;
    job->reason.seen[REASON_TEMPERATURE] = REASON_HOT_AND_COLD;
    job->reason.seen[REASON_ENGINE] = REASON_OFF_AND_RUNNING;
    job->reason.seen[REASON_MOTION] = REASON_STANDING;
    job->reason.seen[REASON_CREEP] = REASON_NO;
    job->reason.seen[REASON_GEARS] = REASON_YES;
    job->reason.seen[REASON_ONSET] = REASON_GRADUAL;
    job->reason.seen[REASON_SERVICED_FLUID] = REASON_NO;
    job->reason.seen[REASON_SERVICED_CLUTCH] = REASON_NO;
    job->reason.seen[REASON_SERVICED_LINKAGE] = REASON_YES;
    job->reason.seen[REASON_FREE_PLAY_IS] = REASON_WITHIN;
    job->reason.seen[REASON_THROWS] = REASON_UNEVEN;
    job->reason.seen[REASON_CURED_BY_CENTRING] = REASON_YES;
    job->checks_done = 15;
    job->check[job->checks++] =
        (struct job_check){.check = REASON_CHECK_FREE_PLAY,
                           .what = "lever free play",
                           .measured = true,
                           .value = inches(3, 32),
                           .has_low = true,
                           .low = inches(1, 16),
                           .high = inches(1, 8),
                           .low_asked = true,
                           .high_asked = true,
                           .limit = {.probability_in = 0.9876, .verdict = MEASURE_IN},
                           .found = "in",
                           .cured = -1,
                           .at_ms = morning_ms};
    job->check[job->checks++] = (struct job_check){.check = REASON_CHECK_FLUID,
                                                   .what = "primary fluid",
                                                   .found = "level low, dark",
                                                   .put_right = true,
                                                   .cured = 0,
                                                   .at_ms = morning_ms};
    job->hook = REASON_HOOK_GOOD;
    job->rounds = 3;
    read_throw(&job->round[0].forward, 11, 32);
    read_throw(&job->round[0].forward, 11, 32);
    read_throw(&job->round[0].back, 1, 4);
    read_throw(&job->round[0].back, 17, 64);
    balance(&job->round[0], morning_ms + 600000);
    turn(&job->round[0], 1, 16, true);
    read_throw(&job->round[1].forward, 5, 16);
    read_throw(&job->round[1].forward, 21, 64);
    read_throw(&job->round[1].back, 9, 32);
    read_throw(&job->round[1].back, 9, 32);
    balance(&job->round[1], morning_ms + 900000);
    turn(&job->round[1], 1, 32, false);
    for (int i = 0; i < 4; i++) {
        read_throw(&job->round[2].forward, 19, 64);
        read_throw(&job->round[2].back, 19, 64);
    }
    balance(&job->round[2], morning_ms + 1200000);
    job->centring = JOB_CENTRED;
    static const char *const cautions[] = {"centring.strapped", "adjusting.engine_off",
                                           "adjusting.none_of_the_table"};
    for (int i = 0; i < 3; i++)
        job->caution[job->cautions++] = (struct job_caution){
            .id = cautions[i], .round = i, .source = JOB_BY_EAR, .at_ms = morning_ms + i * 60000};
    proof("neutral from first, engine off", 1);
    proof("neutral from second, engine off", 1);
    proof("neutral from first, engine running", -1);
    job->correction[job->corrections++] = (struct job_correction){.id = "centring.forward",
                                                                  .was = "forty thou",
                                                                  .became = "fourteen thou",
                                                                  .at_ms = morning_ms};
    job->heard = 41;
    job->asked_again = 3;
    job->rejected = 2;
    job->ending = JOB_FIXED;
    job->cause = REASON_PAWL;
    job->closed_ms = morning_ms + 44 * 60000;
    job->phase = JOB_OVER;
}

/* ---- what is said ------------------------------------------------------------------------------
 */

static void a_job_done_well_has_its_concern_cause_and_correction(void **state)
{
    (void)state;
    do_the_job();
    write_up();
    assert_says("MIDTHROW WRITE-UP, JOB 12");
    assert_says("Work order 4712");
    assert_says("Bike Generic big twin (profile generic-big-twin)");
    assert_says("Numbers common practice, no source; the service manual wins");
    assert_says("Odometer 20345");
    assert_says("Opened 2026-11-25 09:14:03 UTC");
    assert_says("Closed 2026-11-25 09:58:03 UTC, 44 minutes after it was opened");
    assert_says("Result fixed");
    for (int evidence = REASON_COMPLAINT; evidence <= REASON_SERVICED_LINKAGE; evidence++)
        assert_says(
            reason_observation_words((enum reason_evidence)evidence, job->reason.seen[evidence]));
    assert_says("Confirmed: shifter pawl out of centre.");
    assert_says("the throws were uneven");
    assert_says("- primary fluid: set to the manual.");
    assert_says("the throws were made even by adjusting");
    assert_says("turned in 2 rounds, 3/32 of a turn in all; it stands 1/32 of a turn clockwise");
    assert_silent("NEXT CHECKS");
    const char *end = "\nVerify every value here against the service manual.\n";
    assert_string_equal(page + strlen(page) - strlen(end), end);
}

static void checks_come_with_value_limit_and_where_the_limit_is_from(void **state)
{
    (void)state;
    do_the_job();
    write_up();
    assert_says("lever free play: last measured 3/32 in (2.381 mm); limits 1/16 in (1.588 mm) to "
                "1/8 in (3.175 mm), given by the technician; in (probability in limits 98.8 %)");
    assert_says("primary fluid: level low, dark; set to the manual; that did not cure it.");
    job->check[0].low_asked = false;
    write_up();
    assert_says("one from the profile, one given by the technician");
    job->check[0].high_asked = false;
    job->check[0].cured = 1;
    write_up();
    assert_says("(3.175 mm), from the profile; in");
    assert_says("neutral was easy after that");
    job->check[0].has_low = false;
    write_up();
    assert_says("at most 1/8 in (3.175 mm), from the profile");
}

/* 1/64 in read as a rectangular distribution has u = 25.4/64/sqrt(12) = 0.1146 mm (JCGM
 * 100, 4.3.7); four readings that agree leave that alone, k = 1.96 (table G.2): U = 0.2246 mm,
 * 0.0088 in. Measure may count a least spread besides, so its own estimate is what is printed; the
 * mean is 19/64 in. */
static void readings_come_before_and_after_with_their_uncertainty(void **state)
{
    (void)state;
    do_the_job();
    write_up();
    assert_says("As found, 2026-11-25 09:24:03 UTC: forward 11/32 in, 11/32 in mean 8.73 mm +/- ");
    assert_says("back 1/4 in, 17/64 in mean 6.55 mm +/- ");
    assert_says("Last measured, 2026-11-25 09:34:03 UTC: forward 19/64 in, 19/64 in, 19/64 in, "
                "19/64 in mean 7.54 mm +/- ");
    char wanted[128];
    double U = job->round[2].balance.forward.U_mm;
    assert_true(U >= 0.22 && U < 0.30);
    snprintf(wanted, sizeof wanted, "mean 7.54 mm +/- %.2f mm (0.2969 in +/- %.4f in)", U,
             U / 25.4);
    assert_says(wanted);
    assert_says("split 57.1 % forward, 42.9 % back");             /* 22/64 and 16.5/64 of an inch */
    assert_says("offset 1.09 mm (0.0430 in), rest too far back"); /* half of 5.5/64 in */
    assert_says("verdict uneven");
    assert_says("verdict even; probability of being even > 99.9 %; tolerance 1/32 in (0.794 mm)");
    assert_says("JCGM 100");
}

static void one_reading_alone_has_no_uncertainty_to_tell(void **state)
{
    (void)state;
    job->rounds = 1;
    read_throw(&job->round[0].forward, 5, 16);
    read_throw(&job->round[0].back, 5, 16);
    balance(&job->round[0], morning_ms);
    write_up();
    assert_says("forward 5/16 in mean 7.94 mm (0.3125 in), uncertainty not known");
    assert_silent("inf");
    assert_silent("nan");
}

static void every_round_has_its_line(void **state)
{
    (void)state;
    do_the_job();
    job->round[1].sum_suspect = true;
    write_up();
    assert_says("0 8.73 6.55 +1.09 0.1 1/16 cw 1/16 cw");
    assert_says("1 8.14 7.14 +0.50");
    assert_says("1/32 ccw 1/32 ccw");
    assert_says("2 7.54 7.54 +0.00 > 99.9 - -");
    assert_says("Round 1: forward and back together changed by more than their uncertainty");
    job->round[1].turn = (struct language_turn){.not_turned = true};
    job->round[1].turns = 0;
    write_up();
    assert_says("1/32 ccw not turned");
    assert_says("turned in 1 round, 1/16 of a turn in all");
}

static void proving_cautions_and_corrections_are_listed(void **state)
{
    (void)state;
    do_the_job();
    write_up();
    assert_says("neutral from first, engine off: passed, 2026-11-25 09:14:03 UTC");
    assert_says("not proved: neutral from first, engine running.");
    assert_says("2026-11-25 09:14:03 UTC the bike is upright and strapped; pawl check, by ear");
    assert_says("2026-11-25 09:15:03 UTC engine off and key out; adjusting, round 1, by ear");
    assert_says("2026-11-25 09:16:03 UTC none of the table, by ear");
    assert_says("41 answers taken, 3 asked again, 2 not understood.");
    assert_says("forward: \"forty thou\" became \"fourteen thou\".");
    job->correction[0].became[0] = '\0';
    write_up();
    assert_says("forward: \"forty thou\" was taken back.");
    job->correction[0].was[0] = '\0';
    write_up();
    assert_says("forward: nothing was taken back.");
    assert_says("lock nut, across flats: 11/16 in (17.463 mm)");
    assert_says("stem, across flats: 1/4 in (6.350 mm)");
}

static void only_the_tools_of_work_that_was_done_are_listed(void **state)
{
    (void)state;
    do_the_job();
    profile_init(&job->numbers);
    write_up();
    assert_says(
        "TOOLS - lock nut, across flats: size not given, see the service manual. - lock nut "
        "torque: not given, see the service manual. - stem, across flats: size not given, "
        "see the service manual. - rule or caliper, read to: not said.");
    for (int i = 0; i < job->rounds; i++) /* the lock nut was loosened, the stem left alone */
        job->round[i].turn.not_turned = true;
    write_up();
    assert_says("lock nut, across flats");
    assert_silent("stem, across flats");
    for (int i = 0; i < job->rounds; i++)
        job->round[i].turned = false;
    write_up();
    assert_silent("lock nut, across flats");
    assert_says("TOOLS - rule or caliper, read to: not said.");
    job->rounds = 0; /* a check's reading is left */
    write_up();
    assert_says("TOOLS - rule or caliper, read to: not said.");
    job->checks = 0;
    write_up();
    assert_says("TOOLS Nothing that was done needed one.");
}

static void fixed_is_not_said_without_its_doubts(void **state)
{
    (void)state;
    do_the_job();
    job->proof[1].result = 0;
    write_up();
    assert_says("closed as fixed, THOUGH 1 proving result FAILED");
    assert_says("neutral from second, engine off: FAILED");
    for (size_t i = 0; i < job->proofs; i++)
        job->proof[i].result = -1;
    write_up();
    assert_says("closed as fixed, THOUGH NOTHING WAS PROVED");
    assert_says("Nothing was proved.");
}

static void a_turn_that_was_not_measured_after_is_said_so(void **state)
{
    (void)state;
    do_the_job();
    assert_int_equal(job->rounds, 3);
    write_up();
    assert_silent("NOT measured again");
    turn(&job->round[2], 1, 32, true);
    write_up();
    assert_says("the throws were NOT measured again after the stem was last turned");
    job->rounds = 4; /* reading has begun, and is not finished */
    read_throw(&job->round[3].forward, 5, 16);
    write_up();
    assert_says("NOT measured again");
}

static void a_job_not_fixed_names_its_next_checks(void **state)
{
    (void)state;
    do_the_job();
    job->ending = JOB_NOT_FIXED;
    job->cause = -1;
    job->centring = JOB_ESCALATED;
    job->round[2].advised = true;
    job->round[2].advice = (struct measure_turn_advice){.kind = MEASURE_STOP_NO_RESPONSE};
    job->reason.seen[REASON_CURED_BY_CENTRING] = REASON_NO;
    write_up();
    assert_says("Result NOT FIXED");
    assert_says("Not confirmed. Likeliest on what was seen (judgement, not measurement):");
    assert_says("Why it was stopped: the arm did not follow the stem.");
    struct reason_rank rank[REASON_CAUSE_COUNT];
    reason_rank(&job->reason, rank);
    char wanted[256];
    snprintf(wanted, sizeof wanted, "1. %s %.1f %%", reason_cause_name(rank[0].cause),
             100 * rank[0].probability);
    assert_says(wanted);
    const struct reason_rank *next = rank;
    while ((job->checks_done & 1u << reason_check_for(next->cause)) != 0)
        next++;
    snprintf(wanted, sizeof wanted, "NEXT CHECKS 1. %s, about %.0f minutes: for %s, ",
             reason_check_name(reason_check_for(next->cause)),
             reason_check_minutes(reason_check_for(next->cause)), reason_cause_name(next->cause));
    assert_says(wanted);
    job->checks_done = (1u << REASON_CHECK_COUNT) - 1;
    write_up();
    assert_says("No check of midthrow's is left: go back to the service manual's diagnosis.");
}

static void a_job_put_away_while_adjusting_is_not_called_stopped(void **state)
{
    (void)state;
    do_the_job();
    job->ending = JOB_STILL_OPEN;
    job->centring = JOB_ESCALATED;
    job->phase = JOB_ADJUSTING;
    write_up();
    assert_says("Pawl: being adjusted; the throws are not even yet.");
    char *json = writeup_json(job, 12);
    assert_non_null(strstr(json, "\"centring\": \"under way\""));
    free(json);
    job->phase = JOB_CHECKS;
    write_up();
    assert_says("Pawl: adjusting was stopped before the throws were even.");
}

static void a_job_hardly_begun_claims_nothing(void **state)
{
    (void)state;
    write_up();
    assert_says("Work order not given");
    assert_says("no profile was chosen");
    assert_says("Odometer not given");
    assert_says("Result still open, at the ");
    assert_silent("Closed");
    assert_says("No question about the concern was answered.");
    assert_says("Not known: nothing was answered or checked.");
    assert_says("Pawl: not checked.");
    assert_says("CHECKS None was made.");
    assert_says("THROWS Not measured.");
    assert_silent("ADJUSTING ROUNDS");
    assert_says("Nothing was proved.");
    assert_says("CAUTIONS CONFIRMED None.");
    assert_says("not answered or not known: what is wrong, hot or cold");
    assert_says("not checked: ");
    assert_says("TOOLS Nothing that was done needed one.");
    assert_says("Verify every value here against the service manual.");
}

/* ---- any job -----------------------------------------------------------------------------------
 */

static void assert_is_plain_in_80_columns(const char *text)
{
    size_t length = strlen(text);
    size_t column = 0;
    for (size_t at = 0, n; at < length; at += n) {
        uint32_t point = 0;
        n = utf8_next(text + at, length - at, &point);
        assert_true(n > 0);
        column = point == '\n' ? 0 : column + 1;
        if (point != '\n' && utf8_is_control(point))
            fail_msg("control character %lX", (unsigned long)point);
        if (column > PAGE_COLUMNS)
            fail_msg("a line of more than %d columns:\n%.90s", (int)PAGE_COLUMNS, text + at - 80);
    }
}

static struct measure_length any_length(uint64_t *seed)
{
    return measure_length_of((int64_t)seeded_below(seed, 1000000000),
                             1 + (int64_t)seeded_below(seed, 1000000000),
                             (enum measure_unit)seeded_below(seed, 3));
}

static void any_round(uint64_t *seed, struct job_round *round)
{
    double *balance_figures[] = {&round->balance.forward.mean_mm, &round->balance.forward.U_mm,
                                 &round->balance.back.mean_mm,    &round->balance.back.U_mm,
                                 &round->balance.offset_mm,       &round->balance.forward_percent,
                                 &round->balance.back_percent,    &round->balance.probability_even};
    for (size_t i = 0; i < sizeof balance_figures / sizeof balance_figures[0]; i++)
        *balance_figures[i] = (double)seeded_below(seed, 200000) / 1000 - 100;
    round->forward.n = seeded_below(seed, MEASURE_READINGS_MAX + 1);
    round->back.n = seeded_below(seed, MEASURE_READINGS_MAX + 1);
    for (size_t i = 0; i < MEASURE_READINGS_MAX; i++) {
        round->forward.value[i] = any_length(seed);
        round->back.value[i] = any_length(seed);
    }
    round->balanced = seeded_below(seed, 2) == 0;
    round->balance.verdict = (enum measure_verdict)seeded_below(seed, 3);
    round->sum_suspect = seeded_below(seed, 2) == 0;
    turn(round, (int)seeded_below(seed, 64), 1 + (int)seeded_below(seed, 64),
         seeded_below(seed, 2) == 0);
    round->advice.kind = (enum measure_turn_kind)seeded_below(seed, 7);
    round->turned = seeded_below(seed, 2) == 0;
    round->at_ms = (int64_t)seeded(seed);
}

static void any_lists(uint64_t *seed)
{
    job->checks = seeded_below(seed, JOB_CHECKS_MAX + 1);
    for (size_t i = 0; i < job->checks; i++) {
        struct job_check *check = &job->check[i];
        *check = (struct job_check){.check = (enum reason_check)seeded_below(seed, 4),
                                    .what = "shift linkage fasteners",
                                    .measured = seeded_below(seed, 2) == 0,
                                    .value = any_length(seed),
                                    .has_low = seeded_below(seed, 2) == 0,
                                    .low = any_length(seed),
                                    .high = any_length(seed),
                                    .put_right = seeded_below(seed, 2) == 0,
                                    .cured = (int)seeded_below(seed, 3) - 1,
                                    .at_ms = (int64_t)seeded(seed)};
        seeded_bytes(seed, check->found, sizeof check->found);
    }
    job->proofs = seeded_below(seed, JOB_PROOFS_MAX + 1);
    for (size_t i = 0; i < job->proofs; i++)
        job->proof[i] = (struct job_proof){.id = "proving.gears_running",
                                           .what = "up and down through the gears, engine running",
                                           .result = (int)seeded_below(seed, 3) - 1,
                                           .at_ms = (int64_t)seeded(seed)};
    job->cautions = seeded_below(seed, JOB_CAUTIONS_MAX + 1);
    for (size_t i = 0; i < job->cautions; i++)
        job->caution[i] = (struct job_caution){.id = "adjusting.the_lock_nut_is_tight_again",
                                               .round = (int)seeded_below(seed, JOB_ROUNDS_MAX),
                                               .source = (enum job_source)seeded_below(seed, 4),
                                               .at_ms = (int64_t)seeded(seed)};
    job->corrections = seeded_below(seed, JOB_CORRECTIONS_MAX + 1);
    for (size_t i = 0; i < job->corrections; i++) {
        job->correction[i] =
            (struct job_correction){.id = "centring.forward_again", .at_ms = (int64_t)seeded(seed)};
        seeded_bytes(seed, job->correction[i].was, sizeof job->correction[i].was);
        seeded_bytes(seed, job->correction[i].became, sizeof job->correction[i].became);
    }
}

static void any_job(uint64_t *seed)
{
    job_init(job);
    job->opened_ms = (int64_t)seeded(seed);
    job->closed_ms = (int64_t)seeded(seed);
    job->odometer = (int64_t)seeded_below(seed, 1000000) - 1;
    job->has_profile = seeded_below(seed, 4) > 0;
    seeded_profile(seed, &job->profile);
    seeded_profile(seed, &job->numbers);
    seeded_bytes(seed, job->order, sizeof job->order);
    for (int i = 0; i < REASON_EVIDENCE_COUNT; i++)
        job->reason.seen[i] =
            (int)seeded_below(seed, 1 + (size_t)reason_values((enum reason_evidence)i)) - 1;
    job->checks_done = (unsigned)seeded_below(seed, 1u << REASON_CHECK_COUNT);
    job->cause = (int)seeded_below(seed, REASON_CAUSE_COUNT + 1) - 1;
    job->hook = (int)seeded_below(seed, 4) - 1;
    job->centring = (enum job_centring)seeded_below(seed, JOB_CANNOT_TELL + 1);
    job->ending = (enum job_ending)seeded_below(seed, 3);
    job->phase = (enum job_phase)seeded_below(seed, JOB_PHASE_COUNT);
    job->rounds = (int)seeded_below(seed, JOB_ROUNDS_MAX + 1);
    for (int i = 0; i < job->rounds; i++)
        any_round(seed, &job->round[i]);
    any_lists(seed);
}

static void any_job_fits_80_columns_and_steers_no_terminal(void **state)
{
    (void)state;
    uint64_t seed = 8;
    for (int i = 0; i < 300; i++) {
        any_job(&seed);
        if (!writeup_text(job, INT64_MAX, page, sizeof page))
            fail_msg("cut at %zu", strlen(page));
        assert_is_plain_in_80_columns(page);
        assert_says("Verify every value here against the service manual.");
        assert_true(writeup_html(job, INT64_MAX, html, sizeof html));
        assert_true(utf8_is_valid(html, strlen(html)));
    }
}

/* Every list full, every word as long as it can be. */
static void the_longest_job_is_not_cut(void **state)
{
    (void)state;
    uint64_t seed = 12;
    any_job(&seed);
    any_job(&seed);
    job->rounds = JOB_ROUNDS_MAX;
    for (int i = 0; i < JOB_ROUNDS_MAX; i++) {
        any_round(&seed, &job->round[i]);
        job->round[i].forward.n = job->round[i].back.n = MEASURE_READINGS_MAX;
        job->round[i].balanced = job->round[i].sum_suspect = true;
    }
    job->checks = JOB_CHECKS_MAX;
    job->proofs = JOB_PROOFS_MAX;
    job->cautions = JOB_CAUTIONS_MAX;
    job->corrections = JOB_CORRECTIONS_MAX;
    for (int i = 0; i < JOB_CHECKS_MAX; i++) {
        job->check[i].what = "shift linkage fasteners";
        job->check[i].measured = job->check[i].has_low = true;
        memset(job->check[i].found, '\x01', sizeof job->check[i].found - 1);
    }
    for (int i = 0; i < JOB_PROOFS_MAX; i++)
        job->proof[i] = (struct job_proof){.id = "proving.x",
                                           .what = "up and down through the gears, engine running",
                                           .result = i % 2};
    for (int i = 0; i < JOB_CAUTIONS_MAX; i++)
        job->caution[i].id = "adjusting.the_lock_nut_is_tight_again";
    for (int i = 0; i < JOB_CORRECTIONS_MAX; i++) {
        job->correction[i].id = "centring.forward_again";
        memset(job->correction[i].was, '\x01', sizeof job->correction[i].was - 1);
        memset(job->correction[i].became, '\x01', sizeof job->correction[i].became - 1);
    }
    write_up();
    print_message("the longest write-up has %zu bytes of %d\n", strlen(page), (int)WRITEUP_SIZE);
    assert_true(writeup_html(job, INT64_MAX, html, sizeof html));
    print_message("the longest page has %zu bytes of %d\n", strlen(html), (int)WRITEUP_HTML_SIZE);
    assert_is_plain_in_80_columns(page);
    assert_says("Verify every value here against the service manual.");
}

static void a_small_buffer_is_said_so(void **state)
{
    (void)state;
    do_the_job();
    write_up();
    size_t length = strlen(page);
    for (size_t size = 1; size <= length; size += 101)
        assert_false(writeup_text(job, 12, page, size));
    assert_false(writeup_text(job, 12, page, length));
    assert_true(writeup_text(job, 12, page, length + 1));
    assert_true(writeup_html(job, 12, html, sizeof html));
    length = strlen(html);
    for (size_t size = 1; size <= length; size += 997)
        assert_false(writeup_html(job, 12, html, size));
    assert_false(writeup_html(job, 12, html, length));
    assert_true(writeup_html(job, 12, html, length + 1));
}

/* ---- the page ------------------------------------------------------------------------------- */

/* What the issue lists, on the page of a job done well; the rest of the page is read by
 * page_check.py and page_render.py. */
static void the_page_has_what_the_text_has(void **state)
{
    (void)state;
    static const char *const said[] = {
        "midthrow write-up, job 12 <strong>fixed</strong>",
        "<dt>Work order</dt><dd>4712</dd>",
        "<dt>Odometer</dt><dd>20345</dd>",
        "<strong>Confirmed: shifter pawl out of centre.</strong>",
        "Pawl: the throws were made even by adjusting.",
        "lever free play: last measured 3/32 in (2.381 mm); limits ",
        "<th scope=\"row\">Back, read</th><td class=\"many\">1/4 in, 17/64 in</td>",
        " \u00b1 ",
        "<tr><td class=\"n\">0</td><td class=\"n\">8.73</td>",
        "<td>1/16 cw</td><td>1/16 cw</td>",
        "<td>neutral from first, engine off</td><td>passed</td><td class=\"n\">09:14:03</td>",
        "not proved: neutral from first, engine running.",
        "<i>ear</i> engine off and key out <span class=\"soft\">09:15:03</span>",
        "41 answers taken, 3 asked again, 2 not understood.",
        "forward: &quot;forty thou&quot; became &quot;fourteen thou&quot;.",
        "lock nut, across flats: 11/16 in (17.463 mm)",
        "Verify every value here against the service manual.",
    };
    do_the_job();
    assert_true(writeup_html(job, 12, html, sizeof html));
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++)
        if (strstr(html, said[i]) == NULL)
            fail_msg("no '%s' in:\n%s", said[i], html);
}

/* ---- JSON --------------------------------------------------------------------------------------
 */

static json_t *parse(void)
{
    char *text = writeup_json(job, 12);
    assert_non_null(text);
    json_error_t error;
    json_t *object = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    if (object == NULL)
        fail_msg("%s", error.text);
    free(text);
    return object;
}

static void the_json_has_what_the_header_lists(void **state)
{
    (void)state;
    do_the_job();
    json_t *object = parse();
    const char *work_order, *opened_at, *ending, *cause_id, *verdict, *value, *what, *was;
    json_int_t version, number, odometer;
    double mm, offset_mm, turned;
    json_error_t error;
    int code = json_unpack_ex(
        object, &error, 0,
        "{s:I, s:I, s:s, s:I, s:s, s:s, s:{s:s}, s:[{s:{s:s, s:F}, s:s}], "
        "s:[{s:F, s:F}], s:[{s:s}], s:[{s:s}]}",
        "version", &version, "job", &number, "work_order", &work_order, "odometer", &odometer,
        "opened_at", &opened_at, "ending", &ending, "cause", "id", &cause_id, "checks", "value",
        "value", &value, "mm", &mm, "verdict", &verdict, "rounds", "offset_mm", &offset_mm,
        "turned_turns", &turned, "proving", "what", &what, "corrections", "was", &was);
    if (code != 0)
        fail_msg("%s", error.text);
    assert_int_equal(version, 1);
    assert_int_equal(number, 12);
    assert_string_equal(work_order, "4712");
    assert_int_equal(odometer, 20345);
    assert_string_equal(opened_at, "2026-11-25T09:14:03.120Z");
    assert_string_equal(ending, "fixed");
    assert_string_equal(cause_id, "pawl");
    assert_string_equal(value, "3/32 in");
    assert_true(fabs(mm - 2.38125) < 1e-12);
    assert_string_equal(verdict, "in");
    assert_true(fabs(offset_mm - 25.4 * 5.5 / 64 / 2) < 1e-9);
    assert_true(turned == 0.0625);
    assert_string_equal(was, "forty thou");
    assert_int_equal(json_array_size(json_object_get(object, "ranking")), REASON_CAUSE_COUNT);
    assert_int_equal(json_array_size(json_object_get(object, "rounds")), 3);
    assert_int_equal(json_array_size(json_object_get(object, "cautions")), 3);
    json_decref(object);
}

static void any_job_is_json(void **state)
{
    (void)state;
    uint64_t seed = 21;
    for (int i = 0; i < 60; i++) {
        any_job(&seed);
        json_decref(parse());
    }
    job_init(job);
    json_t *object = parse();
    assert_true(json_is_null(json_object_get(object, "work_order")));
    assert_true(json_is_null(json_object_get(object, "odometer")));
    assert_true(json_is_null(json_object_get(object, "cause")));
    assert_true(json_is_null(json_object_get(object, "closed_at")));
    json_decref(object);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_job, free_job)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_job_done_well_has_its_concern_cause_and_correction),
        TEST(checks_come_with_value_limit_and_where_the_limit_is_from),
        TEST(readings_come_before_and_after_with_their_uncertainty),
        TEST(one_reading_alone_has_no_uncertainty_to_tell),
        TEST(every_round_has_its_line),
        TEST(proving_cautions_and_corrections_are_listed),
        TEST(only_the_tools_of_work_that_was_done_are_listed),
        TEST(fixed_is_not_said_without_its_doubts),
        TEST(a_turn_that_was_not_measured_after_is_said_so),
        TEST(a_job_not_fixed_names_its_next_checks),
        TEST(a_job_put_away_while_adjusting_is_not_called_stopped),
        TEST(a_job_hardly_begun_claims_nothing),
        TEST(any_job_fits_80_columns_and_steers_no_terminal),
        TEST(the_longest_job_is_not_cut),
        TEST(a_small_buffer_is_said_so),
        TEST(the_page_has_what_the_text_has),
        TEST(the_json_has_what_the_header_lists),
        TEST(any_job_is_json),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
