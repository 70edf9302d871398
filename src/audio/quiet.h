/*
 * Keeps the sound libraries' chatter off the terminal. Looking for devices makes ALSA, JACK and
 * PortAudio itself print dozens of lines about hardware that nobody asked for, and a device that is
 * pulled out more, from threads of their own.
 *
 * ALSA and JACK are given handlers that say nothing. PortAudio prints to `stderr` without asking,
 * so until audio_quiet_end that name stands for /dev/null. File descriptor 2 stays what it was: a
 * sanitizer's or the C library's last words are still seen. While it is quiet, the program's own
 * messages through `stderr` are lost too: keep them until it is over. Not for two threads at once.
 */
#ifndef MIDTHROW_AUDIO_QUIET_H
#define MIDTHROW_AUDIO_QUIET_H

#include <stdbool.h>
#include <stdio.h>

struct audio_quiet {
    FILE *kept, *null;
};

void audio_quiet_begin(struct audio_quiet *quiet);
/* `over`: no library's thread runs any more. If one hangs, its chatter still goes nowhere. */
void audio_quiet_end(struct audio_quiet *quiet, bool over);

#endif
