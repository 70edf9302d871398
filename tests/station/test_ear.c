/* Interruptions, cautions, pauses, and microphones that fail, in the simulated room. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "language/language.h"
#include "record/rebuild.h"
#include "shop.h"

/* ---- scripts --------------------------------------------------------------------------------- */

/* One thing done by the technician, `after_ms` after the one before; with `asked` not before
 * midthrow has fallen silent. `words` are spoken, or typed when they begin with '>'. */
struct step {
    int after_ms;
    bool asked;
    const char *words;
    double louder; /* 0: as flite speaks */
    int trouble;   /* of enum audio_room_trouble, plus one; 0: as it was */
    void (*look)(struct shop *shop);
};

#define SAY(after, said)                                                                           \
    {                                                                                              \
        .after_ms = (after), .words = (said)                                                       \
    }
#define TYPE(after, said)                                                                          \
    {                                                                                              \
        .after_ms = (after), .words = ">" said                                                     \
    }
#define SHOUT(after, said)                                                                         \
    {                                                                                              \
        .after_ms = (after), .words = (said), .louder = 2                                          \
    }
#define ANSWER(after, said)                                                                        \
    {                                                                                              \
        .after_ms = (after), .words = (said), .asked = true                                        \
    }
#define LOOK(after, at)                                                                            \
    {                                                                                              \
        .after_ms = (after), .look = (at)                                                          \
    }
#define BREAK(after, what)                                                                         \
    {                                                                                              \
        .after_ms = (after), .trouble = (int)(what) + 1                                            \
    }
#define END(after)                                                                                 \
    {                                                                                              \
        .after_ms = (after)                                                                        \
    }

struct script {
    const struct step *step; /* ends with one that does nothing */
    int64_t last_ms;
    int64_t end_ms; /* after the last step it goes on for so long */
};

static bool is_nothing(const struct step *step)
{
    return step->words == NULL && step->trouble == 0 && step->look == NULL;
}

static void follow(struct shop *shop, int64_t now_ms, bool asked)
{
    struct script *script = shop->user;
    const struct step *step = script->step;
    if (now_ms < script->last_ms + step->after_ms || (step->asked && !asked))
        return;
    if (is_nothing(step)) {
        shop->stop = 1;
        audio_room_interrupt(shop->room);
        return;
    }
    script->last_ms = now_ms;
    script->step++;
    if (step->trouble != 0)
        audio_room_break(shop->room, (unsigned)step->trouble - 1);
    if (step->words != NULL && step->words[0] == '>') {
        shop_type(shop, step->words + 1);
        shop->answered_ms = shop->station.asked_ms;
    } else if (step->words != NULL) {
        shop_say_louder(shop, step->words, step->louder != 0 ? step->louder : 1);
    }
    if (step->look != NULL)
        step->look(shop);
}

static void play(struct shop *shop, const struct shop_setup *setup, const struct step *steps)
{
    struct script script = {.step = steps};
    shop_open(shop, setup);
    shop->technician = follow;
    shop->user = &script;
    shop->give_up_ms = 300 * 1000;
    if (!shop_run(shop, false))
        fail_msg("%s", shop->fault.sentence);
    if (getenv("SHOP_SHOW") != NULL) {
        rewind(shop->screen_file);
        for (int c; (c = fgetc(shop->screen_file)) != EOF;)
            putchar(c);
    }
    assert_true(is_nothing(script.step));
}

static struct shop shop;

/* Typed and muted, up to the first caution; then to the first distance. */
#define TO_A_CAUTION                                                                               \
    TYPE(300, "5083"), TYPE(300, "skip"), TYPE(300, "hard to find"), TYPE(300, "hot"),             \
        TYPE(300, "both"), TYPE(300, "standing with the clutch in"), TYPE(300, "no"),              \
        TYPE(300, "yes"), TYPE(300, "gradual"), TYPE(300, "fluid")
#define TO_A_DISTANCE                                                                              \
    TO_A_CAUTION, TYPE(300, "the bike is upright and strapped"), TYPE(300, "engine off and key out")

/* ---- what was heard -------------------------------------------------------------------------- */

static bool by_ear(const struct job_event *event)
{
    return event->kind == JOB_HEARD && event->source == JOB_BY_EAR;
}

