/*
 * Captions in WebVTT (W3C, "WebVTT: The Web Video Text Tracks Format", Candidate Recommendation
 * 2019-04-04, section 4: syntax), to go beside a recording of the job:
 *
 *     WEBVTT midthrow, job 12, from 2026-11-25T09:14:03.120Z
 *
 *     00:00:02.360 --> 00:00:05.000
 *     <v ear>"five sixteenths"
 *
 * One cue a line of text, whatever is in it: what would steer a player is escaped, a line end
 * becomes a space. Cues begin in the order of the file, as the standard asks; they may overlap.
 *
 *     struct captions captions;
 *     char text[CAPTION_CUE];
 *     captions_begin(&captions, "midthrow, job 12", text, sizeof text);           // then print it
 *     captions_add(&captions, &caption, text, sizeof text);                       // for every line
 */
#ifndef MIDTHROW_RECORD_CAPTION_H
#define MIDTHROW_RECORD_CAPTION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { CAPTION_CUE = 98304 }; /* holds any line of a transcript, every byte escaped */

/* Times are milliseconds since the recording began. */
struct caption {
    int64_t start_ms;
    int64_t end_ms;
    const char *who;  /* the voice: "tool", "ear" */
    const char *text; /* UTF-8, made plain already if it came from outside (plain.h) */
};

struct captions {
    int64_t last_ms; /* the newest cue's start */
};

/* The header and the empty line behind it; `title` in one line. False when it had to be cut. */
bool captions_begin(struct captions *captions, const char *title, char *out, size_t size);

/* One cue and the empty line behind it. A start before 0 or before the cue before is moved there,
 * an end that is not behind the start to a millisecond behind it. False when it had to be cut. */
bool captions_add(struct captions *captions, const struct caption *caption, char *out, size_t size);

/* How long a line should stand to be read, where nobody knows how long it was spoken: a second and
 * a fifteenth of one for every letter, up to ten (judgement, no source). */
int64_t caption_reading_ms(const char *text);

#endif
