/*
 * A sound server of the test's own: PulseAudio on a private runtime folder, with two null sinks.
 * PortAudio reaches them through ALSA's pulse plug-in by these names:
 *
 *     lift_speaker       what midthrow speaks into; `parec` of lift_speaker.monitor hears it
 *     lift_microphone    what midthrow listens to: the monitor of the sink of the same name
 *     lift_loop          a microphone that hears the speaker: lift_speaker.monitor
 *
 * Nothing outside the folder is touched: HOME, XDG_RUNTIME_DIR, PULSE_RUNTIME_PATH, PULSE_SERVER
 * and ALSA_CONFIG_PATH are set for this process and its children. The server dies with the process
 * that started it, however that ends.
 */
#ifndef MIDTHROW_TESTS_ROBOT_PULSE_H
#define MIDTHROW_TESTS_ROBOT_PULSE_H

#include <stdbool.h>
#include <sys/types.h>

struct pulse {
    char folder[128]; /* made by pulse_begin, removed by pulse_end */
    pid_t server;     /* 0: none runs */
    pid_t awake[2];   /* clients that keep the sinks awake: null sinks sleep for two seconds */
};

bool pulse_is_installed(void);

bool pulse_begin(struct pulse *pulse); /* the folder, the environment, a server */
void pulse_end(struct pulse *pulse);

bool pulse_start(struct pulse *pulse); /* the server alone; waits until it answers */
void pulse_stop(struct pulse *pulse);

/* A child that gets SIGKILL when this process ends; stdin from `in` and stdout to `out` (-1:
 * nothing), stderr to the file `log` in the folder. -1 when it cannot be started. */
pid_t pulse_spawn(const struct pulse *pulse, char *const *argv, int in, int out, const char *log);

#endif
