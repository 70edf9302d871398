/*
 * What a station remembers between jobs, in `settings.ini` of the data directory: how the voice
 * sounds, whether there are beeps, and the screen's colours.
 *
 *     [voice]
 *     loudness = 6          1 softest .. 7 loudest, 3 dB a step; 6 as the voice comes
 *     speed = 4             1 slowest .. 7 fastest, 105 .. 230 words a minute; 4 is 165
 *     [sound]
 *     beeps = yes
 *     [screen]
 *     colours = dark        dark, light, or automatic
 *
 * Every key may be missing. The file is written anew whenever the voice is changed in a job, whole
 * or not at all, for its owner alone (0600).
 */
#ifndef MIDTHROW_STATION_SETTINGS_H
#define MIDTHROW_STATION_SETTINGS_H

#include <stdbool.h>

#include "base/fault.h"
#include "job/job.h"
#include "screen/screen.h"

enum { STATION_VOICE_STEPS = 7 };

struct station_settings {
    int loudness, speed; /* 1 .. STATION_VOICE_STEPS */
    bool beeps;
    enum screen_colours colours;
};

void station_settings_init(struct station_settings *settings);

/* A file that is not there leaves what was set; one that holds anything unknown or out of bounds is
 * refused with its line, and `settings` is as it was. */
bool station_settings_load(const char *directory, struct station_settings *settings,
                           struct fault *fault);
bool station_settings_save(const char *directory, const struct station_settings *settings,
                           struct fault *fault);

/* One step; false when the voice is at its end already. */
bool station_settings_change(struct station_settings *settings, enum job_voice change);

int station_settings_words_per_minute(const struct station_settings *settings);
double station_settings_loudness_db(const struct station_settings *settings); /* 0: as it comes */

#endif
