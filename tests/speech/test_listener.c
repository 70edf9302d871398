/*
 * When the live ear looks at an utterance and when it takes it for over: by what its words are so
 * far. The sounds are words of flite's with pauses of known lengths between them.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "language/language.h"
#include "recording.h"
#include "speech/listener.h"
#include "voices.h"

enum {
    BEFORE_MS = 1000, /* the endpointer gets to know the noise */
    AFTER_MS = 1800,  /* any pause ends an utterance by then */
    LONGEST_MS = 8000,
    SOUND = (BEFORE_MS + AFTER_MS + 12000) * (SPEECH_RATE_HZ / 1000),
    WORDS = 9,
};

static struct speech_recogniser *recogniser;
static struct speech_listener *ear;
static struct recording sound;

static int set_up(void **state)
{
    (void)state;
    struct fault fault = {0};
    struct speech_config config = {.grammar_dir = GRAMMARS,
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command,
                                   .live = true};
    recogniser = speech_recogniser_create(&config, &fault);
    struct speech_listener_config listens = {
        .recogniser = recogniser, .grammar_dir = GRAMMARS, .same_meaning = language_same_meaning};
    ear = recogniser == NULL ? NULL : speech_listener_create(&listens, &fault);
    sound.pcm = calloc(SOUND, sizeof *sound.pcm);
    return ear == NULL || sound.pcm == NULL;
}

static int tear_down(void **state)
{
    (void)state;
    speech_listener_destroy(ear);
    speech_recogniser_destroy(recogniser);
    recording_free(&sound);
    return 0;
}

/* The voice's own silence around a word left out: what is 40 dB under its peak. */
static void trim(struct recording *word)
{
    int peak = 0;
    for (size_t i = 0; i < word->frames; i++)
        peak = abs(word->pcm[i]) > peak ? abs(word->pcm[i]) : peak;
    size_t from = 0, to = word->frames;
    while (from < to && abs(word->pcm[from]) < peak / 100)
        from++;
    while (to > from && abs(word->pcm[to - 1]) < peak / 100)
        to--;
    memmove(word->pcm, word->pcm + from, (to - from) * sizeof *word->pcm);
    word->frames = to - from;
}

static void say(const char *words)
{
    struct recording word;
    if (!voices_say("slt", words, &word))
        skip();
    trim(&word);
    assert_true(sound.frames + word.frames < SOUND);
    memcpy(sound.pcm + sound.frames, word.pcm, word.frames * sizeof *word.pcm);
    sound.frames += word.frames;
    recording_free(&word);
}

static void pause_for(int ms)
{
    size_t frames = (size_t)ms * (SPEECH_RATE_HZ / 1000);
    assert_true(sound.frames + frames < SOUND);
    memset(sound.pcm + sound.frames, 0, frames * sizeof *sound.pcm);
    sound.frames += frames;
}

static void begin(void)
{
    sound.frames = 0;
    pause_for(BEFORE_MS);
}

static size_t heard_to; /* frames */

static void listen_on(const char *grammar, struct speech_utterance *utterance)
{
    static const int16_t nothing[SPEECH_FRAME];
    struct fault fault = {0};
    enum speech_listening now = SPEECH_NOTHING;
    assert_true(speech_listener_expect(ear, grammar, LONGEST_MS, 0, &fault));
    for (size_t at = heard_to; now != SPEECH_UTTERED; at += SPEECH_FRAME) {
        heard_to = at + SPEECH_FRAME;
        assert_true(at + SPEECH_FRAME <= sound.frames);
        now = speech_listener_frame(ear, true, sound.pcm + at, nothing, utterance, &fault);
        assert_int_not_equal(now, SPEECH_FAILED);
    }
    print_message("\"%s\" (%s), %d looks, %d ms of speech, then a pause of %d\n",
                  utterance->heard.words, speech_verdict_name(utterance->heard.verdict),
                  utterance->runs, utterance->speech_ms, utterance->pause_ms);
}

/* The first utterance. */
static void listen(const char *grammar, struct speech_utterance *utterance)
{
    pause_for(AFTER_MS);
    assert_true(recording_noise(&sound, 40, 1));
    heard_to = 0;
    listen_on(grammar, utterance);
}

static void listen_to(const char *grammar, const char *words, struct speech_utterance *utterance)
{
    begin();
    say(words);
    listen(grammar, utterance);
}

/* listener.h: at once when nothing can follow, later when something could, last when it is no
 * sentence yet. */
static void what_the_words_are_sets_the_pause_that_ends_them(void **state)
{
    (void)state;
    struct speech_utterance whole, open, none;
    listen_to("yesno", "affirmative", &whole);
    listen_to("number", "twenty", &open);
    listen_to("yesno", "the parcel came on Thursday", &none);
    assert_int_equal(whole.heard.verdict, SPEECH_ACCEPTED);
    assert_int_equal(open.heard.verdict, SPEECH_ACCEPTED);
    assert_int_equal(none.heard.verdict, SPEECH_REJECTED);
    assert_true(whole.pause_ms < open.pause_ms);
    assert_true(open.pause_ms < none.pause_ms);
    assert_int_equal(whole.runs, 1);
}

/* So soon after an answer that was believed at once that its own end is still among what was kept.
 */
static void an_answer_is_not_heard_again_in_the_next(void **state)
{
    (void)state;
    struct speech_utterance first, next;
    begin();
    say("go back");
    pause_for(250);
    say("stop");
    listen("yesno", &first);
    listen_on("yesno", &next);
    assert_string_equal(first.heard.words, "go back");
    assert_true(next.is_tail);
    assert_string_equal(next.heard.words, "stop");
    assert_int_equal(next.heard.verdict, SPEECH_ACCEPTED);
}

static const char *const talk[WORDS] = {"parcel", "Thursday",   "weather", "garden", "holiday",
                                        "bakery", "sandwiches", "curtain", "yellow"};

static int looks_at_talk(int pause_ms)
{
    struct speech_utterance utterance;
    begin();
    for (int i = 0; i < WORDS; i++) {
        say(talk[i]);
        pause_for(i + 1 < WORDS ? pause_ms : 0);
    }
    listen("yesno", &utterance);
    assert_int_equal(utterance.heard.verdict, SPEECH_REJECTED);
    assert_true(utterance.speech_ms > 4000); /* all of it one utterance */
    return utterance.runs;
}

/* As often as it pauses at first, then only where it pauses for long; and at its end. */
static void talk_that_goes_on_is_looked_at_seldom(void **state)
{
    (void)state;
    int shortly = looks_at_talk(200), long_ones = looks_at_talk(400);
    assert_in_range(shortly, 3, 5);
    assert_in_range(long_ones, WORDS - 2, WORDS);
}

/* "Three", and the rest late: the beginning is not taken for the answer. */
static void a_beginning_is_waited_for(void **state)
{
    (void)state;
    struct speech_utterance utterance;
    begin();
    say("three");
    pause_for(600);
    say("sixteenths of an inch");
    listen("distance", &utterance);
    assert_string_equal(utterance.heard.words, "three sixteenths of an inch");
    assert_int_equal(utterance.heard.verdict, SPEECH_ACCEPTED);
    assert_true(utterance.runs >= 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_answer_is_not_heard_again_in_the_next),
        cmocka_unit_test(what_the_words_are_sets_the_pause_that_ends_them),
        cmocka_unit_test(talk_that_goes_on_is_looked_at_seldom),
        cmocka_unit_test(a_beginning_is_waited_for),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
