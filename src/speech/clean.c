/* Steady noise taken off cepstra: see clean.h. The steps below are in the order the data flows. */
#include "speech/clean.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "speech/vector.h"

enum {
    BANDS = 25,       /* feat.params: -nfilt 25 */
    LIFTER = 22,      /* -lifter 22 */
    ROUNDS = 3,       /* of estimating the utterance's mean and moving the Gaussians by it */
    NOISE_FRAMES = 8, /* fewer say too little about the noise */
    BLOCK = 8,        /* Gaussians done at once */
};

static const double NEGLIGIBLE = 12; /* nats under the frame's best Gaussian */
static const double FLOOR = 0.1;     /* of a band's power, left by the first, crude subtraction */
static const double LEAST_SPREAD = 0.05; /* variance of noise: dither's would be trusted too far */

struct noise {
    double mean[SPEECH_CEPSTRA], variance[SPEECH_CEPSTRA];
    float band[BANDS]; /* its mean, as log power in each band */
};

/* The Gaussians as they are in this noise. */
struct moved {
    float *mean[SPEECH_CEPSTRA], *half_precision[SPEECH_CEPSTRA], *peak;
    float *shift[SPEECH_CEPSTRA]; /* what the noise added to each cepstrum */
    float *store;
};

struct transform {
    float to_cepstra[SPEECH_CEPSTRA][BANDS], to_bands[BANDS][SPEECH_CEPSTRA];
};

/* ---- bands and cepstra ---- */

/* The orthonormal DCT-II and its lifter, 1 + L/2 sin(pi n / L) (sphinxbase's fe_dct2, fe_lifter).
 */
static void make_transform(struct transform *t)
{
    static const double PI = 3.14159265358979323846;
    for (int c = 0; c < SPEECH_CEPSTRA; c++) {
        double lift = 1 + LIFTER / 2.0 * sin(PI * c / LIFTER);
        double scale = sqrt((c == 0 ? 1.0 : 2.0) / BANDS);
        for (int b = 0; b < BANDS; b++) {
            double wave = scale * cos(PI * c * (b + 0.5) / BANDS);
            t->to_cepstra[c][b] = (float)(wave * lift);
            t->to_bands[b][c] = (float)(wave / lift);
        }
    }
}

static float band_of(const struct transform *t, int band, const float cepstra[SPEECH_CEPSTRA])
{
    float sum = 0;
    for (int c = 0; c < SPEECH_CEPSTRA; c++)
        sum += t->to_bands[band][c] * cepstra[c];
    return sum;
}

/* ---- the noise ---- */

static bool measure_noise(const struct transform *t, float (*cepstra)[SPEECH_CEPSTRA],
                          const unsigned char *kind, size_t frames, struct noise *noise)
{
    double sum[SPEECH_CEPSTRA] = {0}, squares[SPEECH_CEPSTRA] = {0};
    size_t count = 0;
    for (size_t f = 0; f < frames; f++) {
        if (kind[f] != SPEECH_FRAME_NOISE)
            continue;
        for (int c = 0; c < SPEECH_CEPSTRA; c++) {
            sum[c] += (double)cepstra[f][c];
            squares[c] += (double)cepstra[f][c] * (double)cepstra[f][c];
        }
        count++;
    }
    if (count < NOISE_FRAMES)
        return false;
    float mean[SPEECH_CEPSTRA];
    for (int c = 0; c < SPEECH_CEPSTRA; c++) {
        noise->mean[c] = sum[c] / (double)count;
        noise->variance[c] =
            fmax(LEAST_SPREAD, squares[c] / (double)count - noise->mean[c] * noise->mean[c]);
        mean[c] = (float)noise->mean[c];
    }
    for (int b = 0; b < BANDS; b++)
        noise->band[b] = band_of(t, b, mean);
    return true;
}

/* A first mean of the clean cepstra: the noise's power taken off each band of each frame. */
static void subtract(const struct transform *t, const struct noise *noise,
                     const float noisy[SPEECH_CEPSTRA], float clean[SPEECH_CEPSTRA])
{
    float band[BANDS];
    for (int b = 0; b < BANDS; b++) {
        float level = band_of(t, b, noisy);
        double left = 1 - exp((double)(noise->band[b] - level));
        band[b] = level + (float)log(fmax(FLOOR, left));
    }
    for (int c = 0; c < SPEECH_CEPSTRA; c++) {
        clean[c] = 0;
        for (int b = 0; b < BANDS; b++)
            clean[c] += t->to_cepstra[c][b] * band[b];
    }
}

