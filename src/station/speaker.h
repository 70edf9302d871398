/*
 * What is to be spoken, in order, into a live driver: the first sound of a sentence is given to the
 * speaker as soon as the voice has made it, the rest follows a second ahead of what is heard. Knows
 * what was said when, for the sake of cautions and of midthrow's own words heard back.
 */
#ifndef MIDTHROW_STATION_SPEAKER_H
#define MIDTHROW_STATION_SPEAKER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "audio/live.h"
#include "audio/resample.h"
#include "base/fault.h"
#include "prompt/prompt.h"
#include "speech/voice.h"

enum { STATION_SPEAKER_QUEUE = 32, STATION_SPEAKER_SAID = 8 };

struct station_speaker {
    const struct audio_live_driver *driver;
    void *device;
    struct speech_voice *voice; /* NULL: sentences are not spoken, sounds are */
    struct audio_resampler *resampler;

    struct {
        char sentence[PROMPT_SENTENCE];
        bool caution;
    } queue[STATION_SPEAKER_QUEUE]; /* not yet rendered */
    size_t queued;

    int16_t *pcm; /* rendered; [at .. frames) not yet written */
    size_t at, frames, room;
    uint64_t written;         /* since the start */
    uint64_t caution_end;     /* where, in what is written, the last caution ends */
    int64_t first_written_ms; /* of the last sentence that began in silence */

    struct {
        char sentence[PROMPT_SENTENCE];
        uint64_t from, to;        /* in what is written */
    } said[STATION_SPEAKER_SAID]; /* a ring */
    size_t said_n, told_n;
};

bool station_speaker_open(struct station_speaker *speaker, const struct audio_live_driver *driver,
                          void *device, struct speech_voice *voice, struct fault *fault);
void station_speaker_close(struct station_speaker *speaker);

bool station_speaker_say(struct station_speaker *speaker, const char *sentence, bool caution,
                         struct fault *fault);
bool station_speaker_play(struct station_speaker *speaker, const int16_t *pcm, size_t frames,
                          struct fault *fault);
bool station_speaker_pour(struct station_speaker *speaker, struct fault *fault); /* keeps it fed */
void station_speaker_hush(struct station_speaker *speaker);

bool station_speaker_is_busy(struct station_speaker *speaker);
bool station_speaker_warns(struct station_speaker *speaker);
uint64_t station_speaker_played(struct station_speaker *speaker); /* frames that were heard */

/* The next sentence whose first sound is out of the speaker; NULL: none since the last call. */
const char *station_speaker_next(struct station_speaker *speaker, int64_t *lasts_ms);

/* Do these words stand in what was being said since then (a count of played frames)? */
bool station_speaker_said(const struct station_speaker *speaker, uint64_t since, const char *words);

#endif