static bool accepted(const struct job_event *event)
{
    return by_ear(event) && event->verdict == JOB_ACCEPTED;
}

static bool ear_change(const struct job_event *event)
{
    return event->kind == JOB_EAR_CHANGED;
}

/* ---- pauses ---------------------------------------------------------------------------------- */

/* Is it a length, to a four-hundredth of a millimetre? */
static bool is_length(const struct job_event *event, double mm)
{
    struct language_value value;
    return language_parse("distance", event->words, &value, NULL) == LANGUAGE_OK &&
           value.type == LANGUAGE_DISTANCE &&
           fabs(measure_length_mm(value.as.length) - mm) < 0.0025;
}

static bool is_three_sixteenths(const struct job_event *event)
{
    return by_ear(event) && is_length(event, 4.7625);
}

static void a_pause_within_an_answer_does_not_end_it(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TO_A_DISTANCE,
        SAY(1000, "three"),
        SAY(1600, "sixteenths of an inch"), /* "three" takes 0.6 s with its own silences */
        END(4000),
    };
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
    assert_int_equal(shop_count(&shop, by_ear), 1);
    assert_int_equal(shop_count(&shop, is_three_sixteenths), 1);
    shop_close(&shop);
}

static int64_t answered_after_ms;

static void note_answer(struct shop *seen)
{
    struct station_live_reply reply = station_live_reply(seen->live);
    answered_after_ms = reply.utterance.pause_ms;
}

static void a_quick_yes_is_answered_at_once(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TYPE(300, "5083"), TYPE(300, "skip"),       TYPE(300, "hard to find"),
        TYPE(300, "hot"),  TYPE(300, "both"),       TYPE(300, "standing with the clutch in"),
        SAY(1000, "yes"),  LOOK(3000, note_answer), END(100),
    };
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
    assert_int_equal(shop_count(&shop, accepted), 1);
    assert_in_range(answered_after_ms, 1, 300);
    shop_close(&shop);
}

static bool is_two_point_four(const struct job_event *event)
{
    return accepted(event) && is_length(event, 2.4);
}

static void a_unit_may_come_late(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TO_A_DISTANCE,
        SAY(1000, "two point four"), /* takes 0.9 s with its own silences */
        SAY(1650, "millimetres"),
        END(4000),
    };
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
    assert_int_equal(shop_count(&shop, by_ear), 1);
    assert_int_equal(shop_count(&shop, is_two_point_four), 1);
    shop_close(&shop);
}

static void a_beginning_alone_is_no_answer(void **state)
{
    (void)state;
    static const char *const beginnings[] = {"five", "three", "one", "seven", "eight"};
    for (size_t i = 0; i < sizeof beginnings / sizeof beginnings[0]; i++) {
        const struct step steps[] = {TO_A_DISTANCE, SAY(1000, beginnings[i]), END(4000)};
        play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
        assert_int_equal(shop_count(&shop, by_ear), 1);
        assert_int_equal(shop_count(&shop, accepted), 0);
        shop_close(&shop);
    }
}

static bool is_order(const struct job_event *event)
{
    return by_ear(event) && strcmp(event->words, "five zero eight three") == 0;
}

static void a_work_order_may_be_said_in_groups(void **state)
{
    (void)state;
    static const struct step steps[] = {
        SAY(1000, "five zero"), /* takes 0.9 s with its own silences */
        SAY(1700, "eight three"),
        END(5000),
    };
    play(&shop, &(struct shop_setup){.mute = true}, steps);
    assert_int_equal(shop_count(&shop, by_ear), 1);
    assert_int_equal(shop_count(&shop, is_order), 1);
    shop_close(&shop);
}

/* ---- push to talk ---------------------------------------------------------------------------- */

#define TO_A_YES_OR_NO                                                                             \
    TYPE(300, "5083"), TYPE(300, "skip"), TYPE(300, "hard to find"), TYPE(300, "hot"),             \
        TYPE(300, "both"), TYPE(300, "standing with the clutch in")

static void press(struct shop *seen)
{
    station_live_talk(seen->live, true);
}

static void release(struct shop *seen)
{
    station_live_talk(seen->live, false);
}

