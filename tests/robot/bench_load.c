/*
 * Is the PortAudio driver in time while the computer is busy? Plays noise and hears it, on a sound
 * server of its own (pulse.h), while processes that never rest take the processors from it, and
 * counts what came too late. The caller rests for 300 ms every two seconds, as it does while the
 * recogniser runs.
 *
 *     bench_robot_load [SECONDS]      of each row, 20 if not said
 *
 * A row for no load and for 1, 2, 4 and 8 busy processes a processor. The server runs without
 * real-time rights and so does the driver's own thread: the worst case. Fails when a call took us
 * longer than its sound lasts without load, or when sound was lost in our own rings at any load:
 * what the server loses under load is counted, and is its own.
 */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "audio/portaudio.h"
#include "pulse.h"

enum { RATE = 16000, SKIPPED = 77, BUSY_MOST = 512, STALL_MS = 300, STALL_EVERY_MS = 2000 };

static const struct audio_live_driver *const live = &audio_live_portaudio;

struct busy {
    pid_t child[BUSY_MOST];
    int n;
};

static void begin_load(struct busy *busy, long n)
{
    pid_t parent = getpid();
    for (busy->n = 0; busy->n < n && busy->n < BUSY_MOST; busy->n++) {
        pid_t child = fork();
        if (child < 0)
            return;
        if (child == 0) {
            prctl(PR_SET_PDEATHSIG, SIGKILL);
            for (volatile unsigned long i = 0; getppid() == parent;)
                for (unsigned k = 0; k < 10000000; k++)
                    i += k;
            _exit(0);
        }
        busy->child[busy->n] = child;
    }
}

static void end_load(struct busy *busy)
{
    for (int i = 0; i < busy->n; i++) {
        kill(busy->child[i], SIGKILL);
        waitpid(busy->child[i], NULL, 0);
    }
    busy->n = 0;
}

/* Plays and hears for so long. */
static size_t go_on(void *state, int64_t ms)
{
    static int16_t noise[RATE], heard[RATE], played[RATE];
    for (size_t i = 0; i < RATE; i++) /* Knuth, The Art of Computer Programming 2, 3.3.4 */
        noise[i] = (int16_t)((uint32_t)(i * 1664525U + 1013904223U) >> 20);
    int64_t from_ms = live->now_ms(state), stall_ms = from_ms + STALL_EVERY_MS;
    size_t got = 0;
    for (int64_t now_ms; (now_ms = live->now_ms(state)) < from_ms + ms;) {
        if (now_ms >= stall_ms) {
            nanosleep(&(struct timespec){.tv_nsec = STALL_MS * 1000000L}, NULL);
            stall_ms = now_ms + STALL_EVERY_MS;
        }
        live->write(state, noise, RATE);
        live->wait(state, NULL, 0, 20);
        got += live->read(state, heard, played, RATE);
    }
    return got;
}

static void print_side(const struct audio_deadlines *deadlines)
{
    printf(" %llu | %llu | %llu | %d | %d |", (unsigned long long)deadlines->calls,
           (unsigned long long)deadlines->missed, (unsigned long long)deadlines->slow,
           deadlines->longest_us, deadlines->latest_ms);
}

static bool row(long processes, int seconds)
{
    struct audio_live_config config = {
        .microphone = "lift_loop", .speaker = "lift_speaker", .rate_hz = RATE};
    struct audio_live_status status;
    struct fault fault;
    struct busy busy = {.n = 0};
    void *state = NULL;
    if (!live->open(&config, &state, &fault)) {
        fprintf(stderr, "load: %s\n", fault.sentence);
        return false;
    }
    begin_load(&busy, processes);
    size_t got = go_on(state, (int64_t)seconds * 1000);
    live->status(state, &status);
    end_load(&busy);
    live->close(state);
    printf("| %ld |", processes);
    print_side(&status.ear_deadlines);
    print_side(&status.mouth_deadlines);
    printf(" %llu | %llu | %.1f |\n", (unsigned long long)status.lost_frames,
           (unsigned long long)status.starved_calls, (double)got / RATE);
    fflush(stdout);
    bool slow = status.ear_deadlines.slow + status.mouth_deadlines.slow > 0;
    return status.lost_frames == 0 && !(processes == 0 && slow);
}

int main(int argc, char **argv)
{
    static const long each[] = {0, 1, 2, 4, 8};
    int seconds = argc > 1 ? atoi(argv[1]) : 20;
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    struct pulse pulse;
    if (!pulse_is_installed()) {
        puts("skipped: pulseaudio is not installed");
        return SKIPPED;
    }
    if (seconds < 1 || !pulse_begin(&pulse)) {
        fputs("usage: bench_robot_load [SECONDS]; the sound server must start\n", stderr);
        return 2;
    }
    printf(
        "%ld processors, %d s a row. Microphone, then speaker: calls; of them the device said "
        "that sound was lost or had run out; took us longer than their sound lasts; the longest, "
        "microseconds; the latest, ms after the end of the sound before. Then: frames lost in "
        "our rings; times the speaker starved; seconds heard.\n\n"
        "| busy | calls | missed | slow | longest | latest | calls | missed | slow | longest | "
        "latest | lost | starved | heard |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n",
        processors, seconds);
    bool good = true;
    for (size_t i = 0; i < sizeof each / sizeof each[0]; i++)
        good &= row(each[i] * processors, seconds);
    pulse_end(&pulse);
    return good ? 0 : 1;
}
