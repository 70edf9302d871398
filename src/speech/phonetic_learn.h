/*
 * What the network of phonetic.h learns of one person from sentences it knows the words of.
 *
 *     struct phonetic_lesson *lesson = phonetic_lesson_open();
 *     phonetic_lesson_add(lesson, network, &seen, sounds);         // of every sentence
 *     phonetic_lesson_learn(lesson, network, &person);
 *     phonetic_lesson_close(lesson);
 *
 * The weights stay as they are; how much each hidden unit counts is learned, and what is added to
 * each sound's sum: some thousand numbers, so few that twenty sentences will do (Swietojanski and
 * Renals 2014, "Learning hidden unit contributions for unsupervised speaker adaptation of neural
 * network acoustic models", IEEE SLT; here the words are known). By gradient descent on the cross
 * entropy, the gradient by going backwards through the layers (Rumelhart, Hinton and Williams 1986,
 * "Learning representations by back-propagating errors", Nature 323), the steps by Adam (Kingma and
 * Ba 2015, "Adam: a method for stochastic optimization", ICLR, algorithm 1). All from memory. The
 * same sentences in the same order make the same person.
 */
#ifndef MIDTHROW_SPEECH_PHONETIC_LEARN_H
#define MIDTHROW_SPEECH_PHONETIC_LEARN_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/phonetic.h"

struct phonetic_lesson;

struct phonetic_lesson *phonetic_lesson_open(void); /* NULL when memory runs out */
void phonetic_lesson_close(struct phonetic_lesson *lesson);

/* A sentence: which sound each of its frames is, 0 .. PHONETIC_SOUNDS - 1. False, and nothing
 * added, when memory runs out. */
bool phonetic_lesson_add(struct phonetic_lesson *lesson, const struct speech_phonetic *network,
                         const struct speech_seen *seen, const unsigned char *sound);

/* The mean cross entropy, nats a frame, over all sentences. */
bool phonetic_lesson_loss(const struct phonetic_lesson *lesson,
                          const struct speech_phonetic *network,
                          const struct phonetic_person *person, double *nats);

/* The gradient of one sentence's mean cross entropy; for the test. */
bool phonetic_lesson_slope(const struct phonetic_lesson *lesson,
                           const struct speech_phonetic *network,
                           const struct phonetic_person *person, size_t sentence,
                           struct phonetic_person *slope);

/* From nothing. Some seconds for twenty sentences. False when memory runs out or there is none. */
bool phonetic_lesson_learn(const struct phonetic_lesson *lesson,
                           const struct speech_phonetic *network, struct phonetic_person *person);

#endif
