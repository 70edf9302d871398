/* What goes into the ring comes out once and in order, also between two threads. */
#include <pthread.h>
#include <sched.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "audio/ring.h"

static struct audio_ring *ring_of(size_t room)
{
    struct fault fault = {0};
    struct audio_ring *ring = audio_ring_create(sizeof(uint32_t), room, &fault);
    assert_non_null(ring);
    return ring;
}

static void it_gives_back_in_order_across_its_seam(void **state)
{
    (void)state;
    struct audio_ring *ring = ring_of(8);
    uint32_t next_in = 0, next_out = 0;
    for (int round = 0; round < 1000; round++) {
        uint32_t in[5], out[8];
        size_t n = (size_t)(round * 7 % 6);
        for (size_t i = 0; i < n; i++)
            in[i] = next_in + (uint32_t)i;
        next_in += (uint32_t)audio_ring_write(ring, in, n);
        size_t got = audio_ring_read(ring, out, (size_t)(round * 5 % 7));
        for (size_t i = 0; i < got; i++)
            assert_int_equal(out[i], next_out++);
        assert_int_equal(audio_ring_readable(ring), next_in - next_out);
    }
    assert_true(next_out > 1000);
    audio_ring_destroy(ring);
}

static void a_full_ring_takes_no_more(void **state)
{
    (void)state;
    struct audio_ring *ring = ring_of(8);
    uint32_t in[20] = {0}, out;
    assert_int_equal(audio_ring_write(ring, in, 20), 8);
    assert_int_equal(audio_ring_room(ring), 0);
    assert_int_equal(audio_ring_write(ring, in, 1), 0);
    assert_int_equal(audio_ring_read(ring, &out, 1), 1);
    assert_int_equal(audio_ring_write(ring, in, 20), 1);
    audio_ring_destroy(ring);
}

static void what_was_forgotten_is_never_read(void **state)
{
    (void)state;
    struct audio_ring *ring = ring_of(8);
    uint32_t in[] = {1, 2, 3, 4, 5, 6}, out[8];
    assert_int_equal(audio_ring_write(ring, in, 4), 4);
    assert_int_equal(audio_ring_read(ring, out, 1), 1);
    audio_ring_forget(ring);
    assert_int_equal(audio_ring_pending(ring), 0);
    assert_int_equal(audio_ring_write(ring, in + 4, 2), 2);
    assert_int_equal(audio_ring_pending(ring), 2);
    assert_int_equal(audio_ring_readable(ring), 2);
    assert_int_equal(audio_ring_read(ring, out, 8), 2);
    assert_int_equal(out[0], 5);
    assert_int_equal(out[1], 6);
    audio_ring_forget(ring); /* nothing there to forget */
    assert_int_equal(audio_ring_read(ring, out, 8), 0);
    assert_int_equal(audio_ring_room(ring), 8);
    audio_ring_destroy(ring);
}

static void what_is_thrown_away_makes_room(void **state)
{
    (void)state;
    struct audio_ring *ring = ring_of(4);
    uint32_t in[] = {1, 2, 3, 4}, out;
    assert_int_equal(audio_ring_write(ring, in, 4), 4);
    assert_int_equal(audio_ring_read(ring, NULL, 3), 3);
    assert_int_equal(audio_ring_room(ring), 3);
    assert_int_equal(audio_ring_read(ring, &out, 1), 1);
    assert_int_equal(out, 4);
    audio_ring_destroy(ring);
}

/* ---- two threads ---- */

enum { ACROSS = 400000, PIECE_MOST = 37 };

struct writer {
    struct audio_ring *ring;
    size_t forgets; /* how often it forgot what was pending */
};

static void *write_counted(void *argument)
{
    struct writer *writer = argument;
    uint32_t piece[PIECE_MOST];
    uint32_t next = 0;
    for (uint32_t turn = 0; next < ACROSS; turn++) {
        uint32_t n = 1 + turn * 2654435761U % PIECE_MOST; /* Knuth's multiplicative hash */
        if (n > ACROSS - next)
            n = ACROSS - next;
        for (uint32_t i = 0; i < n; i++)
            piece[i] = next + i;
        uint32_t took = (uint32_t)audio_ring_write(writer->ring, piece, n);
        next += took;
        if (took == 0)
            sched_yield();
        if (writer->forgets > 0 && turn % 101 == 0 && next < ACROSS - 1000)
            audio_ring_forget(writer->ring);
    }
    return NULL;
}

/* Reads until the last number came; returns how many came. Every number must be above the last. */
static uint32_t read_rising(struct audio_ring *ring)
{
    uint32_t count = 0, last = 0, piece[PIECE_MOST];
    while (count == 0 || last != ACROSS - 1) {
        size_t got = audio_ring_read(ring, piece, 1 + count % PIECE_MOST);
        for (size_t i = 0; i < got; i++) {
            assert_true(count == 0 || piece[i] > last);
            last = piece[i];
            count++;
        }
        if (got == 0)
            sched_yield();
    }
    return count;
}

static void two_threads_lose_and_double_nothing(void **state)
{
    (void)state;
    struct writer writer = {.ring = ring_of(256)};
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, write_counted, &writer), 0);
    assert_int_equal(read_rising(writer.ring), ACROSS);
    pthread_join(thread, NULL);
    audio_ring_destroy(writer.ring);
}

static void forgetting_across_threads_never_brings_the_old_back(void **state)
{
    (void)state;
    struct writer writer = {.ring = ring_of(256), .forgets = 1};
    pthread_t thread;
    assert_int_equal(pthread_create(&thread, NULL, write_counted, &writer), 0);
    assert_true(read_rising(writer.ring) <= ACROSS);
    pthread_join(thread, NULL);
    assert_int_equal(audio_ring_pending(writer.ring), 0);
    audio_ring_destroy(writer.ring);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_gives_back_in_order_across_its_seam),
        cmocka_unit_test(a_full_ring_takes_no_more),
        cmocka_unit_test(what_was_forgotten_is_never_read),
        cmocka_unit_test(what_is_thrown_away_makes_room),
        cmocka_unit_test(two_threads_lose_and_double_nothing),
        cmocka_unit_test(forgetting_across_threads_never_brings_the_old_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
