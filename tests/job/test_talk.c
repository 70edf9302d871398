/*
 * How the job talks: doubt, read-back, taking back, commands, nonsense, cautions, stopping. Each
 * test is a short conversation through job_step.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "job/question.h"
#include "technician.h"

static struct job job;
static struct job_effects effects;
static struct job_event event;
static int64_t now_ms;

static void happen(enum job_event_kind kind)
{
    event.kind = kind;
    event.at_ms = now_ms += 1000;
    job_step(&job, &event, &effects);
}

static void hear(enum job_verdict verdict, const char *words, const char *other)
{
    memset(&event, 0, sizeof event);
    event.source = JOB_BY_EAR;
    event.verdict = verdict;
    snprintf(event.words, sizeof event.words, "%s", words);
    snprintf(event.other, sizeof event.other, "%s", other);
    happen(JOB_HEARD);
}

static void say(const char *words)
{
    hear(JOB_ACCEPTED, words, "");
}

static bool said(const char *key)
{
    for (size_t i = 0; i < effects.n; i++)
        if (effects.effect[i].kind == JOB_SAY && strcmp(effects.effect[i].key, key) == 0)
            return true;
    return false;
}

static const char *argument(const char *key, const char *name)
{
    for (size_t i = 0; i < effects.n; i++)
        for (size_t j = 0;
             strcmp(effects.effect[i].key, key) == 0 && j < effects.effect[i].arguments; j++)
            if (strcmp(effects.effect[i].argument[j].name, name) == 0)
                return effects.effect[i].argument[j].value;
    return "";
}

static bool has(enum job_effect_kind kind)
{
    for (size_t i = 0; i < effects.n; i++)
        if (effects.effect[i].kind == kind)
            return true;
    return false;
}

static void assert_at(const char *id)
{
    assert_string_equal(job_question_id(&job), id);
}

static void read_profile(void)
{
    struct technician technician;
    technician_begin(&technician, 1);
    memset(&event, 0, sizeof event);
    technician_profile(&technician, &event.profile);
    happen(JOB_PROFILE_READ);
}

static int open_a_job(void **state)
{
    (void)state;
    now_ms = 1000000;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event.walk = JOB_WALK;
    event.names_n = 1;
    snprintf(event.names[0], sizeof event.names[0], "simulated");
    happen(JOB_OPENED);
    return 0;
}

static void go_to_free_play(void)
{
    say("four seven one two");
    read_profile();
    say("skip");
    say("both");
    say("hot");
    say("engine running");
    say("standing with the clutch in");
    say("yes");
    say("yes");
    say("sudden");
    say("clutch");
}

/* Whichever cheap check comes first, free play or not: answered until its first reading is asked.
 */
static void go_to_a_reading(void)
{
    go_to_free_play();
    for (int i = 0; i < 40 && strstr(job_question_id(&job), "_reading") == NULL; i++) {
        if (strcmp(job_grammar(&job), "caution") == 0)
            say(language_phrase_words(job_phrase(&job)));
        else if (strcmp(job_grammar(&job), "level") == 0)
            say("level right");
        else if (strcmp(job_grammar(&job), "condition") == 0)
            say("clean");
        else
            say("skip");
    }
    assert_non_null(strstr(job_question_id(&job), "_reading"));
}

static void a_measured_value_is_read_back(void **state)
{
    (void)state;
    assert_at("card.order");
    say("four seven one two");
    assert_true(said("read_back"));
    assert_string_equal(argument("read_back", "value"), "four seven one two");
    assert_true(has(JOB_FETCH_PROFILE));
}

static void wrong_takes_the_last_answer_back(void **state)
{
    (void)state;
    say("four seven one two");
    read_profile();
    assert_at("card.odometer");
    say("that is wrong");
    assert_true(said("taken_back"));
    assert_at("card.order");
    assert_string_equal(job.order, "");
    say("four seven one three");
    assert_string_equal(job.order, "4713");
    assert_int_equal(job.corrections, 1);
    assert_string_equal(job.correction[0].was, "four seven one two");
    assert_string_equal(job.correction[0].became, "four seven one three");
}

static void going_back_before_the_first_answer_does_nothing(void **state)
{
    (void)state;
    say("go back");
    assert_true(said("nothing_to_take_back"));
    assert_at("card.order");
}

