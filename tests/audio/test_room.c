/* The simulated room keeps its promises: echo of the level, delay and decay asked for, the same
 * twice, and devices that fail as devices do. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "audio/room.h"

enum { RATE = 16000, BLOCK = 160 };

static struct audio_room *make(const struct audio_room_setup *setup)
{
    struct fault fault = {0};
    struct audio_room *room = audio_room_create(setup, &fault);
    assert_non_null(room);
    return room;
}

static void *open_room(struct audio_room *room)
{
    struct audio_live_config config = {.rate_hz = RATE, .setup = room};
    struct fault fault = {0};
    void *live = NULL;
    assert_true(audio_live_room.open(&config, &live, &fault));
    return live;
}

/* Plays `pcm` while hearing, for `frames` in all; the played side into `played` unless NULL. */
static void play_and_hear(void *live, const int16_t *pcm, size_t n, int16_t *heard, int16_t *played,
                          size_t frames)
{
    int16_t spare[BLOCK];
    for (size_t at = 0, written = 0; at < frames;) {
        written += audio_live_room.write(live, pcm + written, n - written);
        assert_true(audio_live_room.wait(live, NULL, 0, 1000));
        size_t wanted = frames - at < BLOCK ? frames - at : BLOCK;
        at += audio_live_room.read(live, heard + at, played != NULL ? played + at : spare, wanted);
    }
}

static void noise(int16_t *pcm, size_t n)
{
    uint32_t seed = 1;
    for (size_t i = 0; i < n; i++) {
        seed = seed * 1664525U + 1013904223U; /* Knuth, The Art of Computer Programming 2, 3.3.4 */
        pcm[i] = (int16_t)((int)(seed >> 18) - 8192);
    }
}

static double power(const int16_t *pcm, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += (double)pcm[i] * pcm[i];
    return sum / (double)n;
}

/* ---- the echo ---- */

static void what_is_played_comes_back_at_the_level_asked_for(void **state)
{
    (void)state;
    enum { N = RATE * 4 };
    static int16_t pcm[N], heard[N];
    noise(pcm, N);
    static const float levels[] = {-6, -20};
    for (size_t i = 0; i < 2; i++) {
        struct audio_room *room = make(&(struct audio_room_setup){
            .seed = 3, .echo_db = levels[i], .delay_ms = 12, .rt60_ms = 300});
        play_and_hear(open_room(room), pcm, N, heard, NULL, N);
        double db = 10 * log10(power(heard + RATE, N - RATE) / power(pcm + RATE, N - RATE));
        print_message("asked %.1f dB, heard %.2f dB\n", (double)levels[i], db);
        assert_true(fabs(db - (double)levels[i]) < 0.5);
        audio_room_destroy(room);
    }
}

static void a_click_comes_back_after_the_delay_and_dies_away(void **state)
{
    (void)state;
    enum { N = RATE };
    static int16_t click[1] = {32000}, heard[N], played[N];
    struct audio_room *room = make(&(struct audio_room_setup){
        .seed = 9, .echo_db = 0, .direct_db = 0, .delay_ms = 20, .rt60_ms = 200});
    play_and_hear(open_room(room), click, 1, heard, played, N);
    assert_int_equal(played[0], 32000);
    for (size_t i = 0; i < 320; i++)
        assert_int_equal(heard[i], 0);
    /* 0 dB in all, half of it direct */
    assert_true(fabs(heard[320] / 32000.0 - sqrt(0.5)) < 0.01);
    /* The tail's power falls by 60 dB in 200 ms: 30 dB over 100 ms. */
    double early = power(heard + 320 + 160, 480), late = power(heard + 320 + 160 + 1600, 480);
    print_message("30 dB asked, %.1f dB seen\n", 10 * log10(early / late));
    assert_true(fabs(10 * log10(early / late) - 30) < 3);
    for (size_t i = 320 + 3220; i < N; i++)
        assert_int_equal(heard[i], 0);
    audio_room_destroy(room);
}

