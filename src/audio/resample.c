/* Rate conversion by speexdsp's windowed-sinc resampler: see resample.h. */
#include "audio/resample.h"

#include <limits.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <speex/speex_resampler.h>

struct audio_resampler {
    SpeexResamplerState *speex; /* NULL: the rates are equal */
    uint64_t from_hz, to_hz;
    uint64_t taken, made; /* samples in and out so far */
};

struct audio_resampler *audio_resampler_create(int from_hz, int to_hz, struct fault *fault)
{
    struct audio_resampler *resampler = calloc(1, sizeof *resampler);
    if (resampler == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    resampler->from_hz = (uint64_t)from_hz;
    resampler->to_hz = (uint64_t)to_hz;
    if (from_hz == to_hz)
        return resampler;

    int error = RESAMPLER_ERR_SUCCESS;
    resampler->speex = speex_resampler_init(1, (spx_uint32_t)from_hz, (spx_uint32_t)to_hz,
                                            SPEEX_RESAMPLER_QUALITY_MAX, &error);
    if (resampler->speex == NULL) {
        fault_set(fault, FAULT_FAILED, "cannot resample from %d Hz to %d Hz: %s.", from_hz, to_hz,
                  speex_resampler_strerror(error));
        free(resampler);
        return NULL;
    }
    speex_resampler_skip_zeros(resampler->speex);
    return resampler;
}

void audio_resampler_destroy(struct audio_resampler *resampler)
{
    if (resampler == NULL)
        return;
    if (resampler->speex != NULL)
        speex_resampler_destroy(resampler->speex);
    free(resampler);
}

void audio_resampler_reset(struct audio_resampler *resampler)
{
    resampler->taken = resampler->made = 0;
    if (resampler->speex == NULL)
        return;
    speex_resampler_reset_mem(resampler->speex);
    speex_resampler_skip_zeros(resampler->speex);
}

static spx_uint32_t clipped(size_t count)
{
    return count > INT_MAX ? (spx_uint32_t)INT_MAX : (spx_uint32_t)count;
}

void audio_resample(struct audio_resampler *resampler, const float *in, size_t *used, float *out,
                    size_t *made)
{
    if (resampler->speex == NULL) {
        size_t count = *used < *made ? *used : *made;
        memcpy(out, in, count * sizeof *out);
        *used = *made = count;
    } else {
        spx_uint32_t taken = clipped(*used);
        spx_uint32_t given = clipped(*made);
        speex_resampler_process_float(resampler->speex, 0, in, &taken, out, &given);
        *used = taken;
        *made = given;
    }
    resampler->taken += *used;
    resampler->made += *made;
}

void audio_resample_flush(struct audio_resampler *resampler, float *out, size_t *made)
{
    static const float silence[256];
    uint64_t whole =
        (resampler->taken * resampler->to_hz + resampler->from_hz / 2) / resampler->from_hz;
    uint64_t left = whole > resampler->made ? whole - resampler->made : 0;
    if (left < *made)
        *made = (size_t)left;
    if (*made == 0 || resampler->speex == NULL) {
        *made = 0;
        return;
    }
    spx_uint32_t taken = sizeof silence / sizeof silence[0];
    spx_uint32_t given = 0;
    while (given == 0) { /* silence in until something comes out: its delay is finite */
        taken = sizeof silence / sizeof silence[0];
        given = clipped(*made);
        if (speex_resampler_process_float(resampler->speex, 0, silence, &taken, out, &given) !=
            RESAMPLER_ERR_SUCCESS)
            break;
        if (taken == 0 && given == 0)
            break;
    }
    *made = given;
    resampler->made += given;
}