static void an_unsure_answer_is_asked_about_and_then_taken(void **state)
{
    (void)state;
    hear(JOB_UNSURE, "four seven one two", "");
    assert_true(said("sure"));
    assert_string_equal(job.order, "");
    assert_string_equal(job_grammar(&job), "yesno");
    say("yes");
    assert_string_equal(job.order, "4712");
}

static void an_unsure_answer_denied_is_asked_again(void **state)
{
    (void)state;
    hear(JOB_UNSURE, "four seven one two", "");
    say("no");
    assert_at("card.order");
    assert_string_equal(job_grammar(&job), "order");
    assert_string_equal(job.order, "");
    assert_string_equal(job.correction[0].was, "four seven one two");
}

static void a_doubtful_yes_settles_nothing(void **state)
{
    (void)state;
    hear(JOB_UNSURE, "four seven one two", "");
    hear(JOB_UNSURE, "yes", "");
    assert_string_equal(job.order, "");
    assert_string_equal(job_grammar(&job), "yesno");
    assert_true(said("sure"));
}

static void two_readings_are_offered(void **state)
{
    (void)state;
    go_to_a_reading();
    size_t answers = job.answers;
    hear(JOB_UNSURE, "forty thousandths", "fourteen thousandths");
    assert_true(said("which"));
    assert_string_equal(job_grammar(&job), "either");
    assert_non_null(strstr(argument("which", "first"), "four zero"));
    assert_non_null(strstr(argument("which", "second"), "one four"));
    say("the second");
    assert_int_equal(job.answers, answers + 1);
    struct measure_length length = job.answer[answers].value.as.length;
    assert_int_equal(measure_length_compare(length, measure_length_of(14, 1, MEASURE_THOU)), 0);
}

static void a_doubtful_say_again_repeats_the_question_not_the_doubt(void **state)
{
    (void)state;
    hear(JOB_UNSURE, "say again", "");
    assert_true(said("sure"));
    say("yes");
    assert_true(said("card.order"));
    assert_false(said("sure"));
    assert_string_equal(job_grammar(&job), "order");
    for (size_t i = 0; i < effects.n; i++)
        if (effects.effect[i].kind == JOB_LISTEN)
            assert_string_equal(effects.effect[i].grammar, "order");
}

/* Not that it was not understood, nor the keys: it is the question that was not heard. */
static void say_again_after_misses_repeats_what_was_said_before_them(void **state)
{
    (void)state;
    go_to_a_reading();
    say("forty thousandths");
    assert_true(said(job_question_id(&job)));
    static struct job_effects before;
    before = effects;
    for (int misses = 0; misses < 3; misses++) {
        say("purple monkey");
        assert_true(said("not_understood"));
        assert_int_equal(said("use_keys"), misses > 0);
        say("say again");
        assert_memory_equal(&effects, &before, sizeof effects);
    }
}

static void saying_it_again_answers_the_doubt(void **state)
{
    (void)state;
    hear(JOB_UNSURE, "four seven one two", "");
    say("four seven one three");
    assert_string_equal(job.order, "4713");
}

static void two_misses_offer_the_keys(void **state)
{
    (void)state;
    say("purple monkey");
    assert_true(said("not_understood"));
    assert_true(said("card.order"));
    assert_false(said("use_keys"));
    hear(JOB_REJECTED, "", "");
    assert_true(said("use_keys"));
    assert_int_equal(job.rejected, 2);
    say("four seven one two");
    assert_int_equal(job.misses, 0);
}

static void a_caution_needs_its_own_whole_phrase(void **state)
{
    (void)state;
    go_to_free_play();
    assert_string_equal(job_grammar(&job), "caution");
    char at[64];
    snprintf(at, sizeof at, "%s", job_question_id(&job));
    static const char *const no[] = {"yes",  "skip it", "don't know", "the cover is back on",
                                     "done", "ok",      "strapped",   "not yet"};
    for (size_t i = 0; i < sizeof no / sizeof no[0]; i++) {
        size_t cautions = job.cautions;
        if (strcmp(no[i], "skip it") == 0)
            continue; /* leaves the check, tested below */
        say(no[i]);
        assert_int_equal(job.cautions, cautions);
        assert_at(at);
    }
    say(language_phrase_words(job_phrase(&job)));
    assert_int_equal(job.cautions, 1);
    assert_string_equal(job.caution[0].id, at);
}

