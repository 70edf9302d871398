/* Where utterances begin and end, what the grammar lets follow, and how much of midthrow's own
 * voice is taken out: with sounds made here, so that the answer is known. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "language/language.h"
#include "speech/echo.h"
#include "speech/endpoint.h"
#include "speech/places.h"

static uint32_t seed;

/* -1 .. 1; Knuth, The Art of Computer Programming 2, 3.3.4. */
static double uniform(void)
{
    seed = seed * 1664525U + 1013904223U;
    return (double)seed / 2147483648.0 - 1;
}

static void add_noise(int16_t pcm[SPEECH_FRAME], double rms)
{
    for (int i = 0; i < SPEECH_FRAME; i++)
        pcm[i] = (int16_t)(pcm[i] + lrint(rms * 1.732 * uniform()));
}

/* A vowel-like buzz of 120 Hz and its harmonics, `at` a frame's number, four syllables a second. */
static void add_voice(int16_t pcm[SPEECH_FRAME], double amplitude, long at)
{
    for (int i = 0; i < SPEECH_FRAME; i++) {
        double t = (double)(at * SPEECH_FRAME + i) / 16000, sum = 0;
        for (int h = 1; h <= 25; h++)
            sum += sin(6.283185 * 120 * h * t) / (1 + h / 6.0);
        double syllable = 0.55 + 0.45 * sin(6.283185 * 4 * t);
        pcm[i] = (int16_t)(pcm[i] + lrint(amplitude * syllable * sum / 4));
    }
}

static enum speech_endpoint_state run(struct speech_endpoint *end, int frames, double noise,
                                      double voice, int *began_at)
{
    for (int f = 0; f < frames; f++) {
        int16_t pcm[SPEECH_FRAME] = {0};
        add_noise(pcm, noise);
        if (voice > 0)
            add_voice(pcm, voice, f);
        bool was_quiet = end->state == SPEECH_QUIET;
        speech_endpoint_frame(end, pcm, NULL);
        if (began_at != NULL && was_quiet && end->state != SPEECH_QUIET)
            *began_at = f - end->begun_ms / SPEECH_FRAME_MS + 1;
    }
    return end->state;
}

static void begin(struct speech_endpoint *end, double noise)
{
    seed = 1;
    speech_endpoint_init(end);
    assert_int_equal(run(end, 200, noise, 0, NULL), SPEECH_QUIET);
}

static void speech_is_found_within_50_ms_and_its_pause_too(void **state)
{
    (void)state;
    struct speech_endpoint end;
    for (double noise = 10; noise <= 300; noise *= 5) {
        int began_at = -1;
        begin(&end, noise);
        run(&end, 80, noise, 3000, &began_at);
        assert_in_range(began_at, 0, 5);
        assert_true(end.speech_ms > 600);
        assert_int_equal(run(&end, 40, noise, 0, NULL), SPEECH_PAUSING);
        assert_in_range(end.pause_ms, 350, 400);
        assert_in_range(end.utterance_ms, 1150, 1200);
    }
}

static void noise_that_starts_is_floor_again_after_two_seconds(void **state)
{
    (void)state;
    struct speech_endpoint end;
    begin(&end, 30);
    double before = speech_endpoint_noise_db(&end);
    run(&end, 250, 300, 0, NULL);
    assert_true(fabs(speech_endpoint_noise_db(&end) - before - 20) < 2);
    speech_endpoint_forget(&end);
    assert_int_equal(run(&end, 3000, 300, 0, NULL), SPEECH_QUIET);
}

static void a_knock_is_no_speech(void **state)
{
    (void)state;
    struct speech_endpoint end;
    begin(&end, 50);
    for (int knock = 0; knock < 5; knock++) {
        assert_int_equal(run(&end, 4, 8000, 0, NULL), SPEECH_QUIET); /* 40 ms */
        assert_int_equal(run(&end, 30, 50, 0, NULL), SPEECH_QUIET);
    }
}

static void zeros_are_quiet(void **state)
{
    (void)state;
    struct speech_endpoint end;
    speech_endpoint_init(&end);
    assert_int_equal(run(&end, 500, 0, 0, NULL), SPEECH_QUIET);
    assert_true(speech_endpoint_noise_db(&end) < -60);
    assert_int_equal(run(&end, 60, 0, 2000, NULL), SPEECH_TALKING);
}

/* ---- the grammar ------------------------------------------------------------------------------
 */

