/* The beeps are nobody's words: in any noise, loud or soft, with nothing to cancel their echo, not
 * one of them begins an utterance, so the recogniser never gets to hear it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "audio/tone.h"
#include "speech/endpoint.h"
#include "speech/recogniser.h"

enum { BEFORE = 300, AFTER = 100 }; /* frames: until the noise is known, and for what comes late */

static int16_t clip(int value)
{
    return (int16_t)(value > 32767 ? 32767 : value < -32768 ? -32768 : value);
}

/* White noise up to `noise`, and in it `tone` once. */
static void hear(enum audio_tone tone, double amplitude, int noise, int *talking, int *speech)
{
    static int16_t pcm[AUDIO_TONE_FRAMES_MAX];
    size_t frames = audio_tone(tone, SPEECH_RATE_HZ, amplitude, pcm), at = 0;
    struct speech_endpoint end;
    unsigned seed = 1;
    speech_endpoint_init(&end);
    *talking = *speech = 0;
    for (int f = 0; f < BEFORE + AFTER; f++) {
        int16_t frame[SPEECH_FRAME];
        for (int i = 0; i < SPEECH_FRAME; i++) {
            seed = seed * 1103515245u + 12345u;
            int value = (int)(seed >> 16) % (2 * noise + 1) - noise;
            if (f >= BEFORE && at < frames)
                value += pcm[at++];
            frame[i] = clip(value);
        }
        *talking += speech_endpoint_frame(&end, frame, NULL) != SPEECH_QUIET;
        *speech += f >= BEFORE && end.frame_is_speech;
    }
}

static void no_beep_begins_an_utterance(void **state)
{
    (void)state;
    for (int noise = 1; noise <= 4096; noise *= 4) {
        for (int tone = 0; tone < AUDIO_TONE_COUNT; tone++) {
            for (double amplitude = 0.01; amplitude <= 1; amplitude *= 2) {
                int talking, speech;
                hear((enum audio_tone)tone, amplitude, noise, &talking, &speech);
                if (talking != 0)
                    fail_msg("'%s' at %.2f in noise of %d began an utterance",
                             audio_tone_name((enum audio_tone)tone), amplitude, noise);
            }
        }
    }
}

/* What would have been missed, had the beeps not been heard at all. */
static void a_beep_is_heard_as_sound(void **state)
{
    (void)state;
    int talking, speech;
    hear(AUDIO_TONE_WRONG_KEY, AUDIO_TONE_LEVEL, 16, &talking, &speech);
    assert_true(speech >= 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_beep_begins_an_utterance),
        cmocka_unit_test(a_beep_is_heard_as_sound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
