/* A simulated room in virtual time: see room.h. */
#include "audio/room.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "audio/convert.h"
#include "audio/ring.h"
#include "base/text.h"

enum {
    RATE_HZ = 16000,
    QUEUE_MS = 2000,          /* of `write` */
    HEARD_MS = 10000,         /* of `read`, before frames are lost */
    STALL_MS = 1000,          /* a speaker that took nothing for so long is gone */
    STARVED_MS = 250,         /* sound that comes so soon after the last belongs to it */
    LANE = 8,                 /* taps worked on together: what the compiler makes vectors of */
    LONGEST_MS = 3600 * 1000, /* a wait without end in an empty room ends then */
};

static const double PI = 3.14159265358979323846;

struct both {
    int16_t heard, played;
};

struct audio_room {
    struct audio_room_setup setup;
    struct audio_live_config config;
    size_t block; /* frames */
    uint64_t at;  /* frames since the start */

    float *response; /* from the direct sound on; `taps` of them, a multiple of LANE */
    size_t taps, delay;
    float *coming; /* what of the echo is still to be heard: [0 .. block) in the next block */
    size_t coming_frames;

    struct audio_ring *queue; /* written, still before the device */
    int16_t *device;          /* `lead` frames on their way to the speaker, then the block */
    size_t lead;
    uint64_t played_until; /* the frame at which the last written sample has left the speaker */
    uint64_t loud_at;      /* the last frame that left the speaker and was not zero, plus one */

    struct audio_ring *heard; /* struct both */
    int16_t *said;            /* somebody's words: [said_at .. said_frames) still to be heard */
    size_t said_at, said_frames, said_room;

    unsigned trouble;
    size_t stalled; /* frames for which the speaker took nothing */
    bool interrupted;
    bool read_since_wait;
    uint64_t dry_at; /* the frame at which the queue ran dry; UINT64_MAX: it has not */
    uint64_t lost_frames, starved_calls;
    double work_from_ms, work_ms; /* CPU time at the last look, and what is not yet virtual time */
    int within;                   /* calls of the driver, one within the other */
    float *mix;
    int16_t *spoken, *taken;
};

/* ---- its making ---- */

/* Vigna's splitmix64 (public domain). */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += 0x9E3779B97F4A7C15U;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBU;
    return z ^ (z >> 31);
}

/* Box and Muller, Annals of Mathematical Statistics 29 (1958). */
static double next_normal(uint64_t *state)
{
    double u = ((double)(next_random(state) >> 11) + 0.5) * 0x1p-53;
    double v = (double)(next_random(state) >> 11) * 0x1p-53;
    return sqrt(-2 * log(u)) * cos(2 * PI * v);
}

static double power_of(float db)
{
    return pow(10, (double)db / 10);
}

static size_t frames_of(const struct audio_room *room, double ms)
{
    return (size_t)lrint(ms * room->setup.rate_hz / 1000);
}

static size_t whole_lanes(size_t n)
{
    return (n + LANE - 1) / LANE * LANE;
}

/* The direct sound, then noise that falls by 60 dB over rt60 (the diffuse tail of Moorer, Computer
 * Music Journal 3 (1979)), its power shared as direct_db says, all of it together echo_db. */
static void fill_response(struct audio_room *room)
{
    size_t tail = frames_of(room, (double)room->setup.rt60_ms);
    double power = room->setup.dead ? 0 : power_of(room->setup.echo_db);
    double direct = power_of(room->setup.direct_db);
    double direct_share = tail > 0 ? direct / (1 + direct) : 1;
    room->response[0] = (float)sqrt(power * direct_share);

    uint64_t seed = room->setup.seed;
    double sum = 0;
    for (size_t k = 1; k <= tail; k++) {
        double tap = next_normal(&seed) * pow(10, -3 * (double)k / (double)tail);
        room->response[k] = (float)tap;
        sum += tap * tap;
    }
    double scale = sum > 0 ? sqrt(power * (1 - direct_share) / sum) : 0;
    for (size_t k = 1; k <= tail; k++)
        room->response[k] = (float)((double)room->response[k] * scale);
}