static void the_same_seed_is_the_same_room_and_another_is_not(void **state)
{
    (void)state;
    enum { N = RATE };
    static int16_t pcm[N], heard[3][N];
    noise(pcm, N);
    static const uint64_t seeds[] = {5, 5, 6};
    for (size_t i = 0; i < 3; i++) {
        struct audio_room *room =
            make(&(struct audio_room_setup){.seed = seeds[i], .echo_db = -6, .rt60_ms = 250});
        play_and_hear(open_room(room), pcm, N, heard[i], NULL, N);
        audio_room_destroy(room);
    }
    assert_memory_equal(heard[0], heard[1], sizeof heard[0]);
    assert_true(memcmp(heard[0], heard[2], sizeof heard[0]) != 0);
}

static void a_dead_room_gives_nothing_back(void **state)
{
    (void)state;
    enum { N = RATE };
    static int16_t pcm[N], heard[N], played[N], silence[N];
    noise(pcm, N);
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true, .rt60_ms = 300});
    play_and_hear(open_room(room), pcm, N, heard, played, N);
    assert_memory_equal(heard, silence, sizeof heard);
    assert_memory_equal(played, pcm, sizeof pcm);
    audio_room_destroy(room);
}

/* ---- who else is heard ---- */

struct script {
    int16_t word[400];
    int64_t when_ms, heard_at;
    size_t calls;
};

static void speak_at(void *user, struct audio_room *room, int64_t now_ms)
{
    struct script *script = user;
    struct fault fault;
    script->calls++;
    if (now_ms == script->when_ms)
        assert_true(audio_room_say(room, script->word, 400, &fault));
}

static void constant(void *user, uint64_t at_frame, float *pcm, size_t frames)
{
    (void)user;
    for (size_t i = 0; i < frames; i++)
        pcm[i] += (float)(at_frame + i) / 32768.0f;
}

static void somebody_speaks_at_the_moment_chosen(void **state)
{
    (void)state;
    enum { N = 3200 };
    static int16_t heard[N];
    struct script script = {.when_ms = 50};
    noise(script.word, 400);
    struct audio_room *room =
        make(&(struct audio_room_setup){.dead = true, .moment = speak_at, .user = &script});
    play_and_hear(open_room(room), NULL, 0, heard, NULL, N);
    assert_int_equal(script.calls, N / BLOCK);
    assert_memory_equal(heard + 800, script.word, sizeof script.word);
    assert_int_equal(heard[799], 0);
    assert_int_equal(heard[1200], 0);
    assert_false(audio_room_saying(room));
    audio_room_destroy(room);
}

static void noise_is_asked_for_frame_by_frame(void **state)
{
    (void)state;
    int16_t heard[800];
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true, .noise = constant});
    play_and_hear(open_room(room), NULL, 0, heard, NULL, 800);
    for (int i = 0; i < 800; i++)
        assert_int_equal(heard[i], i);
    audio_room_destroy(room);
}

/* ---- time ---- */

static void time_passes_only_by_waiting(void **state)
{
    (void)state;
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true});
    void *live = open_room(room);
    int16_t heard[RATE], played[RATE];
    assert_int_equal(audio_live_room.read(live, heard, played, RATE), 0);
    assert_int_equal(audio_live_room.now_ms(live), 0);
    assert_true(audio_live_room.wait(live, NULL, 0, 500));
    assert_int_equal(audio_live_room.now_ms(live), AUDIO_ROOM_BLOCK_MS);
    assert_int_equal(audio_live_room.read(live, heard, played, RATE), BLOCK);
    audio_room_destroy(room);
}

static void a_descriptor_that_is_ready_ends_the_wait(void **state)
{
    (void)state;
    struct audio_room *room =
        make(&(struct audio_room_setup){.dead = true, .trouble = AUDIO_ROOM_NO_MICROPHONE});
    void *live = open_room(room);
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    struct pollfd fd = {.fd = ends[0], .events = POLLIN};
    assert_true(audio_live_room.wait(live, &fd, 1, 200));
    assert_int_equal(audio_live_room.now_ms(live), 200);
    assert_int_equal(write(ends[1], "x", 1), 1);
    assert_true(audio_live_room.wait(live, &fd, 1, 200));
    assert_int_equal(audio_live_room.now_ms(live), 200);
    assert_true((fd.revents & POLLIN) != 0);
    close(ends[0]);
    close(ends[1]);
    audio_room_interrupt(room);
    assert_false(audio_live_room.wait(live, NULL, 0, 200));
    assert_true(audio_live_room.wait(live, NULL, 0, 200));
    audio_room_destroy(room);
}

