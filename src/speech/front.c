/*
 * From a recording to what the recogniser gets: where speech is, how loud, how far above the floor.
 *
 * Three things that measurably mattered (tests/speech/bench.c prints the figures): exact zeros
 * wreck the recogniser's noise estimate, so nothing is ever exactly zero; the mean cepstrum must be
 * taken over speech, so long silences are cut; words that start with the file need some quiet
 * before them.
 */
#include "speech/front.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_sort.h>

#include "base/random.h"
#include "speech/over_floor.h"

enum {
    PAD_STEPS = 20,   /* quiet kept or put on each side of the speech */
    SMOOTH_STEPS = 4, /* gaps this short belong to the speech around them, four times over */
};

static const double LEVEL = 2300; /* wanted RMS of speech, -23 dB of full scale (ITU-T P.56: -26) */
static const double LEVEL_GAIN_MAX = 100;
static const double DITHER = 6.0;      /* RMS of the dither in 16-bit steps: -75 dB of full scale */
static const double OVER_FLOOR_DB = 6; /* speech is at least so far above the floor */
static const double OVER_FLOOR_PART = 0.3; /* and this part of the way from floor to peak, in dB */
/* Where energy as a whole rises less than this, bands are looked at one by one, and a voice is so
 * far, and this part of the way, over their floors. */
static const double NOISY_DB = 22, OVER_NOISE_DB = 1.5, OVER_NOISE_PART = 0.17;
/* From so far below the loudest on, nats for each dB, and the most of them: test_recogniser.c has
 * what that does to answers over another's talk. */
static const double HUSHED_FROM_DB = 14, HUSHED_A_DB = 1, HUSHED_MOST = 12;
static const double AUDIBLE_RMS = 8; /* a "speech" level below this is a dead microphone's hiss */

/* Near enough normal, unit variance: the sum of four uniform bytes' worth of noise. */
static double dither(uint32_t *state)
{
    double sum = 0;
    for (int i = 0; i < 4; i++)
        sum += (double)(random_next(state) >> 8) / 16777216.0 - 0.5;
    return sum * 1.7320508075688772; /* 4 uniform variances of 1/12: sqrt(3) brings it to 1 */
}

/* Energy of each 10 ms after pre-emphasis, so that hum and rumble do not count as speech. */
static void energies(const int16_t *pcm, size_t steps, double *energy)
{
    double before = pcm[0];
    for (size_t s = 0; s < steps; s++) {
        double sum = 0;
        for (size_t i = s * SPEECH_FRAME; i < (s + 1) * SPEECH_FRAME; i++) {
            double emphasised = pcm[i] - 0.97 * before;
            before = pcm[i];
            sum += emphasised * emphasised;
        }
        energy[s] = 10 * log10(sum / SPEECH_FRAME + DITHER * DITHER);
    }
}

static double share_point(const double *sorted, size_t count, double share)
{
    return sorted[(size_t)((double)(count - 1) * share)];
}

struct range {
    double floor_db, peak_db; /* what a tenth is below, and what three in a hundred are above */
};

static bool find_range(const double *energy, size_t steps, struct range *range)
{
    double *sorted = malloc(steps * sizeof *sorted);
    if (sorted == NULL)
        return false;
    memcpy(sorted, energy, steps * sizeof *sorted);
    gsl_sort(sorted, 1, steps);
    *range = (struct range){share_point(sorted, steps, 0.1), share_point(sorted, steps, 0.97)};
    free(sorted);
    return true;
}

/* Joins speech across short gaps: stops ("six-teen") are silent for some 50 ms. */
static void close_gaps(bool *speech, size_t steps)
{
    size_t last = steps; /* none yet */
    for (size_t s = 0; s < steps; s++) {
        if (!speech[s])
            continue;
        if (last < steps && s - last <= 4 * SMOOTH_STEPS)
            for (size_t gap = last + 1; gap < s; gap++)
                speech[gap] = true;
        last = s;
    }
}

/* Drops what is too short to be a sound of speech: clicks. */
static void drop_clicks(bool *speech, size_t steps)
{
    for (size_t s = 0; s < steps;) {
        size_t end = s;
        while (end < steps && speech[end])
            end++;
        if (end - s < SMOOTH_STEPS)
            memset(speech + s, false, end - s);
        s = end + 1;
    }
}

/* What speech is to be over, in `level`: energies, or in noise how far bands stand out of it.
 * `range` is of the energies. False when memory runs out. */
static bool find_threshold(const int16_t *pcm, const double *energy, size_t steps, double *level,
                           struct range *range, double *threshold)
{
    memcpy(level, energy, steps * sizeof *level);
    if (!find_range(energy, steps, range))
        return false;
    struct range of = *range;
    double least_db = OVER_FLOOR_DB, part = OVER_FLOOR_PART;
    if (range->peak_db - range->floor_db < NOISY_DB) {
        if (!speech_over_floor(pcm, steps, DITHER, level) || !find_range(level, steps, &of))
            return false;
        least_db = OVER_NOISE_DB;
        part = OVER_NOISE_PART;
    }
    double over_db = fmax(least_db, part * (of.peak_db - of.floor_db));
    *threshold = fmax(of.floor_db + over_db, of.peak_db - 35);
    return true;
}

struct activity {
    size_t first, last; /* steps that hold the first and last speech */
    double rms;         /* of the speech */
    double peak_db;     /* of the energies */
};

