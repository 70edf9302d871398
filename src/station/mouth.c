/* The mouth: sentences through the voice into a sink. */
#include <string.h>

#include "station/station.h"

enum { WORDS_PER_MINUTE = 165 };

bool station_mouth_open(struct station_mouth *mouth, const char *path, struct fault *fault)
{
    memset(mouth, 0, sizeof *mouth);
    if (path == NULL)
        return true;
    mouth->voice = speech_voice_create(WORDS_PER_MINUTE, fault);
    if (mouth->voice == NULL)
        return false;
    mouth->sink = &audio_sink_wav;
    if (mouth->sink->open(path, speech_voice_rate_hz(mouth->voice), &mouth->sink_state, fault))
        return true;
    speech_voice_destroy(mouth->voice);
    memset(mouth, 0, sizeof *mouth);
    return false;
}

struct pour {
    struct station_mouth *mouth;
    struct fault *fault;
    bool failed;
};

static bool pour(void *context, const int16_t *pcm, size_t frames)
{
    struct pour *into = context;
    if (into->mouth->sink->write(into->mouth->sink_state, pcm, frames, into->fault))
        return true;
    into->failed = true;
    return false;
}

static bool pause_after(struct pour *into, int rate_hz)
{
    static const int16_t silence[512];
    for (size_t left = (size_t)rate_hz / 4; left > 0;) {
        size_t now = left < 512 ? left : 512;
        if (!pour(into, silence, now))
            return false;
        left -= now;
    }
    return true;
}

bool station_mouth_say(struct station_mouth *mouth, const char *sentence, struct fault *fault)
{
    if (mouth->voice == NULL)
        return true;
    struct pour into = {.mouth = mouth, .fault = fault};
    if (!speech_voice_say(mouth->voice, sentence, pour, &into, fault) || into.failed)
        return false;
    return pause_after(&into, speech_voice_rate_hz(mouth->voice));
}

bool station_mouth_close(struct station_mouth *mouth, struct fault *fault)
{
    if (mouth->voice == NULL)
        return true;
    bool ok = mouth->sink->close(mouth->sink_state, fault);
    speech_voice_destroy(mouth->voice);
    memset(mouth, 0, sizeof *mouth);
    return ok;
}