static void the_callers_work_takes_time_if_asked(void **state)
{
    (void)state;
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true, .counts_work = true});
    void *live = open_room(room);
    volatile unsigned work = 0;
    while (audio_live_room.now_ms(live) < 50) /* ends only if work is time */
        for (unsigned i = 0; i < 10000; i++)
            work += i;
    int16_t heard[RATE], played[RATE];
    size_t got = audio_live_room.read(live, heard, played, RATE);
    assert_true(got >= RATE / 20 - BLOCK && got % BLOCK == 0);
    audio_room_destroy(room);
}

static void frames_that_nobody_reads_are_counted_as_lost(void **state)
{
    (void)state;
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true});
    void *live = open_room(room);
    struct audio_live_status status;
    for (int i = 0; i < 3000; i++)
        assert_true(audio_live_room.wait(live, NULL, 0, 10));
    audio_live_room.status(live, &status);
    size_t got = 0;
    int16_t heard[BLOCK], played[BLOCK];
    for (size_t n; (n = audio_live_room.read(live, heard, played, BLOCK)) > 0;)
        got += n;
    assert_true(status.lost_frames > 0 && got >= 10 * RATE);
    assert_int_equal(got + status.lost_frames, audio_room_at_frame(room));
    audio_room_destroy(room);
}

/* ---- the speaker ---- */

static void dropping_silences_what_is_pending(void **state)
{
    (void)state;
    static int16_t pcm[RATE], heard[4 * BLOCK];
    noise(pcm, RATE);
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true, .lead_ms = 20});
    void *live = open_room(room);
    assert_int_equal(audio_live_room.write(live, pcm, RATE), RATE);
    assert_int_equal(audio_live_room.pending(live), RATE);
    int16_t played[6 * BLOCK];
    play_and_hear(live, NULL, 0, heard, played, 4 * BLOCK);
    assert_int_equal(audio_live_room.pending(live), RATE - 2 * BLOCK);
    assert_int_equal(played[2 * BLOCK - 1], 0);
    assert_memory_equal(played + 2 * BLOCK, pcm, 2 * BLOCK * sizeof *pcm);
    audio_live_room.drop(live);
    assert_int_equal(audio_live_room.pending(live), 2 * BLOCK); /* already in the device */
    play_and_hear(live, NULL, 0, heard, played, 4 * BLOCK);
    assert_int_equal(audio_live_room.pending(live), 0);
    assert_int_equal(played[2 * BLOCK], 0);
    assert_int_equal(audio_room_quiet_ms(room), 20);
    audio_room_destroy(room);
}

static void a_speaker_that_runs_dry_in_the_middle_is_counted(void **state)
{
    (void)state;
    static int16_t pcm[1000], heard[RATE];
    noise(pcm, 1000);
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true});
    void *live = open_room(room);
    struct audio_live_status status;
    play_and_hear(live, pcm, 1000, heard, NULL, 1600);
    audio_live_room.write(live, pcm, 1000); /* 37 ms late */
    audio_live_room.status(live, &status);
    assert_int_equal(status.starved_calls, 1);
    play_and_hear(live, NULL, 0, heard, NULL, RATE);
    audio_live_room.write(live, pcm, 1000); /* another utterance */
    audio_live_room.status(live, &status);
    assert_int_equal(status.starved_calls, 1);
    audio_room_destroy(room);
}

static void a_stalled_speaker_becomes_an_absent_one_and_comes_back(void **state)
{
    (void)state;
    static int16_t pcm[RATE], heard[2 * RATE];
    noise(pcm, RATE);
    struct audio_room *room = make(&(struct audio_room_setup){.dead = true});
    void *live = open_room(room);
    struct audio_live_status status;
    audio_room_break(room, AUDIO_ROOM_STALLED);
    play_and_hear(live, pcm, RATE, heard, NULL, RATE / 2);
    audio_live_room.status(live, &status);
    assert_int_equal(status.speaker, AUDIO_PRESENT);
    assert_int_equal(audio_live_room.pending(live), RATE);
    play_and_hear(live, NULL, 0, heard, NULL, RATE);
    audio_live_room.status(live, &status);
    assert_int_equal(status.speaker, AUDIO_ABSENT);
    assert_true(strlen(status.speaker_why) > 0);
    assert_int_equal(audio_live_room.pending(live), 0);
    assert_int_equal(audio_live_room.write(live, pcm, RATE), RATE); /* nobody waits for it */
    assert_int_equal(audio_live_room.pending(live), 0);
    audio_room_break(room, AUDIO_ROOM_WELL);
    play_and_hear(live, NULL, 0, heard, NULL, BLOCK);
    audio_live_room.status(live, &status);
    assert_int_equal(status.speaker, AUDIO_PRESENT);
    assert_string_equal(status.speaker_why, "");
    audio_room_destroy(room);
}

