/* A layer's weights and its sums: see layer.h. */
#include "speech/layer.h"

#include "speech/vector.h"

void speech_layer_unpack(const int8_t *weight, const float *step, size_t inputs, size_t outputs,
                         float *unpacked)
{
    for (size_t i = 0; i < inputs; i++)
        for (size_t o = 0; o < outputs; o++)
            unpacked[i * outputs + o] = step[o] * (float)weight[o * inputs + i];
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

SPEECH_VECTORS
void speech_layer_slope(const float *input, const float *output, size_t rows, size_t inputs,
                        size_t outputs, float *restrict slope)
{
    for (size_t i = 0; i < inputs; i++)
        for (size_t r = 0; r < rows; r++) {
            float in = input[r * inputs + i];
            if (in == 0)
                continue;
            for (size_t o = 0; o < outputs; o++)
                slope[i * outputs + o] += in * output[r * outputs + o];
        }
}

SPEECH_VECTORS
void speech_layer_turn(const float *weight, size_t inputs, size_t outputs, float *turned)
{
    for (size_t i = 0; i < inputs; i++)
        for (size_t o = 0; o < outputs; o++)
            turned[o * inputs + i] = weight[i * outputs + o];
}
