/* The speaker in the microphone: see echo.h. */
#include "survey/echo.h"

#include <math.h>

#include "survey/level.h"

#define PI 3.14159265358979323846

void survey_sweep(int16_t *pcm, size_t n, int rate_hz)
{
    static const double from_hz = 300, to_hz = 3400;
    const double amplitude = 32767 * pow(10, -15.0 / 20), seconds = (double)n / rate_hz;
    const double fade = 0.05 * rate_hz;
    for (size_t i = 0; i < n; i++) {
        double t = (double)i / rate_hz;
        double phase = 2 * PI * (from_hz * t + (to_hz - from_hz) * t * t / (2 * seconds));
        double edge = (double)(i < n - 1 - i ? i : n - 1 - i);
        double gain = edge < fade ? edge / fade : 1;
        pcm[i] = (int16_t)lrint(amplitude * gain * sin(phase));
    }
}

static double energy(const int16_t *pcm, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += (double)pcm[i] * pcm[i];
    return sum;
}

/* The best of all delays: sum of products over the root of both energies. */
static double best_fit(const int16_t *played, const int16_t *heard, size_t n, size_t lags,
                       double whole, size_t *delay)
{
    double best = 0;
    *delay = 0;
    for (size_t lag = 0; lag < lags; lag++) {
        double sum = 0;
        for (size_t i = 0; i + lag < n; i++)
            sum += (double)played[i] * heard[i + lag];
        if (fabs(sum) > fabs(best)) {
            best = sum;
            *delay = lag;
        }
    }
    return whole > 0 ? fabs(best) / whole : 0;
}

struct survey_echo survey_echo(const int16_t *played, const int16_t *heard, size_t n, int rate_hz,
                               double noise_db)
{
    /* Noise of the sweep's length and band fits it to about 2/sqrt(n) by chance; reverberation and
     * noise 15 dB louder still leave a fit of this (judgement, no source). */
    static const double found = 0.05;
    struct survey_echo echo = {.db = SURVEY_SILENCE_DB};
    size_t lags = (size_t)rate_hz / 2, delay;
    double out = energy(played, n), in = energy(heard, n);
    if (out <= 0 || in <= 0)
        return echo;
    echo.likeness = best_fit(played, heard, n, lags < n ? lags : n, sqrt(out * in), &delay);
    echo.heard = echo.likeness >= found;
    if (!echo.heard)
        return echo;
    double noise = pow(10, (noise_db - 3.0102999566398120) / 10) * 32768.0 * 32768.0 * (double)n;
    double rest = in - noise;
    /* what is left under loud noise is no measure: the fit's own share is */
    double fitted = echo.likeness * echo.likeness * in;
    echo.db = 10 * log10((rest > fitted ? rest : fitted) / out);
    echo.delay_ms = 1000.0 * (double)delay / rate_hz;
    return echo;
}
