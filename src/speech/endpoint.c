/* The endpointer: see endpoint.h. One function a step, in the order the sound goes. */
#include "speech/endpoint.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_fft_real.h>

enum {
    WINDOW_FRAMES = 20,  /* of one of the floor's windows */
    ONSET_FRAMES = 10,   /* of the last so many ... */
    ONSET_SPEECH = 7,    /* ... so many hold speech: somebody speaks */
    WARM_UP_FRAMES = 20, /* a floor known for less time is none */
};

/* Edges of the bands in bins of 62.5 Hz: 187, 438, 812, 1500, 2500, 4000, 7000 Hz. Below the first
 * there is hum, above the last what a cheap microphone cuts. */
static const int edge[SPEECH_BANDS + 1] = {3, 7, 13, 24, 40, 64, 112};

static const double SMOOTHING = 0.8;    /* of the power whose minimum is the floor: 45 ms */
static const double FLOOR_BIAS = 1.8;   /* a minimum lies below the mean; from simulated noise */
static const double FLOOR_LEAST = 40;   /* power of a band that is digital silence for us */
static const double RATIO_MOST = 30;    /* one band alone does not make speech for ever */
static const double BEGIN_ABOVE = 0.9;  /* mean log likelihood ratio at which a frame is speech */
static const double GO_ON_ABOVE = 0.45; /* within an utterance: its ends are soft */
static const double OWN_MARGIN = 4;     /* speech over midthrow's own is 6 dB above what is left */

/* ---- bands -------------------------------------------------------------------------------- */

void speech_bands_frame(struct speech_bands *bands, const int16_t pcm[SPEECH_FRAME])
{
    memmove(bands->span, bands->span + SPEECH_FRAME,
            (SPEECH_SPAN - SPEECH_FRAME) * sizeof *bands->span);
    for (int i = 0; i < SPEECH_FRAME; i++)
        bands->span[SPEECH_SPAN - SPEECH_FRAME + i] = pcm[i];
    double wave[SPEECH_SPAN];
    for (int i = 0; i < SPEECH_SPAN; i++) /* Hann */
        wave[i] = (double)bands->span[i] * (0.5 - 0.5 * cos(2 * M_PI * (i + 0.5) / SPEECH_SPAN));
    gsl_fft_real_radix2_transform(wave, 1, SPEECH_SPAN);
    /* Parseval, both halves of the spectrum, the window's power of 3/8 taken out */
    const double scale = 2 / (0.375 * SPEECH_SPAN * SPEECH_SPAN);
    for (int b = 0; b < SPEECH_BANDS; b++) {
        double sum = 0;
        for (int k = edge[b]; k < edge[b + 1]; k++)
            sum += wave[k] * wave[k] + wave[SPEECH_SPAN - k] * wave[SPEECH_SPAN - k];
        bands->power[b] = sum * scale;
    }
}

static double decibels(double power)
{
    return 10 * log10(fmax(power, 1e-3) / (32768.0 * 32768.0));
}

static double sum_of(const double power[SPEECH_BANDS])
{
    double sum = 0;
    for (int b = 0; b < SPEECH_BANDS; b++)
        sum += power[b];
    return sum;
}

double speech_bands_db(const struct speech_bands *bands)
{
    return decibels(sum_of(bands->power));
}

/* ---- the floor ---------------------------------------------------------------------------- */

void speech_endpoint_init(struct speech_endpoint *end)
{
    memset(end, 0, sizeof *end);
    for (int w = 0; w < SPEECH_FLOOR_WINDOWS; w++)
        for (int b = 0; b < SPEECH_BANDS; b++)
            end->least[w][b] = HUGE_VAL;
}

