/*
 * The beep that answers an answer: taken, obeyed, asked again, wrong keys. At most one an event, by
 * what the event did to the job; and the voice as the settings say.
 */
#ifndef MIDTHROW_STATION_BEEP_H
#define MIDTHROW_STATION_BEEP_H

#include <stdbool.h>

#include "audio/tone.h"
#include "base/fault.h"
#include "job/job.h"

/* False: no beep for that. */
bool station_beep_for(const struct job *before, const struct job *after,
                      const struct job_event *event, enum audio_tone *tone);

struct station;

/* Into whatever midthrow speaks to, if beeps are wanted. */
bool station_beep(struct station *station, enum audio_tone tone, struct fault *fault);

/* One step louder, quieter, faster or slower from the next sentence on, and remembered. That it
 * could not be remembered is shown; the job goes on. */
void station_change_voice(struct station *station, enum job_voice change);

#endif
