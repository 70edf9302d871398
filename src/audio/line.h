/*
 * One stream of a device and what its callback shares with the rest: rings and counters, nothing
 * else. The callback copies sound, notes when it was and returns: no lock, no allocation, no log,
 * no call into any library (but memcpy and the clock, which the kernel maps into the process).
 * Private to the PortAudio driver.
 *
 * Three threads meet here: the device's, in the callback; the tender, which opens and closes
 * streams and only sets `closed`; and the caller of the driver, which reads and writes the rings
 * and frees a line once it is closed.
 */
#ifndef MIDTHROW_AUDIO_LINE_H
#define MIDTHROW_AUDIO_LINE_H

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <portaudio.h>

#include "audio/device.h"
#include "audio/live.h"
#include "audio/ring.h"
#include "base/fault.h"

/* What the device said in one call. */
struct audio_call {
    int64_t at_ns;   /* when its first frame is, or was, sound: at the converter, not in the call */
    uint32_t frames; /* put into, or taken from, the rings */
    uint32_t real;   /* of those, how many were asked to be played: the rest was silence */
};

struct audio_line {
    enum audio_side side;
    int rate_hz, channels;
    int64_t latency_ns; /* used where the device does not tell the time */

    struct audio_ring *sound;  /* int16_t: heard, or to be played */
    struct audio_ring *played; /* int16_t: what the speaker was given, silence included */
    struct audio_ring *calls;  /* struct audio_call */
    _Atomic uint64_t lost_frames;
    _Atomic unsigned beats;  /* calls so far: stands still when the device does */
    _Atomic unsigned missed; /* of those, how many said that sound was lost or had run out */
    _Atomic unsigned slow;   /* and how many took longer than their sound */
    _Atomic int longest_us, latest_ms; /* see struct audio_deadlines */
    int64_t called_ns,
        lasts_ns;          /* the call before: when, and how long its sound is; the callback's */
    _Atomic bool ended;    /* the stream ended by itself: the device is gone */
    _Atomic bool closed;   /* no call will come any more */
    int16_t scratch[1024]; /* the callback's own */
};

/* Seconds of sound that fit into the rings. */
enum { AUDIO_LINE_SECONDS = 4 };

struct audio_line *audio_line_create(enum audio_side side, int rate_hz, int channels,
                                     struct fault *fault);
void audio_line_destroy(struct audio_line *line);

/* PaStreamCallback and PaStreamFinishedCallback; `user` is the line. A microphone's stream is mono;
 * a speaker's gets the same on all channels. */
int audio_line_call(const void *in, void *out, unsigned long frames,
                    const PaStreamCallbackTimeInfo *time, PaStreamCallbackFlags flags, void *user);
void audio_line_end(void *user);

int64_t audio_now_ns(void); /* the monotonic clock */

/* Adds what is known of the line's calls to `sum`. */
void audio_line_deadlines(const struct audio_line *line, struct audio_deadlines *sum);

#endif
