/*
 * The robot's ear and mouth on the private sound server: it hears what midthrow speaks, and what it
 * says, with a shop's noise under it, is what midthrow hears. Two helpers of PulseAudio's (parec
 * and pacat) carry the sound; the rest happens in sounds_step.
 *
 *     sounds_begin(&sounds, &pulse, "compressor", 20, 1);
 *     for (;;) {
 *         sounds_step(&sounds, 20);
 *         if (sounds_quiet_ms(&sounds) > 300 && !sounds_is_saying(&sounds))
 *             sounds_say(&sounds, "five sixteenths");
 *     }
 */
#ifndef MIDTHROW_TESTS_ROBOT_SOUNDS_H
#define MIDTHROW_TESTS_ROBOT_SOUNDS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#include "pulse.h"

struct sounds {
    const struct pulse *pulse;
    pid_t hearing, speaking; /* parec, pacat */
    int ear, mouth;          /* pipes from and to them */

    int16_t *noise; /* goes round */
    size_t noise_frames, noise_at;
    int16_t *said; /* [said_at .. said_frames) still to be said */
    size_t said_at, said_frames;
    int64_t said_until_ms; /* when the last of it has left the helper too */

    int16_t part[320]; /* of what was heard, until there are 20 ms */
    size_t part_frames;
    int64_t loud_ms;     /* when midthrow was last heard; 0: never */
    uint64_t loud_steps; /* 20 ms in which it was, in all */
};

/* `kind` is one of tests/speech/noises.h, `snr_db` how far it is under the robot's voice. False
 * when a helper cannot be started; sounds_end ends it in any case. */
bool sounds_begin(struct sounds *sounds, const struct pulse *pulse, const char *kind, double snr_db,
                  uint32_t seed);
void sounds_end(struct sounds *sounds);

/* Moves sound for that long. False when a helper died. */
bool sounds_step(struct sounds *sounds, int ms);

/* Renders the words and begins to say them; false when that cannot be done. */
bool sounds_say(struct sounds *sounds, const char *voice, const char *words);
bool sounds_is_saying(const struct sounds *sounds);

int64_t sounds_quiet_ms(const struct sounds *sounds); /* since midthrow was last heard */
int64_t sounds_now_ms(void);                          /* the monotonic clock */

#endif
