/*
 * midthrow's own voice out of what the microphone heard: speexdsp's adaptive filter (MDF; Soo and
 * Pang 1990, Valin 2007 "On adjusting the learning rate in frequency domain echo cancellation with
 * double-talk") and its suppression of what the filter leaves. And how much may still be left, band
 * by band, so that what is not clearly more than that is not taken for somebody's speech.
 *
 *     speech_echo_frame(echo, heard, played, somebody_speaks, clean);
 *     const double *own = speech_echo_left(echo);       // for speech_endpoint_frame
 *
 * While midthrow is silent, and was for longer than a room rings, the sound goes through untouched.
 */
#ifndef MIDTHROW_SPEECH_ECHO_H
#define MIDTHROW_SPEECH_ECHO_H

#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "speech/endpoint.h"

enum { SPEECH_ECHO_TAIL_MS = 320 }; /* the longest delay and ring of the room that is cancelled */

struct speech_echo;

struct speech_echo *speech_echo_create(struct fault *fault);
void speech_echo_destroy(struct speech_echo *echo);

/* One frame of 10 ms; `clean` may be `heard`. While `somebody_speaks` what is left is not taken for
 * midthrow's own. */
void speech_echo_frame(struct speech_echo *echo, const int16_t heard[SPEECH_FRAME],
                       const int16_t played[SPEECH_FRAME], bool somebody_speaks,
                       int16_t clean[SPEECH_FRAME]);

/* Since midthrow's own sound last left the speaker; up to as long as a room may ring. */
int speech_echo_silent_ms(const struct speech_echo *echo);

/* Power in each band that may be midthrow's own in the last frame; NULL: it was silent. */
const double *speech_echo_left(const struct speech_echo *echo);

#endif