static void a_caution_is_never_confirmed_by_a_doubtful_hearing(void **state)
{
    (void)state;
    go_to_free_play();
    const char *phrase = language_phrase_words(job_phrase(&job));
    hear(JOB_UNSURE, phrase, "");
    assert_true(said("whole_phrase"));
    say("yes");
    assert_int_equal(job.cautions, 0);
    hear(JOB_UNSURE, "skip", phrase); /* not as the second of two readings either */
    assert_true(said("whole_phrase"));
    say("the second");
    say("yes");
    assert_int_equal(job.cautions, 0);
    hear(JOB_REJECTED, phrase, "");
    assert_int_equal(job.cautions, 0);
}

static void skipping_a_caution_leaves_its_check(void **state)
{
    (void)state;
    go_to_free_play();
    char at[64];
    snprintf(at, sizeof at, "%s", job_question_id(&job));
    unsigned done = job.checks_done;
    say("skip");
    assert_int_equal(job.cautions, 0);
    assert_true(job.checks == 0);
    assert_string_not_equal(job_question_id(&job), at);
    assert_true((job.checks_done & done) == done);
}

static void stop_works_everywhere_even_in_doubt(void **state)
{
    (void)state;
    hear(JOB_UNSURE, "stop", "");
    assert_true(said("stopped"));
    assert_string_equal(job_grammar(&job), "resume");
    say("carry on");
    assert_at("card.order");
    hear(JOB_UNSURE, "four", "stop");
    assert_int_equal(job.mode, JOB_STOPPED);
    say("put it away");
    assert_true(has(JOB_LEAVE));
    assert_true(job_has_left(&job));
    assert_false(job_is_closed(&job));
    memset(&event, 0, sizeof event);
    happen(JOB_RESUMED);
    assert_true(said("caution.resumed"));
    assert_true(said("card.order"));
    assert_int_equal(job.mode, JOB_ASKING);
}

static void carrying_on_takes_two_doubtful_hearings_and_putting_away_a_sure_one(void **state)
{
    (void)state;
    say("stop");
    hear(JOB_UNSURE, "carry on", "");
    assert_int_equal(job.mode, JOB_STOPPED);
    hear(JOB_UNSURE, "put it away", "");
    assert_int_equal(job.mode, JOB_STOPPED);
    hear(JOB_UNSURE, "carry on", "");
    assert_at("card.order");
    assert_int_equal(job.mode, JOB_ASKING);
}

/* The words for the voice change the voice and nothing of the job, whatever is being asked. */
static void the_voice_is_changed_and_nothing_else(void **state)
{
    (void)state;
    static const struct {
        const char *words;
        enum job_voice voice;
    } words[] = {{"louder", JOB_LOUDER},
                 {"speak quieter", JOB_QUIETER},
                 {"faster", JOB_FASTER},
                 {"slower", JOB_SLOWER}};
    static struct job before;
    go_to_a_reading();
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        before = job;
        say(words[i].words);
        assert_true(has(JOB_VOICE) && has(JOB_LISTEN));
        assert_int_equal(effects.effect[0].kind, JOB_VOICE);
        assert_int_equal(effects.effect[0].voice, words[i].voice);
        assert_true(said(job_question_id(&job))); /* again, in the new voice */
        before.now_ms = job.now_ms;
        assert_memory_equal(&before, &job, sizeof job);
    }
    say("say again");
    assert_false(has(JOB_VOICE));
}

/* It repeats a caution and confirms none. */
static void the_voice_confirms_no_caution(void **state)
{
    (void)state;
    go_to_free_play();
    while (strcmp(job_grammar(&job), "caution") != 0)
        say("skip");
    size_t cautions = job.cautions;
    say("louder");
    assert_true(has(JOB_VOICE));
    assert_string_equal(job_grammar(&job), "caution");
    assert_int_equal(job.cautions, cautions);
}

/* A journal from before these words were known holds them as nonsense, and replays so. */
static void an_older_walk_does_not_know_the_voice(void **state)
{
    (void)state;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event.walk = 3;
    event.names_n = 1;
    snprintf(event.names[0], sizeof event.names[0], "simulated");
    happen(JOB_OPENED);
    say("louder");
    assert_false(has(JOB_VOICE));
    assert_true(said("not_understood"));
    assert_int_equal(job.rejected, 1);
}

