/* eSpeak NG in its synchronous mode: it hands sound back in pieces, plays nothing itself. */
#include "speech/voice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <espeak-ng/espeak_ng.h>
#include <espeak-ng/speak_lib.h>

#include "audio/resample.h"
#include "speech/person.h"
#include "speech/recogniser.h"
#include "speech/spoken.h"

enum { SLOWEST_WPM = espeakRATE_MINIMUM, FASTEST_WPM = espeakRATE_MAXIMUM, SENTENCE = 4096 };

struct speech_voice {
    int rate_hz;
};

/* What a sentence being spoken goes to; reaches the callback through the event's user_data. */
struct listener {
    bool (*write)(void *context, const int16_t *pcm, size_t frames);
    void *context;
    bool stopped;
};

static int take_sound(short *wav, int samples, espeak_EVENT *events)
{
    struct listener *listener = events->user_data;
    if (listener == NULL || listener->stopped)
        return listener != NULL;
    if (wav != NULL && samples > 0 && !listener->write(listener->context, wav, (size_t)samples))
        listener->stopped = true;
    return listener->stopped;
}

static struct speech_voice *no_voice(struct fault *fault)
{
    fault_set(
        fault, FAULT_MISSING,
        "the voice cannot start, its data is missing: install espeak-ng-data, or use --mute.");
    return NULL;
}

/* The library is started once a process and never ended: ended and started again it now and then
 * waits for ever for a thread of its own (1.51). The older espeak_Initialize writes to standard
 * error and ends the process when data is missing; this way round it is an answer. */
static bool start_library(void)
{
    static bool started;
    if (started)
        return true;
    espeak_ng_InitializePath(NULL); /* $ESPEAK_DATA_PATH, else where it was installed */
    espeak_ng_ERROR_CONTEXT trouble = NULL;
    espeak_ng_STATUS status = espeak_ng_Initialize(&trouble);
    espeak_ng_ClearErrorContext(&trouble);
    started = status == ENS_OK &&
              espeak_ng_InitializeOutput(ENOUTPUT_MODE_SYNCHRONOUS, 60, NULL) == ENS_OK;
    return started;
}

struct speech_voice *speech_voice_create(int words_per_minute, struct fault *fault)
{
    if (words_per_minute < SLOWEST_WPM || words_per_minute > FASTEST_WPM) {
        fault_set(fault, FAULT_USAGE, "%d words a minute cannot be spoken: choose %d to %d.",
                  words_per_minute, SLOWEST_WPM, FASTEST_WPM);
        return NULL;
    }
    if (!start_library() || espeak_ng_SetVoiceByName("en-us") != ENS_OK ||
        espeak_ng_SetParameter(espeakRATE, words_per_minute, 0) != ENS_OK)
        return no_voice(fault);
    struct speech_voice *voice = calloc(1, sizeof *voice);
    if (voice == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    voice->rate_hz = espeak_ng_GetSampleRate();
    espeak_SetSynthCallback(take_sound);
    return voice;
}

void speech_voice_destroy(struct speech_voice *voice)
{
    free(voice);
}

int speech_voice_rate_hz(const struct speech_voice *voice)
{
    return voice->rate_hz;
}

void speech_voice_set(struct speech_voice *voice, int words_per_minute, double loudness_db)
{
    (void)voice;
    enum { USUAL = 100, LOUDEST = 200 }; /* the voice's amplitude goes with this number */
    double volume = USUAL * pow(10, loudness_db / 20);
    espeak_ng_SetParameter(espeakRATE, words_per_minute, 0);
    espeak_ng_SetParameter(espeakVOLUME, (int)lround(volume < LOUDEST ? volume : LOUDEST), 0);
}

bool speech_voice_say(struct speech_voice *voice, const char *sentence,
                      bool (*write)(void *context, const int16_t *pcm, size_t frames),
                      void *context, struct fault *fault)
{
    (void)voice;
    char spoken[SENTENCE];
    struct listener listener = {.write = write, .context = context};
    if (!speech_spoken(sentence, spoken, sizeof spoken))
        return fault_set(fault, FAULT_FAILED,
                         "a sentence of more than %d letters cannot be spoken.", (int)SENTENCE);
    espeak_ng_STATUS status = espeak_ng_Synthesize(spoken, strlen(spoken) + 1, 0, POS_CHARACTER, 0,
                                                   espeakCHARS_UTF8, NULL, &listener);
    if (status != ENS_OK && !listener.stopped)
        return fault_set(fault, FAULT_FAILED, "the voice could not speak: check espeak-ng.");
    return true;
}

/* ---- others ---- */

struct collected {
    float *pcm;
    size_t frames, room;
};

static bool collect(void *context, const int16_t *pcm, size_t frames)
{
    struct collected *all = context;
    if (all->frames + frames > all->room) {
        size_t room = 2 * (all->frames + frames);
        float *grown = realloc(all->pcm, room * sizeof *grown);
        if (grown == NULL)
            return false;
        all->pcm = grown;
        all->room = room;
    }
    for (size_t i = 0; i < frames; i++)
        all->pcm[all->frames++] = (float)pcm[i];
    return true;
}

static bool say_all(struct collected *all, struct fault *fault)
{
    static const char *const voices[] = {"en-us+m3", "en-us+f2", "en-us+m7", "en-us+f4"};
    enum { VOICES = sizeof voices / sizeof voices[0] };
    for (size_t s = 0; speech_person_sentence(s) != NULL; s++) {
        size_t before = all->frames;
        if (espeak_ng_SetVoiceByName(voices[s % VOICES]) != ENS_OK ||
            !speech_voice_say(NULL, speech_person_sentence(s), collect, all, fault) ||
            all->frames == before)
            return fault_set(fault, FAULT_MISSING,
                             "the voice '%s' is missing: install espeak-ng-data.",
                             voices[s % VOICES]);
    }
    return true;
}

static bool to_speech_rate(const struct collected *all, float **pcm, size_t *frames,
                           struct fault *fault)
{
    struct audio_resampler *resampler =
        audio_resampler_create(espeak_ng_GetSampleRate(), SPEECH_RATE_HZ, fault);
    size_t used = all->frames, room = all->frames + 16;
    *pcm = malloc(room * sizeof **pcm);
    *frames = room;
    bool made = resampler != NULL && *pcm != NULL;
    double power = 0;
    if (made)
        audio_resample(resampler, all->pcm, &used, *pcm, frames);
    for (size_t i = 0; made && i < *frames; i++)
        power += (double)(*pcm)[i] * (double)(*pcm)[i];
    for (size_t i = 0; made && i < *frames; i++)
        (*pcm)[i] /= (float)sqrt(power / (double)*frames);
    audio_resampler_destroy(resampler);
    return made;
}

bool speech_voice_others(float **pcm, size_t *frames, struct fault *fault)
{
    struct collected all = {0};
    *pcm = NULL;
    bool made = start_library() || no_voice(fault) != NULL;
    if (made) {
        int rate = espeak_GetParameter(espeakRATE, 1);
        int volume = espeak_GetParameter(espeakVOLUME, 1);
        espeak_SetSynthCallback(take_sound);
        made = say_all(&all, fault) && to_speech_rate(&all, pcm, frames, fault);
        espeak_ng_SetVoiceByName("en-us");
        espeak_ng_SetParameter(espeakRATE, rate, 0);
        espeak_ng_SetParameter(espeakVOLUME, volume, 0);
    }
    free(all.pcm);
    if (!made) {
        free(*pcm);
        *pcm = NULL;
    }
    return made;
}
