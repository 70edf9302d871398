/* A layer's weights and its sums: see layer.h. */
#include "speech/layer.h"

#include <stdlib.h>

#include "speech/vector.h"

float *speech_layer_unpack(const int8_t *weight, const float *step, size_t inputs, size_t outputs)
{
    float *unpacked = malloc(inputs * outputs * sizeof *unpacked);
    for (size_t i = 0; unpacked != NULL && i < inputs; i++)
        for (size_t o = 0; o < outputs; o++)
            unpacked[i * outputs + o] = step[o] * (float)weight[o * inputs + i];
    return unpacked;
}

SPEECH_VECTORS
void speech_layer_add(const float *weight, const float *input, size_t inputs, size_t outputs,
                      float *restrict output)
{
    for (size_t i = 0; i < inputs; i++) {
        if (input[i] == 0)
            continue; /* what a rectifier let through: many */
        for (size_t o = 0; o < outputs; o++)
            output[o] += input[i] * weight[i * outputs + o];
    }
}