static void asides_change_nothing(void **state)
{
    (void)state;
    static struct job before;
    go_to_a_reading();
    before = job;
    say("help");
    assert_true(said("keys"));
    say("where are we");
    assert_true(said("where"));
    say("say again");
    assert_true(said("where"));
    say("keypad");
    assert_true(has(JOB_TO_PAD));
    memset(&event, 0, sizeof event);
    happen(JOB_REMINDED);
    assert_true(said("reminder"));
    assert_int_equal(job.answers, before.answers);
    assert_string_equal(job_question_id(&job), job_question_id(&before));
    assert_int_equal(job.safe, before.safe);
}

static void a_length_out_of_sense_is_asked_again(void **state)
{
    (void)state;
    go_to_a_reading();
    size_t answers = job.answers;
    say("40 inches");
    assert_true(said("out_of_sense"));
    say("0/0");
    assert_true(said("out_of_sense"));
    say("-3 mm");
    assert_int_equal(job.answers, answers);
    say("five inches"); /* a length, but no free play */
    assert_true(said("not_believable"));
    assert_int_equal(job.answers, answers);
}

static void a_profile_that_cannot_be_read_is_chosen_again(void **state)
{
    (void)state;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event.names_n = 2;
    snprintf(event.names[0], sizeof event.names[0], "broken");
    snprintf(event.names[1], sizeof event.names[1], "simulated");
    happen(JOB_OPENED);
    say("skip");
    assert_at("card.profile");
    say("seven");
    assert_true(said("card.no_such_profile"));
    say("one");
    assert_string_equal(argument("", "name"), "broken");
    memset(&event, 0, sizeof event);
    snprintf(event.words, sizeof event.words, "line 3 is wrong.");
    happen(JOB_PROFILE_FAILED);
    assert_true(said("card.profile_failed"));
    assert_at("card.profile");
    say("number two");
    assert_string_equal(argument("", "name"), "simulated");
    read_profile();
    assert_at("card.odometer");
}

static void stop_works_while_a_profile_is_fetched(void **state)
{
    (void)state;
    say("four seven one two");
    assert_int_equal(job.mode, JOB_FETCHING);
    say("yes"); /* nothing was asked */
    assert_int_equal(job.mode, JOB_FETCHING);
    say("stop");
    assert_int_equal(job.mode, JOB_STOPPED);
    read_profile(); /* too late to go on by itself */
    assert_int_equal(job.mode, JOB_STOPPED);
    say("carry on");
    assert_true(has(JOB_FETCH_PROFILE));
    read_profile();
    assert_at("card.odometer");
}

static void whoever_hung_up_while_a_profile_was_fetched_fetches_it_again(void **state)
{
    (void)state;
    say("four seven one two");
    memset(&event, 0, sizeof event);
    happen(JOB_HUNG_UP);
    assert_true(job_has_left(&job));
    happen(JOB_RESUMED);
    assert_true(has(JOB_FETCH_PROFILE));
    assert_false(has(JOB_LISTEN));
    read_profile();
    assert_true(job.has_profile);
    assert_at("card.odometer");
}

/* Answers are kept with their question; one that would be folded elsewhere falls away instead. */
static void an_answer_counts_at_its_own_question_only(void **state)
{
    (void)state;
    go_to_a_reading();
    size_t cautions = job.cautions;
    assert_true(cautions > 0);
    size_t first = 0; /* the first caution's answer, made to look like another question's */
    while (job.answer[first].value.type != LANGUAGE_PHRASE)
        first++;
    job.answer[first].question = 0;
    say("go back");
    assert_int_equal(job.answers, first);
    assert_int_equal(job.cautions, 0);
    assert_int_equal(job.safe, 0);
}

/* Sets whatever is measured and proves it, until the proof was made; then to the next cheap check.
 */
