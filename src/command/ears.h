/*
 * The computer's microphone and speaker for a session: opened by the options, closed in order.
 * What is missing is said, and the session goes on by what is left.
 */
#ifndef MIDTHROW_COMMAND_EARS_H
#define MIDTHROW_COMMAND_EARS_H

#include <stdbool.h>

#include "base/fault.h"
#include "command/record.h"
#include "command/session.h"
#include "speech/recogniser.h"
#include "speech/voice.h"
#include "station/live.h"
#include "station/station.h"

struct session_ears {
    struct station_live *live; /* NULL: not live */
    struct speech_recogniser *recogniser;
    struct speech_voice *voice;
};

/* Do the options, and where standard input comes from, ask for a microphone or a speaker? */
bool session_wants_live(const struct session_options *options);

/* `mouth` may have the voice already: there is one a process. `has_keys`: without any sound the
 * session could go on by keys, so that a computer without sound is no fault but said on standard
 * error. */
bool session_ears_open(struct session_ears *ears, const struct session_options *options,
                       const char *grammars_dir, const struct station_mouth *mouth,
                       struct session_record *record, bool has_keys, struct fault *fault);
void session_ears_close(struct session_ears *ears);

#endif
