/* The robot's ear and mouth: see sounds.h. */
#define _GNU_SOURCE /* F_SETPIPE_SZ: what is said late would be heard late */
#include "sounds.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "../speech/level.h"
#include "../speech/noises.h"
#include "audio/audio.h"

enum {
    RATE = 16000,
    STEP = RATE / 50,  /* 20 ms */
    NOISE_S = 20,      /* before it goes round */
    PIPE_BYTES = 4096, /* 128 ms: what was said late is heard late */
    HELPER_MS = 200,   /* from our pipe to what midthrow is given */
    LOUD = 30,         /* root mean square of 20 ms; the null sink's silence is exact */
};

static const double VOICE_DB = -26; /* the level speech is usually tested at (ITU-T P.56) */

int64_t sounds_now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* ---- noise --------------------------------------------------------------------------------- */

static bool make_noise(struct sounds *sounds, const char *name, double snr_db, uint32_t seed)
{
    const struct noise_kind *kind = noise_named(name);
    size_t n = (size_t)RATE * NOISE_S;
    double *noise = malloc(n * sizeof *noise);
    sounds->noise = malloc(n * sizeof *sounds->noise);
    sounds->noise_frames = n;
    bool made = kind != NULL && noise != NULL && sounds->noise != NULL &&
                noise_make(kind, seed, NULL, noise, n);
    double scale = 32768 * pow(10, (VOICE_DB - snr_db) / 20);
    for (size_t i = 0; made && i < n; i++)
        sounds->noise[i] = (int16_t)lrint(fmax(-32768, fmin(32767, scale * noise[i])));
    free(noise);
    return made;
}

/* ---- helpers ------------------------------------------------------------------------------- */

static void set_flags(int fd, int flags)
{
    fcntl(fd, F_SETFL, fcntl(fd, F_GETFL) | flags);
    fcntl(fd, F_SETFD, FD_CLOEXEC);
}

/* The helper on the other end of a new pipe; our end is in *ours. */
static pid_t start_helper(const struct pulse *pulse, const char *program, const char *device,
                          bool speaks, int *ours)
{
    char name[16], where[64];
    snprintf(name, sizeof name, "%s", program);
    snprintf(where, sizeof where, "--device=%s", device);
    char *argv[] = {name,
                    (char[]){"--rate=16000"},
                    (char[]){"--channels=1"},
                    (char[]){"--format=s16le"},
                    (char[]){"--latency-msec=20"},
                    where,
                    NULL};
    int ends[2];
    if (pipe(ends) != 0)
        return -1;
    *ours = speaks ? ends[1] : ends[0];
    int theirs = speaks ? ends[0] : ends[1];
    set_flags(*ours, O_NONBLOCK);
    if (speaks)
        fcntl(*ours, F_SETPIPE_SZ, PIPE_BYTES);
    pid_t child = pulse_spawn(pulse, argv, speaks ? theirs : -1, speaks ? -1 : theirs, "robot.log");
    close(theirs);
    return child;
}

bool sounds_begin(struct sounds *sounds, const struct pulse *pulse, const char *kind, double snr_db,
                  uint32_t seed)
{
    memset(sounds, 0, sizeof *sounds);
    sounds->pulse = pulse;
    sounds->ear = sounds->mouth = -1;
    if (!make_noise(sounds, kind, snr_db, seed))
        return false;
    signal(SIGPIPE, SIG_IGN);
    sounds->hearing = start_helper(pulse, "parec", "lift_speaker.monitor", false, &sounds->ear);
    sounds->speaking = start_helper(pulse, "pacat", "lift_microphone", true, &sounds->mouth);
    return sounds->hearing > 0 && sounds->speaking > 0;
}

static void end_helper(pid_t child, int fd)
{
    if (fd >= 0)
        close(fd);
    if (child > 0) {
        kill(child, SIGKILL);
        waitpid(child, NULL, 0);
    }
}

void sounds_end(struct sounds *sounds)
{
    end_helper(sounds->hearing, sounds->ear);
    end_helper(sounds->speaking, sounds->mouth);
    free(sounds->noise);
    free(sounds->said);
    memset(sounds, 0, sizeof *sounds);
    sounds->ear = sounds->mouth = -1;
}

/* ---- hearing ------------------------------------------------------------------------------- */

