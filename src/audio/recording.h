/*
 * A recording of a session as it goes on: FLAC, two channels, what was heard on the left and what
 * midthrow played on the right, so that either can be listened to alone. Off unless asked for: it
 * holds people's voices, and only its owner may read the file.
 *
 *     recording = audio_recording_create("job-3.flac", 16000, &fault);
 *     audio_recording_add(recording, heard, played, frames, &fault);      // again and again
 *     audio_recording_close(recording, &fault);
 *
 * What was added is in the file within half a second, and a file that was cut off (a power cut, a
 * full disk) plays up to there.
 */
#ifndef MIDTHROW_AUDIO_RECORDING_H
#define MIDTHROW_AUDIO_RECORDING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

struct audio_recording;

/* A new file, mode 0600. NULL with a fault where it cannot be made or there is one already. */
struct audio_recording *audio_recording_create(const char *path, int rate_hz, struct fault *fault);

/* Either may be NULL: silence. False with a fault when the disk takes no more; from then on nothing
 * is added and it returns false at once. */
bool audio_recording_add(struct audio_recording *recording, const int16_t *heard,
                         const int16_t *played, size_t frames, struct fault *fault);

/* Silence up to that time since the beginning: for a while without a microphone. Never more than an
 * hour at once. */
bool audio_recording_reach(struct audio_recording *recording, int64_t ms, struct fault *fault);

int64_t audio_recording_ms(const struct audio_recording *recording); /* its length so far */

/* Finishes and frees it; NULL is nothing. False with a fault if not all of it was written, now or
 * before. */
bool audio_recording_close(struct audio_recording *recording, struct fault *fault);

#endif