static bool make_room(struct audio_room *room, struct fault *fault)
{
    room->block = frames_of(room, AUDIO_ROOM_BLOCK_MS);
    room->taps = whole_lanes(frames_of(room, (double)room->setup.rt60_ms) + 1);
    room->delay = frames_of(room, (double)room->setup.delay_ms);
    room->lead = frames_of(room, (double)room->setup.lead_ms);
    room->coming_frames = room->delay + room->taps + room->block;
    room->queue = audio_ring_create(sizeof(int16_t), frames_of(room, QUEUE_MS), fault);
    room->heard = audio_ring_create(sizeof(struct both), frames_of(room, HEARD_MS), fault);
    room->response = calloc(room->taps, sizeof *room->response);
    room->coming = calloc(room->coming_frames, sizeof *room->coming);
    room->device = calloc(room->lead + room->block, sizeof *room->device);
    room->mix = calloc(room->block, sizeof *room->mix);
    room->spoken = calloc(room->block, sizeof *room->spoken);
    room->taken = calloc(room->block, sizeof *room->taken);
    return room->queue != NULL && room->heard != NULL && room->response != NULL &&
           room->coming != NULL && room->device != NULL && room->mix != NULL &&
           room->spoken != NULL && room->taken != NULL;
}

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
}

struct audio_room *audio_room_create(const struct audio_room_setup *setup, struct fault *fault)
{
    struct audio_room *room = calloc(1, sizeof *room);
    if (room == NULL) {
        out_of_memory(fault);
        return NULL;
    }
    room->setup = *setup;
    if (room->setup.rate_hz == 0)
        room->setup.rate_hz = RATE_HZ;
    room->trouble = setup->trouble;
    room->dry_at = UINT64_MAX;
    if (!make_room(room, fault)) {
        audio_room_destroy(room);
        out_of_memory(fault);
        return NULL;
    }
    fill_response(room);
    return room;
}

void audio_room_destroy(struct audio_room *room)
{
    if (room == NULL)
        return;
    audio_ring_destroy(room->queue);
    audio_ring_destroy(room->heard);
    free(room->response);
    free(room->coming);
    free(room->device);
    free(room->said);
    free(room->mix);
    free(room->spoken);
    free(room->taken);
    free(room);
}

/* ---- what a script does to it ---- */

bool audio_room_say(struct audio_room *room, const int16_t *pcm, size_t frames, struct fault *fault)
{
    if (room->said_at == room->said_frames)
        room->said_at = room->said_frames = 0;
    if (frames > room->said_room - room->said_frames) {
        size_t wider = (room->said_frames + frames) * 2;
        int16_t *grown = realloc(room->said, wider * sizeof *grown);
        if (grown == NULL)
            return out_of_memory(fault);
        room->said = grown;
        room->said_room = wider;
    }
    if (frames > 0)
        memcpy(room->said + room->said_frames, pcm, frames * sizeof *pcm);
    room->said_frames += frames;
    return true;
}

bool audio_room_saying(const struct audio_room *room)
{
    return room->said_at < room->said_frames;
}

void audio_room_break(struct audio_room *room, unsigned trouble)
{
    room->trouble = trouble;
}

void audio_room_interrupt(struct audio_room *room)
{
    room->interrupted = true;
}

static int64_t ms_of(const struct audio_room *room, uint64_t frames)
{
    return (int64_t)(frames * 1000 / (uint64_t)room->setup.rate_hz);
}

int64_t audio_room_now_ms(const struct audio_room *room)
{
    return ms_of(room, room->at) + (int64_t)room->work_ms;
}

uint64_t audio_room_at_frame(const struct audio_room *room)
{
    return room->at;
}

int64_t audio_room_quiet_ms(const struct audio_room *room)
{
    return ms_of(room, room->at - room->loud_at);
}

/* ---- one block of time ---- */

static bool has(const struct audio_room *room, enum audio_room_trouble trouble)
{
    return (room->trouble & (unsigned)trouble) != 0;
}

static bool speaker_gone(const struct audio_room *room)
{
    return has(room, AUDIO_ROOM_NO_SPEAKER) || room->stalled >= frames_of(room, STALL_MS);
}

