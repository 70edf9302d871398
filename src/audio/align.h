/*
 * Which frame of what was played belongs to a frame that was heard. The microphone and the speaker
 * each report, once a buffer, when its sound is; those reports jitter by milliseconds and the two
 * clocks drift. The difference of the two counts of frames is followed as a mean, and used as a
 * whole number of frames that only moves when it is a millisecond out, one frame at a time: an echo
 * canceller can follow that, a jump it cannot.
 *
 *     audio_align_see(&align, played_index_at_that_time - heard_index, frames_since_last);
 *     played = history[heard_index + audio_align_step(&align)];       // once each 50 ms
 */
#ifndef MIDTHROW_AUDIO_ALIGN_H
#define MIDTHROW_AUDIO_ALIGN_H

#include <stdbool.h>

struct audio_align {
    double rate_hz;
    double mean;        /* of the offsets seen, in frames */
    double seen_frames; /* how long offsets have been seen, at most the memory's length */
    double far_mean;    /* the same of those that are far from the mean, in a row */
    double far_frames;
    long used;
    bool moving;
};

void audio_align_init(struct audio_align *align, int rate_hz);

/* An observed offset that stands for `frames` of sound. */
void audio_align_see(struct audio_align *align, double offset, double frames);

/* The offset to use now, in frames; moves by at most one a call but in the first second and after a
 * break in one of the streams. */
long audio_align_step(struct audio_align *align);

#endif
