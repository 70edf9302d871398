/*
 * A session's sound into a file, where it was asked for: FLAC by audio/recording.h, and captions
 * beside it, FILE.vtt, of what was said and heard when (record/caption.h). Opened before the
 * session is confined: it names a place of its own.
 */
#ifndef MIDTHROW_COMMAND_RECORD_H
#define MIDTHROW_COMMAND_RECORD_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "audio/recording.h"
#include "base/fault.h"
#include "record/caption.h"
#include "speech/front.h"

struct session_record {
    struct audio_recording *recording; /* NULL: nothing is recorded */
    FILE *vtt;
    struct captions captions;
    int64_t first_ms; /* on the live clock; 0: not begun */
    struct fault fault;
    bool failed;
};

/* `path` NULL: nothing is recorded. Refuses a file that is there already. */
bool session_record_open(struct session_record *record, const char *path, struct fault *fault);

/* False when not all of it was written. */
bool session_record_close(struct session_record *record, struct fault *fault);

/* As struct station_live_config calls them; the context is the struct session_record. */
void session_record_tap(void *record, int64_t now_ms, const int16_t heard[SPEECH_FRAME],
                        const int16_t played[SPEECH_FRAME]);
void session_record_told(void *record, const char *who, const char *text, int64_t ago_ms,
                         int64_t lasts_ms);

#endif
