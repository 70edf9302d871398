/*
 * The ear, live: frames of 10 ms in, whole utterances out. Echo canceller, endpointer, recogniser,
 * and the decision when an utterance has ended, which hangs on its words.
 *
 * At the first short pause the recogniser is run on the sound so far, while the pause goes on. If
 * that made a sentence that is believed and that nothing else could follow, the utterance ends at
 * once; if it may go on ("twenty" ... "one") the pause may be longer; if it is no sentence yet
 * ("three" ... "sixteenths"), longest.
 *
 *     struct speech_listener *ear = speech_listener_create(&config, &fault);
 *     speech_listener_expect(ear, "distance", 8000, 0, &fault);
 *     if (speech_listener_frame(ear, heard, played, &utterance, &fault) == SPEECH_UTTERED) ...
 *
 * The recogniser is called from within speech_listener_frame, which then takes as long as that; the
 * frames that come meanwhile wait with whoever reads them.
 */
#ifndef MIDTHROW_SPEECH_LISTENER_H
#define MIDTHROW_SPEECH_LISTENER_H

#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "speech/endpoint.h"
#include "speech/recogniser.h"

struct speech_listener_config {
    struct speech_recogniser *recogniser; /* the caller's */
    const char *grammar_dir;
    bool (*same_meaning)(const char *grammar, const char *words, const char *other);
};

enum speech_listening {
    SPEECH_NOTHING,
    SPEECH_BEGAN,   /* somebody began to speak */
    SPEECH_UTTERED, /* `utterance` holds it */
    SPEECH_LET_GO,  /* what began was no utterance: a knock, or speech that never pauses */
    SPEECH_FAILED,  /* see the fault */
};

struct speech_utterance {
    struct speech_heard heard;
    bool over_own_voice; /* it began while midthrow spoke */
    bool is_tail;        /* it may be the rest of the utterance before */
    int speech_ms;       /* how long somebody spoke, pauses within counted */
    int pause_ms;        /* how long it was quiet before the utterance counted as ended */
    double decode_ms;    /* of all runs of the recogniser on it */
    int runs;
    double level_db, noise_db; /* of full scale */
};

struct speech_listener;

struct speech_listener *speech_listener_create(const struct speech_listener_config *config,
                                               struct fault *fault);
void speech_listener_destroy(struct speech_listener *listener);

/* What is asked now: the next utterance is heard in this grammar, and is at most this long. One
 * that has begun already is heard in the new one too. `patience_ms`: the pause that ends a sentence
 * which may go on; 0: the usual. */
bool speech_listener_expect(struct speech_listener *listener, const char *grammar, int longest_ms,
                            int patience_ms, struct fault *fault);

/* `open` false: the noise and the echo are followed, but nobody is listened to. */
enum speech_listening speech_listener_frame(struct speech_listener *listener, bool open,
                                            const int16_t heard[SPEECH_FRAME],
                                            const int16_t played[SPEECH_FRAME],
                                            struct speech_utterance *utterance,
                                            struct fault *fault);

/* Nobody listens any more: what was said until now is the utterance. SPEECH_LET_GO when that is
 * nothing. */
enum speech_listening speech_listener_finish(struct speech_listener *listener,
                                             struct speech_utterance *utterance,
                                             struct fault *fault);

/* For the noise watch and the screen. */
const struct speech_endpoint *speech_listener_endpoint(const struct speech_listener *listener);

#endif
