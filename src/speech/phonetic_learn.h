/*
 * What the network of phonetic.h learns of one person from sentences it knows the words of.
 *
 *     struct phonetic_lesson *lesson = phonetic_lesson_open(0.3f);
 *     phonetic_lesson_add(lesson, network, &seen, sounds);         // of every sentence
 *     struct speech_phonetic *person = phonetic_lesson_learn(lesson);
 *     phonetic_lesson_close(lesson);
 *
 * It goes on from the table's weights, by gradient descent on the cross entropy: the gradient by
 * going backwards through the layers (Rumelhart, Hinton and Williams 1986, "Learning
 * representations by back-propagating errors", Nature 323), the steps by Adam (Kingma and Ba 2015,
 * "Adam: a method for stochastic optimization", ICLR, algorithm 1), smaller and smaller down to
 * none. Twenty sentences are few for so many weights: a part of what it aims at in each frame is
 * what it made of it before, the rest is the sound that was said (Yu and others 2013,
 * "KL-divergence regularized deep neural network adaptation for improved large vocabulary speech
 * recognition", ICASSP). All from memory. The same sentences in the same order make the same
 * person.
 */
#ifndef MIDTHROW_SPEECH_PHONETIC_LEARN_H
#define MIDTHROW_SPEECH_PHONETIC_LEARN_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/phonetic.h"

struct phonetic_lesson;

/* `as_before`: the part of the aim that is what the network made of it before, 0 .. 1. NULL when
 * memory runs out. */
struct phonetic_lesson *phonetic_lesson_open(float as_before);
void phonetic_lesson_close(struct phonetic_lesson *lesson);

/* A sentence: which sound each of its frames is, 0 .. PHONETIC_SOUNDS - 1, and the network as it
 * was before. False, and nothing added, when memory runs out, there are no frames, or it is one
 * sentence too many. */
bool phonetic_lesson_add(struct phonetic_lesson *lesson, const struct speech_phonetic *network,
                         const struct speech_seen *seen, const unsigned char *sound);

/* The mean cross entropy with what is aimed at, nats a frame, over all sentences. */
bool phonetic_lesson_loss(const struct phonetic_lesson *lesson,
                          const struct speech_phonetic *network, double *nats);

/* How one sentence's mean cross entropy hangs on each weight of a network: to be closed as a
 * network is; NULL when memory runs out. For the test. */
struct speech_phonetic *phonetic_lesson_slope(const struct phonetic_lesson *lesson,
                                              const struct speech_phonetic *network,
                                              size_t sentence);

/* To be closed as a network is. Half a minute for twenty sentences in four noises each. NULL when
 * memory runs out or there is no sentence. */
struct speech_phonetic *phonetic_lesson_learn(const struct phonetic_lesson *lesson);

#endif
