/*
 * What the microphone hears of the speaker: a sweep is played, and looked for in what was heard.
 *
 *     survey_sweep(pcm, n, rate);
 *     ... play it, hear it ...
 *     echo = survey_echo(played, heard, n, rate, floor_db);
 */
#ifndef MIDTHROW_SURVEY_ECHO_H
#define MIDTHROW_SURVEY_ECHO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A sine that rises from 300 to 3400 Hz, the band of speech on a telephone, at -15 dBFS, faded in
 * and out: loud enough to be found, not to hurt. */
void survey_sweep(int16_t *pcm, size_t n, int rate_hz);

struct survey_echo {
    bool heard;      /* what was played is in what was heard */
    double db;       /* heard over played, the noise taken off; negative: quieter */
    double delay_ms; /* of its first and loudest arrival */
    double likeness; /* 0 to 1: of the best fit */
};

/* `heard[i]` is what the microphone gave while `played[i]` was at the speaker. Delays up to 500 ms
 * are looked for. `noise_db` is the floor when nothing is played. */
struct survey_echo survey_echo(const int16_t *played, const int16_t *heard, size_t n, int rate_hz,
                               double noise_db);

#endif
