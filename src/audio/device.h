/*
 * The sound devices of this computer, and which of them is meant by a name.
 *
 *     if (!audio_device_choose(list, n, AUDIO_MICROPHONE, "headset", &which, why, sizeof why))
 *         puts(why);              // a sentence: there is none, or which there are
 */
#ifndef MIDTHROW_AUDIO_DEVICE_H
#define MIDTHROW_AUDIO_DEVICE_H

#include <stdbool.h>
#include <stddef.h>

#include "audio/live.h"

enum audio_side { AUDIO_MICROPHONE, AUDIO_SPEAKER };
enum { AUDIO_SIDES = 2 };

struct audio_device {
    char name[AUDIO_DEVICE_NAME];
    char host[32];              /* the sound system it is reached through: "ALSA", "JACK" */
    int channels[AUDIO_SIDES];  /* 0: not a microphone, not a speaker */
    bool standard[AUDIO_SIDES]; /* the one used when none is named */
    bool works[AUDIO_SIDES];    /* could be opened when it was listed: not busy */
    bool direct[AUDIO_SIDES];   /* ... at the rate asked for, without our resampling */
    int rate_hz;                /* what it likes best */
    int index;                  /* the driver's own */
};

/* The device of that side called `name` (NULL: the standard one), or the only one with `name` in
 * its name; capitals do not count. Of several by the very same name the first wins: it is one
 * device reached in several ways. False with a sentence in `why`. */
bool audio_device_choose(const struct audio_device *list, size_t n, enum audio_side side,
                         const char *name, size_t *which, char *why, size_t size);

const char *audio_side_name(enum audio_side side); /* "microphone", "speaker" */

#endif
