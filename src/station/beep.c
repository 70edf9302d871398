/* Beeps, and how the voice sounds: see beep.h. */
#include "station/beep.h"

#include <math.h>

#include "base/text.h"
#include "station/station.h"

bool station_beep_for(const struct job *before, const struct job *after,
                      const struct job_event *event, enum audio_tone *tone)
{
    if (event->kind != JOB_HEARD)
        return false;
    bool again = after->asked_again > before->asked_again || after->rejected > before->rejected ||
                 after->misses > before->misses;
    if (after->heard > before->heard)
        *tone = AUDIO_TONE_ACCEPTED;
    else if (again)
        *tone = event->source == JOB_BY_PAD ? AUDIO_TONE_WRONG_KEY : AUDIO_TONE_ASKED_AGAIN;
    else
        *tone = AUDIO_TONE_HEARD;
    return true;
}

static double amplitude(const struct station_settings *settings)
{
    double level = AUDIO_TONE_LEVEL * pow(10, station_settings_loudness_db(settings) / 20);
    return level < 1 ? level : 1;
}

bool station_beep(struct station *station, enum audio_tone tone, struct fault *fault)
{
    int16_t pcm[AUDIO_TONE_FRAMES_MAX];
    const struct station_settings *settings = station->settings;
    if (settings == NULL || !station->beeps)
        return true;
    if (station->live != NULL) {
        size_t frames = audio_tone(tone, SPEECH_RATE_HZ, amplitude(settings), pcm);
        if (!station_live_play(station->live, pcm, frames, fault))
            return false;
    }
    struct station_mouth *mouth = station->mouth;
    if (mouth->voice == NULL)
        return true;
    size_t frames = audio_tone(tone, speech_voice_rate_hz(mouth->voice), amplitude(settings), pcm);
    return mouth->sink->write(mouth->sink_state, pcm, frames, fault);
}

void station_change_voice(struct station *station, enum job_voice change)
{
    struct fault fault = {0};
    struct station_settings *settings = station->settings;
    if (settings == NULL || !station_settings_change(settings, change))
        return;
    if (station->voice != NULL)
        speech_voice_set(station->voice, station_settings_words_per_minute(settings),
                         station_settings_loudness_db(settings));
    if (!station_settings_save(station->data, settings, &fault)) {
        text_begin_sentence(fault.sentence);
        screen_said(station->screen, fault.sentence, false);
    }
}
