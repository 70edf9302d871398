/*
 * Two lines, one of a microphone and one of a speaker, made into one sound at one rate: what was
 * heard with, beside each frame, what was being played then. The caller's side of the PortAudio
 * driver, and private to it; one thread uses it. Either line may be missing, end, and be replaced.
 */
#ifndef MIDTHROW_AUDIO_JOIN_H
#define MIDTHROW_AUDIO_JOIN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "audio/line.h"
#include "base/fault.h"

struct audio_join;

struct audio_join *audio_join_create(int rate_hz, struct fault *fault);
void audio_join_destroy(struct audio_join *join); /* the lines too: they must be closed */

/* From now on `line`, which the join frees when it is closed and replaced or destroyed. */
bool audio_join_set(struct audio_join *join, struct audio_line *line, struct fault *fault);
/* How long the device of that side has said nothing; 0 before a line was ever set. */
int64_t audio_join_still_ms(const struct audio_join *join, enum audio_side side);

/* Takes over what the callbacks left since the last time. */
void audio_join_pump(struct audio_join *join);

size_t audio_join_readable(const struct audio_join *join);
size_t audio_join_read(struct audio_join *join, int16_t *heard, int16_t *played, size_t frames);
size_t audio_join_write(struct audio_join *join, const int16_t *pcm, size_t frames);
size_t audio_join_pending(struct audio_join *join);
void audio_join_drop(struct audio_join *join);
uint64_t audio_join_lost(const struct audio_join *join);
uint64_t audio_join_starved(const struct audio_join *join);
/* Of that side's lines, those that were replaced too. */
void audio_join_deadlines(const struct audio_join *join, enum audio_side side,
                          struct audio_deadlines *deadlines);

#endif