/* What leaves the speaker in this block, into `spoken`. */
static void play_block(struct audio_room *room)
{
    room->stalled = has(room, AUDIO_ROOM_STALLED) ? room->stalled + room->block : 0;
    if (speaker_gone(room))
        audio_ring_forget(room->queue);
    memset(room->spoken, 0, room->block * sizeof *room->spoken);
    if (has(room, AUDIO_ROOM_STALLED) || has(room, AUDIO_ROOM_NO_SPEAKER)) {
        memset(room->device, 0, room->lead * sizeof *room->device);
        return;
    }
    size_t got = audio_ring_read(room->queue, room->taken, room->block);
    if (got > 0)
        room->played_until = room->at + room->lead + got;
    if (got > 0 && got < room->block)
        room->dry_at = room->at + got;
    memset(room->taken + got, 0, (room->block - got) * sizeof *room->taken);
    memcpy(room->device + room->lead, room->taken, room->block * sizeof *room->device);
    memcpy(room->spoken, room->device, room->block * sizeof *room->spoken);
    memmove(room->device, room->device + room->block, room->lead * sizeof *room->device);
    for (size_t i = 0; i < room->block; i++)
        if (room->spoken[i] != 0)
            room->loud_at = room->at + i + 1;
}

/* Each sample played adds the room's response to what is coming: silence costs nothing. */
static void echo_block(struct audio_room *room)
{
    for (size_t i = 0; i < room->block; i++) {
        if (room->spoken[i] == 0)
            continue;
        float sample = audio_float(room->spoken[i]);
        float *to = room->coming + room->delay + i;
        for (size_t k = 0; k < room->taps; k += LANE)
            for (size_t lane = 0; lane < LANE; lane++)
                to[k + lane] += sample * room->response[k + lane];
    }
    memcpy(room->mix, room->coming, room->block * sizeof *room->mix);
    size_t left = room->coming_frames - room->block;
    memmove(room->coming, room->coming + room->block, left * sizeof *room->coming);
    memset(room->coming + left, 0, room->block * sizeof *room->coming);
}

static int16_t microphone(const struct audio_room *room, float sample)
{
    if (has(room, AUDIO_ROOM_ZEROS))
        return 0;
    return audio_pcm16(has(room, AUDIO_ROOM_CLIPPING) ? sample * 31.6f : sample);
}

static void hear_block(struct audio_room *room)
{
    for (size_t i = 0; i < room->block && room->said_at < room->said_frames; i++)
        room->mix[i] += audio_float(room->said[room->said_at++]);
    if (room->setup.noise != NULL)
        room->setup.noise(room->setup.user, room->at, room->mix, room->block);
    for (size_t i = 0; i < room->block; i++)
        room->taken[i] = microphone(room, room->mix[i]);
    if (room->config.no_microphone || has(room, AUDIO_ROOM_NO_MICROPHONE))
        return;
    for (size_t i = 0; i < room->block; i++) {
        struct both both = {.heard = room->taken[i], .played = room->spoken[i]};
        room->lost_frames += audio_ring_write(room->heard, &both, 1) == 0;
    }
}

static void advance(struct audio_room *room)
{
    if (room->setup.moment != NULL)
        room->setup.moment(room->setup.user, room, audio_room_now_ms(room));
    play_block(room);
    echo_block(room);
    hear_block(room);
    if (room->setup.witness != NULL)
        room->setup.witness(room->setup.user, room->at, room->spoken, room->taken, room->block);
    room->at += room->block;
}

/* ---- the caller's work as time ---- */

static double cpu_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

/* On the way in: what was worked since the last call has taken its time. Whoever is called back
 * from here may ask the driver in turn: that is within the room, and no work. */
static void enter(struct audio_room *room)
{
    if (!room->setup.counts_work || room->within++ > 0)
        return;
    room->work_ms += cpu_ms() - room->work_from_ms;
    while (room->work_ms >= AUDIO_ROOM_BLOCK_MS) {
        room->work_ms -= AUDIO_ROOM_BLOCK_MS;
        advance(room);
    }
}

/* On the way out: the room's own work takes none. */
static void leave(struct audio_room *room)
{
    if (room->setup.counts_work && --room->within == 0)
        room->work_from_ms = cpu_ms();
}

/* ---- the driver ---- */

static bool room_open(const struct audio_live_config *config, void **state, struct fault *fault)
{
    struct audio_room *room = config->setup;
    room->config = *config;
    if (config->rate_hz != room->setup.rate_hz)
        return fault_set(fault, FAULT_FAILED, "the room is simulated at %d Hz: ask for that.",
                         room->setup.rate_hz);
    bool ear = !config->no_microphone && !has(room, AUDIO_ROOM_NO_MICROPHONE);
    bool mouth = !config->no_speaker && !has(room, AUDIO_ROOM_NO_SPEAKER);
    if (!ear && !mouth)
        return fault_set(fault, FAULT_MISSING,
                         "there is neither a microphone nor a speaker: plug one in.");
    *state = room;
    room->work_from_ms = cpu_ms();
    return true;
}