static void the_bike_is_strapped_anew_after_a_proof(void **state)
{
    (void)state;
    go_to_free_play();
    bool proved = false;
    for (int i = 0; i < 60 && !(proved && job.phase == JOB_CHECKS); i++) {
        const char *grammar = job_grammar(&job);
        proved = proved || job.phase == JOB_PROVING;
        if (strcmp(grammar, "caution") == 0)
            say(language_phrase_words(job_phrase(&job)));
        else if (strcmp(grammar, "distance") == 0 || strcmp(grammar, "millimetres") == 0)
            say(job.checks > 0 && job.check[job.checks - 1].put_right ? "3 mm" : "20 mm");
        else if (strcmp(grammar, "level") == 0)
            say("level low");
        else
            say(job.phase == JOB_PROVING ? "no" : "yes");
    }
    assert_true(proved);
    assert_int_equal(job.safe, 0);
    assert_int_equal(job_phrase(&job), LANGUAGE_BIKE_STRAPPED);
}

static void events_out_of_turn_are_harmless(void **state)
{
    (void)state;
    job_init(&job);
    say("four"); /* before it was opened */
    assert_int_equal(job.answers, 0);
    open_a_job(NULL);
    read_profile(); /* not asked for */
    assert_false(job.has_profile);
    happen(JOB_OPENED); /* twice */
    assert_at("card.order");
    happen(JOB_HUNG_UP);
    say("four"); /* after it hung up */
    assert_int_equal(job.answers, 0);
    assert_int_equal(effects.n, 0);
}

static void a_clock_set_back_does_not_turn_the_job_s_time(void **state)
{
    (void)state;
    say("four seven one two");
    int64_t then = job.now_ms;
    now_ms -= 3600 * 1000;
    read_profile();
    say("skip");
    assert_true(job.now_ms >= then);
}

static void hear_with_ear(enum job_ear ear)
{
    memset(&event, 0, sizeof event);
    event.ear = ear;
    happen(JOB_EAR_CHANGED);
}

static void an_ear_that_goes_is_told_and_the_question_stays(void **state)
{
    (void)state;
    static struct job before;
    go_to_a_reading();
    before = job;
    static const char *const said_of[JOB_EAR_COUNT] = {
        [JOB_EAR_MISSING] = "ear.missing",
        [JOB_EAR_SILENT] = "ear.silent",
        [JOB_EAR_CLIPPING] = "ear.clipping",
        [JOB_EAR_NOISE] = "ear.noise",
    };
    for (int ear = JOB_EAR_MISSING; ear < JOB_EAR_COUNT; ear++) {
        hear_with_ear((enum job_ear)ear);
        assert_true(said(said_of[ear]));
        assert_true(said("use_keys"));
        assert_true(has(JOB_TO_PAD));
        assert_true(has(JOB_LISTEN));
        assert_false(job_listens(&job));
    }
    hear_with_ear(JOB_EAR_OPEN);
    assert_true(said("ear.open"));
    assert_true(said(job_question_id(&job)));
    assert_true(job_listens(&job));
    assert_int_equal(job.answers, before.answers);
    assert_string_equal(job_question_id(&job), job_question_id(&before));
}

static void only_keys_or_typing_bring_a_wanted_pad_back(void **state)
{
    (void)state;
    go_to_a_reading();
    say("keypad");
    assert_false(job_listens(&job));
    hear_with_ear(JOB_EAR_MISSING);
    assert_false(said("ear.missing"));
    assert_true(has(JOB_LISTEN));
    hear_with_ear(JOB_EAR_OPEN);
    assert_false(job_listens(&job));
    say("use the microphone");
    assert_true(job_listens(&job));
    assert_true(said("ear.open"));
    assert_true(said(job_question_id(&job)));
}

static void noise_as_loud_as_speech_is_told_as_that(void **state)
{
    (void)state;
    go_to_a_reading();
    memset(&event, 0, sizeof event);
    event.verdict = JOB_REJECTED;
    event.deafening = true;
    happen(JOB_HEARD);
    assert_true(said("deafening"));
    assert_false(said("not_understood"));
}

/* Words for another moment, an ear that is none, an event of a kind there is not. */
static void what_means_nothing_changes_nothing(void **state)
{
    (void)state;
    static struct job before;
    go_to_a_reading();
    before = job;
    hear_with_ear(JOB_EAR_COUNT);
    assert_int_equal(effects.n, 0);
    hear_with_ear(JOB_EAR_OPEN); /* as it was */
    assert_int_equal(effects.n, 0);
    memset(&event, 0, sizeof event);
    happen((enum job_event_kind)(JOB_EAR_CHANGED + 1));
    assert_int_equal(effects.n, 0);
    before.now_ms = job.now_ms;
    assert_memory_equal(&before, &job, sizeof job);
}

