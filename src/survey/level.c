/* Levels: see level.h. */
#include "survey/level.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FULL_SCALE 32768.0
#define SINE_DB 3.0102999566398120 /* 20 log10 sqrt 2: a full-scale sine is 0 */

static double db_of_power(double power)
{
    if (power <= 0)
        return SURVEY_SILENCE_DB;
    double db = 10 * log10(power / (FULL_SCALE * FULL_SCALE)) + SINE_DB;
    return db > SURVEY_SILENCE_DB ? db : SURVEY_SILENCE_DB;
}

static double power_of(const int16_t *pcm, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += (double)pcm[i] * pcm[i];
    return n == 0 ? 0 : sum / (double)n;
}

double survey_level_db(const int16_t *pcm, size_t n)
{
    return db_of_power(power_of(pcm, n));
}

/* ---- noise floor -------------------------------------------------------------------------- */

static int by_size(const void *a, const void *b)
{
    double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

static bool is_one_value(const int16_t *pcm, size_t n)
{
    for (size_t i = 1; i < n; i++)
        if (pcm[i] != pcm[0])
            return false;
    return true;
}

struct survey_floor survey_floor(const int16_t *pcm, size_t n, int rate_hz)
{
    struct survey_floor floor = {SURVEY_SILENCE_DB, SURVEY_SILENCE_DB, is_one_value(pcm, n)};
    size_t block = (size_t)rate_hz / 50, blocks = n / block;
    double *power = blocks == 0 ? NULL : malloc(blocks * sizeof *power);
    if (power == NULL)
        return floor;
    for (size_t i = 0; i < blocks; i++)
        power[i] = power_of(pcm + i * block, block);
    qsort(power, blocks, sizeof *power, by_size);
    floor.level_db = db_of_power(power[blocks / 2]);
    floor.peak_db = db_of_power(power[blocks - 1]);
    free(power);
    return floor;
}

/* ---- clipping ----------------------------------------------------------------------------- */

static int magnitude(int16_t sample)
{
    return sample < 0 ? -(int)sample : sample;
}

struct survey_clipping survey_clipping(const int16_t *pcm, size_t n)
{
    enum { FLAT = 3, END = 32700 };
    struct survey_clipping clipping = {0, 0};
    size_t samples = 0;
    for (size_t i = 0; i < n;) {
        size_t length = 0;
        while (i + length < n && magnitude(pcm[i + length]) >= END &&
               (pcm[i + length] > 0) == (pcm[i] > 0))
            length++;
        if (length >= FLAT) {
            clipping.stretches++;
            samples += length;
        }
        i += length > 0 ? length : 1;
    }
    clipping.share = n == 0 ? 0 : (double)samples / (double)n;
    return clipping;
}

/* ---- speech ------------------------------------------------------------------------------- */

/* ITU-T P.56, method B: an envelope through two exponential averages of 30 ms; for thresholds a
 * factor of two apart, how long it was above, a hangover of 200 ms included; the level is where the
 * level of what is above lies 15.9 dB over its threshold. */
struct survey_speech survey_speech(const int16_t *pcm, size_t n, int rate_hz)
{
    enum { THRESHOLDS = 15 }; /* 2^0 to 2^14 of full scale 2^15 */
    static const double margin_db = 15.9;
    const double g = exp(-1.0 / (rate_hz * 0.03));
    const size_t hangover = (size_t)rate_hz / 5;
    size_t active[THRESHOLDS] = {0}, since[THRESHOLDS];
    double first = 0, envelope = 0, energy = power_of(pcm, n) * (double)n;
    struct survey_speech speech = {SURVEY_SILENCE_DB, 0};
    for (size_t j = 0; j < THRESHOLDS; j++)
        since[j] = hangover;
    for (size_t i = 0; i < n; i++) {
        first = g * first + (1 - g) * magnitude(pcm[i]);
        envelope = g * envelope + (1 - g) * first;
        double threshold = 1;
        for (size_t j = 0; j < THRESHOLDS; j++) {
            since[j] = envelope >= threshold ? 0 : since[j] + 1;
            active[j] += since[j] < hangover;
            threshold *= 2;
        }
    }
    double before_db = 0, before_level = 0, before_active = 0;
    for (size_t j = 0; j < THRESHOLDS && active[j] > 0; j++) {
        double level = db_of_power(energy / (double)active[j]);
        double threshold = 20 * log10(ldexp(1, (int)j) / FULL_SCALE) + SINE_DB;
        double over_db = level - threshold - margin_db;
        double share = (double)active[j] / (double)n;
        if (over_db <= 0) { /* crossed between this threshold and the one before */
            double part = j == 0 || before_db <= over_db ? 1 : before_db / (before_db - over_db);
            speech.level_db = j == 0 ? level : before_level + part * (level - before_level);
            speech.activity = j == 0 ? share : before_active + part * (share - before_active);
            return speech;
        }
        before_db = over_db;
        before_level = level;
        before_active = share;
    }
    return speech;
}
