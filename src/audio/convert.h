/* Samples between floats of full scale 1 and signed 16 bit. Private to audio/. */
#ifndef MIDTHROW_AUDIO_CONVERT_H
#define MIDTHROW_AUDIO_CONVERT_H

#include <math.h>
#include <stddef.h>
#include <stdint.h>

/* Full scale 1 is 32768 steps, as libsndfile reads it; what is beyond is clipped, not wrapped. */
static inline int16_t audio_pcm16(float sample)
{
    float steps = sample * 32768.0f;
    if (!(steps > -32768.0f))
        return -32768;
    if (steps > 32767.0f)
        return 32767;
    return (int16_t)lrintf(steps);
}

static inline float audio_float(int16_t sample)
{
    return (float)sample / 32768.0f;
}

#endif