static void an_ear_that_goes_while_a_profile_is_fetched_is_not_asked_about(void **state)
{
    (void)state;
    say("four seven one two");
    hear_with_ear(JOB_EAR_MISSING);
    assert_int_equal(effects.n, 0);
    assert_false(job_listens(&job));
    read_profile();
    assert_at("card.odometer");
}

/* The list of what was taken back is bounded; taking back is not. */
static void taking_back_goes_on_when_its_list_is_full(void **state)
{
    (void)state;
    for (int i = 0; i < JOB_CORRECTIONS_MAX + 5; i++) {
        say("four seven one two");
        read_profile();
        say("go back");
        assert_true(said("taken_back"));
        assert_at("card.order");
    }
    assert_int_equal(job.corrections, JOB_CORRECTIONS_MAX);
    say("four seven one three");
    assert_string_equal(job.order, "4713");
}

/* Before the sixth walk only a sure hearing carried on; journals of then replay so. */
static void an_older_walk_carries_on_only_when_sure(void **state)
{
    (void)state;
    static const char *const doubtful[] = {"carry on", "put it away", "say again"};
    for (int walk = 5; walk <= 6; walk++)
        for (size_t i = 0; i < sizeof doubtful / sizeof doubtful[0]; i++) {
            job_init(&job);
            memset(&event, 0, sizeof event);
            event.walk = walk;
            happen(JOB_OPENED);
            say("stop");
            hear(JOB_UNSURE, doubtful[i], "");
            assert_int_equal(job.mode, JOB_STOPPED);
            hear(JOB_UNSURE, doubtful[i], "");
            bool carries_on = walk == 6 && i == 0;
            assert_int_equal(job.mode, carries_on ? JOB_ASKING : JOB_STOPPED);
        }
}

/* What the shop had learned counts where it is a distribution; else the table's priors do. */
static void priors_that_are_none_are_not_believed(void **state)
{
    (void)state;
    static const double sums[] = {1, 0, -1};
    struct reason_rank rank[REASON_CAUSE_COUNT];
    for (int i = 0; i < 3; i++) {
        job_init(&job);
        memset(&event, 0, sizeof event);
        event.walk = JOB_WALK;
        event.has_priors = true;
        for (int cause = 0; cause < REASON_CAUSE_COUNT; cause++)
            event.priors[cause] = cause == REASON_GEARBOX ? 0.9 : 0.1 / (REASON_CAUSE_COUNT - 1);
        for (int cause = 0; cause < REASON_CAUSE_COUNT; cause++)
            event.priors[cause] *= sums[i];
        happen(JOB_OPENED);
        reason_rank(&job.reason, rank);
        assert_true((rank[0].cause == REASON_GEARBOX && rank[0].probability > 0.85) == (i == 0));
    }
}

/* "generic_big-twin" is read out as three words. */
static void profiles_are_read_out_as_words(void **state)
{
    (void)state;
    job_init(&job);
    memset(&event, 0, sizeof event);
    event.walk = JOB_WALK;
    event.names_n = 2;
    snprintf(event.names[0], sizeof event.names[0], "generic_big-twin");
    snprintf(event.names[1], sizeof event.names[1], "another");
    happen(JOB_OPENED);
    say("skip");
    assert_string_equal(argument("card.profile", "list"), "1, generic big twin; 2, another");
}

/* To the end with everything skipped; then what it was is picked from the list. */
static void go_to_fixed(void)
{
    for (int i = 0; i < 100 && strcmp(job_question_id(&job), "closing.fixed") != 0; i++) {
        say("skip");
        if (job.mode == JOB_FETCHING)
            read_profile();
    }
    assert_at("closing.fixed");
}

