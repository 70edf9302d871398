/*
 * A queue between two threads that never waits: one writes, one reads, nobody locks. What an audio
 * callback may use, whichever end it is at.
 *
 *     struct audio_ring *ring = audio_ring_create(sizeof(int16_t), 16000, &fault);
 *     taken = audio_ring_write(ring, pcm, frames);       // the writing thread only
 *     got = audio_ring_read(ring, pcm, frames);          // the reading thread only
 *
 * Both counts only ever grow; the writer publishes with release what the reader takes with acquire,
 * and the other way round for the room that becomes free (C11 7.17.3).
 */
#ifndef MIDTHROW_AUDIO_RING_H
#define MIDTHROW_AUDIO_RING_H

#include <stddef.h>

#include "base/fault.h"

struct audio_ring;

/* Room for at least `room` elements of `element` bytes; NULL with a fault. */
struct audio_ring *audio_ring_create(size_t element, size_t room, struct fault *fault);
void audio_ring_destroy(struct audio_ring *ring);

/* ---- the writer's ---- */

/* Takes as many as there is room for; returns how many. */
size_t audio_ring_write(struct audio_ring *ring, const void *elements, size_t n);
size_t audio_ring_room(const struct audio_ring *ring); /* how many a write would take */
/* Written and neither read nor forgotten yet. */
size_t audio_ring_pending(const struct audio_ring *ring);
/* The reader will never see what is pending now: it passes over it when it next reads. */
void audio_ring_forget(struct audio_ring *ring);

/* ---- the reader's ---- */

/* Up to `n`, oldest first; `elements` NULL throws them away. Returns how many. */
size_t audio_ring_read(struct audio_ring *ring, void *elements, size_t n);
size_t audio_ring_readable(struct audio_ring *ring); /* how many a read would give */

#endif