static void a_switch_released_within_a_word_takes_what_was_said(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TO_A_YES_OR_NO,     SAY(1000, "negative"), /* not pressed: not heard */
        LOOK(3000, press),  SAY(300, "affirmative"),
        LOOK(850, release), /* of its 1.1 s the last 0.2 are silence */
        LOOK(1000, press),  LOOK(500, release),
        END(3000),
    };
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true, .push_to_talk = true}, steps);
    assert_int_equal(shop_count(&shop, by_ear), 1);
    assert_int_equal(shop_count(&shop, accepted), 1);
    shop_close(&shop);
}

/* ---- misses ---------------------------------------------------------------------------------- */

static int told_then[3];

static void note_told(struct shop *seen)
{
    for (size_t i = 0; i < 3; i++)
        if (told_then[i] < 0) {
            told_then[i] = shop_count(seen, by_ear);
            return;
        }
}

#define MUMBLE(after) SAY(after, "where did they put the blue bucket and the long hose")

static void what_is_not_understood_is_told_less_and_less_often(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TO_A_YES_OR_NO,
        MUMBLE(1000),
        MUMBLE(6000),
        LOOK(5000, note_told), /* both are told */
        MUMBLE(100),
        MUMBLE(5000),
        LOOK(5000, note_told), /* too soon after that */
        MUMBLE(6000),
        MUMBLE(6000),
        LOOK(6000, note_told), /* one of them */
        SAY(100, "affirmative"),
        END(3000),
    };
    for (size_t i = 0; i < 3; i++)
        told_then[i] = -1;
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
    assert_int_equal(told_then[0], 2);
    assert_int_equal(told_then[1], 2);
    assert_int_equal(told_then[2], 3);
    assert_int_equal(shop_count(&shop, accepted), 1);
    assert_true(shop_said(&shop, "> (nothing)   (heard, rejected, 0.00)"));
    shop_close(&shop);
}

/* ---- from afar ------------------------------------------------------------------------------- */

#define FAR(said)                                                                                  \
    {                                                                                              \
        .after_ms = 3000, .asked = true, .words = (said), .louder = 0.15                           \
    }
#define THREE_ANSWERS                                                                              \
    ANSWER(500, "five zero eight three"), ANSWER(500, "skip this one"),                            \
        ANSWER(500, "it is hard to find")

static bool is_doubted(const struct job_event *event)
{
    return by_ear(event) && event->verdict == JOB_UNSURE;
}

/* 16 dB quieter than before. */
static void a_voice_from_afar_is_asked_about_until_it_is_known_to_be_there(void **state)
{
    (void)state;
    static const struct step steps[] = {
        THREE_ANSWERS, FAR("when it is hot"), FAR("affirmative"), FAR("both of them"), END(3000),
    };
    play(&shop, &(struct shop_setup){.mute = true}, steps);
    assert_true(shop_said(&shop, "Did you say"));
    assert_int_equal(shop_count(&shop, is_doubted), 1);
    assert_int_equal(shop_count(&shop, accepted), 5);
    assert_int_equal(shop.job->answers, 5);
    shop_close(&shop);
}

static void far_or_near_is_not_known_before_anybody_answered(void **state)
{
    (void)state;
    static const struct step steps[] = {FAR("five zero eight three"), END(3000)};
    play(&shop, &(struct shop_setup){.mute = true}, steps);
    assert_int_equal(shop_count(&shop, accepted), 1);
    shop_close(&shop);
}

static bool is_stopped(const struct job_event *event)
{
    return accepted(event) && strcmp(event->words, "stop the job") == 0;
}

static void stop_counts_from_afar(void **state)
{
    (void)state;
    static const struct step steps[] = {THREE_ANSWERS, FAR("stop the job"), END(3000)};
    play(&shop, &(struct shop_setup){.mute = true}, steps);
    assert_int_equal(shop_count(&shop, is_stopped), 1);
    shop_close(&shop);
}

/* ---- in the middle of talk ------------------------------------------------------------------- */

#define TALK "the weather was nice on Thursday"

/* Somebody talks to somebody else, and what comes half a second after that was heard as no answer
 * is a part of it. */
static void what_goes_on_from_talk_is_asked_about(void **state)
{
    (void)state;
    static const struct step steps[] = {SAY(1000, TALK), SAY(3700, "five zero eight three"),
                                        END(4000)};
    play(&shop, &(struct shop_setup){.mute = true}, steps);
    assert_true(shop_said(&shop, "Did you say"));
    assert_int_equal(shop_count(&shop, is_doubted), 1);
    assert_int_equal(shop_count(&shop, accepted), 0);
    shop_close(&shop);
}

