/*
 * Sound in and out at once, as a live job needs it: what was heard and, beside each frame of it,
 * what midthrow itself was playing at that moment, for the echo canceller.
 *
 * One driver a device or simulation, each ending in a const struct. All sound is mono, signed
 * 16 bit, at the rate asked for, whatever the hardware does. Nothing here blocks but `wait`; one
 * thread calls it. A device that goes away is a status, not a fault: the job goes on by keypad, and
 * the driver looks for the device again by itself until it is back.
 *
 *     driver->open(&config, &state, &fault);
 *     while (driver->wait(state, fds, n, 20)) {
 *         size_t got = driver->read(state, heard, played, 160);
 *         ...
 *         taken = driver->write(state, pcm, frames);
 *     }
 */
#ifndef MIDTHROW_AUDIO_LIVE_H
#define MIDTHROW_AUDIO_LIVE_H

#include <poll.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

enum { AUDIO_DEVICE_NAME = 128 };

struct audio_live_config {
    const char *microphone; /* a device's name or a part of it that only it has; NULL: default */
    const char *speaker;    /* the same */
    bool no_microphone;     /* speak only */
    bool no_speaker;        /* listen only */
    int rate_hz;            /* of `read` and `write` */
    void *setup;            /* the driver's own, see its header; NULL for devices */
};

enum audio_live_presence {
    AUDIO_UNWANTED, /* the configuration does without */
    AUDIO_PRESENT,
    AUDIO_ABSENT, /* missing, unplugged, busy or stalled; `why` says which; looked for again */
};

/* Is the computer in time for a device? It asks for, or brings, a piece of sound at a time. */
struct audio_deadlines {
    uint64_t calls;  /* pieces */
    uint64_t missed; /* times the device said that sound was lost, or that it had run empty */
    uint64_t slow;   /* pieces that took us longer than they last: our own fault */
    int longest_us;  /* that any piece took us */
    int latest_ms;   /* that any call came later than the piece before it lasts */
};

struct audio_live_status {
    enum audio_live_presence microphone, speaker;
    char microphone_name[AUDIO_DEVICE_NAME], speaker_name[AUDIO_DEVICE_NAME];
    char microphone_why[256], speaker_why[256]; /* a sentence that says what to do; "": present */
    uint64_t lost_frames;                       /* heard but not read in time: the ring was full */
    uint64_t starved_calls; /* times the device wanted sound in the middle of an utterance and there
                             * was none: it ran dry and more was written within 250 ms */
    struct audio_deadlines ear_deadlines, mouth_deadlines; /* since it was opened; none: zeros */
};

/* All members are mandatory. */
struct audio_live_driver {
    const char *name; /* "portaudio", "room" */
    /* False only when nothing at all can be opened that was wanted; one of two missing is status.
     */
    bool (*open)(const struct audio_live_config *config, void **state, struct fault *fault);
    /* Up to `frames` of what was heard and what was being played then; returns how many. */
    size_t (*read)(void *state, int16_t *heard, int16_t *played, size_t frames);
    /* Takes what there is room for (at least a second in all) and returns how much that was. While
     * the speaker is absent or unwanted it takes everything and nothing is pending: what is said is
     * on the screen, and nobody waits for a speaker that is gone. */
    size_t (*write)(void *state, const int16_t *pcm, size_t frames);
    size_t (*pending)(void *state); /* frames written and not yet played */
    void (*drop)(void *state);      /* forgets those: silence within one device buffer */
    /* Until there is something to read, a descriptor is ready (its `revents` say which), or
     * `timeout_ms` is over. False when a signal came. */
    bool (*wait)(void *state, struct pollfd *fds, size_t n, int timeout_ms);
    int64_t (*now_ms)(void *state); /* the monotonic clock that the sound runs by */
    void (*status)(void *state, struct audio_live_status *status);
    void (*close)(void *state);
};

#endif
