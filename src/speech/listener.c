/* The ear, live: see listener.h. */
#include "speech/listener.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "speech/echo.h"
#include "speech/places.h"

enum {
    FRAMES_A_SECOND = 1000 / SPEECH_FRAME_MS,
    BEFORE_FRAMES = 50, /* kept from before the utterance: the recogniser needs its noise */
    LONGEST_FRAMES = 30 * FRAMES_A_SECOND,
    KEPT_FRAMES = LONGEST_FRAMES + BEFORE_FRAMES,
    LEAST_SPEECH_MS = 100, /* no word is shorter; a knock is */
    LOOK_MS = 120,         /* a pause after which the recogniser has a look */
    LONG_MS = 2000,        /* an utterance that goes on so long without a sentence is most likely no
                              answer, and each look costs as much as it is long: */
    LOOK_LONG_MS = 300,    /* then a look waits for such a pause, of which talk has fewer */
    OWN_ECHO_MS = 60,      /* what begins so soon after midthrow's own voice may be its echo */
    TAIL_MS = 700,         /* what begins so soon after an utterance may be the rest of it */
};

/* How long a pause ends an utterance, by what its words are so far. A stop consonant's closure is
 * up to 150 ms, a pause within an answer a second and more. Judgement, tried on the benches. */
enum {
    PAUSE_WHOLE_MS = 220,
    PAUSE_MAY_GO_ON_MS = 520,
    PAUSE_DOUBTED_MS = 620, /* a sentence that is not quite believed */
    PAUSE_BEGUN_MS = 1300,  /* not a sentence yet, or not one of these */
};

struct speech_listener {
    struct speech_listener_config config;
    struct speech_places *places;
    struct speech_echo *echo;
    struct speech_endpoint end;
    char grammar[48];
    int longest_ms, patience_ms;
    int16_t kept[KEPT_FRAMES * SPEECH_FRAME]; /* the last BEFORE_FRAMES, or the utterance */
    int frames;                               /* of them */
    int since_uttered_ms;
    bool looked;   /* at this pause already */
    int wanted_ms; /* the pause that ends it, after that look */
    struct speech_utterance now;
};

struct speech_listener *speech_listener_create(const struct speech_listener_config *config,
                                               struct fault *fault)
{
    struct speech_listener *listener = calloc(1, sizeof *listener);
    if (listener != NULL) {
        listener->config = *config;
        listener->places = speech_places_create(config->grammar_dir, config->same_meaning);
        listener->echo = speech_echo_create(fault);
        speech_endpoint_init(&listener->end);
        listener->since_uttered_ms = TAIL_MS;
    }
    if (listener != NULL && listener->places != NULL && listener->echo != NULL)
        return listener;
    speech_listener_destroy(listener);
    fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    return NULL;
}

void speech_listener_destroy(struct speech_listener *listener)
{
    if (listener == NULL)
        return;
    speech_places_destroy(listener->places);
    speech_echo_destroy(listener->echo);
    free(listener);
}

const struct speech_endpoint *speech_listener_endpoint(const struct speech_listener *listener)
{
    return &listener->end;
}

bool speech_listener_expect(struct speech_listener *listener, const char *grammar, int longest_ms,
                            int patience_ms, struct fault *fault)
{
    struct speech_heard heard;
    int16_t nothing[SPEECH_FRAME] = {0};
    text_copy(listener->grammar, sizeof listener->grammar, grammar);
    listener->longest_ms = longest_ms;
    listener->patience_ms = patience_ms > 0 ? patience_ms : PAUSE_MAY_GO_ON_MS;
    listener->looked = false;
    /* Both read their grammars when first asked: now, and not when an answer waits for it. */
    speech_place(listener->places, grammar, "stop");
    return speech_recognise(listener->config.recogniser, grammar, nothing, SPEECH_FRAME, &heard,
                            fault);
}

/* ---- the sound kept ------------------------------------------------------------------------ */

static void keep(struct speech_listener *listener, const int16_t pcm[SPEECH_FRAME])
{
    int most = listener->end.state == SPEECH_QUIET ? BEFORE_FRAMES : KEPT_FRAMES;
    if (listener->frames >= most) {
        int drop = listener->frames - most + 1;
        listener->frames -= drop;
        memmove(listener->kept, listener->kept + drop * SPEECH_FRAME,
                (size_t)listener->frames * SPEECH_FRAME * sizeof *listener->kept);
    }
    memcpy(listener->kept + listener->frames * SPEECH_FRAME, pcm,
           SPEECH_FRAME * sizeof *listener->kept);
    listener->frames++;
}

/* What was heard is not heard again at the beginning of what comes next. */
static void keep_the_pause(struct speech_listener *listener)
{
    int pause = listener->end.pause_ms / SPEECH_FRAME_MS;
    if (listener->frames <= pause)
        return;
    memmove(listener->kept, listener->kept + (listener->frames - pause) * SPEECH_FRAME,
            (size_t)pause * SPEECH_FRAME * sizeof *listener->kept);
    listener->frames = pause;
}

static void let_go(struct speech_listener *listener)
{
    speech_endpoint_forget(&listener->end);
    listener->looked = false;
}

/* ---- has it ended? ------------------------------------------------------------------------- */

/* Was what fits best no more than the beginning of a sentence? */
static bool only_begun(struct speech_listener *listener)
{
    return speech_place(listener->places, listener->grammar, listener->now.heard.so_far) ==
           SPEECH_BEGUN;
}

