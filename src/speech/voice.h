/*
 * The tool's own voice: eSpeak NG, sentence by sentence, into an audio sink.
 *
 *     struct speech_voice *voice = speech_voice_create(175, &fault);
 *     speech_voice_say(voice, "Forward throw, please.", write_to_sink, sink, &fault);
 *     speech_voice_destroy(voice);
 *
 * eSpeak NG keeps its state in globals: there is one voice a process.
 */
#ifndef MIDTHROW_SPEECH_VOICE_H
#define MIDTHROW_SPEECH_VOICE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

struct speech_voice *speech_voice_create(int words_per_minute, struct fault *fault);
void speech_voice_destroy(struct speech_voice *voice);
int speech_voice_rate_hz(const struct speech_voice *voice);

/* From the next sentence on: how fast, within the bounds of speech_voice_create, and how loud, in
 * decibels against how it comes; beyond +3 dB its peaks are cut off. */
void speech_voice_set(struct speech_voice *voice, int words_per_minute, double loudness_db);

/* Renders the sentence; `write` gets the sound piece by piece and stops it by returning false. */
bool speech_voice_say(struct speech_voice *voice, const char *sentence,
                      bool (*write)(void *context, const int16_t *pcm, size_t frames),
                      void *context, struct fault *fault);

/* Other people talking: the sentences of person.h by four voices in turn, at SPEECH_RATE_HZ, root
 * mean square 1. `*pcm` is to be freed. The voice that speaks is as it was before. */
bool speech_voice_others(float **pcm, size_t *frames, struct fault *fault);

#endif
