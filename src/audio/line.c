/* The audio callback and what it touches: see line.h. */
#include "audio/line.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { CALLS = 4096 };

struct audio_line *audio_line_create(enum audio_side side, int rate_hz, int channels,
                                     struct fault *fault)
{
    struct audio_line *line = calloc(1, sizeof *line);
    if (line == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    size_t frames = (size_t)rate_hz * AUDIO_LINE_SECONDS;
    line->side = side;
    line->rate_hz = rate_hz;
    line->channels = channels;
    line->sound = audio_ring_create(sizeof(int16_t), frames, fault);
    line->played = audio_ring_create(sizeof(int16_t), side == AUDIO_SPEAKER ? frames : 1, fault);
    line->calls = audio_ring_create(sizeof(struct audio_call), CALLS, fault);
    if (line->sound == NULL || line->played == NULL || line->calls == NULL) {
        audio_line_destroy(line);
        return NULL;
    }
    return line;
}

void audio_line_destroy(struct audio_line *line)
{
    if (line == NULL)
        return;
    audio_ring_destroy(line->sound);
    audio_ring_destroy(line->played);
    audio_ring_destroy(line->calls);
    free(line);
}

int64_t audio_now_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

/* PortAudio tells times by a clock that the system may set; only their differences are used. */
static int64_t sound_at(const struct audio_line *line, const PaStreamCallbackTimeInfo *time)
{
    int64_t now = audio_now_ns();
    bool speaker = line->side == AUDIO_SPEAKER;
    PaTime at = speaker ? time->outputBufferDacTime : time->inputBufferAdcTime;
    PaTime ahead = at - time->currentTime;
    if (at > 0 && time->currentTime > 0 && ahead > -2 && ahead < 2)
        return now + (int64_t)(ahead * 1e9);
    return speaker ? now + line->latency_ns : now - line->latency_ns;
}

static size_t lesser(size_t a, size_t b)
{
    return a < b ? a : b;
}

static void hear(struct audio_line *line, const int16_t *in, size_t frames, struct audio_call *call)
{
    size_t kept = 0;
    if (in != NULL && audio_ring_room(line->calls) > 0)
        kept = audio_ring_write(line->sound, in, frames);
    call->frames = call->real = (uint32_t)kept;
    atomic_fetch_add_explicit(&line->lost_frames, frames - kept, memory_order_relaxed);
}

/* The same sample for every channel. */
static void spread(const struct audio_line *line, int16_t *out, size_t frames)
{
    size_t channels = (size_t)line->channels;
    for (size_t i = 0; i < frames; i++)
        for (size_t c = 0; c < channels; c++)
            out[i * channels + c] = line->scratch[i];
}

static void play(struct audio_line *line, int16_t *out, size_t frames, struct audio_call *call)
{
    const size_t most = sizeof line->scratch / sizeof line->scratch[0];
    bool noted =
        audio_ring_room(line->calls) > 0; /* else nobody looks: played is not told either */
    for (size_t done = 0; done < frames;) {
        size_t n = lesser(most, frames - done);
        size_t got = audio_ring_read(line->sound, line->scratch, n);
        memset(line->scratch + got, 0, (n - got) * sizeof line->scratch[0]);
        spread(line, out + done * (size_t)line->channels, n);
        if (noted)
            call->frames += (uint32_t)audio_ring_write(line->played, line->scratch, n);
        call->real += (uint32_t)got;
        done += n;
    }
}

static void keep_most(_Atomic int *most, int64_t value)
{
    int now = value < INT_MAX ? (int)value : INT_MAX;
    if (now > atomic_load_explicit(most, memory_order_relaxed))
        atomic_store_explicit(most, now, memory_order_relaxed);
}

/* Was it in time, and are we? */
static void count(struct audio_line *line, PaStreamCallbackFlags flags, int64_t from_ns,
                  int64_t lasts_ns)
{
    PaStreamCallbackFlags missed =
        line->side == AUDIO_SPEAKER ? paOutputUnderflow : paInputOverflow;
    int64_t took_ns = audio_now_ns() - from_ns;
    if (line->called_ns != 0)
        keep_most(&line->latest_ms, (from_ns - line->called_ns - line->lasts_ns) / 1000000);
    keep_most(&line->longest_us, took_ns / 1000);
    line->called_ns = from_ns;
    line->lasts_ns = lasts_ns;
    atomic_fetch_add_explicit(&line->missed, (flags & missed) != 0, memory_order_relaxed);
    atomic_fetch_add_explicit(&line->slow, took_ns > lasts_ns, memory_order_relaxed);
}

int audio_line_call(const void *in, void *out, unsigned long frames,
                    const PaStreamCallbackTimeInfo *time, PaStreamCallbackFlags flags, void *user)
{
    struct audio_line *line = user;
    int64_t from_ns = audio_now_ns();
    struct audio_call call = {.at_ns = sound_at(line, time)};
    if (line->side == AUDIO_MICROPHONE)
        hear(line, in, frames, &call);
    else
        play(line, out, frames, &call);
    audio_ring_write(line->calls, &call, 1);
    count(line, flags, from_ns, (int64_t)frames * 1000000000 / line->rate_hz);
    atomic_fetch_add_explicit(&line->beats, 1, memory_order_relaxed);
    return paContinue;
}

void audio_line_deadlines(const struct audio_line *line, struct audio_deadlines *sum)
{
    int longest = atomic_load(&line->longest_us), latest = atomic_load(&line->latest_ms);
    sum->calls += atomic_load(&line->beats);
    sum->missed += atomic_load(&line->missed);
    sum->slow += atomic_load(&line->slow);
    sum->longest_us = longest > sum->longest_us ? longest : sum->longest_us;
    sum->latest_ms = latest > sum->latest_ms ? latest : sum->latest_ms;
}

void audio_line_end(void *user)
{
    struct audio_line *line = user;
    atomic_store(&line->ended, true);
}