/* A band in which midthrow itself may be louder than the floor teaches nothing of the noise. */
static void follow_floor(struct speech_endpoint *end, const double *own)
{
    unsigned window = end->frames / WINDOW_FRAMES % SPEECH_FLOOR_WINDOWS;
    bool begins = end->frames % WINDOW_FRAMES == 0;
    for (int b = 0; b < SPEECH_BANDS; b++) {
        double power = fmax(end->bands.power[b], FLOOR_LEAST);
        double kept = end->frames == 0 ? 0 : SMOOTHING;
        end->smooth[b] = kept * end->smooth[b] + (1 - kept) * power;
        bool masked = own != NULL && own[b] > end->floor[b] && end->floor[b] > 0;
        double least = begins ? HUGE_VAL : end->least[window][b];
        end->least[window][b] =
            fmin(least, masked ? fmax(end->floor[b] / FLOOR_BIAS, FLOOR_LEAST) : end->smooth[b]);
        double all = HUGE_VAL;
        for (int w = 0; w < SPEECH_FLOOR_WINDOWS; w++)
            all = fmin(all, end->least[w][b]);
        end->floor[b] = all * FLOOR_BIAS;
    }
    end->frames++;
}

/* ---- speech ------------------------------------------------------------------------------- */

static bool holds_speech(const struct speech_endpoint *end, const double *own)
{
    double sum = 0;
    for (int b = 0; b < SPEECH_BANDS; b++) {
        double noise = end->floor[b];
        if (own != NULL)
            noise = fmax(noise, OWN_MARGIN * own[b]);
        double ratio = fmin(end->bands.power[b] / noise, RATIO_MOST);
        if (ratio > 1)
            sum += ratio - log(ratio) - 1;
    }
    return sum / SPEECH_BANDS > (end->state == SPEECH_QUIET ? BEGIN_ABOVE : GO_ON_ABOVE);
}

static int frames_of_speech(uint32_t history, int frames)
{
    return __builtin_popcount(history & ((1u << frames) - 1));
}

static void begin(struct speech_endpoint *end)
{
    int first = ONSET_FRAMES - 1;
    while ((end->history >> first & 1) == 0)
        first--;
    end->state = SPEECH_TALKING;
    end->begun_ms = (first + 1) * SPEECH_FRAME_MS;
    end->utterance_ms = end->begun_ms;
    end->speech_ms = frames_of_speech(end->history, ONSET_FRAMES) * SPEECH_FRAME_MS;
    end->pause_ms = 0;
    end->level = sum_of(end->bands.power);
}

static void go_on(struct speech_endpoint *end)
{
    end->utterance_ms += SPEECH_FRAME_MS;
    /* One frame of a knock does not end a pause; two of the last three do. */
    if (end->frame_is_speech && frames_of_speech(end->history, 3) >= 2) {
        end->speech_ms += SPEECH_FRAME_MS;
        end->pause_ms = 0;
        end->state = SPEECH_TALKING;
        end->level += (sum_of(end->bands.power) - end->level) * SPEECH_FRAME_MS / end->speech_ms;
        return;
    }
    end->pause_ms += SPEECH_FRAME_MS;
    end->state = SPEECH_PAUSING;
}

enum speech_endpoint_state speech_endpoint_frame(struct speech_endpoint *end,
                                                 const int16_t pcm[SPEECH_FRAME],
                                                 const double own[SPEECH_BANDS])
{
    speech_bands_frame(&end->bands, pcm);
    follow_floor(end, own);
    end->frame_is_speech = end->frames > WARM_UP_FRAMES && holds_speech(end, own);
    end->history = end->history << 1 | end->frame_is_speech;
    if (end->state != SPEECH_QUIET)
        go_on(end);
    else if (frames_of_speech(end->history, ONSET_FRAMES) >= ONSET_SPEECH)
        begin(end);
    return end->state;
}

void speech_endpoint_forget(struct speech_endpoint *end)
{
    end->state = SPEECH_QUIET;
    end->utterance_ms = end->speech_ms = end->pause_ms = end->begun_ms = 0;
    end->history = 0;
    end->level = 0;
}

double speech_endpoint_noise_db(const struct speech_endpoint *end)
{
    return decibels(sum_of(end->floor));
}

double speech_endpoint_speech_db(const struct speech_endpoint *end)
{
    return decibels(end->level);
}
