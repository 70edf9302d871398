/* A station's check in simulated rooms: what is well is called good, and each thing that is wrong
 * is called so by its own line and no other's. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "audio/audio.h"
#include "audio/room.h"
#include "survey/survey.h"

static int16_t *voice; /* somebody who says several things */
static size_t voice_n;

static int read_voice(void **state)
{
    (void)state;
    static const char *const files[] = {"003-it-is-hard-to-find.wav",
                                        "006-standing-with-the-clutch-in.wav",
                                        "016-engine-off-and-key-out.wav"};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        char path[1024];
        int16_t *pcm;
        size_t n;
        struct fault fault = {0};
        snprintf(path, sizeof path, "%s/audio_fixtures/demo/%s", MIDTHROW_SOURCE_DIR, files[i]);
        if (!audio_read_whole(path, SURVEY_RATE_HZ, &pcm, &n, &fault))
            fail_msg("%s", fault.sentence);
        voice = realloc(voice, (voice_n + n) * sizeof *voice);
        memcpy(voice + voice_n, pcm, n * sizeof *voice);
        voice_n += n;
        free(pcm);
    }
    return 0;
}

static int free_voice(void **state)
{
    (void)state;
    free(voice);
    return 0;
}

struct visit {
    struct audio_room *room;
    float voice_gain; /* 0: nobody speaks */
    float noise;      /* peak, full scale 1 */
    uint32_t seed;
};

static void speak(void *context, enum survey_phase phase)
{
    struct visit *visit = context;
    struct fault fault = {0};
    if (phase != SURVEY_VOICE || visit->voice_gain <= 0)
        return;
    int16_t *pcm = malloc(voice_n * sizeof *pcm);
    for (size_t i = 0; i < voice_n; i++)
        pcm[i] = (int16_t)lrintf(fmaxf(-32768, fminf(32767, visit->voice_gain * voice[i])));
    assert_true(audio_room_say(visit->room, pcm, voice_n, &fault));
    free(pcm);
}

static void add_noise(void *user, uint64_t at_frame, float *pcm, size_t frames)
{
    struct visit *visit = user;
    (void)at_frame;
    for (size_t i = 0; i < frames; i++) {
        visit->seed = visit->seed * 1664525U + 1013904223U; /* Knuth 2, 3.3.4 */
        pcm[i] += visit->noise * ((float)(visit->seed >> 8) / (1 << 23) - 1);
    }
}

static struct survey_items check(struct audio_room_setup setup, float voice_gain, float noise)
{
    struct visit visit = {.voice_gain = voice_gain, .noise = noise, .seed = 1};
    struct survey_hooks hooks = {.phase = speak, .context = &visit};
    struct survey_items items = {.n = 0};
    struct survey_sound sound;
    struct fault fault = {0};
    setup.noise = add_noise;
    setup.user = &visit;
    setup.seed = 3;
    visit.room = audio_room_create(&setup, &fault);
    struct audio_live_config config = {.rate_hz = SURVEY_RATE_HZ, .setup = visit.room};
    if (!survey_listen(&audio_live_room, &config, &hooks, &sound, &fault))
        fail_msg("%s", fault.sentence);
    survey_judge_sound(&sound, &items);
    for (size_t i = 0; i < items.n; i++) {
        const struct survey_item *item = &items.item[i];
        print_message("  %-12s %-9s %s. %s\n", item->name, survey_verdict_name(item->verdict),
                      item->found, item->todo);
        assert_true((item->verdict == SURVEY_GOOD) == (item->todo[0] == '\0'));
        assert_true(item->found[0] != '\0');
    }
    audio_room_destroy(visit.room);
    return items;
}

static enum survey_verdict of(const struct survey_items *items, const char *name)
{
    for (size_t i = 0; i < items->n; i++)
        if (strcmp(items->item[i].name, name) == 0)
            return items->item[i].verdict;
    fail_msg("nothing is said of the %s", name);
    return SURVEY_MISSING;
}

static const struct audio_room_setup quiet = {
    .echo_db = -25, .delay_ms = 20, .rt60_ms = 300, .direct_db = 0};

