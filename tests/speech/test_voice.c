/* What the voice is given to say, and that it says it: as sound with something in it, at its rate.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "speech/recogniser.h"
#include "speech/spoken.h"
#include "speech/voice.h"

static void abbreviations_are_spelt_out(void **state)
{
    (void)state;
    static const struct {
        const char *written, *spoken;
    } pairs[] = {
        {"Throw 5/16 in.", "Throw 5 sixteenths of an inch."},
        {"1-5/16 in", "1 and 5 sixteenths inches"},
        {"1/4 in across", "1 quarter of an inch across"},
        {"1/2 turn", "1 half turn"},
        {"7.9 mm forward", "7.9 millimetres forward"},
        {"1 mm", "1 millimetre"},
        {"310 thou", "310 thousandths"},
        {"12 Nm, no more", "12 newton metres, no more"},
        {"Taken back: no.", "Taken back: no."},
        {"95 % sure", "95 percent sure"},
        {"7 in the drawer", "7 inches the drawer"}, /* a unit after a number is a unit */
        {"into the bin", "into the bin"},
        {"job 4712", "job 4712"},
        {"3/7 of it", "3/7 of it"}, /* no word for sevenths in this trade */
        {"1/0", "1/0"},
        {"", ""},
    };
    for (size_t p = 0; p < sizeof pairs / sizeof pairs[0]; p++) {
        char out[128];
        assert_true(speech_spoken(pairs[p].written, out, sizeof out));
        assert_string_equal(out, pairs[p].spoken);
    }
    char small[8];
    assert_false(speech_spoken("a long sentence", small, sizeof small));
}

struct sound {
    size_t frames, pieces, stop_after;
    int loudest;
};

static bool take(void *context, const int16_t *pcm, size_t frames)
{
    struct sound *sound = context;
    sound->frames += frames;
    sound->pieces++;
    for (size_t i = 0; i < frames; i++)
        if (abs(pcm[i]) > sound->loudest)
            sound->loudest = abs(pcm[i]);
    return sound->stop_after == 0 || sound->pieces < sound->stop_after;
}

/* Six decibels down are half the amplitude; from 230 words a minute to 105 a sentence grows. */
static void check_loudness_and_speed(struct speech_voice *voice, const struct sound *usual)
{
    static const char sentence[] = "Measure the forward throw, twice, please.";
    struct sound soft = {0}, slow = {0}, fast = {0};
    speech_voice_set(voice, 165, -6);
    assert_true(speech_voice_say(voice, sentence, take, &soft, NULL));
    speech_voice_set(voice, 105, 0);
    assert_true(speech_voice_say(voice, sentence, take, &slow, NULL));
    speech_voice_set(voice, 230, 0);
    assert_true(speech_voice_say(voice, sentence, take, &fast, NULL));
    assert_in_range(soft.loudest, usual->loudest * 4 / 10, usual->loudest * 6 / 10);
    assert_true(slow.frames > usual->frames * 5 / 4 && fast.frames < usual->frames * 9 / 10);
}

/* Twenty sentences by others; whose turn it is next speaks as before. */
static void check_others(struct speech_voice *voice)
{
    static const char sentence[] = "Measure the back throw.";
    struct sound before = {0}, after = {0};
    float *pcm = NULL;
    size_t frames = 0;
    double power = 0;
    assert_true(speech_voice_say(voice, sentence, take, &before, NULL));
    assert_true(speech_voice_others(&pcm, &frames, NULL));
    assert_true(speech_voice_say(voice, sentence, take, &after, NULL));
    for (size_t i = 0; i < frames; i++)
        power += (double)pcm[i] * (double)pcm[i];
    free(pcm);
    print_message("others talk for %.1f s\n", (double)frames / SPEECH_RATE_HZ);
    assert_in_range(frames, 20 * SPEECH_RATE_HZ, 100 * SPEECH_RATE_HZ);
    assert_true(power / (double)frames > 0.999 && power / (double)frames < 1.001);
    assert_in_range(after.frames, before.frames * 98 / 100, before.frames * 102 / 100);
    assert_in_range(after.loudest, before.loudest * 9 / 10, before.loudest * 11 / 10);
}

/* One voice for all of it: eSpeak NG 1.51 hangs when it is ended a second time in a process. */
static void it_speaks_longer_for_longer_sentences_and_stops_when_told(void **state)
{
    (void)state;
    struct fault fault = {0};
    struct speech_voice *voice = speech_voice_create(175, &fault);
    if (voice == NULL)
        print_message("%s\n", fault.sentence);
    assert_non_null(voice);
    assert_in_range(speech_voice_rate_hz(voice), 8000, 48000);
    struct sound brief = {0}, lengthy = {0}, cut = {.stop_after = 2};
    assert_true(speech_voice_say(voice, "Yes.", take, &brief, &fault));
    assert_true(speech_voice_say(voice, "Measure the forward throw, twice, please.", take, &lengthy,
                                 &fault));
    assert_true(
        speech_voice_say(voice, "Measure the forward throw, twice, please.", take, &cut, &fault));
    assert_true(speech_voice_say(voice, "", take, &cut, &fault));
    print_message("yes: %zu frames, a sentence: %zu, stopped: %zu\n", brief.frames, lengthy.frames,
                  cut.frames);
    assert_true(brief.frames > (size_t)speech_voice_rate_hz(voice) / 10);
    assert_true(lengthy.frames > brief.frames * 3 / 2);
    assert_true(cut.frames < lengthy.frames / 2);
    assert_true(brief.loudest > 2000 && lengthy.loudest > 2000);
    check_loudness_and_speed(voice, &lengthy);
    check_others(voice);
    speech_voice_destroy(voice);
}

static void speeds_nobody_could_follow_are_refused(void **state)
{
    (void)state;
    struct fault fault = {0};
    assert_null(speech_voice_create(5, &fault));
    assert_int_equal(fault.code, FAULT_USAGE);
    assert_null(speech_voice_create(5000, &fault));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(abbreviations_are_spelt_out),
        cmocka_unit_test(it_speaks_longer_for_longer_sentences_and_stops_when_told),
        cmocka_unit_test(speeds_nobody_could_follow_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
