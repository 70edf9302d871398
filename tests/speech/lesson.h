/*
 * What the networks of src/speech are taught on: sentences by the voices that may be tuned on, and
 * noises that may be tuned in, drawn by chance with a seed. The gatherers (gather_parallel.c,
 * gather_sounds.c) decide what is kept of them.
 */
#ifndef MIDTHROW_TESTS_SPEECH_LESSON_H
#define MIDTHROW_TESTS_SPEECH_LESSON_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "noises.h"
#include "studio.h"

enum { LESSON_WORDS = 4000, LESSON_WORD = 32 };

struct lesson {
    uint32_t random;
    struct studio studio; /* of UTTERANCES_TUNE */
    char word[LESSON_WORDS][LESSON_WORD];
    size_t words;
    const struct noise_kind *kind[32];
    size_t kinds;
    FILE *out;
};

/* FILE FROM TO of the command line: opens the file, calls `one` with each utterance's number, the
 * chance seeded by it, so that an utterance is the same whichever process makes it. The program's
 * exit code; what went wrong has been said. */
int lesson_run(struct lesson *lesson, int argc, char **argv,
               bool (*one)(void *context, size_t utterance), void *context);

double lesson_uniform(struct lesson *lesson); /* 0 <= x < 1 */
double lesson_between(struct lesson *lesson, double least, double most);
size_t lesson_below(struct lesson *lesson, size_t count);

/* So many common words (grammars/talk.lm) in any order. */
void lesson_choose_words(struct lesson *lesson, size_t count, char *said, size_t size);

/* One noise or two at once, half of the time coloured anew, so that no noise is learned by heart.
 * `others` more kinds are one to three people of the tuning voices' chatter. False when memory runs
 * out. */
bool lesson_noise(struct lesson *lesson, size_t others, double *noise, size_t frames);

#endif