static void what_it_was_is_picked_from_the_list(void **state)
{
    (void)state;
    static const struct {
        const char *cause, *pick;
        int place; /* in the ranking; -1: no cause is kept */
    } answers[] = {{"yes", NULL, 0},       {"no", "three", 2}, {"no", "five", 4},
                   {"no", "skip", -1},     {"skip", "one", 0}, {"don't know", "don't know", -1},
                   {"no", "number two", 1}};
    for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++) {
        open_a_job(NULL);
        go_to_fixed();
        say("yes");
        assert_at("closing.cause");
        struct reason_rank rank[REASON_CAUSE_COUNT];
        reason_rank(&job.reason, rank);
        say(answers[i].cause);
        if (answers[i].pick != NULL) {
            assert_at("closing.pick");
            say("seven");
            assert_true(said("closing.no_such_cause"));
            say(answers[i].pick);
        }
        assert_int_equal(job.ending, JOB_FIXED);
        assert_int_equal(job.cause, answers[i].place < 0 ? -1 : (int)rank[answers[i].place].cause);
    }
}

static void whoever_does_not_know_whether_it_is_fixed_is_told_what_comes_next(void **state)
{
    (void)state;
    go_to_fixed();
    say("don't know");
    assert_true(said("closing.not_fixed"));
    assert_int_equal(job.ending, JOB_NOT_FIXED);
    assert_int_equal(job.cause, -1);
}

/* Names for transcripts and write-ups: every one its own, and none beyond the last. */
static void names_end_where_their_lists_end(void **state)
{
    (void)state;
    assert_string_equal(job_phase_name(JOB_PROVING), "proving");
    assert_string_equal(job_phase_name(JOB_PHASE_COUNT), "?");
    assert_string_equal(job_source_name(JOB_BY_STATION), "station");
    assert_string_equal(job_source_name((enum job_source)(JOB_BY_STATION + 1)), "?");
    assert_string_equal(job_verdict_name(JOB_REJECTED), "rejected");
    assert_string_equal(job_verdict_name((enum job_verdict)(JOB_REJECTED + 1)), "?");
    assert_string_equal(job_ear_name(JOB_EAR_NOISE), "noise");
    assert_string_equal(job_ear_name(JOB_EAR_COUNT), "?");
}

/* ---- started again --------------------------------------------------------------------------
 */

static void start_again(int walk)
{
    memset(&event, 0, sizeof event);
    event.walk = walk;
    happen(JOB_RESUMED);
}

/* How many cautions have to be confirmed until the job stands at `id` again. */
static size_t confirm_until(const char *id)
{
    size_t n = 0;
    for (; n < 10 && strcmp(job_question_id(&job), id) != 0; n++) {
        assert_string_equal(job_grammar(&job), "caution");
        say(language_phrase_words(job_phrase(&job)));
    }
    assert_at(id);
    return n;
}

static void whoever_was_away_confirms_the_cautions_of_the_block_again(void **state)
{
    (void)state;
    go_to_a_reading();
    const char *reading = job_question_id(&job);
    size_t answers = job.answers, cautions = job.cautions;
    unsigned safe = job.safe;
    assert_true(cautions > 1);
    start_again(JOB_WALK);
    assert_true(said("caution.resumed"));
    assert_string_equal(job_grammar(&job), "caution");
    assert_false(job_is_safe(&job, LANGUAGE_ENGINE_OFF));
    assert_false(job_is_safe(&job, LANGUAGE_BIKE_STRAPPED));
    const char *first = job_question_id(&job);
    static const char *const others[] = {"skip", "i don't know", "yes", "engine off", "not yet"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        say(others[i]);
        assert_at(first);
    }
    hear(JOB_UNSURE, language_phrase_words(job_phrase(&job)), "");
    assert_at(first);
    say("stop");
    say("carry on");
    assert_at(first);
    assert_int_equal(confirm_until(reading), cautions);
    assert_int_equal(job.answers, answers);
    assert_int_equal(job.safe, safe);
    assert_int_equal(job.cautions, 2 * cautions);
}

static void whoever_was_away_in_older_journals_did_not(void **state)
{
    (void)state;
    for (int walk = 0; walk < 7; walk++) {
        open_a_job(NULL);
        go_to_a_reading();
        const char *reading = job_question_id(&job);
        start_again(walk);
        assert_at(reading);
    }
}

static void away_twice_is_all_of_them_once(void **state)
{
    (void)state;
    go_to_a_reading();
    const char *reading = job_question_id(&job);
    size_t cautions = job.cautions;
    start_again(JOB_WALK);
    say(language_phrase_words(job_phrase(&job)));
    start_again(JOB_WALK);
    start_again(JOB_WALK);
    assert_int_equal(confirm_until(reading), cautions);
}

