/*
 * Where an utterance begins and where it pauses, in a workshop. Pure: frames of 10 ms in, a state
 * out; no clock and no memory of its own. It does not decide that an utterance has ended: how long
 * a pause may be hangs on the words before it, which the listener knows (listener.h).
 *
 *     struct speech_endpoint end;
 *     speech_endpoint_init(&end);
 *     switch (speech_endpoint_frame(&end, pcm, NULL)) {
 *     case SPEECH_PAUSING: ... end.pause_ms ...
 *     speech_endpoint_forget(&end);                  // the utterance is over
 *
 * A frame's power in six bands is held against each band's own noise floor, the smallest smoothed
 * power of the last 1.6 s (minimum statistics: Martin 2001, "Noise power spectral density
 * estimation based on optimal smoothing and minimum statistics", with one fixed bias), so that a
 * compressor or a fan that starts is floor again after that time. The frame holds speech when the
 * mean over the bands of the log likelihood ratio g - ln g - 1, g being power over floor, is above
 * a threshold (Sohn, Kim and Sung 1999, "A statistical model-based voice activity detection", eq. 5
 * and 6). A knock is short: an utterance begins only when most of the last 100 ms held speech.
 */
#ifndef MIDTHROW_SPEECH_ENDPOINT_H
#define MIDTHROW_SPEECH_ENDPOINT_H

#include <stdbool.h>
#include <stdint.h>

#include "speech/front.h"

enum {
    SPEECH_BANDS = 6,
    SPEECH_FRAME_MS = 10,
    SPEECH_SPAN = 256,        /* samples the bands are taken over: the frame and what was before */
    SPEECH_FLOOR_WINDOWS = 8, /* of 200 ms each */
};

/* The power in each band, of samples of full scale 32768; holds what one frame leaves for the
 * next. */
struct speech_bands {
    float span[SPEECH_SPAN];
    double power[SPEECH_BANDS];
};
double speech_bands_db(const struct speech_bands *bands); /* all together, of full scale */
void speech_bands_frame(struct speech_bands *bands, const int16_t pcm[SPEECH_FRAME]);

enum speech_endpoint_state {
    SPEECH_QUIET,
    SPEECH_TALKING,
    SPEECH_PAUSING, /* within an utterance: `pause_ms` says for how long */
};

struct speech_endpoint {
    enum speech_endpoint_state state;
    int utterance_ms; /* since it began; 0 while it is quiet */
    int speech_ms;    /* of that, frames that hold speech */
    int pause_ms;     /* since the last of those */
    int begun_ms;     /* how far back the utterance began when the state became SPEECH_TALKING */
    bool frame_is_speech;
    double level; /* mean power of the utterance's speech frames */

    /* its own business */
    struct speech_bands bands;
    double smooth[SPEECH_BANDS], floor[SPEECH_BANDS], least[SPEECH_FLOOR_WINDOWS][SPEECH_BANDS];
    unsigned frames;
    uint32_t history; /* a bit a frame, the newest lowest: did it hold speech? */
};

void speech_endpoint_init(struct speech_endpoint *end);

/* `own`: power in each band that may be left of midthrow's own voice (echo.h); NULL: it is silent.
 */
enum speech_endpoint_state speech_endpoint_frame(struct speech_endpoint *end,
                                                 const int16_t pcm[SPEECH_FRAME],
                                                 const double own[SPEECH_BANDS]);

/* The utterance is over or none of ours; what is known of the noise stays. */
void speech_endpoint_forget(struct speech_endpoint *end);

/* The noise, and the speech of this utterance, in dB of full scale. */
double speech_endpoint_noise_db(const struct speech_endpoint *end);
double speech_endpoint_speech_db(const struct speech_endpoint *end);

#endif
