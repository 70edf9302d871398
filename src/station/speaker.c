/* The live mouth: see speaker.h. */
#include "station/speaker.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "speech/recogniser.h"
#include "station/echoed.h"

enum {
    AHEAD_FRAMES = SPEECH_RATE_HZ / 2, /* less than this left to write: render the next sentence */
    PAUSE_FRAMES = SPEECH_RATE_HZ / 5, /* between sentences */
    CHUNK = 1024,
};

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: the job is kept, start again.");
}

bool station_speaker_open(struct station_speaker *speaker, const struct audio_live_driver *driver,
                          void *device, struct speech_voice *voice, struct fault *fault)
{
    memset(speaker, 0, sizeof *speaker);
    speaker->driver = driver;
    speaker->device = device;
    speaker->voice = voice;
    if (voice == NULL)
        return true;
    speaker->resampler = audio_resampler_create(speech_voice_rate_hz(voice), SPEECH_RATE_HZ, fault);
    return speaker->resampler != NULL;
}

void station_speaker_close(struct station_speaker *speaker)
{
    if (speaker->resampler != NULL)
        audio_resampler_destroy(speaker->resampler);
    free(speaker->pcm);
    memset(speaker, 0, sizeof *speaker);
}

/* ---- to the device ------------------------------------------------------------------------- */

static void write_out(struct station_speaker *speaker)
{
    while (speaker->at < speaker->frames) {
        size_t took = speaker->driver->write(speaker->device, speaker->pcm + speaker->at,
                                             speaker->frames - speaker->at);
        if (took == 0)
            return;
        if (speaker->first_written_ms == 0)
            speaker->first_written_ms = speaker->driver->now_ms(speaker->device);
        speaker->at += took;
        speaker->written += took;
    }
    speaker->at = speaker->frames = 0;
}

bool station_speaker_play(struct station_speaker *speaker, const int16_t *pcm, size_t frames,
                          struct fault *fault)
{
    if (speaker->frames + frames > speaker->room) {
        size_t wider = (speaker->frames + frames) * 2;
        int16_t *grown = realloc(speaker->pcm, wider * sizeof *grown);
        if (grown == NULL)
            return out_of_memory(fault);
        speaker->pcm = grown;
        speaker->room = wider;
    }
    memcpy(speaker->pcm + speaker->frames, pcm, frames * sizeof *pcm);
    speaker->frames += frames;
    write_out(speaker);
    return true;
}

/* ---- rendering ----------------------------------------------------------------------------- */

struct pour {
    struct station_speaker *speaker;
    struct fault *fault;
    bool failed;
};

static bool keep(struct pour *pour, const float *made, size_t n)
{
    int16_t pcm[CHUNK];
    for (size_t i = 0; i < n; i++) {
        float sample = made[i] * 32768.0f;
        pcm[i] = sample > 32767.0f ? 32767 : sample < -32768.0f ? -32768 : (int16_t)sample;
    }
    pour->failed |= !station_speaker_play(pour->speaker, pcm, n, pour->fault);
    return !pour->failed;
}

static bool take_sound(void *context, const int16_t *pcm, size_t frames)
{
    struct pour *pour = context;
    float in[CHUNK], out[CHUNK];
    while (frames > 0) {
        size_t offered = frames < CHUNK ? frames : CHUNK, made = CHUNK;
        for (size_t i = 0; i < offered; i++)
            in[i] = (float)pcm[i] / 32768.0f;
        size_t used = offered;
        audio_resample(pour->speaker->resampler, in, &used, out, &made);
        if (!keep(pour, out, made))
            return false;
        pcm += used;
        frames -= used;
    }
    return true;
}

static void remember(struct station_speaker *speaker, const char *sentence, uint64_t from)
{
    size_t at = speaker->said_n++ % STATION_SPEAKER_SAID;
    text_copy(speaker->said[at].sentence, sizeof speaker->said[at].sentence, sentence);
    speaker->said[at].from = from;
    speaker->said[at].to = speaker->written + speaker->frames - speaker->at;
}

/* One sentence, its pause behind it. The resampler is not flushed: what it holds back, some
 * milliseconds, is pushed out by the pause. */
