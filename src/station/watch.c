/* The watch on the microphone: see watch.h. All figures here are judgement, no source. */
#include "station/watch.h"

#include <math.h>
#include <string.h>

enum {
    FRAME_MS = 10,
    ZEROS_MS = 3000,           /* muted or dead: a microphone that is neither hisses */
    BACK_MS = 200,             /* of sound after zeros or after a microphone was missing */
    CLIPPED = 32600,           /* of 32767: converters clip a little below */
    CLIPPED_SAMPLES = 3,       /* of a frame */
    CLIPPED_FRAMES = 40,       /* of the last 2.56 s: words, not one blow of a hammer */
    UNCLIPPED_MS = 6000,       /* after which it is tried again ... */
    UNCLIPPED_MOST_MS = 60000, /* ... or twice as long as last time, up to this */
    LOUD_MS = 3000,
    QUIET_MS = 3000,
    DEAFENED = 2,
    KNOWN = 3,     /* utterances that were believed, and how loud somebody speaks is known */
    TALK_MS = 500, /* shorter is a cough, or something that fell */
    FAR_AGAIN_MS = 15 * 1000, /* so soon after something from afar the next is of the same person */
};

/* Over this no microphone hears words, whatever its level; and speech is so far over the noise, at
 * least, where any was accepted on the bench (12 dB; its mean, with pauses, is some 4 dB below). */
static const double LOUD_DB = -25, LEAST_OVER_DB = 7, QUIETER_DB = 6;
/* Four times as far from the microphone; or a radio that nobody minds. */
static const double FAR_DB = 12;
/* Nobody can tell the noise before the floor is known. */
static const double NOTHING_DB = -200;

void station_watch_init(struct station_watch *watch)
{
    memset(watch, 0, sizeof *watch);
    watch->clipping_for_ms = UNCLIPPED_MS;
    watch->drowned_at_db = NOTHING_DB;
}

static bool is_zero(const int16_t heard[SPEECH_FRAME])
{
    for (int i = 0; i < SPEECH_FRAME; i++)
        if (heard[i] != 0)
            return false;
    return true;
}

static bool is_clipped(const int16_t heard[SPEECH_FRAME])
{
    int clipped = 0;
    for (int i = 0; i < SPEECH_FRAME; i++)
        clipped += heard[i] > CLIPPED || heard[i] < -CLIPPED;
    return clipped >= CLIPPED_SAMPLES;
}

/* How many of the last frames were clipped. */
static int count_clipped(struct station_watch *watch, bool clipped)
{
    int count = 0;
    uint32_t carry = clipped;
    for (int i = 0; i < 8; i++) {
        uint32_t out = watch->clipped[i] >> 31;
        watch->clipped[i] = watch->clipped[i] << 1 | carry;
        carry = out;
        count += __builtin_popcount(watch->clipped[i]);
    }
    return count;
}

static bool still_clips(struct station_watch *watch, const int16_t heard[SPEECH_FRAME])
{
    bool clipped = is_clipped(heard);
    int count = count_clipped(watch, clipped);
    watch->clips = (watch->clipped[0] & 0xff) != 0;
    watch->unclipped_ms = clipped ? 0 : watch->unclipped_ms + FRAME_MS;
    if (watch->ear == JOB_EAR_CLIPPING) {
        if (watch->unclipped_ms < watch->clipping_for_ms)
            return true;
        if (watch->clipping_for_ms < UNCLIPPED_MOST_MS)
            watch->clipping_for_ms *= 2;
        return false;
    }
    return count >= CLIPPED_FRAMES;
}

static bool still_drowned(struct station_watch *watch, double noise_db)
{
    double most_db = LOUD_DB;
    if (watch->believed > 1)
        most_db = fmin(most_db, watch->speech_db - LEAST_OVER_DB);
    if (watch->ear == JOB_EAR_NOISE) {
        bool quiet = noise_db < fmin(most_db, watch->drowned_at_db) - QUIETER_DB;
        watch->quiet_ms = quiet ? watch->quiet_ms + FRAME_MS : 0;
        return watch->quiet_ms < QUIET_MS;
    }
    watch->quiet_ms = 0;
    watch->loud_ms = noise_db > most_db ? watch->loud_ms + FRAME_MS : 0;
    if (watch->loud_ms < LOUD_MS && watch->deafened < DEAFENED)
        return false;
    watch->loud_ms = 0;
    watch->deafened = 0;
    watch->drowned_at_db = noise_db;
    return true;
}

enum job_ear station_watch_frame(struct station_watch *watch, const int16_t heard[SPEECH_FRAME],
                                 double noise_db)
{
    bool zero = is_zero(heard);
    watch->heard_ms += FRAME_MS;
    watch->zeros_ms = zero ? watch->zeros_ms + FRAME_MS : 0;
    watch->sound_ms = zero ? 0 : watch->sound_ms + FRAME_MS;
    bool was_away = watch->ear == JOB_EAR_MISSING || watch->ear == JOB_EAR_SILENT;
    if (watch->zeros_ms >= ZEROS_MS)
        return watch->ear = JOB_EAR_SILENT;
    if (was_away && watch->sound_ms < BACK_MS)
        return watch->ear;
    if (still_clips(watch, heard))
        return watch->ear = JOB_EAR_CLIPPING;
    return watch->ear = still_drowned(watch, noise_db) ? JOB_EAR_NOISE : JOB_EAR_OPEN;
}

enum job_ear station_watch_absent(struct station_watch *watch)
{
    watch->zeros_ms = watch->sound_ms = 0;
    return watch->ear = JOB_EAR_MISSING;
}

static bool is_quieter(const struct station_watch *watch, double speech_db)
{
    return watch->believed >= KNOWN && speech_db < watch->speech_db - FAR_DB;
}

void station_watch_believed(struct station_watch *watch, double speech_db)
{
    if (is_quieter(watch, speech_db))
        watch->believed = 0;
    watch->deafened = 0;
    watch->believed++;
    double share = watch->believed < 5 ? 1.0 / watch->believed : 0.2;
    watch->speech_db += (speech_db - watch->speech_db) * share;
}

void station_watch_deafened(struct station_watch *watch)
{
    watch->deafened++;
}

static bool is_far(const struct station_watch *watch, double speech_db)
{
    bool again = watch->far_ms > 0 && watch->heard_ms - watch->far_ms < FAR_AGAIN_MS;
    return is_quieter(watch, speech_db) && !again;
}

enum station_doubt station_watch_doubts(const struct station_watch *watch, double speech_db,
                                        bool is_tail, bool over_own_voice)
{
    bool far = is_far(watch, speech_db);
    if (far && (is_tail || over_own_voice))
        return STATION_DROPS;
    return far || (is_tail && watch->talk) ? STATION_ASKS : STATION_NO_DOUBT;
}

void station_watch_asked(struct station_watch *watch, double speech_db)
{
    if (is_far(watch, speech_db))
        watch->far_ms = watch->heard_ms;
}

void station_watch_uttered(struct station_watch *watch, bool rejected, int speech_ms)
{
    watch->talk = rejected && speech_ms >= TALK_MS;
}
