/*
 * What a session may touch once it has begun: the one place to add to when something new is opened
 * in the middle of a job, or again after it was unplugged (guard/guard.h).
 */
#ifndef MIDTHROW_COMMAND_CONFINE_H
#define MIDTHROW_COMMAND_CONFINE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "command/session.h"

/* Makes the data directory and the file to speak to, if they are not there, so that they and not
 * the folders they are in may be written; then takes the rest. `shared` are folders to read. False
 * when one could not be made. */
bool confine_session(const struct session_options *options, const char *data,
                     const char *const shared[], size_t n, struct fault *fault);

#endif
