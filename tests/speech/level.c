/* Active speech level and mixing: see level.h. The names in P.56 are given beside ours. */
#include "level.h"

#include <math.h>

#include "speech/recogniser.h"

enum { THRESHOLDS = 15 }; /* 6 dB apart, from one step of 16 bits up to half of full scale: c_j */

static const double SMOOTHING_S = 0.03; /* T: of each of the envelope's two averages */
static const double HANGOVER_S = 0.2;   /* H: gaps shorter than this are within speech */
static const double MARGIN_DB = 15.9;   /* M: between speech and the threshold it is counted over */

struct activity {
    double power;                /* sq: sum over all samples, of full scale 1 */
    size_t over[THRESHOLDS];     /* a_j: samples that count as speech at this threshold */
    size_t hangover[THRESHOLDS]; /* h_j: samples since it was exceeded */
};

static double threshold(int j)
{
    return ldexp(1, j - THRESHOLDS);
}

static void count_activity(const int16_t *pcm, size_t frames, struct activity *activity)
{
    const double keep = exp(-1 / (SPEECH_RATE_HZ * SMOOTHING_S)); /* g */
    const size_t hang = (size_t)ceil(HANGOVER_S * SPEECH_RATE_HZ);
    double once = 0, twice = 0; /* p, q */
    *activity = (struct activity){0};
    for (int j = 0; j < THRESHOLDS; j++)
        activity->hangover[j] = hang; /* nobody has spoken yet */
    for (size_t i = 0; i < frames; i++) {
        double x = pcm[i] / 32768.0;
        activity->power += x * x;
        once = keep * once + (1 - keep) * fabs(x);
        twice = keep * twice + (1 - keep) * once;
        for (int j = 0; j < THRESHOLDS; j++) {
            if (twice >= threshold(j))
                activity->hangover[j] = 0;
            else if (activity->hangover[j] < hang)
                activity->hangover[j]++;
            else
                break; /* nor any higher one */
            activity->over[j]++;
        }
    }
}

/* Raising the threshold raises the level of what is over it, but more slowly; where the two are
 * MARGIN_DB apart, speech has been told from pauses. */
double level_active_db(const int16_t *pcm, size_t frames, double *active)
{
    struct activity activity;
    double before_db = 0, before_gap = 0;
    count_activity(pcm, frames, &activity);
    for (int j = 0; j < THRESHOLDS && activity.over[j] > 0; j++) {
        double db = 10 * log10(activity.power / (double)activity.over[j]);
        double gap = db - 20 * log10(threshold(j)) - MARGIN_DB;
        if (gap > 0) {
            before_db = db;
            before_gap = gap;
            continue;
        }
        if (j > 0)
            db += (before_db - db) * -gap / (before_gap - gap);
        if (active != NULL)
            *active = activity.power / (double)frames / pow(10, db / 10);
        return db;
    }
    if (active != NULL)
        *active = 0;
    return -HUGE_VAL;
}

double level_rms(const double *samples, size_t frames)
{
    double power = 0;
    for (size_t i = 0; i < frames; i++)
        power += samples[i] * samples[i];
    return frames == 0 ? 0 : sqrt(power / (double)frames);
}

static int16_t clip(double sample)
{
    return (int16_t)lrint(fmax(-32768, fmin(32767, sample)));
}

bool level_set(struct recording *recording, double level_db)
{
    double now_db = level_active_db(recording->pcm, recording->frames, NULL);
    if (!isfinite(now_db))
        return false;
    double gain = pow(10, (level_db - now_db) / 20);
    for (size_t i = 0; i < recording->frames; i++)
        recording->pcm[i] = clip(gain * recording->pcm[i]);
    return true;
}

bool level_mix(struct recording *recording, const double *noise, double snr_db)
{
    double speech_db = level_active_db(recording->pcm, recording->frames, NULL);
    double rms = level_rms(noise, recording->frames);
    if (!isfinite(speech_db) || !(rms > 0))
        return false;
    double gain = 32768 * pow(10, (speech_db - snr_db) / 20) / rms;
    for (size_t i = 0; i < recording->frames; i++)
        recording->pcm[i] = clip(recording->pcm[i] + gain * noise[i]);
    return true;
}
