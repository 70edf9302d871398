/*
 * The caution walk (walk.h): what it proves; that the parts it leaves out touch nothing it keeps;
 * what an enumeration cannot show, on simulated jobs; and that it fails when a table is broken.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "keypad/keypad.h"
#include "technician.h"
#include "walk.h"

/* The sanitizers look at memory, for which the short walk is enough. */
#if defined(__SANITIZE_ADDRESS__)
static const enum walk_what WALKED = WALK_IN_SHORT;
#else
static const enum walk_what WALKED = WALK_ALL;
#endif

/* ---- the proof ------------------------------------------------------------------------------ */

static void no_hands_without_their_cautions_whatever_is_heard(void **state)
{
    (void)state;
    static struct walk_result result;
    walk_copy_tables();
    walk_all(&result, WALKED);
    print_message("%zu states, %zu of them questions; %zu transitions; hands %zu times, %zu "
                  "phrases confirmed, %zu answers taken back\n",
                  result.states, result.questions, result.transitions, result.hands,
                  result.confirmed, result.taken_back);
    if (result.wrong > 0)
        fail_msg("%zu wrong; the first: %s", result.wrong, result.first_wrong);
    assert_true(result.questions > 500);
    assert_true(result.hands > 0 && result.confirmed > 0 && result.taken_back > 0);
}

/* What a row needs is written at the row; that none was forgotten is written down here: these ask
 * or say something that nobody needs a hand for. */
static void every_step_says_whether_hands_are_needed(void **state)
{
    (void)state;
    static const char *const no_hands[] = {
        "checks.free_play_rule",
        "checks.free_play_low",
        "checks.free_play_high",
        "checks.linkage_rule",
        "checks.linkage_limit",
        "checks.try",
        "centring.tolerance",
        "centring.rule",
        "centring.finer",
        "centring.finer_rule",
        "adjusting.tools",
        "adjusting.finer",
        "adjusting.finer_rule",
        "deep.kind",
        "deep.offer",
        "deep.idle_low",
        "deep.idle_high",
        "deep.hydraulic_rule",
        "deep.travel_low",
        "deep.travel_high",
        "deep.adjuster_low",
        "deep.adjuster_high",
        "deep.change_low",
        "deep.change_high",
        "deep.pack_count",
        "deep.pack_caliper",
        "deep.plate_low",
        "deep.plate_high",
        "deep.stack_low",
        "deep.stack_high",
        "deep.warp_high",
        "proving.run",
        "centring.which_gear",
        "adjusting.increment",
        "adjusting.total",
    };
    size_t listed = 0;
    walk_copy_tables();
    for (size_t i = 0; i < walk_rows; i++) {
        const struct job_question *row = &walk_row[i];
        bool at_the_bike = row->phase >= JOB_CHECKS && row->phase <= JOB_PROVING;
        if (!at_the_bike || row->grammar == NULL || (row->caution && row->needs == 0))
            continue;
        bool is_listed = false;
        for (size_t j = 0; j < sizeof no_hands / sizeof no_hands[0]; j++)
            is_listed = is_listed || strcmp(no_hands[j], row->id) == 0;
        if (is_listed == (row->needs != 0))
            fail_msg("%s: are hands needed or not?", row->id);
        listed += is_listed;
    }
    assert_int_equal(listed, sizeof no_hands / sizeof no_hands[0]);
}

/* ---- what the walk leaves out --------------------------------------------------------------- */

static struct {
    unsigned safe;
    bool access_is_open;
    enum job_phase block;
    uint16_t question;
    enum job_mode mode;
    size_t calls;
} watched;

static void watch(const struct job *job, const char *id, bool after)
{
    if (after && !walk_touches(id)) {
        bool same = watched.safe == job->safe && watched.access_is_open == job->access_is_open &&
                    watched.block == job->block && watched.question == job->question &&
                    watched.mode == job->mode && !job_is_closed(job);
        if (!same)
            fail_msg("%s changes what the walk keeps", id);
    }
    watched.safe = job->safe;
    watched.access_is_open = job->access_is_open;
    watched.block = job->block;
    watched.question = job->question;
    watched.mode = job->mode;
    watched.calls++;
}

static struct job job;
static struct job_effects effects;
static struct technician technician;

static void open_job(void)
{
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_OPENED;
    event.walk = JOB_WALK;
    event.at_ms = 1000000;
    event.names_n = 1;
    snprintf(event.names[0], sizeof event.names[0], "simulated");
    job_init(&job);
    job_step(&job, &event, &effects);
}

static void step(struct job *at, struct technician *who)
{
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_PROFILE_READ;
    event.at_ms = at->now_ms + 1;
    if (at->mode == JOB_FETCHING)
        technician_profile(who, &event.profile);
    else
        technician_answer(who, at, &event);
    job_step(at, &event, &effects);
}

static void say(struct job *at, const char *words)
{
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_HEARD;
    event.at_ms = at->now_ms + 1;
    snprintf(event.words, sizeof event.words, "%s", words);
    job_step(at, &event, &effects);
}