static void a_quiet_shop_is_good(void **state)
{
    (void)state;
    struct survey_items items = check(quiet, 1, 0.001F);
    static const char *const all[] = {"microphone", "noise floor", "voice",
                                      "clipping",   "speaker",     "echo"};
    assert_int_equal(items.n, 6);
    for (size_t i = 0; i < 6; i++)
        assert_int_equal(of(&items, all[i]), SURVEY_GOOD);
    assert_int_equal(survey_exit_code(&items), 0);
}

static void a_noisy_shop_is_told(void **state)
{
    (void)state;
    struct survey_items items = check(quiet, 1, 0.01F);
    assert_int_equal(of(&items, "noise floor"), SURVEY_DOUBTFUL);
    assert_int_equal(survey_exit_code(&items), 0);
    items = check(quiet, 1, 0.15F);
    assert_int_equal(of(&items, "noise floor"), SURVEY_BAD);
    assert_int_equal(of(&items, "voice"), SURVEY_BAD);
    assert_int_equal(of(&items, "microphone"), SURVEY_GOOD);
    assert_int_equal(survey_exit_code(&items), 1);
}

static void a_clipping_microphone_is_told(void **state)
{
    (void)state;
    struct audio_room_setup setup = quiet;
    setup.trouble = AUDIO_ROOM_CLIPPING;
    struct survey_items items = check(setup, 1, 0.0001F);
    assert_int_equal(of(&items, "clipping"), SURVEY_BAD);
    assert_int_equal(survey_exit_code(&items), 1);
}

static void a_dead_microphone_is_told(void **state)
{
    (void)state;
    struct audio_room_setup setup = quiet;
    setup.trouble = AUDIO_ROOM_ZEROS;
    struct survey_items items = check(setup, 1, 0.001F);
    assert_int_equal(of(&items, "microphone"), SURVEY_BAD);
    assert_int_equal(survey_exit_code(&items), 1);
}

static void a_missing_microphone_and_speaker_are_told(void **state)
{
    (void)state;
    struct audio_room_setup setup = quiet;
    setup.trouble = AUDIO_ROOM_NO_MICROPHONE;
    struct survey_items items = check(setup, 1, 0.001F);
    assert_int_equal(of(&items, "microphone"), SURVEY_MISSING);
    assert_int_equal(of(&items, "speaker"), SURVEY_DOUBTFUL);
    assert_int_equal(survey_exit_code(&items), 3);
    setup.trouble = AUDIO_ROOM_NO_SPEAKER;
    items = check(setup, 1, 0.001F);
    assert_int_equal(of(&items, "speaker"), SURVEY_MISSING);
    assert_int_equal(of(&items, "microphone"), SURVEY_GOOD);
    assert_int_equal(survey_exit_code(&items), 3);
}

static void a_strong_echo_is_told(void **state)
{
    (void)state;
    struct audio_room_setup setup = quiet;
    setup.echo_db = 0;
    struct survey_items items = check(setup, 1, 0.001F);
    assert_int_equal(of(&items, "echo"), SURVEY_BAD);
    assert_int_equal(of(&items, "speaker"), SURVEY_GOOD);
    setup.echo_db = -9;
    items = check(setup, 1, 0.001F);
    assert_int_equal(of(&items, "echo"), SURVEY_DOUBTFUL);
}

static void a_speaker_that_is_not_heard_is_doubtful(void **state)
{
    (void)state;
    struct audio_room_setup setup = quiet;
    setup.dead = true;
    struct survey_items items = check(setup, 1, 0.001F);
    assert_int_equal(of(&items, "speaker"), SURVEY_DOUBTFUL);
    assert_int_equal(of(&items, "echo"), SURVEY_GOOD);
}

static void a_voice_too_quiet_or_not_there_is_told(void **state)
{
    (void)state;
    struct survey_items items = check(quiet, 0.03F, 0.0001F);
    assert_int_not_equal(of(&items, "voice"), SURVEY_GOOD);
    items = check(quiet, 0, 0.001F);
    assert_int_equal(of(&items, "voice"), SURVEY_BAD);
    items = check(quiet, 8, 0.001F);
    assert_int_not_equal(of(&items, "voice"), SURVEY_GOOD);
}