/* Only a beginning was heard ("five"), and the sentence is what makes the most of it ("five thou"):
 * that is a guess at what was meant, however well it fits. */
static bool is_guess(struct speech_listener *listener)
{
    return listener->now.heard.verdict == SPEECH_ACCEPTED && only_begun(listener);
}

static int wanted_pause(struct speech_listener *listener)
{
    const struct speech_heard *heard = &listener->now.heard;
    if (heard->verdict == SPEECH_REJECTED || only_begun(listener))
        return PAUSE_BEGUN_MS;
    switch (speech_place(listener->places, listener->grammar, heard->words)) {
    case SPEECH_WHOLE:
        return heard->verdict == SPEECH_ACCEPTED ? PAUSE_WHOLE_MS : PAUSE_DOUBTED_MS;
    case SPEECH_MAY_GO_ON:
        return heard->verdict == SPEECH_ACCEPTED || listener->patience_ms > PAUSE_DOUBTED_MS
                   ? listener->patience_ms
                   : PAUSE_DOUBTED_MS;
    case SPEECH_NOWHERE:
    case SPEECH_BEGUN:
        break;
    }
    return PAUSE_BEGUN_MS;
}

static int look_after(const struct speech_listener *listener)
{
    const struct speech_utterance *now = &listener->now;
    bool in_vain = now->runs > 0 && now->heard.verdict == SPEECH_REJECTED;
    return in_vain && listener->end.utterance_ms > LONG_MS ? LOOK_LONG_MS : LOOK_MS;
}

static bool look(struct speech_listener *listener, struct fault *fault)
{
    struct speech_utterance *now = &listener->now;
    if (!speech_recognise(listener->config.recogniser, listener->grammar, listener->kept,
                          (size_t)listener->frames * SPEECH_FRAME, &now->heard, fault))
        return false;
    now->runs++;
    now->decode_ms += now->heard.decode_ms;
    listener->looked = true;
    listener->wanted_ms = wanted_pause(listener);
    return true;
}

static enum speech_listening ended(struct speech_listener *listener,
                                   struct speech_utterance *utterance)
{
    struct speech_utterance *now = &listener->now;
    if (is_guess(listener))
        now->heard.verdict = SPEECH_UNSURE;
    now->pause_ms = listener->end.pause_ms;
    now->speech_ms = listener->end.utterance_ms - listener->end.pause_ms;
    now->level_db = speech_endpoint_speech_db(&listener->end);
    now->noise_db = speech_endpoint_noise_db(&listener->end);
    *utterance = *now;
    listener->since_uttered_ms = 0;
    keep_the_pause(listener);
    let_go(listener);
    return SPEECH_UTTERED;
}

static enum speech_listening go_on(struct speech_listener *listener,
                                   struct speech_utterance *utterance, struct fault *fault)
{
    struct speech_endpoint *end = &listener->end;
    if (end->state == SPEECH_TALKING)
        listener->looked = false;
    bool too_long = end->utterance_ms >= listener->longest_ms;
    if (!too_long && end->pause_ms < look_after(listener))
        return SPEECH_NOTHING;
    if (end->speech_ms < LEAST_SPEECH_MS) {
        if (!too_long && end->pause_ms < PAUSE_MAY_GO_ON_MS)
            return SPEECH_NOTHING;
        let_go(listener);
        return SPEECH_LET_GO;
    }
    if (!listener->looked && !look(listener, fault))
        return SPEECH_FAILED;
    if (end->pause_ms >= listener->wanted_ms || too_long)
        return ended(listener, utterance);
    return SPEECH_NOTHING;
}

enum speech_listening speech_listener_finish(struct speech_listener *listener,
                                             struct speech_utterance *utterance,
                                             struct fault *fault)
{
    if (listener->end.state == SPEECH_QUIET || listener->end.speech_ms < LEAST_SPEECH_MS) {
        let_go(listener);
        return SPEECH_LET_GO;
    }
    if (!listener->looked && !look(listener, fault))
        return SPEECH_FAILED;
    return ended(listener, utterance);
}

static enum speech_listening begin(struct speech_listener *listener)
{
    listener->looked = false;
    listener->now = (struct speech_utterance){
        .over_own_voice =
            speech_echo_silent_ms(listener->echo) - listener->end.begun_ms < OWN_ECHO_MS,
        .is_tail = listener->since_uttered_ms < TAIL_MS,
    };
    return SPEECH_BEGAN;
}

enum speech_listening speech_listener_frame(struct speech_listener *listener, bool open,
                                            const int16_t heard[SPEECH_FRAME],
                                            const int16_t played[SPEECH_FRAME],
                                            struct speech_utterance *utterance, struct fault *fault)
{
    int16_t clean[SPEECH_FRAME];
    bool talking = listener->end.state != SPEECH_QUIET;
    speech_echo_frame(listener->echo, heard, played, talking, clean);
    if (listener->since_uttered_ms < TAIL_MS)
        listener->since_uttered_ms += SPEECH_FRAME_MS;
    speech_endpoint_frame(&listener->end, clean, speech_echo_left(listener->echo));
    keep(listener, clean);
    if (!open) {
        let_go(listener);
        return SPEECH_NOTHING;
    }
    if (listener->end.state == SPEECH_QUIET)
        return SPEECH_NOTHING;
    return talking ? go_on(listener, utterance, fault) : begin(listener);
}
