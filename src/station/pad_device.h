/*
 * A number pad and a foot switch as an input of the station (keypad/device.h): works whatever
 * window has the focus, and never ends; a pad that is unplugged is waited for.
 *
 *     struct station_pad_device *pad = station_pad_device_create(&config, &screen, &fault);
 *     add_input(&station_input_pad_device, pad);
 */
#ifndef MIDTHROW_STATION_PAD_DEVICE_H
#define MIDTHROW_STATION_PAD_DEVICE_H

#include "keypad/device.h"
#include "screen/screen.h"
#include "station/input.h"

struct station_pad_device;

/* The config's strings and the screen, which shows the entry, must outlive it. */
struct station_pad_device *station_pad_device_create(const struct keypad_device_config *config,
                                                     const struct screen *screen,
                                                     struct fault *fault);

/* `talk` is told when the push-to-talk switch goes down and up: the ear's gate. */
void station_pad_device_on_talk(struct station_pad_device *pad,
                                void (*talk)(void *context, bool down), void *context);

/* Where the devices are and what is wrong with them. */
void station_pad_device_status(const struct station_pad_device *pad,
                               struct keypad_device_status *status);

extern const struct station_input station_input_pad_device;

#endif
