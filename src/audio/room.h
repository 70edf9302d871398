/*
 * A simulated room in virtual time, as a driver of live.h: what midthrow plays comes back into its
 * own microphone, quieter, later and with the room's reverberation, mixed with whatever a script
 * wants to be heard. Nothing in it is random but by its seed and nothing waits: an hour takes as
 * long as what is done with its sound.
 *
 *     struct audio_room *room = audio_room_create(&setup, &fault);
 *     struct audio_live_config config = {.rate_hz = 16000, .setup = room};
 *     audio_live_room.open(&config, &state, &fault);      // as any other driver from here on
 *     ...                                                 // setup.moment speaks and breaks things
 *     audio_live_room.close(state);
 *     audio_room_destroy(room);
 *
 * Time advances in `wait`, block by block, and by the work of the caller where setup.counts_work
 * says so.
 */
#ifndef MIDTHROW_AUDIO_ROOM_H
#define MIDTHROW_AUDIO_ROOM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "audio/live.h"
#include "base/fault.h"

struct audio_room;

enum { AUDIO_ROOM_BLOCK_MS = 10 }; /* the device's buffer, and the step of time */

/* What is wrong just now; several at once. */
enum audio_room_trouble {
    AUDIO_ROOM_WELL = 0,
    AUDIO_ROOM_NO_MICROPHONE = 1, /* not there: unplugged or never there */
    AUDIO_ROOM_ZEROS = 2,         /* the microphone gives exact zeros */
    AUDIO_ROOM_CLIPPING = 4,      /* the microphone's gain is 30 dB too high */
    AUDIO_ROOM_NO_SPEAKER = 8,    /* not there */
    AUDIO_ROOM_STALLED = 16,      /* the speaker takes nothing and is not yet known to be gone */
};

struct audio_room_setup {
    int rate_hz;     /* 0: 16000 */
    uint64_t seed;   /* of the reverberation */
    bool dead;       /* nothing that is played comes back at all */
    float echo_db;   /* heard over played, the room's whole response: -6 is loud, -30 a headset */
    float delay_ms;  /* from the speaker to the microphone, the devices' buffers included */
    float rt60_ms;   /* time in which the reverberation falls by 60 dB; 0: the direct sound alone */
    float direct_db; /* direct sound over reverberation; 0: as much of one as of the other */
    float lead_ms;   /* from a write to the speaker, besides what is pending before it */
    unsigned trouble; /* of enum audio_room_trouble, from the start */
    bool counts_work; /* the process's own CPU time is time too: for reply times */

    /* Called before each block; may call any function below that takes the room. NULL: nothing. */
    void (*moment)(void *user, struct audio_room *room, int64_t now_ms);
    /* Adds what else the microphone hears to `pcm` (full scale 1): noise. NULL: nothing. */
    void (*noise)(void *user, uint64_t at_frame, float *pcm, size_t frames);
    /* What left the speaker and what the microphone heard in that block. NULL: nobody looks. */
    void (*witness)(void *user, uint64_t at_frame, const int16_t *spoken, const int16_t *heard,
                    size_t frames);
    void *user;
};

/* NULL with a fault. The caller destroys it, after `close`. */
struct audio_room *audio_room_create(const struct audio_room_setup *setup, struct fault *fault);
void audio_room_destroy(struct audio_room *room);

/* Somebody speaks: `pcm` at the room's rate is copied and heard from now on, after what is still
 * being said. */
bool audio_room_say(struct audio_room *room, const int16_t *pcm, size_t frames,
                    struct fault *fault);
bool audio_room_saying(const struct audio_room *room); /* not all of that has been heard yet */

void audio_room_break(struct audio_room *room, unsigned trouble); /* replaces what was wrong */
void audio_room_interrupt(struct audio_room *room); /* the next `wait` returns false: a signal */

int64_t audio_room_now_ms(const struct audio_room *room);
uint64_t audio_room_at_frame(const struct audio_room *room); /* blocks so far, in frames */
/* How long the speaker has been silent; what is written but not yet played does not count. */
int64_t audio_room_quiet_ms(const struct audio_room *room);

extern const struct audio_live_driver audio_live_room;

#endif