/* ---- the Gaussians, moved ---- */

static bool make_moved(struct moved *moved, size_t count)
{
    moved->store = malloc((3 * SPEECH_CEPSTRA + 1) * count * sizeof *moved->store);
    if (moved->store == NULL)
        return false;
    float *at = moved->store;
    for (int c = 0; c < SPEECH_CEPSTRA; c++, at += 3 * count) {
        moved->mean[c] = at;
        moved->half_precision[c] = at + count;
        moved->shift[c] = at + 2 * count;
    }
    moved->peak = at;
    return true;
}

/* Gaussians k .. k+BLOCK-1: the shift of their means, and how much of the speech's spread is left
 * in each band (`left`). */
SPEECH_VECTORS
static void shift_block(const struct transform *t, const struct speech_prior *prior, size_t k,
                        const double mean[SPEECH_CEPSTRA], const struct noise *noise,
                        struct moved *moved, float left[BANDS][BLOCK])
{
    float added[BANDS][BLOCK];
    for (int b = 0; b < BANDS; b++) {
        float level[BLOCK] = {0};
        for (int c = 0; c < SPEECH_CEPSTRA; c++)
            for (int i = 0; i < BLOCK; i++)
                level[i] += t->to_bands[b][c] * (prior->mean[c][k + (size_t)i] + (float)mean[c]);
        for (int i = 0; i < BLOCK; i++) {
            float over = expf(fminf(noise->band[b] - level[i], 60));
            added[b][i] = logf(1 + over);
            left[b][i] = 1 / (1 + over);
        }
    }
    for (int c = 0; c < SPEECH_CEPSTRA; c++) {
        float shift[BLOCK] = {0};
        for (int b = 0; b < BANDS; b++)
            for (int i = 0; i < BLOCK; i++)
                shift[i] += t->to_cepstra[c][b] * added[b][i];
        for (int i = 0; i < BLOCK; i++) {
            moved->shift[c][k + (size_t)i] = shift[i];
            moved->mean[c][k + (size_t)i] =
                prior->mean[c][k + (size_t)i] + (float)mean[c] + shift[i];
        }
    }
}

/* The diagonal of G S G' + (1 - G) N (1 - G)', G = C left D: speech's spread S and noise's N as
 * they come through. */
SPEECH_VECTORS
static void widen_block(const struct transform *t, const struct speech_prior *prior, size_t k,
                        const struct noise *noise, float left[BANDS][BLOCK], struct moved *moved)
{
    for (int c = 0; c < SPEECH_CEPSTRA; c++) {
        float spread[BLOCK] = {0};
        for (int d = 0; d < SPEECH_CEPSTRA; d++) {
            float through[BLOCK] = {0};
            for (int b = 0; b < BANDS; b++)
                for (int i = 0; i < BLOCK; i++)
                    through[i] += t->to_cepstra[c][b] * t->to_bands[b][d] * left[b][i];
            for (int i = 0; i < BLOCK; i++) {
                float rest = (c == d ? 1.0f : 0.0f) - through[i];
                spread[i] += through[i] * through[i] * prior->variance[d][k + (size_t)i] +
                             rest * rest * (float)noise->variance[d];
            }
        }
        for (int i = 0; i < BLOCK; i++) {
            moved->half_precision[c][k + (size_t)i] = 0.5f / spread[i];
            moved->peak[k + (size_t)i] -= 0.5f * logf(spread[i]);
        }
    }
}

static void move_gaussians(const struct transform *t, const struct speech_prior *prior,
                           const double mean[SPEECH_CEPSTRA], const struct noise *noise,
                           struct moved *moved)
{
    memcpy(moved->peak, prior->log_weight, prior->count * sizeof *moved->peak);
    for (size_t k = 0; k < prior->count; k += BLOCK) {
        float left[BANDS][BLOCK];
        shift_block(t, prior, k, mean, noise, moved, left);
        widen_block(t, prior, k, noise, left, moved);
    }
}

