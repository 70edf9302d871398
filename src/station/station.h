/*
 * The station: binds ears, keys, mouth, screen and journal to the job. Everything that happens is
 * committed to the journal before it acts.
 *
 *     struct station station = {.journal = journal, .number = number, ...};
 *     bool ok = station_run(&station, false, &fault);
 */
#ifndef MIDTHROW_STATION_STATION_H
#define MIDTHROW_STATION_STATION_H

#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "audio/audio.h"
#include "base/fault.h"
#include "job/job.h"
#include "prompt/prompt.h"
#include "record/journal.h"
#include "record/transcript.h"
#include "screen/screen.h"
#include "speech/voice.h"
#include "station/input.h"
#include "station/live.h"
#include "station/settings.h"
#include "station/show.h"

enum { STATION_INPUTS_MAX = 4 };

/* The mouth: a voice and where it goes. Both NULL: what is said is only shown and written. */
struct station_mouth {
    struct speech_voice *voice;
    const struct audio_sink_driver *sink;
    void *sink_state;
};

/* Opens the voice into a WAV file; speaks nothing when `path` is NULL. */
bool station_mouth_open(struct station_mouth *mouth, const char *path, struct fault *fault);
bool station_mouth_say(struct station_mouth *mouth, const char *sentence, struct fault *fault);
bool station_mouth_close(struct station_mouth *mouth, struct fault *fault);

struct station {
    struct journal *journal;
    int64_t number;  /* of the job in the journal */
    struct job *job; /* the state so far; job_init or replayed */
    const struct prompt_catalogue *prompts;
    struct transcript *transcript;
    struct station_mouth *mouth;
    const struct screen *screen;
    struct station_settings *settings; /* NULL: the voice stays as it is */
    bool beeps;
    struct speech_voice *voice; /* that is spoken with, live or not; NULL: none */
    const char *data;           /* the data directory; with `settings` */
    struct station_shown shown; /* zeroed */
    const char *own_profiles;   /* may be NULL */
    const char *shared_profiles;
    const char *only_profile;       /* --profile: the one there is; NULL: all that are found */
    const struct reason_shop *shop; /* of a new job: the shop's likelihoods; NULL: the table's */
    const char *bike;               /* of a new job: which bike; NULL: not named */
    const double *priors;           /* of a new job: what the shop learned; NULL: the table's */
    struct {
        const struct station_input *driver;
        void *state;
    } input[STATION_INPUTS_MAX]; /* asked in this order, each until it ends; live: all at once */
    size_t inputs;
    struct station_live *live;     /* NULL: no sound card is used */
    struct speech_recogniser *ear; /* that listens, live or to recordings; NULL: nobody does */
    bool nothing_left;             /* set: it ended since there was no microphone and no key left */
    int64_t asked_ms, alone_since_ms;         /* its own business, on the live clock */
    const volatile sig_atomic_t *interrupted; /* set by a signal: leave in good order */
};

/* Runs until the job is over, put away, or the inputs end. `resumed`: the job was replayed from the
 * journal. False only when something broke; what was committed until then is kept. */
bool station_run(struct station *station, bool resumed, struct fault *fault);

/* Did a signal come that ends the session? One that only wakes it, as a window that changes, does
 * not. */
bool station_is_interrupted(const struct station *station);

/* Says a sentence outside the job, and asks a question with it: its keys are shown, and the next
 * answer is in `event`; after remind_ms of silence it is said once more. Nothing is journalled.
 * STATION_ANSWER, STATION_END (also when a signal came) or STATION_BROKEN. */
bool station_say(struct station *station, const char *sentence, struct fault *fault);
enum station_got station_ask(struct station *station, const char *sentence,
                             const struct station_question *question, struct job_event *event,
                             struct fault *fault);

/* Asks one question outside the job (which job to go on with); nothing is journalled. The answer's
 * choice, 0 when the inputs end. -1 with a fault. */
int station_choose(struct station *station, const char *key,
                   const struct prompt_argument *arguments, size_t n, const char *grammar,
                   struct fault *fault);

int64_t station_now_ms(void);

#endif
