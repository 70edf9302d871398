/* Short sounds, made by code: see tone.h. */
#include "audio/tone.h"

#include <math.h>
#include <string.h>

enum { NOTES_MAX = 3, RAMP_MS = 8 };

/* A note, and the silence before the next. Hz 0 ends the list. */
struct note {
    int hz, ms, gap_ms;
};

static const struct {
    const char *name;
    struct note note[NOTES_MAX + 1];
} tones[AUDIO_TONE_COUNT] = {
    [AUDIO_TONE_HEARD] = {"heard", {{1320, 40, 0}}},
    [AUDIO_TONE_ACCEPTED] = {"accepted", {{990, 40, 60}, {1760, 40, 0}}},
    [AUDIO_TONE_ASKED_AGAIN] = {"asked again", {{1480, 40, 140}, {880, 40, 0}}},
    [AUDIO_TONE_WRONG_KEY] = {"wrong key", {{1110, 40, 60}, {1110, 40, 60}, {1110, 40, 0}}},
};

const char *audio_tone_name(enum audio_tone tone)
{
    return (unsigned)tone < AUDIO_TONE_COUNT ? tones[tone].name : "?";
}

static size_t frames_of(int ms, int rate_hz)
{
    return (size_t)ms * (size_t)rate_hz / 1000;
}

/* 0 at either end of the note, 1 in its middle. */
static double ramp(size_t at, size_t frames, int rate_hz)
{
    const double pi = 3.14159265358979323846;
    size_t edge = frames_of(RAMP_MS, rate_hz), from_end = frames - 1 - at;
    size_t near = at < from_end ? at : from_end;
    return near >= edge ? 1 : 0.5 - 0.5 * cos(pi * (double)near / (double)edge);
}

static void render_note(const struct note *note, int rate_hz, double amplitude, int16_t *pcm)
{
    const double pi = 3.14159265358979323846;
    size_t frames = frames_of(note->ms, rate_hz);
    for (size_t i = 0; i < frames; i++) {
        double phase = 2 * pi * note->hz * (double)i / rate_hz;
        pcm[i] = (int16_t)lround(32767 * amplitude * ramp(i, frames, rate_hz) * sin(phase));
    }
}

size_t audio_tone(enum audio_tone tone, int rate_hz, double amplitude, int16_t *pcm)
{
    if ((unsigned)tone >= AUDIO_TONE_COUNT || rate_hz < 8000 || rate_hz > AUDIO_TONE_RATE_MAX ||
        !(amplitude >= 0 && amplitude <= 1))
        return 0;
    size_t used = 0;
    for (const struct note *note = tones[tone].note; note->hz > 0; note++) {
        render_note(note, rate_hz, amplitude, pcm + used);
        used += frames_of(note->ms, rate_hz);
        size_t gap = frames_of(note->gap_ms, rate_hz);
        memset(pcm + used, 0, gap * sizeof *pcm);
        used += gap;
    }
    return used;
}
