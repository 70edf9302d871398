/* A single-producer, single-consumer queue on C11 atomics: see ring.h. */
#include "audio/ring.h"

#include <stdalign.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* The two ends on cache lines of their own: neither thread slows the other by writing its count. */
enum { CACHE_LINE = 64 };

struct audio_ring {
    alignas(CACHE_LINE) _Atomic size_t written; /* elements ever written */
    _Atomic size_t forgotten;                   /* those before this are not to be read */
    alignas(CACHE_LINE) _Atomic size_t taken;   /* elements ever read or passed over */
    alignas(CACHE_LINE) unsigned char *bytes;   /* constant from here on */
    size_t element;
    size_t size; /* in elements, a power of two */
};

struct audio_ring *audio_ring_create(size_t element, size_t room, struct fault *fault)
{
    size_t size = 1;
    while (size < room && size <= SIZE_MAX / 2 / element)
        size *= 2;
    struct audio_ring *ring = aligned_alloc(CACHE_LINE, sizeof *ring);
    unsigned char *bytes = calloc(size, element);
    if (ring == NULL || bytes == NULL || size < room) {
        free(ring);
        free(bytes);
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    *ring = (struct audio_ring){.bytes = bytes, .element = element, .size = size};
    return ring;
}

void audio_ring_destroy(struct audio_ring *ring)
{
    if (ring == NULL)
        return;
    free(ring->bytes);
    free(ring);
}

static size_t lesser(size_t a, size_t b)
{
    return a < b ? a : b;
}

size_t audio_ring_room(const struct audio_ring *ring)
{
    size_t written = atomic_load_explicit(&ring->written, memory_order_relaxed);
    size_t taken = atomic_load_explicit(&ring->taken, memory_order_acquire);
    return ring->size - (written - taken);
}

size_t audio_ring_write(struct audio_ring *ring, const void *elements, size_t n)
{
    const unsigned char *from = elements;
    size_t written = atomic_load_explicit(&ring->written, memory_order_relaxed);
    n = lesser(n, audio_ring_room(ring));
    size_t at = written & (ring->size - 1);
    size_t first = lesser(n, ring->size - at);
    if (n == 0)
        return 0;
    memcpy(ring->bytes + at * ring->element, from, first * ring->element);
    memcpy(ring->bytes, from + first * ring->element, (n - first) * ring->element);
    atomic_store_explicit(&ring->written, written + n, memory_order_release);
    return n;
}

size_t audio_ring_pending(const struct audio_ring *ring)
{
    size_t written = atomic_load_explicit(&ring->written, memory_order_relaxed);
    size_t forgotten = atomic_load_explicit(&ring->forgotten, memory_order_relaxed);
    size_t taken = atomic_load_explicit(&ring->taken, memory_order_acquire);
    return lesser(written - taken, written - forgotten);
}

void audio_ring_forget(struct audio_ring *ring)
{
    size_t written = atomic_load_explicit(&ring->written, memory_order_relaxed);
    atomic_store_explicit(&ring->forgotten, written, memory_order_release);
}

/* Where reading goes on: past what was forgotten. The counts wrap together, so the distance to
 * `written` decides, not the counts themselves. `forgotten` is read first: it is never ahead of a
 * `written` that is read after it. */
static size_t reading_from(const struct audio_ring *ring, size_t *written)
{
    size_t forgotten = atomic_load_explicit(&ring->forgotten, memory_order_acquire);
    *written = atomic_load_explicit(&ring->written, memory_order_acquire);
    size_t taken = atomic_load_explicit(&ring->taken, memory_order_relaxed);
    return *written - lesser(*written - taken, *written - forgotten);
}

size_t audio_ring_readable(struct audio_ring *ring)
{
    size_t written;
    size_t from = reading_from(ring, &written);
    return written - from;
}

size_t audio_ring_read(struct audio_ring *ring, void *elements, size_t n)
{
    unsigned char *to = elements;
    size_t written;
    size_t from = reading_from(ring, &written);
    n = lesser(n, written - from);
    size_t at = from & (ring->size - 1);
    size_t first = lesser(n, ring->size - at);
    if (to != NULL && n > 0) {
        memcpy(to, ring->bytes + at * ring->element, first * ring->element);
        memcpy(to + first * ring->element, ring->bytes, (n - first) * ring->element);
    }
    atomic_store_explicit(&ring->taken, from + n, memory_order_release);
    return n;
}