static void judge_part(struct sounds *sounds)
{
    double sum = 0;
    for (size_t i = 0; i < STEP; i++)
        sum += (double)sounds->part[i] * sounds->part[i];
    if (sum < (double)LOUD * LOUD * STEP)
        return;
    sounds->loud_ms = sounds_now_ms();
    sounds->loud_steps++;
}

static bool hear(struct sounds *sounds)
{
    for (;;) {
        char *to = (char *)(sounds->part + sounds->part_frames);
        ssize_t got = read(sounds->ear, to, (STEP - sounds->part_frames) * sizeof(int16_t));
        if (got < 0)
            return errno == EAGAIN || errno == EINTR;
        if (got == 0)
            return false;
        sounds->part_frames += (size_t)got / sizeof(int16_t); /* parec writes whole frames */
        if (sounds->part_frames < STEP)
            continue;
        judge_part(sounds);
        sounds->part_frames = 0;
    }
}

int64_t sounds_quiet_ms(const struct sounds *sounds)
{
    return sounds_now_ms() - sounds->loud_ms;
}

/* ---- speaking ------------------------------------------------------------------------------ */

static int16_t next_frame(struct sounds *sounds, size_t i)
{
    int sum = sounds->noise[(sounds->noise_at + i) % sounds->noise_frames];
    if (sounds->said_at + i < sounds->said_frames)
        sum += sounds->said[sounds->said_at + i];
    return (int16_t)(sum > 32767 ? 32767 : sum < -32768 ? -32768 : sum);
}

/* As much as the pipe takes: the helper reads it as fast as it is played. */
static bool speak(struct sounds *sounds)
{
    for (;;) {
        int16_t piece[STEP];
        for (size_t i = 0; i < STEP; i++)
            piece[i] = next_frame(sounds, i);
        ssize_t wrote = write(sounds->mouth, piece, sizeof piece);
        if (wrote < 0)
            return errno == EAGAIN || errno == EINTR;
        size_t frames = (size_t)wrote / sizeof piece[0];
        sounds->noise_at = (sounds->noise_at + frames) % sounds->noise_frames;
        if (sounds->said_at < sounds->said_frames) {
            sounds->said_at += frames;
            sounds->said_until_ms = sounds_now_ms() + HELPER_MS;
        }
    }
}

/* flite's words as a file, then as samples at the usual level. */
static bool render(struct sounds *sounds, const char *voice, const char *words)
{
    char path[PATH_MAX], name[32], text[512];
    snprintf(path, sizeof path, "%s/said.wav", sounds->pulse->folder);
    snprintf(name, sizeof name, "%s", voice);
    snprintf(text, sizeof text, "%s", words);
    char *argv[] = {(char[]){"flite"},
                    (char[]){"-voice"},
                    name,
                    (char[]){"-t"},
                    text,
                    (char[]){"-o"},
                    path,
                    NULL};
    int status = 1;
    pid_t child = pulse_spawn(sounds->pulse, argv, -1, -1, "robot.log");
    if (child <= 0 || waitpid(child, &status, 0) != child || status != 0)
        return false;
    struct recording spoken = {0};
    struct fault fault;
    if (!audio_read_whole(path, RATE, &spoken.pcm, &spoken.frames, &fault))
        return false;
    bool levelled = level_set(&spoken, VOICE_DB);
    free(sounds->said);
    sounds->said = spoken.pcm;
    sounds->said_frames = spoken.frames;
    sounds->said_at = 0;
    return levelled;
}

bool sounds_say(struct sounds *sounds, const char *voice, const char *words)
{
    return render(sounds, voice, words);
}

bool sounds_is_saying(const struct sounds *sounds)
{
    return sounds->said_at < sounds->said_frames || sounds_now_ms() < sounds->said_until_ms;
}

bool sounds_step(struct sounds *sounds, int ms)
{
    int64_t until = sounds_now_ms() + ms;
    for (;;) {
        if (!hear(sounds) || !speak(sounds))
            return false;
        int64_t left = until - sounds_now_ms();
        if (left <= 0)
            return true;
        struct pollfd fds[] = {{.fd = sounds->ear, .events = POLLIN},
                               {.fd = sounds->mouth, .events = POLLOUT}};
        poll(fds, 2, left < 20 ? (int)left : 20);
    }
}