/* ---- without sound ---- */

static enum survey_verdict disk(uint64_t bytes)
{
    struct survey_items items = {.n = 0};
    survey_judge_disk(bytes, &items);
    return items.item[0].verdict;
}

static enum survey_verdict clock_of(int64_t now, int64_t newest, int64_t made, bool in_step)
{
    struct survey_items items = {.n = 0};
    survey_judge_clock(now, newest, made, in_step, &items);
    return items.item[0].verdict;
}

static void a_busy_computer_is_told(void **state)
{
    (void)state;
    static const struct {
        uint64_t missed, slow;
        enum survey_verdict verdict;
    } rows[] = {
        {0, 0, SURVEY_GOOD}, {1, 0, SURVEY_DOUBTFUL}, {0, 5, SURVEY_DOUBTFUL}, {40, 1, SURVEY_BAD}};
    struct survey_sound sound = {.devices = {.microphone = AUDIO_UNWANTED,
                                             .speaker = AUDIO_UNWANTED,
                                             .ear_deadlines = {.calls = 1000}}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct survey_items items = {.n = 0};
        sound.devices.mouth_deadlines =
            (struct audio_deadlines){.calls = 1000, .missed = rows[i].missed, .slow = rows[i].slow};
        survey_judge_sound(&sound, &items);
        assert_int_equal(of(&items, "timing"), rows[i].verdict);
    }
}

static void disk_and_clock_are_judged(void **state)
{
    (void)state;
    assert_int_equal(disk(2000000000), SURVEY_GOOD);
    assert_int_equal(disk(400000000), SURVEY_DOUBTFUL);
    assert_int_equal(disk(10000000), SURVEY_BAD);
    assert_int_equal(clock_of(2000, 1000, 500, true), SURVEY_GOOD);
    assert_int_equal(clock_of(2000, 1000, 500, false), SURVEY_DOUBTFUL);
    assert_int_equal(clock_of(2000, 3000, 500, true), SURVEY_BAD);
    assert_int_equal(clock_of(2000, 0, 2500, true), SURVEY_BAD);
}

static void practice_suggests_voice_or_pad(void **state)
{
    (void)state;
    assert_int_equal(survey_advise(&(struct survey_practice){12, 11, 1, 0, 0}), SURVEY_USE_VOICE);
    assert_int_equal(survey_advise(&(struct survey_practice){12, 12, 0, 0, 0}), SURVEY_USE_VOICE);
    assert_int_equal(survey_advise(&(struct survey_practice){12, 6, 4, 2, 0}), SURVEY_USE_BOTH);
    assert_int_equal(survey_advise(&(struct survey_practice){12, 11, 0, 0, 1}), SURVEY_USE_BOTH);
    assert_int_equal(survey_advise(&(struct survey_practice){12, 10, 0, 0, 2}), SURVEY_USE_PAD);
    assert_int_equal(survey_advise(&(struct survey_practice){12, 1, 2, 9, 0}), SURVEY_USE_PAD);
    assert_int_equal(survey_advise(&(struct survey_practice){0, 0, 0, 0, 0}), SURVEY_USE_PAD);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_quiet_shop_is_good),
        cmocka_unit_test(a_noisy_shop_is_told),
        cmocka_unit_test(a_clipping_microphone_is_told),
        cmocka_unit_test(a_dead_microphone_is_told),
        cmocka_unit_test(a_missing_microphone_and_speaker_are_told),
        cmocka_unit_test(a_strong_echo_is_told),
        cmocka_unit_test(a_speaker_that_is_not_heard_is_doubtful),
        cmocka_unit_test(a_voice_too_quiet_or_not_there_is_told),
        cmocka_unit_test(a_busy_computer_is_told),
        cmocka_unit_test(disk_and_clock_are_judged),
        cmocka_unit_test(practice_suggests_voice_or_pad),
    };
    return cmocka_run_group_tests(tests, read_voice, free_voice);
}
