/*
 * How loud: measures of a stretch of sound, in decibels below full scale.
 *
 * dBFS as AES17 has it (from memory): 0 dBFS is the RMS of a sine whose peaks are full scale, so a
 * square wave is at +3.01. Silence, all zeros, is SURVEY_SILENCE_DB.
 *
 * The active speech level is method B of ITU-T P.56 (from memory, section 6): the level of the
 * speech while it is there, with its pauses left out.
 */
#ifndef MIDTHROW_SURVEY_LEVEL_H
#define MIDTHROW_SURVEY_LEVEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SURVEY_SILENCE_DB (-120.0)

/* Of all of it; SURVEY_SILENCE_DB for nothing at all. */
double survey_level_db(const int16_t *pcm, size_t n);

struct survey_floor {
    double level_db; /* the median level of blocks of 20 ms: one slammed door does not count */
    double peak_db;  /* of the loudest block */
    bool dead;       /* exact zeros, or one value all the time: no microphone is behind it */
};
struct survey_floor survey_floor(const int16_t *pcm, size_t n, int rate_hz);

/* Clipping: stretches of at least three samples in a row within 0.2 % of the converter's end. */
struct survey_clipping {
    size_t stretches;
    double share; /* of the samples that are in them */
};
struct survey_clipping survey_clipping(const int16_t *pcm, size_t n);

struct survey_speech {
    double level_db; /* while there is speech; SURVEY_SILENCE_DB when there is none */
    double activity; /* the share of the time there is */
};
struct survey_speech survey_speech(const int16_t *pcm, size_t n, int rate_hz);

#endif
