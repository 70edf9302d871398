/*
 * Is the microphone to be believed? Watches what it gives, 10 ms at a time, for silence that no
 * microphone makes, for clipping, and for noise that drowns speech; says so with enough patience
 * not to go back and forth. Pure.
 *
 *     struct station_watch watch;
 *     station_watch_init(&watch);
 *     enum job_ear ear = station_watch_frame(&watch, heard, noise_db);
 *     ear = station_watch_absent(&watch);             // while there is no microphone
 */
#ifndef MIDTHROW_STATION_WATCH_H
#define MIDTHROW_STATION_WATCH_H

#include <stdbool.h>
#include <stdint.h>

#include "job/job.h"
#include "speech/front.h"

struct station_watch {
    enum job_ear ear;
    bool clips; /* within the last moments, for the screen */

    /* its own business; times in milliseconds */
    int zeros_ms, sound_ms; /* of exact zeros, and of anything else, in a row */
    uint32_t clipped[8];    /* a bit a frame, the newest lowest of [0]: did it clip? */
    int unclipped_ms, clipping_for_ms;
    int loud_ms, quiet_ms; /* of noise over, and under, what can be borne */
    double speech_db;      /* of what was believed so far */
    int believed;          /* utterances */
    int deafened;          /* in a row */
    double drowned_at_db;  /* the noise when the ear was given up for it */
};

void station_watch_init(struct station_watch *watch);

enum job_ear station_watch_frame(struct station_watch *watch, const int16_t heard[SPEECH_FRAME],
                                 double noise_db);
enum job_ear station_watch_absent(struct station_watch *watch);

/* What came of an utterance: believed at that level, or rejected because the noise was as loud. */
void station_watch_believed(struct station_watch *watch, double speech_db);
void station_watch_deafened(struct station_watch *watch);

/* Far quieter than what was believed so far: most likely somebody else, or a radio. False while too
 * little was. */
bool station_watch_is_far(const struct station_watch *watch, double speech_db);
/* Who is believed has gone away from the microphone: how loud that is has to be learned anew. */
void station_watch_moved(struct station_watch *watch);

#endif
