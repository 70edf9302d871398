/*
 * The computer's own microphone and speaker, by PortAudio: see live.h for how a driver is used.
 *
 * Two streams, one each way, so that one device can go and come back without the other. A thread
 * of the driver's own, the tender, does all that may take its time: it opens and closes streams,
 * notices that one stands still for a second or has ended, and looks for what is missing every two
 * seconds. PortAudio sees new devices only when it is started anew, which ends every stream: so the
 * missing one is first looked for among the devices known so far (a server that was restarted, a
 * headset back in the same socket), and PortAudio is started anew only when no stream runs, or when
 * the kernel's list of sound cards has changed and nothing is being played.
 *
 * A device that does not do the rate asked for runs at one it does and is resampled, outside the
 * callback. What is played belongs to what is heard by the times that the devices report, to within
 * a few milliseconds; see align.h.
 *
 * While a driver is open, the C library's `stderr` is silenced: see quiet.h.
 */
#ifndef MIDTHROW_AUDIO_PORTAUDIO_H
#define MIDTHROW_AUDIO_PORTAUDIO_H

#include <stdbool.h>
#include <stddef.h>

#include "audio/device.h"
#include "audio/live.h"
#include "base/fault.h"

extern const struct audio_live_driver audio_live_portaudio;

/* All sound devices, `works` and `direct` tried, the latter at `rate_hz`. The caller frees *list
 * with free(). No devices is no fault: *n is 0. Not while a driver is open. */
bool audio_portaudio_list(int rate_hz, struct audio_device **list, size_t *n, struct fault *fault);

#endif
