/* A session's sound into a file: see record.h. */
#include "command/record.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "speech/recogniser.h"

enum { PATH_SIZE = 1024, GAP_MS = 2000 }; /* without a microphone for longer: silence */

static bool open_captions(struct session_record *record, const char *path, struct fault *fault)
{
    char name[PATH_SIZE];
    struct text text = text_into(name, sizeof name);
    text_addf(&text, "%s.vtt", path);
    int fd = text.cut ? -1 : open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    record->vtt = fd < 0 ? NULL : fdopen(fd, "w");
    if (record->vtt == NULL)
        return fault_set(fault, FAULT_FAILED,
                         "cannot write the captions '%s' (%s): name another file to record to.",
                         name, strerror(errno));
    static const char title[] = "midthrow, what was said and heard";
    char head[sizeof title + 64];
    captions_begin(&record->captions, title, head, sizeof head);
    fputs(head, record->vtt);
    return true;
}

bool session_record_open(struct session_record *record, const char *path, struct fault *fault)
{
    if (path == NULL)
        return true;
    record->recording = audio_recording_create(path, SPEECH_RATE_HZ, fault);
    return record->recording != NULL && open_captions(record, path, fault);
}

bool session_record_close(struct session_record *record, struct fault *fault)
{
    bool ok = !record->failed;
    if (record->failed)
        *fault = record->fault;
    if (record->vtt != NULL && fclose(record->vtt) != 0)
        ok = fault_set(fault, FAULT_FAILED, "cannot write all captions (%s): make room.",
                       strerror(errno));
    if (record->recording != NULL && !audio_recording_close(record->recording, fault))
        ok = false;
    memset(record, 0, sizeof *record);
    return ok;
}

void session_record_tap(void *context, int64_t now_ms, const int16_t heard[SPEECH_FRAME],
                        const int16_t played[SPEECH_FRAME])
{
    struct session_record *record = context;
    if (record->recording == NULL || record->failed)
        return;
    if (record->first_ms == 0)
        record->first_ms = now_ms;
    int64_t at_ms = now_ms - record->first_ms;
    record->failed =
        (at_ms > audio_recording_ms(record->recording) + GAP_MS &&
         !audio_recording_reach(record->recording, at_ms, &record->fault)) ||
        !audio_recording_add(record->recording, heard, played, SPEECH_FRAME, &record->fault);
}

void session_record_told(void *context, const char *who, const char *text, int64_t ago_ms,
                         int64_t lasts_ms)
{
    struct session_record *record = context;
    if (record->vtt == NULL || record->failed)
        return;
    char *cue = malloc(CAPTION_CUE);
    if (cue == NULL)
        return;
    int64_t start_ms = audio_recording_ms(record->recording) - ago_ms;
    captions_add(&record->captions,
                 &(struct caption){
                     .start_ms = start_ms, .end_ms = start_ms + lasts_ms, .who = who, .text = text},
                 cue, CAPTION_CUE);
    fputs(cue, record->vtt);
    fflush(record->vtt);
    free(cue);
}
