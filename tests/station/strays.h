/*
 * What the ear believed though nobody had said it to midthrow, and what a job would have made of
 * it: the soak's list of them.
 *
 *     strays_add(&strays, &(struct stray){.at_ms = now, .during = "noise: hammering, -48 dB",
 * ...}); strays_print(&strays);
 */
#ifndef MIDTHROW_TESTS_STATION_STRAYS_H
#define MIDTHROW_TESTS_STATION_STRAYS_H

#include <stddef.h>
#include <stdint.h>

#include "language/language.h"

enum { STRAYS = 256 };

struct stray {
    int64_t at_ms;
    char during[144]; /* what sounded */
    char grammar[48], words[LANGUAGE_WORDS];
    double score;
    int speech_ms;
};

struct strays {
    struct stray stray[STRAYS];
    size_t count; /* of all; those beyond STRAYS are counted only */
};

void strays_add(struct strays *strays, const struct stray *stray);

/* A row each, and how many would have changed a job. */
void strays_print(const struct strays *strays);

#endif