static void stop_counts_in_the_middle_of_talk(void **state)
{
    (void)state;
    static const struct step steps[] = {SAY(1000, TALK), SAY(3700, "stop the job"), END(4000)};
    play(&shop, &(struct shop_setup){.mute = true}, steps);
    assert_int_equal(shop_count(&shop, is_stopped), 1);
    shop_close(&shop);
}

static void an_answer_after_talk_counts(void **state)
{
    (void)state;
    static const struct step steps[] = {SAY(1000, TALK), SAY(5500, "five zero eight three"),
                                        END(4000)};
    play(&shop, &(struct shop_setup){.mute = true}, steps);
    assert_int_equal(shop_count(&shop, accepted), 1);
    shop_close(&shop);
}

/* ---- interruptions --------------------------------------------------------------------------- */

static int64_t spoken_by_then_ms;

static void note_spoken(struct shop *seen)
{
    spoken_by_then_ms = seen->spoken_ms;
}

static void stop_interrupts(void **state)
{
    (void)state;
    static const struct step steps[] = {SHOUT(3000, "stop"), LOOK(6000, note_spoken), END(100)};
    play(&shop, &(struct shop_setup){.echo_db = -20}, steps);
    assert_true(shop_said(&shop, "Stopped. Hands off the bike."));
    assert_in_range(spoken_by_then_ms, 1500, 8000);
    assert_int_equal(shop_count(&shop, by_ear), 1);
    shop_close(&shop);
}

/* Its beginning goes under in what midthrow says: surer than an answer has to be, not as sure as a
 * command. */
static void a_clipped_stop_interrupts(void **state)
{
    (void)state;
    static const struct step over_its_voice[] = {SHOUT(3000, "top"), END(4000)};
    static const struct step in_silence[] = {ANSWER(500, "top"), END(4000)};
    play(&shop, &(struct shop_setup){.echo_db = -20}, over_its_voice);
    assert_true(shop_said(&shop, "Stopped. Hands off the bike."));
    shop_close(&shop);
    play(&shop, &(struct shop_setup){.mute = true}, in_silence);
    assert_int_equal(shop_count(&shop, by_ear), 1);
    assert_int_equal(shop_count(&shop, accepted), 0);
    shop_close(&shop);
}

static void an_answer_interrupts(void **state)
{
    (void)state;
    /* within the welcome, which takes five seconds and a half */
    static const struct step steps[] = {SHOUT(2000, "skip this one"), END(5000)};
    play(&shop, &(struct shop_setup){.echo_db = -20}, steps);
    assert_int_equal(shop.job->answers, 1);
    shop_close(&shop);
}

static void half_duplex_hears_nothing_while_it_speaks(void **state)
{
    (void)state;
    static const struct step steps[] = {SHOUT(1500, "stop"), ANSWER(1500, "skip this one"),
                                        END(4000)};
    play(&shop, &(struct shop_setup){.echo_db = -12, .half_duplex = true}, steps);
    assert_int_equal(shop_count(&shop, by_ear), 1);
    assert_int_equal(shop.job->answers, 1);
    shop_close(&shop);
}

/* ---- cautions -------------------------------------------------------------------------------- */

static size_t answers_then;

static void note_answers(struct shop *seen)
{
    answers_then = seen->job->answers;
}

static bool still_warns;

static void note_warning(struct shop *seen)
{
    still_warns = station_live_warns(seen->live);
    answers_then = seen->job->answers;
}

static void a_caution_is_heard_to_its_end_before_a_voice_confirms_it(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TO_A_CAUTION,
        SHOUT(1000, "the bike is upright and strapped"),
        LOOK(4500, note_answers),
        ANSWER(100, "the bike is upright and strapped"),
        END(4500),
    };
    play(&shop, &(struct shop_setup){.echo_db = -20, .with_keys = true}, steps);
    assert_int_equal(answers_then, 10);
    assert_int_equal(shop_count(&shop, accepted), 1);
    assert_int_equal(shop.job->answers, 11);
    shop_close(&shop);
}

