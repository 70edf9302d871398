/*
 * Sound in and out: a source and a sink, each a struct of functions with several drivers.
 *
 * All sound inside midthrow is mono, signed 16 bit. Sources deliver at the rate asked for
 * (resampled if need be); sinks take the rate they were opened with.
 */
#ifndef MIDTHROW_AUDIO_AUDIO_H
#define MIDTHROW_AUDIO_AUDIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

/* A driver of sound in. `open` is given a name (a path, or a device's name) and the rate wanted;
 * `read` returns frames put in `pcm`, 0 at the end, -1 with a fault. All are mandatory. */
struct audio_source_driver {
    const char *name; /* "wav", "memory" */
    bool (*open)(const char *where, int rate_hz, void **state, struct fault *fault);
    long (*read)(void *state, int16_t *pcm, size_t frames, struct fault *fault);
    void (*close)(void *state);
};

/* A driver of sound out. `write` takes all frames or fails; `close` finishes the file or drains the
 * device and reports what could not be written. All are mandatory. */
struct audio_sink_driver {
    const char *name; /* "wav", "memory", "none" */
    bool (*open)(const char *where, int rate_hz, void **state, struct fault *fault);
    bool (*write)(void *state, const int16_t *pcm, size_t frames, struct fault *fault);
    bool (*close)(void *state, struct fault *fault);
};

extern const struct audio_source_driver audio_source_wav;    /* any file libsndfile reads */
extern const struct audio_source_driver audio_source_memory; /* see struct audio_memory */
extern const struct audio_sink_driver audio_sink_wav;        /* 16-bit mono WAV */
extern const struct audio_sink_driver audio_sink_memory;     /* see struct audio_memory */
extern const struct audio_sink_driver audio_sink_none;       /* silence */

const struct audio_source_driver *audio_source_named(const char *name); /* NULL: unknown */
const struct audio_sink_driver *audio_sink_named(const char *name);

/* Sound in memory, for tests and for sound made by code. The source reads `pcm` and resamples it
 * from rate_hz; the sink grows `pcm` with realloc (the owner frees it) and sets rate_hz. A memory
 * driver's `where` is audio_memory_where(&memory); the memory must outlive the driver's state. */
struct audio_memory {
    int16_t *pcm;
    size_t frames;
    size_t room; /* frames `pcm` can hold; the sink's own business */
    int rate_hz;
};

const char *audio_memory_where(struct audio_memory *memory);

enum {
    AUDIO_SECONDS_MAX = 120,    /* the longest recording taken as one answer */
    AUDIO_RATE_HZ_MIN = 4000,   /* below this there is no speech left */
    AUDIO_RATE_HZ_MAX = 768000, /* above this a header is broken, not ambitious */
    AUDIO_CHANNELS_MAX = 64,
    AUDIO_SAMPLES_HZ_MAX = 1100000, /* of all channels: two minutes of silence pack into nothing */
    AUDIO_FILE_BYTES = 256 * 1024 * 1024, /* more is no answer: a library may read all to the end */
};

/* A whole recording: mixed to mono, resampled to rate_hz. Caller frees *pcm with free(). Refuses
 * with a sentence: missing or unreadable file, not audio, no samples, longer than
 * AUDIO_SECONDS_MAX. */
bool audio_read_whole(const char *path, int rate_hz, int16_t **pcm, size_t *frames,
                      struct fault *fault);

#endif
