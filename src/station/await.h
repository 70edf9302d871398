/*
 * Waiting for the next answer from wherever it comes: recordings one after the other, or the live
 * ear, the keyboard and the pads all at once.
 */
#ifndef MIDTHROW_STATION_AWAIT_H
#define MIDTHROW_STATION_AWAIT_H

#include "station/station.h"

/* Waits a while at most: STATION_WAIT when nothing happened. Of a live station the answer may also
 * be a JOB_EAR_CHANGED. `job` NULL: the question is asked outside a job, and how the ear is is
 * nobody's business. */
enum station_got station_next(struct station *station, const struct job *job,
                              const struct station_question *question, struct job_event *event,
                              struct fault *fault);

/* From now on this is asked: the live ear expects it, and the time until a reminder begins. */
bool station_asks(struct station *station, const struct station_question *question,
                  struct fault *fault);

/* An answer came while midthrow may still be speaking: it stops, unless a caution has to be heard
 * to its end before a key may confirm it. False when something broke. */
bool station_make_way(struct station *station, const struct job_event *event, const char *grammar,
                      struct fault *fault);

#endif
