/*
 * Ears and mouth at once, on a live sound driver (audio/live.h): what midthrow says is played while
 * the microphone is listened to. One thread: whoever waits here keeps the speaker fed and the
 * recogniser at work.
 *
 *     struct station_live *live = station_live_create(&config, &fault);
 *     station_live_say(live, "Forward throw, reading 1?", false, &fault);
 *     station_live_ask(live, &question, &fault);
 *     switch (station_live_wait(live, fds, n, 100, true, &event, &fault)) ...
 *
 * midthrow must never hear itself. Three lines of defence: the echo canceller; what it may leave is
 * no speech (speech/echo.h); and words that midthrow itself was just saying are not taken. Speech
 * while midthrow speaks counts only when it is believed, never when it is doubtful, and never as
 * the confirmation of a caution that has not been said to its end.
 *
 * What is rejected is handed over twice in a row; after that once in a while, less and less often
 * until something is understood: a technician must not be left waiting, and a radio must not make
 * midthrow talk.
 */
#ifndef MIDTHROW_STATION_LIVE_H
#define MIDTHROW_STATION_LIVE_H

#include <poll.h>
#include <stdbool.h>
#include <stdint.h>

#include "audio/live.h"
#include "job/job.h"
#include "screen/screen.h"
#include "speech/listener.h"
#include "speech/voice.h"
#include "station/input.h"

struct station_live_config {
    const struct audio_live_driver *driver;
    struct audio_live_config audio;
    struct speech_recogniser *recogniser; /* the caller's; NULL with audio.no_microphone */
    const char *grammar_dir;
    struct speech_voice *voice; /* the caller's; NULL: nothing is spoken */
    bool half_duplex;           /* the ear is closed while midthrow speaks */
    bool push_to_talk;          /* the ear is open only while station_live_talk says so */
    /* For a recording; NULL: none. Every 10 ms heard and played; and what was said by whom ("tool",
     * "ear"), when it began and for how long. */
    void (*tap)(void *context, int64_t now_ms, const int16_t heard[SPEECH_FRAME],
                const int16_t played[SPEECH_FRAME]);
    void (*told)(void *context, const char *who, const char *text, int64_t ago_ms,
                 int64_t lasts_ms);
    void *tap_context;
};

enum station_live_got {
    STATION_LIVE_NOTHING,
    STATION_LIVE_READY,  /* a descriptor is */
    STATION_LIVE_ANSWER, /* `event` holds it */
    STATION_LIVE_EAR,    /* `event`: the microphone went away or came back */
    STATION_LIVE_SIGNAL,
    STATION_LIVE_BROKEN,
};

/* Where the time of a reply went, on the driver's clock. */
struct station_live_reply {
    struct speech_utterance utterance; /* that was answered */
    int64_t heard_ms;                  /* when it was handed over */
    int64_t said_ms;                   /* when the first sentence after it came */
    int64_t written_ms;                /* when that one's first sound was given to the speaker */
};

struct station_live;

struct station_live *station_live_create(const struct station_live_config *config,
                                         struct fault *fault);
void station_live_destroy(struct station_live *live);

/* Puts the sentence behind those still to be spoken. */
bool station_live_say(struct station_live *live, const char *sentence, bool caution,
                      struct fault *fault);
/* The same with a sound of one's own, at SPEECH_RATE_HZ. */
bool station_live_play(struct station_live *live, const int16_t *pcm, size_t frames,
                       struct fault *fault);
void station_live_hush(struct station_live *live); /* stops at once and forgets the rest */
bool station_live_speaks(struct station_live *live);
/* Is there a caution that has not been said to its end? */
bool station_live_warns(struct station_live *live);

/* The question whose answer is awaited from now on. */
bool station_live_ask(struct station_live *live, const struct station_question *question,
                      struct fault *fault);

/* Up to `timeout_ms` for the next thing. `open`: is the ear to be believed at all? `ear` is what
 * the job thinks of it: STATION_LIVE_EAR comes when that has changed. */
enum station_live_got station_live_wait(struct station_live *live, struct pollfd *fds, size_t n,
                                        int timeout_ms, bool open, enum job_ear ear,
                                        struct job_event *event, struct fault *fault);

/* Until all is said, or with `caution` all cautions are; nobody is listened to. False when a signal
 * came. */
bool station_live_say_out(struct station_live *live, bool caution, struct fault *fault);

/* The push-to-talk switch; the context is a struct station_live. Released in the middle of a word
 * it ends the utterance a moment later: what was said until then is taken. */
void station_live_talk(void *live, bool down);

/* An answer came that was not heard: whoever gave it knows another way. */
void station_live_answered(struct station_live *live);
/* Was something said since the last call that was neither understood nor told? */
bool station_live_missed(struct station_live *live);

enum job_ear station_live_ear(const struct station_live *live);
int64_t station_live_now_ms(struct station_live *live);
int64_t
station_live_quiet_ms(struct station_live *live);     /* since anybody spoke, midthrow included */
bool station_live_is_deaf(struct station_live *live); /* no microphone just now, or none wanted */
void station_live_level(struct station_live *live, bool open, struct screen_level *level);
void station_live_status(struct station_live *live, struct audio_live_status *status);
struct station_live_reply station_live_reply(const struct station_live *live);

#endif