/* "Wrong" takes back what was confirmed again; the next one the answer before, which leads into
 * a block whose cautions count no more; an answer given since does not make them be asked
 * again. */
static void going_back_over_being_away(void **state)
{
    (void)state;
    go_to_a_reading();
    const char *reading = job_question_id(&job);
    size_t cautions = job.cautions, answers = job.answers;
    start_again(JOB_WALK);
    const char *first = job_question_id(&job);
    confirm_until(reading);
    say("wrong");
    assert_at(first);
    assert_int_equal(job.answers, answers);
    assert_int_equal(confirm_until(reading), cautions);
    say("one half inch");
    if (job.answers > answers) {
        say("wrong");
        assert_at(reading);
        assert_int_equal(job.answers, answers);
    }
    start_again(JOB_WALK);
    say("wrong");
    assert_int_equal(job.answers, answers - 1);
    assert_false(job_is_safe(&job, LANGUAGE_BIKE_STRAPPED));
    assert_string_equal(job_grammar(&job), "caution");
}

/* Outside a hands-on block nothing is asked again. */
static void away_where_no_hands_go_asks_nothing_again(void **state)
{
    (void)state;
    assert_at("card.order");
    start_again(JOB_WALK);
    assert_at("card.order");
    go_to_free_play();
    say("go back");
    const char *at = job_question_id(&job);
    start_again(JOB_WALK);
    assert_at(at);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup(name, open_a_job)
    const struct CMUnitTest tests[] = {
        TEST(a_measured_value_is_read_back),
        TEST(wrong_takes_the_last_answer_back),
        TEST(going_back_before_the_first_answer_does_nothing),
        TEST(an_unsure_answer_is_asked_about_and_then_taken),
        TEST(an_unsure_answer_denied_is_asked_again),
        TEST(a_doubtful_yes_settles_nothing),
        TEST(two_readings_are_offered),
        TEST(say_again_after_misses_repeats_what_was_said_before_them),
        TEST(a_doubtful_say_again_repeats_the_question_not_the_doubt),
        TEST(saying_it_again_answers_the_doubt),
        TEST(two_misses_offer_the_keys),
        TEST(a_caution_needs_its_own_whole_phrase),
        TEST(a_caution_is_never_confirmed_by_a_doubtful_hearing),
        TEST(skipping_a_caution_leaves_its_check),
        TEST(stop_works_everywhere_even_in_doubt),
        TEST(carrying_on_takes_two_doubtful_hearings_and_putting_away_a_sure_one),
        TEST(the_voice_is_changed_and_nothing_else),
        TEST(the_voice_confirms_no_caution),
        TEST(an_older_walk_does_not_know_the_voice),
        TEST(asides_change_nothing),
        TEST(an_ear_that_goes_is_told_and_the_question_stays),
        TEST(only_keys_or_typing_bring_a_wanted_pad_back),
        TEST(noise_as_loud_as_speech_is_told_as_that),
        TEST(a_length_out_of_sense_is_asked_again),
        TEST(a_profile_that_cannot_be_read_is_chosen_again),
        TEST(stop_works_while_a_profile_is_fetched),
        TEST(whoever_hung_up_while_a_profile_was_fetched_fetches_it_again),
        TEST(an_answer_counts_at_its_own_question_only),
        TEST(the_bike_is_strapped_anew_after_a_proof),
        TEST(events_out_of_turn_are_harmless),
        TEST(what_means_nothing_changes_nothing),
        TEST(an_ear_that_goes_while_a_profile_is_fetched_is_not_asked_about),
        TEST(taking_back_goes_on_when_its_list_is_full),
        TEST(an_older_walk_carries_on_only_when_sure),
        TEST(priors_that_are_none_are_not_believed),
        TEST(profiles_are_read_out_as_words),
        TEST(what_it_was_is_picked_from_the_list),
        TEST(whoever_does_not_know_whether_it_is_fixed_is_told_what_comes_next),
        TEST(names_end_where_their_lists_end),
        TEST(a_clock_set_back_does_not_turn_the_job_s_time),
        TEST(whoever_was_away_confirms_the_cautions_of_the_block_again),
        TEST(whoever_was_away_in_older_journals_did_not),
        TEST(away_twice_is_all_of_them_once),
        TEST(going_back_over_being_away),
        TEST(away_where_no_hands_go_asks_nothing_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