static size_t room_read(void *state, int16_t *heard, int16_t *played, size_t frames)
{
    struct audio_room *room = state;
    enter(room);
    size_t done = 0;
    struct both both;
    while (done < frames && audio_ring_read(room->heard, &both, 1) == 1) {
        heard[done] = both.heard;
        played[done++] = both.played;
    }
    room->read_since_wait = true;
    leave(room);
    return done;
}

static size_t room_write(void *state, const int16_t *pcm, size_t frames)
{
    struct audio_room *room = state;
    enter(room);
    size_t took = frames;
    if (!room->config.no_speaker && !speaker_gone(room)) {
        if (room->dry_at != UINT64_MAX && frames > 0) {
            room->starved_calls += room->at - room->dry_at < frames_of(room, STARVED_MS);
            room->dry_at = UINT64_MAX;
        }
        took = audio_ring_write(room->queue, pcm, frames);
    }
    leave(room);
    return took;
}

static size_t room_pending(void *state)
{
    struct audio_room *room = state;
    enter(room);
    size_t device = room->played_until > room->at ? (size_t)(room->played_until - room->at) : 0;
    size_t pending = audio_ring_pending(room->queue) + device;
    leave(room);
    return pending;
}

static void room_drop(void *state)
{
    struct audio_room *room = state;
    enter(room);
    audio_ring_forget(room->queue);
    room->dry_at = UINT64_MAX;
    leave(room);
}

/* 1: a descriptor is ready; 0: none; -1: a signal. */
static int look(struct pollfd *fds, size_t n)
{
    if (n == 0)
        return 0;
    int ready = poll(fds, (nfds_t)n, 0);
    if (ready < 0)
        return errno == EINTR ? -1 : 1;
    return ready > 0;
}

/* A caller that did not read gets time instead: a device would not stop for it either. */
static bool room_wait(void *state, struct pollfd *fds, size_t n, int timeout_ms)
{
    struct audio_room *room = state;
    enter(room);
    int64_t until = audio_room_now_ms(room) + (timeout_ms < 0 ? LONGEST_MS : timeout_ms);
    bool read = room->read_since_wait;
    room->read_since_wait = false;
    int ready = look(fds, n);
    while (ready == 0 && !room->interrupted && audio_room_now_ms(room) < until &&
           !(read && audio_ring_readable(room->heard) > 0)) {
        advance(room);
        read = true;
        ready = look(fds, n);
    }
    bool signalled = room->interrupted || ready < 0;
    room->interrupted = false;
    leave(room);
    return !signalled;
}

static int64_t room_now_ms(void *state)
{
    struct audio_room *room = state;
    enter(room);
    int64_t now = audio_room_now_ms(room);
    leave(room);
    return now;
}

static void room_status(void *state, struct audio_live_status *status)
{
    const struct audio_room *room = state;
    *status = (struct audio_live_status){
        .microphone = room->config.no_microphone            ? AUDIO_UNWANTED
                      : has(room, AUDIO_ROOM_NO_MICROPHONE) ? AUDIO_ABSENT
                                                            : AUDIO_PRESENT,
        .speaker = room->config.no_speaker ? AUDIO_UNWANTED
                   : speaker_gone(room)    ? AUDIO_ABSENT
                                           : AUDIO_PRESENT,
        .lost_frames = room->lost_frames,
        .starved_calls = room->starved_calls,
    };
    text_copy(status->microphone_name, sizeof status->microphone_name, "simulated microphone");
    text_copy(status->speaker_name, sizeof status->speaker_name, "simulated speaker");
    if (status->microphone == AUDIO_ABSENT)
        text_copy(status->microphone_why, sizeof status->microphone_why,
                  "the microphone is gone: plug it in.");
    if (status->speaker == AUDIO_ABSENT)
        text_copy(status->speaker_why, sizeof status->speaker_why,
                  has(room, AUDIO_ROOM_NO_SPEAKER)
                      ? "the speaker is gone: plug it in."
                      : "the speaker takes no sound: unplug it and plug it in again.");
}

static void room_close(void *state)
{
    (void)state; /* its creator's */
}

const struct audio_live_driver audio_live_room = {
    .name = "room",
    .open = room_open,
    .read = room_read,
    .write = room_write,
    .pending = room_pending,
    .drop = room_drop,
    .wait = room_wait,
    .now_ms = room_now_ms,
    .status = room_status,
    .close = room_close,
};
