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
    bool talk;             /* the last utterance was no answer */
    int64_t heard_ms;      /* of everything */
    int64_t far_ms;        /* then something from afar was last doubted; 0: never */
    int deafened;          /* in a row */
    double drowned_at_db;  /* the noise when the ear was given up for it */
};

void station_watch_init(struct station_watch *watch);

enum job_ear station_watch_frame(struct station_watch *watch, const int16_t heard[SPEECH_FRAME],
                                 double noise_db);
enum job_ear station_watch_absent(struct station_watch *watch);

/* What came of an utterance: believed at that level, or rejected because the noise was as loud. How
 * loud somebody speaks is learned anew where that is far quieter than before. */
void station_watch_believed(struct station_watch *watch, double speech_db);
void station_watch_deafened(struct station_watch *watch);

/* Whose is what was understood? What is far quieter than what was believed so far is most likely of
 * somebody else, or of a radio: asked about, and dropped where what is not believed is. Not while
 * too little was believed; nor soon after something from afar was asked about: then whoever answers
 * has gone there. What follows on an utterance that was no answer, with hardly a pause, is most
 * likely a part of the same talk: asked about. */
enum station_doubt { STATION_NO_DOUBT, STATION_ASKS, STATION_DROPS };
enum station_doubt station_watch_doubts(const struct station_watch *watch, double speech_db,
                                        bool is_tail, bool over_own_voice);
void station_watch_asked(struct station_watch *watch, double speech_db); /* it is asked about */
/* Each utterance, once it is judged. */
void station_watch_uttered(struct station_watch *watch, bool rejected, int speech_ms);

#endif