static void the_grammar_says_whether_more_may_follow(void **state)
{
    (void)state;
    static const struct {
        const char *grammar, *words;
        enum speech_place place;
    } cases[] = {
        {"yesno", "yes", SPEECH_WHOLE}, /* "yes it is" means the same */
        {"yesno", "no", SPEECH_WHOLE},
        {"yesno", "stop", SPEECH_WHOLE},
        {"yesno", "yes it", SPEECH_BEGUN},
        {"yesno", "seven", SPEECH_NOWHERE},
        {"yesno", "", SPEECH_NOWHERE},
        {"distance", "three", SPEECH_BEGUN},
        {"distance", "three sixteenths", SPEECH_WHOLE},
        {"distance", "one and five", SPEECH_BEGUN},
        {"distance", "point three", SPEECH_MAY_GO_ON},
        {"number", "twenty", SPEECH_MAY_GO_ON},
        {"number", "twenty one", SPEECH_WHOLE},
        {"order", "five zero", SPEECH_MAY_GO_ON},
        {"caution", "engine off", SPEECH_BEGUN},
        {"caution", "engine off and key out", SPEECH_WHOLE},
        {"no such grammar", "yes", SPEECH_NOWHERE},
        {"../distance", "three", SPEECH_NOWHERE},
    };
    struct speech_places *places = speech_places_create(GRAMMARS, language_same_meaning);
    assert_non_null(places);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        enum speech_place place = speech_place(places, cases[i].grammar, cases[i].words);
        if (place != cases[i].place)
            fail_msg("%s '%s': %d, not %d", cases[i].grammar, cases[i].words, (int)place,
                     (int)cases[i].place);
    }
    speech_places_destroy(places);
}

/* ---- the echo ---------------------------------------------------------------------------------
 */

enum { DELAY = 400, TAPS = 1600 };

struct echo_room {
    double response[TAPS], past[TAPS + DELAY];
};

static void make_room(struct echo_room *room)
{
    memset(room, 0, sizeof *room);
    seed = 3;
    room->response[0] = 0.35;
    for (int i = 1; i < TAPS; i++) /* 60 dB in 100 ms */
        room->response[i] = 0.06 * uniform() * pow(10, -3.0 * i / TAPS);
}

static void echo_of(struct echo_room *room, const int16_t played[SPEECH_FRAME],
                    int16_t heard[SPEECH_FRAME])
{
    memmove(room->past, room->past + SPEECH_FRAME,
            (TAPS + DELAY - SPEECH_FRAME) * sizeof *room->past);
    for (int i = 0; i < SPEECH_FRAME; i++)
        room->past[TAPS + DELAY - SPEECH_FRAME + i] = played[i];
    for (int i = 0; i < SPEECH_FRAME; i++) {
        double sum = 0;
        int newest = TAPS + DELAY - SPEECH_FRAME + i - DELAY;
        for (int k = 0; k < TAPS && newest - k >= 0; k++)
            sum += room->response[k] * room->past[newest - k];
        heard[i] = (int16_t)lrint(sum);
    }
}

static double power(const int16_t pcm[SPEECH_FRAME])
{
    double sum = 0;
    for (int i = 0; i < SPEECH_FRAME; i++)
        sum += (double)pcm[i] * pcm[i];
    return sum;
}

/* Echo return loss enhancement, ITU-T G.168's measure: heard over left, while nobody else speaks.
 */
static void the_echo_is_18_db_down_after_two_seconds_and_no_speech(void **state)
{
    (void)state;
    static struct echo_room room;
    struct fault fault;
    struct speech_endpoint end;
    struct speech_echo *echo = speech_echo_create(&fault);
    double heard_power = 0, left_power = 0;
    make_room(&room);
    assert_non_null(echo);
    begin(&end, 10);
    for (int f = 0; f < 600; f++) {
        int16_t played[SPEECH_FRAME] = {0}, heard[SPEECH_FRAME], clean[SPEECH_FRAME];
        add_voice(played, 6000, f);
        add_noise(played, 300);
        echo_of(&room, played, heard);
        add_noise(heard, 10);
        speech_echo_frame(echo, heard, played, end.state != SPEECH_QUIET, clean);
        assert_int_equal(speech_endpoint_frame(&end, clean, speech_echo_left(echo)), SPEECH_QUIET);
        heard_power += f >= 200 ? power(heard) : 0;
        left_power += f >= 200 ? power(clean) : 0;
    }
    double erle_db = 10 * log10(heard_power / left_power);
    print_message("echo return loss enhancement: %.1f dB\n", erle_db);
    assert_true(erle_db > 18);
    speech_echo_destroy(echo);
}

static void without_own_sound_nothing_is_changed(void **state)
{
    (void)state;
    struct fault fault;
    struct speech_echo *echo = speech_echo_create(&fault);
    assert_non_null(echo);
    for (int f = 0; f < 50; f++) {
        int16_t silence[SPEECH_FRAME] = {0}, heard[SPEECH_FRAME] = {0}, clean[SPEECH_FRAME];
        add_voice(heard, 5000, f);
        speech_echo_frame(echo, heard, silence, false, clean);
        assert_memory_equal(heard, clean, sizeof heard);
        assert_null(speech_echo_left(echo));
    }
    speech_echo_destroy(echo);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(speech_is_found_within_50_ms_and_its_pause_too),
        cmocka_unit_test(noise_that_starts_is_floor_again_after_two_seconds),
        cmocka_unit_test(a_knock_is_no_speech),
        cmocka_unit_test(zeros_are_quiet),
        cmocka_unit_test(the_grammar_says_whether_more_may_follow),
        cmocka_unit_test(the_echo_is_18_db_down_after_two_seconds_and_no_speech),
        cmocka_unit_test(without_own_sound_nothing_is_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
