/*
 * Short sounds, made by code: heard, accepted, asked again, wrong key. Each has its own pitch and
 * its own rhythm, so that either alone tells them apart:
 *
 *     heard         one note                  .
 *     accepted      two, quick, rising        . '
 *     asked again   two, slow, falling        '    .
 *     wrong key     three, quick, all alike   . . .
 *
 * Pure sines between 800 and 2000 Hz with raised cosine ramps, so that nothing lies outside the
 * band where a small speaker is loud and a workshop is not: ISO 7731 (danger signals for work
 * areas) asks for components from 500 to 2500 Hz, for ears that have lost the high ones (clause
 * from memory).
 *
 * A note is 40 ms long and the next at least 60 ms away, for the ear's sake: an utterance begins
 * where most of 100 ms hold speech (speech/endpoint.h), so a beep never is one. What follows a
 * longer tone was measured: with notes of 50 to 110 ms the recogniser, given them as an utterance,
 * believed in "where are we" for most grammars.
 *
 *     int16_t pcm[AUDIO_TONE_FRAMES_MAX];
 *     size_t frames = audio_tone(AUDIO_TONE_HEARD, 16000, AUDIO_TONE_LEVEL, pcm);
 */
#ifndef MIDTHROW_AUDIO_TONE_H
#define MIDTHROW_AUDIO_TONE_H

#include <stddef.h>
#include <stdint.h>

enum audio_tone {
    AUDIO_TONE_HEARD,       /* something was heard and is obeyed */
    AUDIO_TONE_ACCEPTED,    /* an answer was taken */
    AUDIO_TONE_ASKED_AGAIN, /* not understood, or not sure */
    AUDIO_TONE_WRONG_KEY,   /* the pad's keys are no answer here */
    AUDIO_TONE_COUNT,
};

enum {
    AUDIO_TONE_MS_MAX = 240,
    AUDIO_TONE_RATE_MAX = 48000,
    AUDIO_TONE_FRAMES_MAX = AUDIO_TONE_RATE_MAX / 1000 * AUDIO_TONE_MS_MAX,
};
#define AUDIO_TONE_LEVEL 0.25 /* the usual amplitude, of full scale */

/* Renders one at 8000 .. AUDIO_TONE_RATE_MAX Hz and an amplitude of 0 .. 1; returns the frames, 0
 * for arguments that make no sense. `pcm` holds AUDIO_TONE_FRAMES_MAX. */
size_t audio_tone(enum audio_tone tone, int rate_hz, double amplitude, int16_t *pcm);

const char *audio_tone_name(enum audio_tone tone); /* "heard", "accepted", ... */

#endif
