/*
 * What the networks (enhance.h, phonetic.h) share: weights that a table keeps as small whole
 * numbers, and the sum of weighted inputs.
 */
#ifndef MIDTHROW_SPEECH_LAYER_H
#define MIDTHROW_SPEECH_LAYER_H

#include <stddef.h>
#include <stdint.h>

/* `weight` output by output, to be multiplied by step[output], into floats input by input, as
 * speech_layer_add wants them: [inputs][outputs]. */
void speech_layer_unpack(const int8_t *weight, const float *step, size_t inputs, size_t outputs,
                         float *unpacked);

/* output[o] += the sum over i of input[i] weight[i][o]. Weights of one input lie together, so that
 * the loop over outputs becomes vectors. */
void speech_layer_add(const float *weight, const float *input, size_t inputs, size_t outputs,
                      float *restrict output);

/* How a loss hangs on each weight: slope[i][o] += the sum over rows of input[row][i] times how it
 * hangs on output[row][o]. */
void speech_layer_slope(const float *input, const float *output, size_t rows, size_t inputs,
                        size_t outputs, float *restrict slope);

/* turned[o][i] = weight[i][o]. */
void speech_layer_turn(const float *weight, size_t inputs, size_t outputs, float *turned);

#endif
