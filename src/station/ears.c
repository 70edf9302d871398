/* Recorded answers: each WAV file is one answer to the question then being asked. */
#include <stdlib.h>

#include "audio/audio.h"
#include "base/text.h"
#include "station/input.h"

static enum job_verdict verdict_of(enum speech_verdict verdict)
{
    switch (verdict) {
    case SPEECH_ACCEPTED:
        return JOB_ACCEPTED;
    case SPEECH_UNSURE:
        return JOB_UNSURE;
    case SPEECH_REJECTED:
        break;
    }
    return JOB_REJECTED;
}

static enum station_got next(void *state, const struct station_question *question,
                             struct job_event *event, struct fault *fault)
{
    struct station_ears *ears = state;
    if (ears->at == ears->n)
        return STATION_END;
    int16_t *pcm;
    size_t frames;
    if (!audio_read_whole(ears->paths[ears->at], SPEECH_RATE_HZ, &pcm, &frames, fault))
        return STATION_BROKEN;
    struct speech_heard heard;
    bool ok = speech_recognise(ears->recogniser, question->grammar, pcm, frames, &heard, fault);
    free(pcm);
    if (!ok)
        return STATION_BROKEN;
    ears->at++;
    event->source = JOB_BY_EAR;
    event->verdict = verdict_of(heard.verdict);
    event->score = heard.score;
    text_copy(event->words, sizeof event->words, heard.words);
    if (heard.verdict == SPEECH_UNSURE) /* believed is believed: the rival is far behind */
        text_copy(event->other, sizeof event->other, heard.other);
    return STATION_ANSWER;
}

static void finish(void *state)
{
    (void)state;
}

const struct station_input station_input_recordings = {
    .name = "recordings",
    .next = next,
    .finish = finish,
};
