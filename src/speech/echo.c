/* The echo canceller: see echo.h. */
#include "speech/echo.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <speex/speex_echo.h>
#include <speex/speex_preprocess.h>

#include "speech/recogniser.h"

enum {
    TAIL_SAMPLES = SPEECH_RATE_HZ / 1000 * SPEECH_ECHO_TAIL_MS,
    RINGS_FRAMES = 60, /* the room may ring for so long after the last sound */
    AUDIBLE = 8,       /* a played sample above this is sound */
};

/* What is left follows the played sound through a room that rings for half a second or so (-60 dB):
 * 1.2 dB less each frame. */
static const double RING = 0.76;
/* The share of it that is left: a high quantile (Robbins and Monro's stochastic approximation), not
 * the mean, for the mean would be exceeded half of the time. Before anything is learned everything
 * may be left. */
static const double LEFT_FIRST_DB = 3, LEFT_LEAST_DB = -50;
static const double LEFT_UP_DB = 0.6, LEFT_DOWN_DB = 0.06; /* a frame: the 91st percentile */

struct speech_echo {
    SpeexEchoState *filter;
    SpeexPreprocessState *suppressor;
    int since_played; /* frames */
    struct speech_bands played, clean;
    double ringing[SPEECH_BANDS];
    double left_db[SPEECH_BANDS]; /* over `ringing` */
    double left[SPEECH_BANDS];
};

static void set(SpeexPreprocessState *state, int what, spx_int32_t value)
{
    speex_preprocess_ctl(state, what, &value);
}

struct speech_echo *speech_echo_create(struct fault *fault)
{
    struct speech_echo *echo = calloc(1, sizeof *echo);
    if (echo != NULL) {
        echo->filter = speex_echo_state_init(SPEECH_FRAME, TAIL_SAMPLES);
        echo->suppressor = speex_preprocess_state_init(SPEECH_FRAME, SPEECH_RATE_HZ);
    }
    if (echo == NULL || echo->filter == NULL || echo->suppressor == NULL) {
        speech_echo_destroy(echo);
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    spx_int32_t rate = SPEECH_RATE_HZ;
    speex_echo_ctl(echo->filter, SPEEX_ECHO_SET_SAMPLING_RATE, &rate);
    /* "denoise" by 0 dB: without it the library leaves the echo alone as well */
    set(echo->suppressor, SPEEX_PREPROCESS_SET_DENOISE, 1);
    set(echo->suppressor, SPEEX_PREPROCESS_SET_NOISE_SUPPRESS, 0);
    set(echo->suppressor, SPEEX_PREPROCESS_SET_ECHO_SUPPRESS, -40);
    set(echo->suppressor, SPEEX_PREPROCESS_SET_ECHO_SUPPRESS_ACTIVE, -15);
    speex_preprocess_ctl(echo->suppressor, SPEEX_PREPROCESS_SET_ECHO_STATE, echo->filter);
    echo->since_played = RINGS_FRAMES;
    for (int b = 0; b < SPEECH_BANDS; b++)
        echo->left_db[b] = LEFT_FIRST_DB;
    return echo;
}

void speech_echo_destroy(struct speech_echo *echo)
{
    if (echo == NULL)
        return;
    if (echo->filter != NULL)
        speex_echo_state_destroy(echo->filter);
    if (echo->suppressor != NULL)
        speex_preprocess_state_destroy(echo->suppressor);
    free(echo);
}

static bool is_sound(const int16_t pcm[SPEECH_FRAME])
{
    for (int i = 0; i < SPEECH_FRAME; i++)
        if (pcm[i] > AUDIBLE || pcm[i] < -AUDIBLE)
            return true;
    return false;
}

static void learn_what_is_left(struct speech_echo *echo, bool somebody_speaks)
{
    for (int b = 0; b < SPEECH_BANDS; b++) {
        echo->ringing[b] = fmax(RING * echo->ringing[b], echo->played.power[b]);
        bool loud = echo->ringing[b] > 1e4; /* else the room's own noise is what is measured */
        double db = 10 * log10((echo->clean.power[b] + 1) / (echo->ringing[b] + 1));
        double *left = &echo->left_db[b];
        if (loud && !somebody_speaks)
            *left = fmax(LEFT_LEAST_DB, db > *left ? *left + LEFT_UP_DB : *left - LEFT_DOWN_DB);
        *left = fmin(*left, LEFT_FIRST_DB);
        echo->left[b] = echo->ringing[b] * pow(10, *left / 10);
    }
}

void speech_echo_frame(struct speech_echo *echo, const int16_t heard[SPEECH_FRAME],
                       const int16_t played[SPEECH_FRAME], bool somebody_speaks,
                       int16_t clean[SPEECH_FRAME])
{
    echo->since_played = is_sound(played) ? 0 : echo->since_played + 1;
    if (echo->since_played >= RINGS_FRAMES) {
        echo->since_played = RINGS_FRAMES;
        memmove(clean, heard, SPEECH_FRAME * sizeof *clean);
        return;
    }
    int16_t cancelled[SPEECH_FRAME];
    speex_echo_cancellation(echo->filter, heard, played, cancelled);
    speex_preprocess_run(echo->suppressor, cancelled);
    memcpy(clean, cancelled, sizeof cancelled);
    speech_bands_frame(&echo->played, played);
    speech_bands_frame(&echo->clean, clean);
    learn_what_is_left(echo, somebody_speaks);
}

const double *speech_echo_left(const struct speech_echo *echo)
{
    return echo->since_played >= RINGS_FRAMES ? NULL : echo->left;
}

int speech_echo_silent_ms(const struct speech_echo *echo)
{
    return echo->since_played * SPEECH_FRAME_MS;
}