/* ---- the microphone ---- */

static void a_microphone_is_missing_unplugged_and_back(void **state)
{
    (void)state;
    struct audio_room *room = make(&(struct audio_room_setup){
        .dead = true, .noise = constant, .trouble = AUDIO_ROOM_NO_MICROPHONE});
    void *live = open_room(room);
    struct audio_live_status status;
    int16_t heard[BLOCK], played[BLOCK];
    assert_true(audio_live_room.wait(live, NULL, 0, 100));
    assert_int_equal(audio_live_room.now_ms(live), 100);
    assert_int_equal(audio_live_room.read(live, heard, played, BLOCK), 0);
    audio_live_room.status(live, &status);
    assert_int_equal(status.microphone, AUDIO_ABSENT);
    assert_int_equal(status.speaker, AUDIO_PRESENT);
    audio_room_break(room, AUDIO_ROOM_WELL);
    play_and_hear(live, NULL, 0, heard, NULL, BLOCK);
    assert_int_equal(heard[0], RATE / 10); /* of that moment, not of the past */
    audio_live_room.status(live, &status);
    assert_int_equal(status.microphone, AUDIO_PRESENT);
    audio_room_destroy(room);
}

static void a_microphone_gives_zeros_or_clips(void **state)
{
    (void)state;
    static int16_t heard[RATE];
    struct audio_room *room = make(
        &(struct audio_room_setup){.dead = true, .noise = constant, .trouble = AUDIO_ROOM_ZEROS});
    void *live = open_room(room);
    play_and_hear(live, NULL, 0, heard, NULL, RATE);
    assert_int_equal(power(heard, RATE), 0);
    audio_room_break(room, AUDIO_ROOM_CLIPPING);
    play_and_hear(live, NULL, 0, heard, NULL, BLOCK);
    for (int i = 0; i < BLOCK; i++)
        assert_int_equal(heard[i], 32767);
    audio_room_destroy(room);
}

static void nothing_at_all_is_refused(void **state)
{
    (void)state;
    struct audio_room *room = make(
        &(struct audio_room_setup){.trouble = AUDIO_ROOM_NO_MICROPHONE | AUDIO_ROOM_NO_SPEAKER});
    struct audio_live_config config = {.rate_hz = RATE, .setup = room};
    struct fault fault = {0};
    void *live = NULL;
    assert_false(audio_live_room.open(&config, &live, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
    config.rate_hz = 8000;
    assert_false(audio_live_room.open(&config, &live, &fault));
    audio_room_destroy(room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_played_comes_back_at_the_level_asked_for),
        cmocka_unit_test(a_click_comes_back_after_the_delay_and_dies_away),
        cmocka_unit_test(the_same_seed_is_the_same_room_and_another_is_not),
        cmocka_unit_test(a_dead_room_gives_nothing_back),
        cmocka_unit_test(somebody_speaks_at_the_moment_chosen),
        cmocka_unit_test(noise_is_asked_for_frame_by_frame),
        cmocka_unit_test(time_passes_only_by_waiting),
        cmocka_unit_test(a_descriptor_that_is_ready_ends_the_wait),
        cmocka_unit_test(the_callers_work_takes_time_if_asked),
        cmocka_unit_test(frames_that_nobody_reads_are_counted_as_lost),
        cmocka_unit_test(dropping_silences_what_is_pending),
        cmocka_unit_test(a_speaker_that_runs_dry_in_the_middle_is_counted),
        cmocka_unit_test(a_stalled_speaker_becomes_an_absent_one_and_comes_back),
        cmocka_unit_test(a_microphone_is_missing_unplugged_and_back),
        cmocka_unit_test(a_microphone_gives_zeros_or_clips),
        cmocka_unit_test(nothing_at_all_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