static void rows_left_out_of_the_walk_change_nothing_it_keeps(void **state)
{
    (void)state;
    walk_copy_tables();
    walk_watch = watch;
    for (uint64_t seed = 1; seed <= 400; seed++) {
        technician_begin_with(&technician, seed, (enum reason_cause)(seed % REASON_CAUSE_COUNT));
        for (open_job(); !job_has_left(&job);)
            step(&job, &technician);
    }
    walk_watch = NULL;
    print_message("%zu calls watched\n", watched.calls);
    assert_true(watched.calls > 10000);
}

/* ---- a way out and a way on, in real jobs --------------------------------------------------- */

enum { PLACES_MAX = 4096, ANSWERS_TO_THE_END = 120 };

/* Says nothing but "skip", and the phrase where a step must not stay undone. */
static int skip_to_the_end(struct job *at)
{
    int answers = 0;
    for (; !job_is_closed(at) && answers <= ANSWERS_TO_THE_END; answers++) {
        if (at->mode == JOB_FETCHING)
            step(at, &technician);
        const struct job_question *row = job_question_at(at->question);
        say(at, row->leave == NULL ? language_phrase_words(row->phrase) : "skip");
    }
    return answers;
}

static void from_every_place_of_a_simulated_job_skipping_leads_to_its_end(void **state)
{
    (void)state;
    static struct {
        uint16_t question;
        unsigned safe;
        bool access;
    } place[PLACES_MAX];
    static struct job out;
    size_t places = 0;
    int longest = 0;
    walk_copy_tables();
    for (uint64_t seed = 1; seed <= 600; seed++) {
        technician_begin_with(&technician, seed, (enum reason_cause)(seed % REASON_CAUSE_COUNT));
        technician.distracted = 0.05;
        for (open_job(); !job_has_left(&job); step(&job, &technician)) {
            size_t i = 0;
            while (i < places && (place[i].question != job.question || place[i].safe != job.safe ||
                                  place[i].access != job.access_is_open))
                i++;
            if (i < places || job.mode != JOB_ASKING)
                continue;
            assert_true(places < PLACES_MAX);
            place[places].question = job.question;
            place[places].safe = job.safe;
            place[places++].access = job.access_is_open;
            out = job;
            int answers = skip_to_the_end(&out);
            if (answers > ANSWERS_TO_THE_END)
                fail_msg("from %s no way out: now at %s", job_question_id(&job),
                         job_question_id(&out));
            longest = answers > longest ? answers : longest;
        }
    }
    print_message("%zu places, at most %d answers to the end\n", places, longest);
    assert_true(places > 200);
}

static void the_last_answer_there_is_room_for_is_not_the_last_word(void **state)
{
    (void)state;
    walk_copy_tables();
    technician_begin(&technician, 3);
    open_job();
    while (job.phase != JOB_CHECKS)
        step(&job, &technician);
    static struct job full;
    full = job;
    full.answers = JOB_ANSWERS_MAX;
    say(&full, language_phrase_words(job_phrase(&full)));
    assert_string_equal(effects.effect[0].key, "job.too_long");
    assert_true(job_has_left(&full));
    assert_int_equal(full.answers, JOB_ANSWERS_MAX);
    assert_int_equal(full.safe, job.safe);
}

/* ---- phrases, on every key ------------------------------------------------------------------ */

static bool is_phrase(const char *grammar, const char *words, enum language_phrase *phrase)
{
    struct language_value value;
    if (language_parse(grammar, words, &value, NULL) != LANGUAGE_OK ||
        value.type != LANGUAGE_PHRASE || value.as.phrase == LANGUAGE_NOT_YET)
        return false;
    *phrase = value.as.phrase;
    return true;
}

/* All entries of one, two and three keys: each caution has the one code of its own, and no entry
 * at another question gives a phrase. */
static void on_the_pad_a_caution_has_two_keys_of_its_own_and_no_others(void **state)
{
    (void)state;
    static const char keys[] = "0123456789./*-+";
    enum { KEYS = sizeof keys - 1 };
    char words[LANGUAGE_WORDS], why[LANGUAGE_WHY];
    enum language_phrase phrase;
    int codes = 0;
    for (size_t g = 0; g < language_grammar_count(); g++)
        for (int n = 1; n < (KEYS + 1) * (KEYS + 1) * (KEYS + 1); n++) {
            char entry[4] = "";
            int length = 0;
            for (int rest = n; rest > 0; rest /= KEYS + 1)
                if (rest % (KEYS + 1) > 0)
                    entry[length++] = keys[rest % (KEYS + 1) - 1];
            entry[length] = '\0';
            const char *grammar = language_grammar_name(g);
            if (keypad_entry(grammar, entry, words, why) != KEYPAD_WORDS ||
                !is_phrase(grammar, words, &phrase))
                continue;
            assert_string_equal(grammar, "caution");
            assert_string_equal(entry, keypad_phrase_code(phrase));
            assert_int_equal(strlen(entry), 2);
            assert_true(entry[0] != entry[1]);
            codes++;
        }
    /* two keys stand at three places among three, with one place empty */
    assert_int_equal(codes, 3 * (LANGUAGE_PHRASE_COUNT - 1));
}