/* The steps end with the keys that confirm it, and a look while it still sounds. */
static void confirm_too_early(const struct step *steps)
{
    play(&shop, &(struct shop_setup){.echo_db = -20, .with_keys = true}, steps);
    assert_true(still_warns);
    assert_int_equal(answers_then, 10);
    assert_int_equal(shop.job->answers, 11);
    shop_close(&shop);
}

static void a_caution_is_heard_to_its_end_before_keys_confirm_it(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TO_A_CAUTION,
        TYPE(500, "12"),
        LOOK(1000, note_warning),
        END(25000),
    };
    confirm_too_early(steps);
}

/* A signal that ends no session: the terminal's window changed. */
static void change_window(struct shop *seen)
{
    audio_room_interrupt(seen->room);
}

static void a_window_that_changes_cuts_no_caution_short(void **state)
{
    (void)state;
    static const struct step steps[] = {
        TO_A_CAUTION, TYPE(500, "12"), LOOK(500, change_window), LOOK(500, note_warning),
        END(25000),
    };
    confirm_too_early(steps);
}

/* ---- microphones ----------------------------------------------------------------------------- */

static enum job_ear ear_then;

struct lines {
    char text[1 << 16];
    size_t used;
};

static bool keep_line(void *context, int64_t at_ms, const char *line)
{
    struct lines *lines = context;
    (void)at_ms;
    int n = snprintf(lines->text + lines->used, sizeof lines->text - lines->used, "%s", line);
    lines->used += (size_t)n;
    return lines->used < sizeof lines->text;
}

/* The transcript as it was written and as the journal makes it again, byte for byte. */
static void assert_transcript_can_be_rebuilt(struct shop *seen)
{
    static struct lines made, written;
    static struct job job;
    char path[600];
    struct rebuild rebuild = {.prompts = seen->prompts, .line = keep_line, .context = &made};
    made.used = 0;
    rebuild_begin(&rebuild, &job);
    assert_true(journal_replay(seen->journal, seen->number, rebuild_event, &rebuild, &seen->fault));
    assert_true(rebuild_end(&rebuild, &seen->fault));
    assert_true(transcript_path(seen->data, seen->number, path, sizeof path));
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    written.text[fread(written.text, 1, sizeof written.text - 1, file)] = '\0';
    fclose(file);
    assert_string_equal(written.text, made.text);
    assert_non_null(strstr(made.text, "the ear: open"));
}

static void note_ear(struct shop *seen)
{
    ear_then = seen->job->ear;
}

static void a_microphone_that_goes_is_told_and_picked_up_again(void **state)
{
    (void)state;
    static const struct {
        enum audio_room_trouble trouble;
        enum job_ear ear;
        const char *said;
    } cases[] = {
        {AUDIO_ROOM_NO_MICROPHONE, JOB_EAR_MISSING, "The microphone is gone"},
        {AUDIO_ROOM_ZEROS, JOB_EAR_SILENT, "The microphone gives no sound"},
    };
    for (size_t i = 0; i < 2; i++) {
        const struct step steps[] = {
            BREAK(1000, cases[i].trouble), LOOK(5000, note_ear),       TYPE(100, "5083"),
            BREAK(500, AUDIO_ROOM_WELL),   SAY(2000, "skip this one"), END(2500),
        };
        play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
        assert_int_equal(ear_then, cases[i].ear);
        assert_true(shop_said(&shop, cases[i].said));
        assert_true(shop_said(&shop, "I hear you again."));
        assert_int_equal(shop_count(&shop, ear_change), 2);
        assert_string_equal(shop.job->order, "5083");
        assert_int_equal(shop.job->answers, 2); /* "skip this one" was heard */
        assert_transcript_can_be_rebuilt(&shop);
        shop_close(&shop);
    }
}

static void a_microphone_driven_too_hard_is_told_until_it_is_turned_down(void **state)
{
    (void)state;
    static const struct step steps[] = {
        BREAK(500, AUDIO_ROOM_CLIPPING),
        SAY(500, "the bike is upright and strapped and nobody knows why it should be"),
        LOOK(5000, note_ear),
        BREAK(0, AUDIO_ROOM_WELL),
        END(9000),
    };
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
    assert_int_equal(ear_then, JOB_EAR_CLIPPING);
    assert_true(shop_said(&shop, "driven too hard"));
    assert_int_equal(shop.job->ear, JOB_EAR_OPEN);
    shop_close(&shop);
}

