/*
 * Sources of sound: a file by libsndfile, and memory. Both hand floats to one resampling reader,
 * which is all that differs between "what the file has" and "what midthrow asked for".
 */
#include "audio/audio.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <sndfile.h>

#include "audio/convert.h"
#include "audio/resample.h"

enum { BLOCK_FRAMES = 2048 };

/* Where the floats come from: fills up to `frames` mono samples; 0 at the end, -1 with a fault. */
struct source;
typedef long (*fill)(struct source *source, float *mono, size_t frames, struct fault *fault);

struct source {
    fill fill;
    struct audio_resampler *resampler;
    float block[BLOCK_FRAMES]; /* mono, at the rate of what is read */
    size_t from, filled;       /* block[from .. filled) is still to be resampled */
    bool ended;
    float out[BLOCK_FRAMES];

    SNDFILE *file; /* the file driver's */
    SF_INFO info;
    char *path;
    float *interleaved; /* BLOCK_FRAMES of all channels */

    const struct audio_memory *memory; /* the memory driver's */
    size_t at;
};

static void source_close(void *state)
{
    struct source *source = state;
    if (source == NULL)
        return;
    if (source->file != NULL)
        sf_close(source->file);
    audio_resampler_destroy(source->resampler);
    free(source->interleaved);
    free(source->path);
    free(source);
}

/* One piece of resampled floats into out[0 .. *made); false with a fault. *made 0 is the end. */
static bool next_piece(struct source *source, size_t wanted, size_t *made, struct fault *fault)
{
    for (;;) {
        if (source->from == source->filled && !source->ended) {
            long got = source->fill(source, source->block, BLOCK_FRAMES, fault);
            if (got < 0)
                return false;
            source->from = 0;
            source->filled = (size_t)got;
            source->ended = got == 0;
        }
        *made = wanted < BLOCK_FRAMES ? wanted : BLOCK_FRAMES;
        if (source->ended) {
            audio_resample_flush(source->resampler, source->out, made);
            return true;
        }
        size_t used = source->filled - source->from;
        audio_resample(source->resampler, source->block + source->from, &used, source->out, made);
        source->from += used;
        if (*made > 0)
            return true;
    }
}

static long source_read(void *state, int16_t *pcm, size_t frames, struct fault *fault)
{
    struct source *source = state;
    size_t done = 0;
    while (done < frames) {
        size_t made;
        if (!next_piece(source, frames - done, &made, fault))
            return -1;
        if (made == 0)
            break;
        for (size_t i = 0; i < made; i++)
            pcm[done + i] = audio_pcm16(source->out[i]);
        done += made;
    }
    return (long)done;
}

/* The mean of the channels: it cannot clip, and a silent second channel costs 6 dB, not the words.
 */
static long fill_from_file(struct source *source, float *mono, size_t frames, struct fault *fault)
{
    sf_count_t got = sf_readf_float(source->file, source->interleaved, (sf_count_t)frames);
    if (got <= 0) {
        if (sf_error(source->file) == SF_ERR_NO_ERROR)
            return 0;
        fault_set(fault, FAULT_FAILED, "'%s' is damaged (%s): record it again.", source->path,
                  sf_strerror(source->file));
        return -1;
    }
    size_t channels = (size_t)source->info.channels;
    for (size_t i = 0; i < (size_t)got; i++) {
        float sum = 0.0f;
        for (size_t c = 0; c < channels; c++)
            sum += source->interleaved[i * channels + c];
        mono[i] = sum / (float)channels;
        if (!isfinite(mono[i])) {
            fault_set(fault, FAULT_FAILED,
                      "'%s' holds samples that are not numbers: record or convert it again.",
                      source->path);
            return -1;
        }
    }
    return (long)got;
}

static bool refuse_file(const char *path, struct fault *fault)
{
    if (errno == ENOENT)
        return fault_set(fault, FAULT_MISSING, "'%s' is not there: check the name.", path);
    return fault_set(fault, FAULT_FAILED,
                     "cannot read '%s' (%s): check the file and its permissions.", path,
                     strerror(errno));
}

/* Opens a regular file with bytes in it; -1 with a fault. A pipe is refused before open can block.
 */
static int open_regular(const char *path, struct fault *fault)
{
    struct stat status;
    int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (file < 0 || fstat(file, &status) != 0) {
        refuse_file(path, fault);
    } else if (S_ISDIR(status.st_mode)) {
        fault_set(fault, FAULT_FAILED, "'%s' is a folder: name the recordings in it.", path);
    } else if (!S_ISREG(status.st_mode)) {
        fault_set(fault, FAULT_FAILED,
                  "'%s' is not an ordinary file: save the sound to a file first.", path);
    } else if (status.st_size == 0) {
        fault_set(fault, FAULT_FAILED, "'%s' is empty: record it again.", path);
    } else if (status.st_size > AUDIO_FILE_BYTES) {
        fault_set(fault, FAULT_FAILED, "'%s' is larger than %d MiB: cut it to the one answer.",
                  path, (int)AUDIO_FILE_BYTES / (1024 * 1024));
    } else {
        return file;
    }
    if (file >= 0)
        close(file);
    return -1;
}

