/* Sinks of sound: a 16-bit mono WAV by libsndfile, memory, and nothing at all. */
#include "audio/audio.h"

#include <stdlib.h>
#include <string.h>

#include <sndfile.h>

struct wav_sink {
    SNDFILE *file;
    char *path;
};

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
}

static bool wav_open(const char *where, int rate_hz, void **state, struct fault *fault)
{
    struct wav_sink *sink = calloc(1, sizeof *sink);
    char *path = strdup(where);
    if (sink == NULL || path == NULL) {
        free(sink);
        free(path);
        return out_of_memory(fault);
    }
    SF_INFO info = {
        .samplerate = rate_hz, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    sink->path = path;
    sink->file = sf_open(where, SFM_WRITE, &info);
    if (sink->file == NULL) {
        fault_set(fault, FAULT_FAILED, "cannot write '%s' (%s): name a file in a writable folder.",
                  where, sf_strerror(NULL));
        free(path);
        free(sink);
        return false;
    }
    *state = sink;
    return true;
}

static bool full(const struct wav_sink *sink, struct fault *fault)
{
    return fault_set(
        fault, FAULT_FAILED,
        "could not write all of '%s': free some space on the disk, or name another file.",
        sink->path);
}

static bool wav_write(void *state, const int16_t *pcm, size_t frames, struct fault *fault)
{
    struct wav_sink *sink = state;
    return sf_writef_short(sink->file, pcm, (sf_count_t)frames) == (sf_count_t)frames ||
           full(sink, fault);
}

static bool wav_close(void *state, struct fault *fault)
{
    struct wav_sink *sink = state;
    if (sink == NULL)
        return true;
    bool whole = sf_error(sink->file) == SF_ERR_NO_ERROR;
    whole = sf_close(sink->file) == 0 && whole;
    if (!whole)
        full(sink, fault);
    free(sink->path);
    free(sink);
    return whole;
}

static bool memory_open(const char *where, int rate_hz, void **state, struct fault *fault)
{
    (void)fault;
    struct audio_memory *memory = (struct audio_memory *)(void *)where; /* see audio_memory_where */
    memory->frames = 0;
    memory->rate_hz = rate_hz;
    *state = memory;
    return true;
}

static bool memory_write(void *state, const int16_t *pcm, size_t frames, struct fault *fault)
{
    struct audio_memory *memory = state;
    if (frames > memory->room - memory->frames) {
        if (frames > SIZE_MAX / sizeof *pcm / 4 - memory->frames)
            return out_of_memory(fault);
        size_t room = (memory->frames + frames) * 2;
        int16_t *grown = realloc(memory->pcm, room * sizeof *grown);
        if (grown == NULL)
            return out_of_memory(fault);
        memory->pcm = grown;
        memory->room = room;
    }
    if (frames > 0)
        memcpy(memory->pcm + memory->frames, pcm, frames * sizeof *pcm);
    memory->frames += frames;
    return true;
}

static bool memory_close(void *state, struct fault *fault)
{
    (void)state;
    (void)fault;
    return true;
}

static bool none_open(const char *where, int rate_hz, void **state, struct fault *fault)
{
    (void)where;
    (void)rate_hz;
    (void)fault;
    *state = NULL;
    return true;
}

static bool none_write(void *state, const int16_t *pcm, size_t frames, struct fault *fault)
{
    (void)state;
    (void)pcm;
    (void)frames;
    (void)fault;
    return true;
}

const struct audio_sink_driver audio_sink_wav = {
    .name = "wav", .open = wav_open, .write = wav_write, .close = wav_close};

const struct audio_sink_driver audio_sink_memory = {
    .name = "memory", .open = memory_open, .write = memory_write, .close = memory_close};

const struct audio_sink_driver audio_sink_none = {
    .name = "none", .open = none_open, .write = none_write, .close = memory_close};

const struct audio_sink_driver *audio_sink_named(const char *name)
{
    static const struct audio_sink_driver *const drivers[] = {&audio_sink_memory, &audio_sink_none,
                                                              &audio_sink_wav};
    for (size_t i = 0; i < sizeof drivers / sizeof drivers[0]; i++)
        if (strcmp(drivers[i]->name, name) == 0)
            return drivers[i];
    return NULL;
}