/* ---- the frames, cleaned ---- */

SPEECH_VECTORS
static void fit_frame(const struct moved *moved, size_t count, const float noisy[SPEECH_CEPSTRA],
                      float *restrict nats)
{
    for (size_t k = 0; k < count; k++)
        nats[k] = moved->peak[k];
    for (int c = 0; c < SPEECH_CEPSTRA; c++) {
        const float *restrict mean = moved->mean[c];
        const float *restrict half_precision = moved->half_precision[c];
        for (size_t k = 0; k < count; k++) {
            float apart = noisy[c] - mean[k];
            nats[k] -= apart * apart * half_precision[k];
        }
    }
}

static void clean_frame(const struct moved *moved, size_t count, float *nats,
                        const float noisy[SPEECH_CEPSTRA], float clean[SPEECH_CEPSTRA])
{
    fit_frame(moved, count, noisy, nats);
    float most = nats[0];
    for (size_t k = 1; k < count; k++)
        most = nats[k] > most ? nats[k] : most;
    double sum = 0, shift[SPEECH_CEPSTRA] = {0};
    for (size_t k = 0; k < count; k++) {
        if (!((double)(most - nats[k]) < NEGLIGIBLE))
            continue;
        double weight = (double)expf(nats[k] - most);
        sum += weight;
        for (int c = 0; c < SPEECH_CEPSTRA; c++)
            shift[c] += weight * (double)moved->shift[c][k];
    }
    for (int c = 0; c < SPEECH_CEPSTRA; c++)
        clean[c] = noisy[c] - (float)(sum > 0 ? shift[c] / sum : 0);
}

static void mean_of_speech(float (*clean)[SPEECH_CEPSTRA], const unsigned char *kind, size_t frames,
                           const double start[SPEECH_CEPSTRA], double start_frames,
                           double mean[SPEECH_CEPSTRA])
{
    double weight = start_frames;
    for (int c = 0; c < SPEECH_CEPSTRA; c++)
        mean[c] = start[c] * start_frames;
    for (size_t f = 0; f < frames; f++) {
        if (kind[f] != SPEECH_FRAME_SPEECH)
            continue;
        for (int c = 0; c < SPEECH_CEPSTRA; c++)
            mean[c] += (double)clean[f][c];
        weight += 1;
    }
    for (int c = 0; c < SPEECH_CEPSTRA; c++)
        mean[c] /= weight;
}

bool speech_clean(const struct speech_prior *prior, float (*cepstra)[SPEECH_CEPSTRA],
                  const unsigned char *kind, size_t frames, const double start[SPEECH_CEPSTRA],
                  double start_frames)
{
    struct transform transform;
    struct noise noise;
    struct moved moved = {0};
    double mean[SPEECH_CEPSTRA];
    make_transform(&transform);
    if (!measure_noise(&transform, cepstra, kind, frames, &noise))
        return false;
    float(*clean)[SPEECH_CEPSTRA] = malloc(frames * sizeof *clean);
    float *nats = malloc(prior->count * sizeof *nats);
    bool made = clean != NULL && nats != NULL && make_moved(&moved, prior->count);
    if (made) {
        for (size_t f = 0; f < frames; f++)
            subtract(&transform, &noise, cepstra[f], clean[f]);
        for (int round = 0; round < ROUNDS; round++) {
            mean_of_speech(clean, kind, frames, start, start_frames, mean);
            move_gaussians(&transform, prior, mean, &noise, &moved);
            for (size_t f = 0; f < frames; f++)
                if (kind[f] == SPEECH_FRAME_SPEECH ||
                    (round == ROUNDS - 1 && kind[f] == SPEECH_FRAME_NOISE))
                    clean_frame(&moved, prior->count, nats, cepstra[f], clean[f]);
        }
        for (size_t f = 0; f < frames; f++)
            if (kind[f] != SPEECH_FRAME_OUTSIDE)
                memcpy(cepstra[f], clean[f], sizeof *clean);
    }
    free(moved.store);
    free(nats);
    free(clean);
    return made;
}