static bool sensible(const SF_INFO *info, const char *path, struct fault *fault)
{
    if (info->samplerate < AUDIO_RATE_HZ_MIN || info->samplerate > AUDIO_RATE_HZ_MAX)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' says it was recorded at %d Hz: use a rate from %d to %d Hz.", path,
                         info->samplerate, AUDIO_RATE_HZ_MIN, AUDIO_RATE_HZ_MAX);
    if (info->channels < 1 || info->channels > AUDIO_CHANNELS_MAX)
        return fault_set(fault, FAULT_FAILED, "'%s' has %d channels: record in mono or stereo.",
                         path, info->channels);
    if (info->samplerate > AUDIO_SAMPLES_HZ_MAX / info->channels)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' has %d channels at %d Hz: record in mono or stereo.", path,
                         info->channels, info->samplerate);
    if (info->frames == 0)
        return fault_set(fault, FAULT_FAILED, "'%s' holds no sound: record it again.", path);
    return true;
}

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
}

static bool open_file(struct source *source, const char *path, int rate_hz, struct fault *fault)
{
    source->fill = fill_from_file;
    source->path = strdup(path);
    if (source->path == NULL)
        return out_of_memory(fault);
    int file = open_regular(path, fault);
    if (file < 0)
        return false;
    source->file =
        sf_open_fd(file, SFM_READ, &source->info, SF_TRUE); /* closes `file` in any case */
    if (source->file == NULL)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' is not a sound file (%s): give a WAV or FLAC recording.", path,
                         sf_strerror(NULL));
    if (!sensible(&source->info, path, fault))
        return false;
    /* A float file may be louder than full scale; leave that to the clipping in audio_pcm16. */
    sf_command(source->file, SFC_SET_NORM_FLOAT, NULL, SF_TRUE);
    source->interleaved =
        calloc((size_t)BLOCK_FRAMES * (size_t)source->info.channels, sizeof *source->interleaved);
    if (source->interleaved == NULL)
        return out_of_memory(fault);
    source->resampler = audio_resampler_create(source->info.samplerate, rate_hz, fault);
    return source->resampler != NULL;
}

static bool wav_open(const char *where, int rate_hz, void **state, struct fault *fault)
{
    struct source *source = calloc(1, sizeof *source);
    if (source == NULL)
        return out_of_memory(fault);
    if (!open_file(source, where, rate_hz, fault)) {
        source_close(source);
        return false;
    }
    *state = source;
    return true;
}

const char *audio_memory_where(struct audio_memory *memory)
{
    return (const char *)memory;
}

static long fill_from_memory(struct source *source, float *mono, size_t frames, struct fault *fault)
{
    (void)fault;
    size_t left = source->memory->frames - source->at;
    size_t count = left < frames ? left : frames;
    for (size_t i = 0; i < count; i++)
        mono[i] = audio_float(source->memory->pcm[source->at + i]);
    source->at += count;
    return (long)count;
}

static bool memory_open(const char *where, int rate_hz, void **state, struct fault *fault)
{
    struct source *source = calloc(1, sizeof *source);
    if (source == NULL)
        return out_of_memory(fault);
    source->fill = fill_from_memory;
    source->memory = (const struct audio_memory *)(const void *)where;
    source->resampler = audio_resampler_create(source->memory->rate_hz, rate_hz, fault);
    if (source->resampler == NULL) {
        source_close(source);
        return false;
    }
    *state = source;
    return true;
}

const struct audio_source_driver audio_source_wav = {
    .name = "wav", .open = wav_open, .read = source_read, .close = source_close};

const struct audio_source_driver audio_source_memory = {
    .name = "memory", .open = memory_open, .read = source_read, .close = source_close};

const struct audio_source_driver *audio_source_named(const char *name)
{
    static const struct audio_source_driver *const drivers[] = {&audio_source_memory,
                                                                &audio_source_wav};
    for (size_t i = 0; i < sizeof drivers / sizeof drivers[0]; i++)
        if (strcmp(drivers[i]->name, name) == 0)
            return drivers[i];
    return NULL;
}

static bool too_long(const char *path, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "'%s' is longer than %d seconds: cut it to the one answer it holds.", path,
                     (int)AUDIO_SECONDS_MAX);
}

/* Reads to the end into a growing buffer, never beyond the longest answer: headers lie. */
static bool read_all(struct source *source, int rate_hz, int16_t **pcm, size_t *frames,
                     struct fault *fault)
{
    const size_t most = (size_t)AUDIO_SECONDS_MAX * (size_t)rate_hz;
    size_t room = 0;
    for (;;) {
        if (*frames == room) {
            size_t wider = room == 0 ? (size_t)rate_hz * 4 : room * 2;
            int16_t *grown = realloc(*pcm, wider * sizeof **pcm);
            if (grown == NULL)
                return out_of_memory(fault);
            *pcm = grown;
            room = wider;
        }
        long got = source_read(source, *pcm + *frames, room - *frames, fault);
        if (got <= 0)
            return got == 0;
        *frames += (size_t)got;
        if (*frames > most)
            return too_long(source->path, fault);
    }
}

bool audio_read_whole(const char *path, int rate_hz, int16_t **pcm, size_t *frames,
                      struct fault *fault)
{
    *pcm = NULL;
    *frames = 0;
    void *state = NULL;
    if (!wav_open(path, rate_hz, &state, fault))
        return false;
    struct source *source = state;
    /* NOLINTNEXTLINE(clang-analyzer-core.*): where wav_open fails, fault_set answers false */
    bool read = source->info.frames / source->info.samplerate > AUDIO_SECONDS_MAX
                    ? too_long(path, fault)
                    : read_all(source, rate_hz, pcm, frames, fault);
    if (read && *frames == 0)
        read = fault_set(fault, FAULT_FAILED, "'%s' holds no sound: record it again.", path);
    source_close(source);
    if (!read) {
        free(*pcm);
        *pcm = NULL;
        *frames = 0;
    }
    return read;
}
