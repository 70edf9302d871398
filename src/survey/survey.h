/*
 * Is a station fit for the job? Measures of its sound, and what to make of each: good, doubtful or
 * bad, with what to do. The thresholds are in one table in judge.c.
 *
 *     survey_listen(&audio_live_portaudio, &config, &hooks, &sound, &fault);
 *     survey_judge_sound(&sound, items, &n);
 */
#ifndef MIDTHROW_SURVEY_SURVEY_H
#define MIDTHROW_SURVEY_SURVEY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "audio/live.h"
#include "base/fault.h"
#include "survey/echo.h"
#include "survey/level.h"

/* ---- measuring ---------------------------------------------------------------------------- */

enum survey_phase {
    SURVEY_QUIET, /* nobody speaks, nothing is played: the noise floor */
    SURVEY_TONE,  /* a sweep is played: speaker and echo */
    SURVEY_VOICE, /* somebody speaks: level and clipping */
};

struct survey_sound {
    struct audio_live_status devices;
    bool heard_anything; /* the microphone gave sound */
    struct survey_floor floor;
    bool played;
    struct survey_echo echo;
    bool spoke; /* somebody was asked to */
    struct survey_speech speech;
    struct survey_clipping clipping;
};

struct survey_hooks {
    void (*phase)(void *context, enum survey_phase phase); /* before each; NULL: nobody is told */
    void *context;
    bool no_voice; /* nobody is there to speak */
    const volatile bool *stop;
};

enum {
    SURVEY_RATE_HZ = 16000,
    SURVEY_QUIET_MS = 3000,
    SURVEY_TONE_MS = 1500,
    SURVEY_VOICE_MS = 5000
};

/* Opens the devices, goes through the phases, closes them. A device that is missing is in
 * `sound->devices`; false only when memory is out or a signal came. */
bool survey_listen(const struct audio_live_driver *driver, const struct audio_live_config *config,
                   const struct survey_hooks *hooks, struct survey_sound *sound,
                   struct fault *fault);

/* ---- judging ------------------------------------------------------------------------------ */

enum survey_verdict { SURVEY_GOOD, SURVEY_DOUBTFUL, SURVEY_BAD, SURVEY_MISSING };

enum { SURVEY_FOUND = 320, SURVEY_ITEMS_MAX = 16, SURVEY_MEASURES = 3 };

struct survey_item {
    const char *name; /* "noise floor"; static */
    enum survey_verdict verdict;
    char found[SURVEY_FOUND]; /* what was found, without a full stop */
    char todo[SURVEY_FOUND];  /* what to do, a sentence; "": nothing */
    struct {
        const char *name; /* "level_dbfs"; static; NULL: no more */
        double value;
    } measure[SURVEY_MEASURES];
};

struct survey_items {
    struct survey_item item[SURVEY_ITEMS_MAX];
    size_t n;
};

const char *survey_verdict_name(enum survey_verdict verdict); /* "good" */

/* Microphone, noise floor, voice, clipping, speaker, echo, timing. */
void survey_judge_sound(const struct survey_sound *sound, struct survey_items *items);

/* Bytes free where the jobs are kept. */
void survey_judge_disk(uint64_t free_bytes, struct survey_items *items);

/* Unix time; the newest moment in the journal, 0: none; when midthrow was made; does the system
 * keep its clock by a time server? */
void survey_judge_clock(int64_t now_s, int64_t newest_s, int64_t made_s, bool in_step,
                        struct survey_items *items);

/* Anything else: an item filled from formats. */
struct survey_item *survey_add(struct survey_items *items, const char *name,
                               enum survey_verdict verdict);

/* The exit code: 3 something is missing, 1 something is bad, 0 else. */
int survey_exit_code(const struct survey_items *items);

/* ---- practice ----------------------------------------------------------------------------- */

struct survey_practice {
    unsigned said, right, asked, rejected, wrong; /* `right`: accepted as said */
};

enum survey_advice { SURVEY_USE_VOICE, SURVEY_USE_BOTH, SURVEY_USE_PAD };

/* Voice or pad, by how many were right the first time (judgement, no source): one accepted wrong is
 * worse than many questions. */
enum survey_advice survey_advise(const struct survey_practice *practice);

#endif
