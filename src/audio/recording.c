/* A session's sound into a FLAC file by libsndfile: see recording.h. */
#include "audio/recording.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <sndfile.h>

enum { PIECE = 1024, REACH_MOST_S = 3600 };

struct audio_recording {
    SNDFILE *file;
    char *path;
    int rate_hz;
    uint64_t frames;
    bool cut; /* the disk took no more */
};

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
}

static bool refuse(const char *path, int error, struct fault *fault)
{
    if (error == EEXIST)
        return fault_set(fault, FAULT_FAILED,
                         "'%s' is there already: name another file for the recording.", path);
    return fault_set(fault, FAULT_FAILED,
                     "cannot record into '%s' (%s): name a file in a writable folder.", path,
                     strerror(error));
}

static bool open_file(struct audio_recording *recording, const char *path, struct fault *fault)
{
    recording->path = strdup(path);
    if (recording->path == NULL)
        return out_of_memory(fault);
    int file = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file < 0)
        return refuse(path, errno, fault);
    SF_INFO info = {.samplerate = recording->rate_hz,
                    .channels = 2,
                    .format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
    recording->file = sf_open_fd(file, SFM_WRITE, &info, SF_TRUE); /* closes `file` in any case */
    if (recording->file != NULL)
        return true;
    unlink(path);
    return fault_set(fault, FAULT_FAILED, "cannot record into '%s' (%s).", path, sf_strerror(NULL));
}

struct audio_recording *audio_recording_create(const char *path, int rate_hz, struct fault *fault)
{
    struct audio_recording *recording = calloc(1, sizeof *recording);
    if (recording == NULL) {
        out_of_memory(fault);
        return NULL;
    }
    recording->rate_hz = rate_hz;
    if (!open_file(recording, path, fault)) {
        free(recording->path);
        free(recording);
        return NULL;
    }
    return recording;
}

static bool full(const struct audio_recording *recording, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "'%s' could not be written to its end: free some space on the disk. What was "
                     "written before plays.",
                     recording->path);
}

bool audio_recording_add(struct audio_recording *recording, const int16_t *heard,
                         const int16_t *played, size_t frames, struct fault *fault)
{
    for (size_t done = 0; done < frames && !recording->cut;) {
        int16_t both[2 * PIECE];
        size_t n = frames - done < PIECE ? frames - done : PIECE;
        for (size_t i = 0; i < n; i++) {
            both[2 * i] = heard != NULL ? heard[done + i] : 0;
            both[2 * i + 1] = played != NULL ? played[done + i] : 0;
        }
        recording->cut = sf_writef_short(recording->file, both, (sf_count_t)n) != (sf_count_t)n;
        done += n;
        recording->frames += n;
    }
    return !recording->cut || full(recording, fault);
}

bool audio_recording_reach(struct audio_recording *recording, int64_t ms, struct fault *fault)
{
    int64_t missing = ms * recording->rate_hz / 1000 - (int64_t)recording->frames;
    int64_t most = (int64_t)REACH_MOST_S * recording->rate_hz;
    if (missing > most)
        missing = most;
    return audio_recording_add(recording, NULL, NULL, missing > 0 ? (size_t)missing : 0, fault);
}

int64_t audio_recording_ms(const struct audio_recording *recording)
{
    return (int64_t)(recording->frames * 1000 / (uint64_t)recording->rate_hz);
}

bool audio_recording_close(struct audio_recording *recording, struct fault *fault)
{
    if (recording == NULL)
        return true;
    bool whole = sf_close(recording->file) == 0 && !recording->cut;
    if (!whole)
        full(recording, fault);
    free(recording->path);
    free(recording);
    return whole;
}
