/*
 * What is done to a sound before the recogniser sees it: levelled, trimmed to where somebody
 * speaks, padded, dithered. Deterministic: the same sound in gives the same samples out, always.
 *
 *     struct speech_front front;
 *     if (speech_front_make(pcm, frames, &front)) ... front.pcm[0 .. front.frames) ...
 *     speech_front_finish(&front);
 */
#ifndef MIDTHROW_SPEECH_FRONT_H
#define MIDTHROW_SPEECH_FRONT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    SPEECH_FRAME = 160, /* samples in 10 ms: the recogniser's frame step */
    SPEECH_REACH = 8,   /* of those steps from a consonant to its vowel */
};

static const float SPEECH_PADDED_DB = 15.6f; /* loud_db where there is only dither */

struct speech_front {
    int16_t *pcm;        /* what the recogniser gets */
    size_t frames;       /* samples of it */
    bool *speech;        /* for each whole 10 ms of pcm: does it hold speech? */
    bool *inside;        /* ... and is it of the recording, not put there to pad it? */
    float *hushed;       /* ... and by how many nats is it nobody's speech, being so much quieter
                          * than the loudest? 0: it may be anybody's */
    float *loud_db;      /* ... and the loudest step within SPEECH_REACH; only differences mean
                          * something. Padded: SPEECH_PADDED_DB */
    size_t steps;        /* number of those */
    size_t speech_steps; /* how many hold speech; 0: nobody spoke, pcm holds nothing of use */
    double speech_share; /* of the sound as given */
    double snr_db;       /* speech level over the floor */
    double gain;         /* by which it was levelled */
    long from;           /* where in the recording pcm begins; < 0: padded */
};

bool speech_front_make(const int16_t *pcm, size_t frames, struct speech_front *front);
void speech_front_finish(struct speech_front *front);

#endif