/* Marks speech[]; fills share and SNR. False when there is none. */
static bool find_speech(const int16_t *pcm, size_t steps, double *energy, bool *speech,
                        struct speech_front *front, struct activity *activity)
{
    double *level = malloc(steps * sizeof *level), threshold = 0;
    struct range range;
    energies(pcm, steps, energy);
    if (level == NULL || !find_threshold(pcm, energy, steps, level, &range, &threshold)) {
        free(level);
        return false;
    }
    for (size_t s = 0; s < steps; s++)
        speech[s] = level[s] > threshold;
    free(level);
    drop_clicks(speech, steps);
    close_gaps(speech, steps);

    double power = 0, floor = 0;
    size_t quiet = 0, count = 0;
    activity->first = steps;
    for (size_t s = 0; s < steps; s++) {
        double linear = pow(10, energy[s] / 10);
        if (!speech[s]) {
            floor += linear;
            quiet++;
            continue;
        }
        activity->first = activity->first == steps ? s : activity->first;
        activity->last = s;
        count++;
        double sum = 0;
        for (size_t i = s * SPEECH_FRAME; i < (s + 1) * SPEECH_FRAME; i++)
            sum += (double)pcm[i] * pcm[i];
        power += sum / SPEECH_FRAME;
    }
    double quiet_db = quiet >= 5 ? 10 * log10(floor / (double)quiet) : range.floor_db;
    front->snr_db = range.peak_db - quiet_db;
    activity->peak_db = range.peak_db;
    front->speech_share = (double)count / (double)steps;
    activity->rms = count == 0 ? 0 : sqrt(power / (double)count);
    return count > 0 && activity->rms >= AUDIBLE_RMS;
}

static double loudest_near(const double *energy, size_t steps, size_t step)
{
    double loudest = -HUGE_VAL;
    for (size_t s = step < SPEECH_REACH ? 0 : step - SPEECH_REACH;
         s < steps && s <= step + SPEECH_REACH; s++)
        loudest = fmax(loudest, energy[s]);
    return loudest;
}

/* Whose loudest within a vowel's reach is so far below the loudest of all is a radio's or a
 * neighbour's voice, not the speaker's. */
static float hushed(double loudest, double peak_db)
{
    return (float)fmin(HUSHED_MOST, HUSHED_A_DB * fmax(0, peak_db - HUSHED_FROM_DB - loudest));
}

/* Copies the speech with its pads, levelled and dithered; beyond the recording there is only
 * dither. */
static bool cut_out(const int16_t *pcm, size_t steps, const double *energy, const bool *speech,
                    struct activity activity, struct speech_front *front)
{
    front->steps = activity.last - activity.first + 1 + 2 * PAD_STEPS;
    front->frames = front->steps * SPEECH_FRAME;
    front->pcm = malloc(front->frames * sizeof *front->pcm);
    front->speech = calloc(front->steps, sizeof *front->speech);
    front->inside = calloc(front->steps, sizeof *front->inside);
    front->hushed = calloc(front->steps, sizeof *front->hushed);
    front->loud_db = calloc(front->steps, sizeof *front->loud_db);
    if (front->pcm == NULL || front->speech == NULL || front->inside == NULL ||
        front->hushed == NULL || front->loud_db == NULL)
        return false;
    double gain = fmin(LEVEL / activity.rms, LEVEL_GAIN_MAX);
    uint32_t seed = 0x6d696474;
    front->gain = gain;
    front->from = ((long)activity.first - PAD_STEPS) * SPEECH_FRAME;
    for (size_t s = 0; s < front->steps; s++) {
        bool inside = s + activity.first >= PAD_STEPS && s + activity.first - PAD_STEPS < steps;
        size_t from = inside ? s + activity.first - PAD_STEPS : 0;
        front->inside[s] = inside;
        front->speech[s] = inside && speech[from];
        front->speech_steps += front->speech[s];
        double loudest = inside ? loudest_near(energy, steps, from) : (double)SPEECH_PADDED_DB;
        front->loud_db[s] = (float)loudest;
        front->hushed[s] = inside ? hushed(loudest, activity.peak_db) : 0;
        for (size_t i = 0; i < SPEECH_FRAME; i++) {
            double sample = inside ? gain * pcm[from * SPEECH_FRAME + i] : 0;
            sample += DITHER * dither(&seed);
            front->pcm[s * SPEECH_FRAME + i] = (int16_t)lrint(fmax(-32768, fmin(32767, sample)));
        }
    }
    return true;
}

bool speech_front_make(const int16_t *pcm, size_t frames, struct speech_front *front)
{
    *front = (struct speech_front){0};
    size_t steps = frames / SPEECH_FRAME;
    if (steps == 0)
        return true;
    double *energy = malloc(steps * sizeof *energy);
    bool *speech = calloc(steps, sizeof *speech);
    struct activity activity = {0};
    bool made = energy != NULL && speech != NULL;
    if (made && find_speech(pcm, steps, energy, speech, front, &activity))
        made = cut_out(pcm, steps, energy, speech, activity, front);
    free(energy);
    free(speech);
    if (!made)
        speech_front_finish(front);
    return made;
}

void speech_front_finish(struct speech_front *front)
{
    free(front->pcm);
    free(front->speech);
    free(front->inside);
    free(front->hushed);
    free(front->loud_db);
    *front = (struct speech_front){0};
}
