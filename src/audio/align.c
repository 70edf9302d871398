/* Following the offset between two clocks: see align.h. */
#include "audio/align.h"

#include <math.h>

/* Seconds. The mean forgets with MEMORY: 100 parts in a million of drift, more than two crystals
 * have between them, then puts it MEMORY * 1e-4 = 0.5 ms behind. */
static const double MEMORY = 5;
static const double SETTLING = 1;   /* until then the offset used is simply the mean */
static const double FAR = 0.05;     /* an offset so far from the mean may be a break ... */
static const double FAR_LONG = 0.5; /* ... and is one if it stays */
static const double OUT = 0.001;    /* begin to move */

void audio_align_init(struct audio_align *align, int rate_hz)
{
    *align = (struct audio_align){.rate_hz = rate_hz};
}

static void start_at(struct audio_align *align, double offset, double frames)
{
    align->mean = offset;
    align->seen_frames = frames;
    align->far_frames = 0;
}

static double towards(double mean, double offset, double frames, double over)
{
    return mean + (offset - mean) * fmin(1, frames / over);
}

void audio_align_see(struct audio_align *align, double offset, double frames)
{
    if (align->seen_frames <= 0) {
        start_at(align, offset, frames);
        return;
    }
    if (fabs(offset - align->mean) > FAR * align->rate_hz) {
        align->far_frames += frames;
        align->far_mean = align->far_frames <= frames
                              ? offset
                              : towards(align->far_mean, offset, frames, align->far_frames);
        if (align->far_frames > FAR_LONG * align->rate_hz)
            start_at(align, align->far_mean, frames);
        return;
    }
    align->far_frames = 0;
    align->seen_frames = fmin(align->seen_frames + frames, MEMORY * align->rate_hz);
    align->mean = towards(align->mean, offset, frames, align->seen_frames);
}

long audio_align_step(struct audio_align *align)
{
    long wanted = lrint(align->mean);
    double out = fabs((double)(wanted - align->used));
    if (align->seen_frames < SETTLING * align->rate_hz || out > FAR * align->rate_hz) {
        align->used = wanted;
        align->moving = false;
    } else if (out > OUT * align->rate_hz || (align->moving && wanted != align->used)) {
        align->used += wanted > align->used ? 1 : -1;
        align->moving = true;
    } else {
        align->moving = false;
    }
    return align->used;
}
