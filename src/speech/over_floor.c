/* Band by band: see over_floor.h. */
#include "speech/over_floor.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_fft_real.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "speech/front.h"
#include "speech/recogniser.h"

enum { BANDS = 16, WINDOW = 512, SMOOTHED_STEPS = 2 };

static const double LEAST_HZ = 120, MOST_HZ = 7200, FLOOR_SHARE = 0.2;
static const double HANN_POWER = 3.0 / 8; /* the mean of the window's square */

/* Stevens and Volkmann's mel by O'Shaughnessy's formula, from memory. */
static double mel(double hz)
{
    return 2595 * log10(1 + hz / 700);
}

/* A window of 32 ms, and which band each of its spectrum's bins belongs to; BANDS: to none. */
struct plan {
    double hann[WINDOW];
    size_t band[WINDOW / 2], bins[BANDS];
};

static void make_plan(struct plan *plan)
{
    *plan = (struct plan){0};
    for (size_t i = 0; i < WINDOW; i++)
        plan->hann[i] = 0.5 - 0.5 * cos(2 * M_PI * ((double)i + 0.5) / WINDOW);
    for (size_t bin = 0; bin < WINDOW / 2; bin++) {
        double hz = (double)bin * SPEECH_RATE_HZ / WINDOW;
        double at = BANDS * (mel(hz) - mel(LEAST_HZ)) / (mel(MOST_HZ) - mel(LEAST_HZ));
        plan->band[bin] = at >= 0 && at < BANDS ? (size_t)at : BANDS;
        if (plan->band[bin] < BANDS)
            plan->bins[plan->band[bin]]++;
    }
}

/* The mean energy of each band's bins, by the window in the middle of the step. */
static void energies(const struct plan *plan, const int16_t *pcm, size_t steps, size_t step,
                     double *energy)
{
    double wave[WINDOW];
    long from = (long)(step * SPEECH_FRAME + SPEECH_FRAME / 2) - WINDOW / 2;
    for (long i = 0; i < WINDOW; i++) {
        bool inside = from + i >= 0 && from + i < (long)(steps * SPEECH_FRAME);
        wave[i] = inside ? plan->hann[i] * pcm[from + i] : 0;
    }
    gsl_fft_real_radix2_transform(wave, 1, WINDOW);
    for (size_t b = 0; b < BANDS; b++)
        energy[b] = 0;
    for (size_t bin = 1; bin < WINDOW / 2; bin++)
        if (plan->band[bin] < BANDS)
            energy[plan->band[bin]] +=
                wave[bin] * wave[bin] + wave[WINDOW - bin] * wave[WINDOW - bin];
    for (size_t b = 0; b < BANDS; b++)
        energy[b] /= (double)plan->bins[b];
}

/* One band's energies over its floor, smoothed, added to `level`. */
static void add_band(const double *energy, size_t steps, double *smooth, double *sorted,
                     double *level)
{
    for (size_t s = 0; s < steps; s++) {
        size_t from = s < SMOOTHED_STEPS ? 0 : s - SMOOTHED_STEPS, count = 0;
        smooth[s] = 0;
        for (size_t i = from; i < steps && i <= s + SMOOTHED_STEPS; i++, count++)
            smooth[s] += energy[i * BANDS];
        sorted[s] = smooth[s] /= (double)count;
    }
    gsl_sort(sorted, 1, steps);
    double floor = gsl_stats_quantile_from_sorted_data(sorted, 1, steps, FLOOR_SHARE);
    for (size_t s = 0; s < steps; s++)
        level[s] += smooth[s] / floor;
}

bool speech_over_floor(const int16_t *pcm, size_t steps, double hiss, double *level)
{
    double *energy = malloc(steps * BANDS * sizeof *energy);
    double *smooth = malloc(2 * steps * sizeof *smooth);
    bool made = energy != NULL && smooth != NULL;
    struct plan plan;
    make_plan(&plan);
    for (size_t s = 0; made && s < steps; s++) {
        energies(&plan, pcm, steps, s, energy + s * BANDS);
        for (size_t b = 0; b < BANDS; b++)
            energy[s * BANDS + b] += hiss * hiss * WINDOW * HANN_POWER;
        level[s] = 0;
    }
    for (size_t b = 0; made && b < BANDS; b++)
        add_band(energy + b, steps, smooth, smooth + steps, level);
    for (size_t s = 0; made && s < steps; s++)
        level[s] = 10 * log10(level[s] / BANDS);
    free(energy);
    free(smooth);
    return made;
}
