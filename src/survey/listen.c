/* Through the phases of a survey on a live sound driver: see survey.h. */
#include <stdlib.h>
#include <string.h>

#include "survey/survey.h"

enum {
    BLOCK = SURVEY_RATE_HZ / 100,
    MOST_MS = SURVEY_VOICE_MS,
    MOST = SURVEY_RATE_HZ / 1000 * MOST_MS,
    SETTLE_MS = 300, /* devices click and set their gain when they are opened */
};

struct surveying {
    const struct audio_live_driver *driver;
    void *live;
    const struct survey_hooks *hooks;
    int16_t heard[MOST], played[MOST], sweep[MOST];
    size_t n;
};

/* Hears for so long, playing `pcm` from its beginning; false when a signal came. A microphone that
 * gives nothing ends it after twice the time. */
static bool hear(struct surveying *surveying, int ms, const int16_t *pcm, size_t frames)
{
    const struct audio_live_driver *driver = surveying->driver;
    size_t wanted = (size_t)ms * SURVEY_RATE_HZ / 1000, written = 0;
    int64_t until_ms = driver->now_ms(surveying->live) + 2 * ms;
    surveying->n = 0;
    while (surveying->n < wanted && driver->now_ms(surveying->live) < until_ms) {
        if (surveying->hooks->stop != NULL && *surveying->hooks->stop)
            return false;
        if (written < frames)
            written += driver->write(surveying->live, pcm + written, frames - written);
        size_t left = wanted - surveying->n;
        size_t got = driver->read(surveying->live, surveying->heard + surveying->n,
                                  surveying->played + surveying->n, left < BLOCK ? left : BLOCK);
        surveying->n += got;
        if (got == 0 && !driver->wait(surveying->live, NULL, 0, 20))
            return false;
    }
    return true;
}

static void tell(const struct surveying *surveying, enum survey_phase phase)
{
    if (surveying->hooks->phase != NULL)
        surveying->hooks->phase(surveying->hooks->context, phase);
}

static bool measure(struct surveying *surveying, struct survey_sound *sound)
{
    const size_t sweep = (size_t)(SURVEY_TONE_MS - 500) * SURVEY_RATE_HZ / 1000;
    tell(surveying, SURVEY_QUIET);
    if (!hear(surveying, SETTLE_MS, NULL, 0) || !hear(surveying, SURVEY_QUIET_MS, NULL, 0))
        return false;
    surveying->driver->status(surveying->live, &sound->devices);
    sound->heard_anything = surveying->n > 0;
    if (!sound->heard_anything)
        return true;
    sound->floor = survey_floor(surveying->heard, surveying->n, SURVEY_RATE_HZ);
    if (sound->devices.speaker == AUDIO_PRESENT) {
        tell(surveying, SURVEY_TONE);
        survey_sweep(surveying->sweep, sweep, SURVEY_RATE_HZ);
        if (!hear(surveying, SURVEY_TONE_MS, surveying->sweep, sweep))
            return false;
        sound->played = true;
        sound->echo = survey_echo(surveying->played, surveying->heard, surveying->n, SURVEY_RATE_HZ,
                                  sound->floor.level_db);
    }
    if (surveying->hooks->no_voice)
        return true;
    tell(surveying, SURVEY_VOICE);
    if (!hear(surveying, SURVEY_VOICE_MS, NULL, 0))
        return false;
    sound->spoke = true;
    sound->speech = survey_speech(surveying->heard, surveying->n, SURVEY_RATE_HZ);
    sound->clipping = survey_clipping(surveying->heard, surveying->n);
    return true;
}

bool survey_listen(const struct audio_live_driver *driver, const struct audio_live_config *config,
                   const struct survey_hooks *hooks, struct survey_sound *sound,
                   struct fault *fault)
{
    struct fault missing = {.code = FAULT_NONE};
    struct surveying *surveying = calloc(1, sizeof *surveying);
    memset(sound, 0, sizeof *sound);
    if (surveying == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    surveying->driver = driver;
    surveying->hooks = hooks;
    bool ok = true;
    if (driver->open(config, &surveying->live, &missing)) {
        ok = measure(surveying, sound) ||
             fault_set(fault, FAULT_FAILED, "the check was broken off: start it again.");
        driver->status(surveying->live, &sound->devices);
        driver->close(surveying->live);
    } else { /* nothing that was wanted is there: that is what was found */
        sound->devices.microphone = config->no_microphone ? AUDIO_UNWANTED : AUDIO_ABSENT;
        sound->devices.speaker = config->no_speaker ? AUDIO_UNWANTED : AUDIO_ABSENT;
        memcpy(sound->devices.microphone_why, missing.sentence,
               sizeof sound->devices.microphone_why);
        sound->devices.microphone_why[sizeof sound->devices.microphone_why - 1] = '\0';
        memcpy(sound->devices.speaker_why, sound->devices.microphone_why,
               sizeof sound->devices.speaker_why);
    }
    free(surveying);
    return ok;
}