static bool render(struct station_speaker *speaker, const char *sentence, bool caution,
                   struct fault *fault)
{
    static const int16_t silence[512];
    struct pour pour = {.speaker = speaker, .fault = fault};
    uint64_t from = speaker->written + speaker->frames - speaker->at;
    if (!speech_voice_say(speaker->voice, sentence, take_sound, &pour, fault) || pour.failed)
        return false;
    remember(speaker, sentence, from);
    if (caution)
        speaker->caution_end = speaker->written + speaker->frames - speaker->at;
    int rate = speech_voice_rate_hz(speaker->voice);
    for (size_t left = (size_t)rate * PAUSE_FRAMES / SPEECH_RATE_HZ; left > 0;) {
        size_t now = left < 512 ? left : 512;
        if (!take_sound(&pour, silence, now))
            return false;
        left -= now;
    }
    return true;
}

bool station_speaker_pour(struct station_speaker *speaker, struct fault *fault)
{
    write_out(speaker);
    while (speaker->queued > 0 && speaker->frames - speaker->at < AHEAD_FRAMES) {
        char sentence[PROMPT_SENTENCE];
        bool caution = speaker->queue[0].caution;
        text_copy(sentence, sizeof sentence, speaker->queue[0].sentence);
        speaker->queued--;
        memmove(speaker->queue, speaker->queue + 1, speaker->queued * sizeof *speaker->queue);
        if (!render(speaker, sentence, caution, fault))
            return false;
    }
    return true;
}

bool station_speaker_say(struct station_speaker *speaker, const char *sentence, bool caution,
                         struct fault *fault)
{
    if (speaker->voice == NULL)
        return true;
    if (!station_speaker_is_busy(speaker))
        speaker->first_written_ms = 0;
    if (speaker->queued ==
        STATION_SPEAKER_QUEUE) /* more than anybody listens to: the oldest goes */
        memmove(speaker->queue, speaker->queue + 1, --speaker->queued * sizeof *speaker->queue);
    text_copy(speaker->queue[speaker->queued].sentence, PROMPT_SENTENCE, sentence);
    speaker->queue[speaker->queued++].caution = caution;
    return station_speaker_pour(speaker, fault);
}

void station_speaker_hush(struct station_speaker *speaker)
{
    speaker->queued = 0;
    speaker->at = speaker->frames = 0;
    speaker->driver->drop(speaker->device);
    speaker->caution_end = 0;
}

/* ---- what was said ------------------------------------------------------------------------- */

uint64_t station_speaker_played(struct station_speaker *speaker)
{
    uint64_t pending = speaker->driver->pending(speaker->device);
    return pending < speaker->written ? speaker->written - pending : 0;
}

bool station_speaker_is_busy(struct station_speaker *speaker)
{
    return speaker->queued > 0 || speaker->at < speaker->frames ||
           speaker->driver->pending(speaker->device) > 0;
}

bool station_speaker_warns(struct station_speaker *speaker)
{
    for (size_t i = 0; i < speaker->queued; i++)
        if (speaker->queue[i].caution)
            return true;
    return speaker->caution_end > station_speaker_played(speaker);
}

const char *station_speaker_next(struct station_speaker *speaker, int64_t *lasts_ms)
{
    if (speaker->told_n + STATION_SPEAKER_SAID < speaker->said_n)
        speaker->told_n = speaker->said_n - STATION_SPEAKER_SAID;
    size_t at = speaker->told_n % STATION_SPEAKER_SAID;
    if (speaker->told_n == speaker->said_n ||
        speaker->said[at].from > station_speaker_played(speaker))
        return NULL;
    speaker->told_n++;
    *lasts_ms = (int64_t)((speaker->said[at].to - speaker->said[at].from) * 1000 / SPEECH_RATE_HZ);
    return speaker->said[at].sentence;
}

bool station_speaker_said(const struct station_speaker *speaker, uint64_t since, const char *words)
{
    for (size_t i = 0; i < STATION_SPEAKER_SAID && i < speaker->said_n; i++)
        if (speaker->said[i].to >= since && station_echoed(speaker->said[i].sentence, words))
            return true;
    return false;
}
