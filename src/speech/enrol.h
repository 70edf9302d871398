/*
 * Learning a person's voice from sentences the person reads: the recogniser hears each, and what it
 * heard is taken once the words are known to be those.
 *
 *     struct speech_enrolment *enrolment = speech_enrolment_open(ear, &fault);
 *     speech_recognise(ear, "enrol", pcm, frames, &heard, &fault);      // or the listener does
 *     if (strcmp(heard.words, words) == 0) speech_enrolment_take(enrolment, words, &fault);
 *     struct speech_phonetic *person = speech_enrolment_learn(enrolment, &fault);
 *     speech_enrolment_close(enrolment);
 *     speech_recogniser_know(ear, person);
 *
 * No sound is kept beyond the last one heard, and that in memory only.
 */
#ifndef MIDTHROW_SPEECH_ENROL_H
#define MIDTHROW_SPEECH_ENROL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "speech/phonetic.h"
#include "speech/recogniser.h"

struct speech_enrolment;

/* The recogniser, which must outlive it, keeps the last sound from here on. NULL when memory runs
 * out. */
struct speech_enrolment *speech_enrolment_open(struct speech_recogniser *recogniser,
                                               struct fault *fault);
void speech_enrolment_close(struct speech_enrolment *enrolment);

/* The last sound was these words. False when there was none, they do not fit it, or it is the
 * 41st sentence. */
bool speech_enrolment_take(struct speech_enrolment *enrolment, const char *words,
                           struct fault *fault);

/* From all that was taken, as phonetic_lesson_learn (phonetic_learn.h) does. */
struct speech_phonetic *speech_enrolment_learn(const struct speech_enrolment *enrolment,
                                               struct fault *fault);

#endif