static void no_other_grammar_knows_a_phrase(void **state)
{
    (void)state;
    enum language_phrase phrase;
    enum language_type type;
    for (size_t g = 0; g < language_grammar_count(); g++) {
        const char *grammar = language_grammar_name(g);
        assert_true(language_grammar_type(grammar, &type));
        if (strcmp(grammar, "caution") == 0)
            continue;
        assert_int_not_equal(type, LANGUAGE_PHRASE);
        for (int p = 0; p < LANGUAGE_PHRASE_COUNT; p++)
            assert_false(
                is_phrase(grammar, language_phrase_words((enum language_phrase)p), &phrase));
        for (int i = 0; i < (int)language_choice_count(grammar); i++)
            assert_false(is_phrase("caution", language_choice_words(grammar, i), &phrase));
    }
}

/* ---- the walk fails where it should --------------------------------------------------------- */

static bool never(const struct job *at)
{
    (void)at;
    return false;
}

/* True when the walk found something. */
static bool is_found(const char *what, const char *id)
{
    static struct walk_result result;
    walk_all(&result, WALK_UNTIL_WRONG);
    if (result.wrong == 0)
        print_error("not found: %s at %s\n", what, id);
    else if (strcmp(what, "left out") != 0)
        print_message("%s, %s: %s\n", what, id, result.first_wrong);
    return result.wrong > 0;
}

/* Left out, each caution that some step needs is missed. A build that is slow for another reason
 * (tests/job/meson.build) tries every so manieth; the plain one tries each. */
static void a_caution_left_out_is_found_each_one(void **state)
{
    (void)state;
    int cautions = 0;
    walk_copy_tables();
    for (size_t i = 0; i < walk_rows; i++) {
        /* the gear alone has a twin; what is tightened, shut and switched off afterwards is no
         * caution before a step */
        static const char *const after_it[] = {"adjusting.tighten", "closing.cover",
                                               "proving.engine_off", "deep.idle_off"};
        bool before = walk_row[i].caution;
        for (size_t j = 0; j < sizeof after_it / sizeof after_it[0]; j++)
            before = before && strcmp(after_it[j], walk_row[i].id) != 0;
        if (!before)
            continue;
        if (cautions++ % CAUTIONS_EVERY != 0)
            continue;
        walk_row[i].wanted = never;
        assert_true(is_found("left out", walk_row[i].id));
        walk_copy_tables();
    }
    print_message("%d cautions, every %d. left out in turn\n", cautions, CAUTIONS_EVERY);
    assert_true(cautions >= 35);
}

static void a_broken_table_is_found(void **state)
{
    (void)state;
    static const char *const past_the_cautions[] = {"checks.fluid_level", NULL};
    static const char *const nowhere_near[] = {"adjusting.turn", NULL};
#define BROKEN(what, id, change)                                                                   \
    walk_copy_tables();                                                                            \
    walk_find(id)->change;                                                                         \
    assert_true(is_found(what, id))
    BROKEN("a caution answered by yes", "adjusting.hot_parts", grammar = "yesno");
    BROKEN("a caution that skip passes by", "centring.wheel_clear", leave = JOB_ON);
    BROKEN("a caution that skip leaves for the step", "deep.hydraulic_eyes",
           leave = "deep.hydraulic_bleed");
    BROKEN("another caution's phrase", "proving.hands_clear", phrase = LANGUAGE_SET_TO_MANUAL);
    BROKEN("a block that does not begin", "adjusting.round", arrive = NULL);
    BROKEN("a block that does not begin", "proving.run_prepare", arrive = NULL);
    BROKEN("a check that keeps the key in", "checks.linkage", arrive = NULL);
    BROKEN("a way past the cautions", "adjusting.round", next = "adjusting.loosen");
    BROKEN("a branch past the cautions", "checks.next", leads = past_the_cautions);
    BROKEN("a branch to another room", "closing.fixed", leads = nowhere_near);
    BROKEN("statements in a ring", "closing.outcome", next = "checks.next");
    BROKEN("questions in a ring", "intake.onset", next = "intake.gears");
    BROKEN("a phrase nobody can say", "checks.free_play_set", phrase = LANGUAGE_NOT_YET);
    BROKEN("a cover that is not known to be off", "deep.pack_measure", arrive = NULL);
    BROKEN("a cover that stays off", "deep.idle_cover", take = NULL);
#undef BROKEN
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_hands_without_their_cautions_whatever_is_heard),
        cmocka_unit_test(every_step_says_whether_hands_are_needed),
        cmocka_unit_test(rows_left_out_of_the_walk_change_nothing_it_keeps),
        cmocka_unit_test(from_every_place_of_a_simulated_job_skipping_leads_to_its_end),
        cmocka_unit_test(the_last_answer_there_is_room_for_is_not_the_last_word),
        cmocka_unit_test(on_the_pad_a_caution_has_two_keys_of_its_own_and_no_others),
        cmocka_unit_test(no_other_grammar_knows_a_phrase),
        cmocka_unit_test(a_caution_left_out_is_found_each_one),
        cmocka_unit_test(a_broken_table_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