static void be_loud(struct shop *seen)
{
    seen->setup.noise_db = -20;
}

static void be_quiet(struct shop *seen)
{
    ear_then = seen->job->ear;
    seen->setup.noise_db = -60;
}

static void noise_moves_it_to_the_pad_and_quiet_back(void **state)
{
    (void)state;
    static const struct step steps[] = {
        LOOK(2000, be_loud),
        LOOK(9000, be_quiet),
        END(9000),
    };
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
    assert_int_equal(ear_then, JOB_EAR_NOISE);
    assert_true(shop_said(&shop, "too loud here"));
    assert_int_equal(shop.job->ear, JOB_EAR_OPEN);
    assert_int_equal(shop_count(&shop, ear_change), 2);
    assert_int_equal(shop_count(&shop, by_ear), 0);
    shop_close(&shop);
}

static void the_word_keypad_closes_the_ear_and_a_typed_word_opens_it(void **state)
{
    (void)state;
    static const struct step steps[] = {
        SAY(1000, "use the keypad"),
        SAY(3000, "five zero eight three"),
        TYPE(4000, "*+"),
        SAY(500, "five zero eight three"),
        END(4000),
    };
    play(&shop, &(struct shop_setup){.mute = true, .with_keys = true}, steps);
    assert_int_equal(shop_count(&shop, accepted), 2);
    assert_string_equal(shop.job->order, "5083");
    shop_close(&shop);
}

static void without_microphone_and_keys_it_leaves_and_keeps_the_job(void **state)
{
    (void)state;
    shop_open(&shop, &(struct shop_setup){.mute = true});
    audio_room_break(shop.room, AUDIO_ROOM_NO_MICROPHONE);
    shop.give_up_ms = 100 * 1000;
    assert_true(shop_run(&shop, false));
    assert_true(shop.station.nothing_left);
    assert_int_equal(shop.stop, 0);
    assert_false(job_is_closed(shop.job));
    assert_int_equal(shop_count(&shop, ear_change), 1);
    assert_in_range(audio_room_now_ms(shop.room), 59000, 63000);
    shop_close(&shop);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pause_within_an_answer_does_not_end_it),
        cmocka_unit_test(a_quick_yes_is_answered_at_once),
        cmocka_unit_test(a_beginning_alone_is_no_answer),
        cmocka_unit_test(a_unit_may_come_late),
        cmocka_unit_test(a_work_order_may_be_said_in_groups),
        cmocka_unit_test(a_switch_released_within_a_word_takes_what_was_said),
        cmocka_unit_test(what_is_not_understood_is_told_less_and_less_often),
        cmocka_unit_test(a_voice_from_afar_is_asked_about_until_it_is_known_to_be_there),
        cmocka_unit_test(far_or_near_is_not_known_before_anybody_answered),
        cmocka_unit_test(stop_counts_from_afar),
        cmocka_unit_test(what_goes_on_from_talk_is_asked_about),
        cmocka_unit_test(stop_counts_in_the_middle_of_talk),
        cmocka_unit_test(an_answer_after_talk_counts),
        cmocka_unit_test(stop_interrupts),
        cmocka_unit_test(a_clipped_stop_interrupts),
        cmocka_unit_test(an_answer_interrupts),
        cmocka_unit_test(half_duplex_hears_nothing_while_it_speaks),
        cmocka_unit_test(a_caution_is_heard_to_its_end_before_a_voice_confirms_it),
        cmocka_unit_test(a_caution_is_heard_to_its_end_before_keys_confirm_it),
        cmocka_unit_test(a_window_that_changes_cuts_no_caution_short),
        cmocka_unit_test(a_microphone_that_goes_is_told_and_picked_up_again),
        cmocka_unit_test(a_microphone_driven_too_hard_is_told_until_it_is_turned_down),
        cmocka_unit_test(noise_moves_it_to_the_pad_and_quiet_back),
        cmocka_unit_test(the_word_keypad_closes_the_ear_and_a_typed_word_opens_it),
        cmocka_unit_test(without_microphone_and_keys_it_leaves_and_keeps_the_job),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
