/* Ears and mouth at once: see live.h. */
#include "station/live.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "language/language.h"
#include "station/speaker.h"
#include "station/watch.h"

enum {
    STEP_MS = 50,               /* the speaker is fed at least so often */
    LOOK_BACK = SPEECH_RATE_HZ, /* own words may be heard a second after they were played */
    MISSES = 2,                 /* not understood in a row are told; after that only */
    TOLD_AGAIN_MS = 15 * 1000,  /* so long after the last one, then after twice that, and so on */
    TOLD_AGAIN_MOST_MS = 240 * 1000,
    RELEASED_MS = 200,   /* the ear stays open so long after the push-to-talk switch is released */
    LEAST_MISS_MS = 250, /* what is shorter is no answer that was missed */
    OVER_NOISE_DB = 8,   /* what is nearer to the noise was not said to midthrow */
};

struct station_live {
    struct station_live_config config;
    void *device;
    struct station_speaker speaker;
    struct speech_listener *listener;
    struct station_watch watch;
    char grammar[48];
    int16_t heard[SPEECH_FRAME], played[SPEECH_FRAME];
    size_t got;        /* of a frame */
    uint64_t began_at; /* of the utterance now heard, in frames played */
    bool talks;        /* the push-to-talk switch is down */
    int released_ms;   /* for so long it has not been, RELEASED_MS at most */
    bool listening;    /* the ear was open at the last frame */
    int misses;        /* not understood in a row, MISSES at most */
    int64_t told_ms;   /* when one was last told */
    int again_ms;      /* so long after that the next is told */
    bool missed;       /* see station_live_missed */
    int64_t spoke_ms;  /* when somebody spoke last, midthrow included */
    double level_db;
    struct station_live_reply reply;
};

/* ---- opening ------------------------------------------------------------------------------- */

static bool open_all(struct station_live *live, struct fault *fault)
{
    const struct station_live_config *config = &live->config;
    struct speech_listener_config listener = {
        .recogniser = config->recogniser,
        .grammar_dir = config->grammar_dir,
        .same_meaning = language_same_meaning,
    };
    if (!config->driver->open(&config->audio, &live->device, fault))
        return false;
    if (config->recogniser != NULL)
        live->listener = speech_listener_create(&listener, fault);
    return (config->recogniser == NULL || live->listener != NULL) &&
           station_speaker_open(&live->speaker, config->driver, live->device, config->voice, fault);
}

struct station_live *station_live_create(const struct station_live_config *config,
                                         struct fault *fault)
{
    struct station_live *live = calloc(1, sizeof *live);
    if (live == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close other programs and start again.");
        return NULL;
    }
    live->config = *config;
    live->released_ms = RELEASED_MS;
    station_watch_init(&live->watch);
    if (open_all(live, fault))
        return live;
    station_live_destroy(live);
    return NULL;
}

void station_live_destroy(struct station_live *live)
{
    if (live == NULL)
        return;
    station_speaker_close(&live->speaker);
    speech_listener_destroy(live->listener);
    if (live->device != NULL)
        live->config.driver->close(live->device);
    free(live);
}

/* ---- speaking ------------------------------------------------------------------------------ */

bool station_live_say(struct station_live *live, const char *sentence, bool caution,
                      struct fault *fault)
{
    if (live->reply.said_ms == 0)
        live->reply.said_ms = station_live_now_ms(live);
    return station_speaker_say(&live->speaker, sentence, caution, fault);
}

bool station_live_play(struct station_live *live, const int16_t *pcm, size_t frames,
                       struct fault *fault)
{
    return station_speaker_play(&live->speaker, pcm, frames, fault);
}

void station_live_hush(struct station_live *live)
{
    station_speaker_hush(&live->speaker);
}

bool station_live_speaks(struct station_live *live)
{
    return station_speaker_is_busy(&live->speaker);
}

bool station_live_warns(struct station_live *live)
{
    return station_speaker_warns(&live->speaker);
}

/* ---- asking -------------------------------------------------------------------------------- */

/* A work order's digits come in groups, and any number of them is a whole answer; a measure's unit
 * may come late, and the unit alone would be heard as another measure. Judgement. */
static int patience_ms(const char *grammar)
{
    static const int patience[] = {
        [LANGUAGE_DIGITS] = 1200, [LANGUAGE_DISTANCE] = 1000, [LANGUAGE_AMOUNT] = 1000};
    enum language_type type;
    return language_grammar_type(grammar, &type) ? patience[type] : 0;
}

/* What the question expects sets the longest utterance; pauses within it counted. Judgement. */
static int longest_ms(const char *grammar)
{
    static const int longest[] = {
        [LANGUAGE_COMMAND] = 4000,  [LANGUAGE_DONT_KNOW] = 4000, [LANGUAGE_SKIP] = 4000,
        [LANGUAGE_YESNO] = 4000,    [LANGUAGE_NUMBER] = 8000,    [LANGUAGE_DIGITS] = 12000,
        [LANGUAGE_DISTANCE] = 8000, [LANGUAGE_TURN] = 8000,      [LANGUAGE_CHOICE] = 5000,
        [LANGUAGE_CHOICES] = 8000,  [LANGUAGE_PHRASE] = 6000,    [LANGUAGE_AMOUNT] = 8000,
    };
    enum language_type type;
    return language_grammar_type(grammar, &type) ? longest[type] : 8000;
}

bool station_live_ask(struct station_live *live, const struct station_question *question,
                      struct fault *fault)
{
    text_copy(live->grammar, sizeof live->grammar, question->grammar);
    return live->listener == NULL ||
           speech_listener_expect(live->listener, question->grammar, longest_ms(question->grammar),
                                  patience_ms(question->grammar), fault);
}

/* ---- what an utterance counts for ---------------------------------------------------------- */

static bool is_command(const struct station_live *live, const char *words,
                       enum language_command command)
{
    struct language_value value;
    return language_parse(live->grammar, words, &value, NULL) == LANGUAGE_OK &&
           value.type == LANGUAGE_COMMAND && value.as.command == command;
}

static bool is_over_own_voice(struct station_live *live, const struct speech_utterance *utterance)
{
    return utterance->over_own_voice || station_live_speaks(live);
}

/* Over midthrow's own voice only what is believed and is not midthrow's own counts; over a caution
 * only what has it said again. "Stop" counts in any case: hearing it wrongly harms nobody. */
static bool counts_over_own_voice(struct station_live *live,
                                  const struct speech_utterance *utterance)
{
    const struct speech_heard *heard = &utterance->heard;
    if (heard->verdict != SPEECH_ACCEPTED)
        return false;
    if (is_command(live, heard->words, LANGUAGE_STOP))
        return true;
    uint64_t since = live->began_at > LOOK_BACK ? live->began_at - LOOK_BACK : 0;
    if (station_speaker_said(&live->speaker, since, heard->words))
        return false;
    return !station_live_warns(live) || is_command(live, heard->words, LANGUAGE_SAY_AGAIN);
}

/* Was it an answer that was missed, or a noise that nobody wants to be told of? */
static bool is_a_miss(struct station_live *live, const struct speech_utterance *utterance)
{
    if (utterance->heard.deafening)
        station_watch_deafened(&live->watch);
    return utterance->speech_ms >= LEAST_MISS_MS &&
           utterance->speech_ms < longest_ms(live->grammar) &&
           utterance->level_db > utterance->noise_db + OVER_NOISE_DB;
}

static bool is_told(struct station_live *live)
{
    int64_t now_ms = station_live_now_ms(live);
    bool first = live->misses < MISSES;
    live->missed = !first && now_ms - live->told_ms < live->again_ms;
    if (live->missed)
        return false;
    live->misses += first;
    live->again_ms = first                                     ? TOLD_AGAIN_MS
                     : live->again_ms < TOLD_AGAIN_MOST_MS / 2 ? 2 * live->again_ms
                                                               : TOLD_AGAIN_MOST_MS;
    live->told_ms = now_ms;
    return true;
}

/* May it be doubted for where it comes from, or what it follows? "Stop" counts from anywhere and in
 * the middle of anything, and with a talk switch it is known who speaks. */
static bool may_be_anybodys(const struct station_live *live, const struct speech_heard *heard)
{
    return heard->verdict == SPEECH_ACCEPTED && !live->config.push_to_talk &&
           !is_command(live, heard->words, LANGUAGE_STOP);
}

static void doubt(struct speech_heard *heard)
{
    heard->verdict = SPEECH_UNSURE;
    heard->other[0] = '\0'; /* what it would be instead is none of the doubt */
}

static bool counts(struct station_live *live, struct speech_utterance *utterance)
{
    struct speech_heard *heard = &utterance->heard;
    bool believed = heard->verdict == SPEECH_ACCEPTED, over = is_over_own_voice(live, utterance);
    enum station_doubt doubts = STATION_NO_DOUBT;
    if (may_be_anybodys(live, heard))
        doubts = station_watch_doubts(&live->watch, utterance->level_db, utterance->is_tail, over);
    if (doubts == STATION_DROPS || (utterance->is_tail && !believed))
        return false;
    if (over && !counts_over_own_voice(live, utterance))
        return false;
    if (heard->verdict == SPEECH_REJECTED)
        return is_a_miss(live, utterance) && is_told(live);
    live->misses = 0;
    if (doubts == STATION_ASKS) {
        station_watch_asked(&live->watch, utterance->level_db);
        doubt(heard);
    } else if (believed && !is_command(live, heard->words, LANGUAGE_STOP)) {
        station_watch_believed(&live->watch, utterance->level_db);
    }
    return true;
}

/* Over midthrow's own voice "stop" is believed as an answer is, not as surely as other commands: it
 * must not be lost, and hearing it wrongly harms nobody. */
static void believe_stop(const struct station_live *live, struct speech_heard *heard)
{
    static const double STOP_AT = 0.70;
    if (heard->verdict == SPEECH_UNSURE && heard->score >= STOP_AT &&
        is_command(live, heard->words, LANGUAGE_STOP))
        heard->verdict = SPEECH_ACCEPTED;
}

static enum job_verdict verdict_of(enum speech_verdict verdict)
{
    return verdict == SPEECH_ACCEPTED ? JOB_ACCEPTED
           : verdict == SPEECH_UNSURE ? JOB_UNSURE
                                      : JOB_REJECTED;
}

static void fill_event(const struct speech_heard *heard, struct job_event *event)
{
    event->kind = JOB_HEARD;
    event->source = JOB_BY_EAR;
    event->verdict = verdict_of(heard->verdict);
    event->score = heard->score;
    event->deafening = heard->verdict == SPEECH_REJECTED && heard->deafening;
    text_copy(event->words, sizeof event->words, heard->words);
    if (heard->verdict == SPEECH_UNSURE) /* believed is believed: the rival is far behind */
        text_copy(event->other, sizeof event->other, heard->other);
}

/* ---- hearing ------------------------------------------------------------------------------- */

static void measure(struct station_live *live)
{
    static const double FALL_DB = 1.5; /* a frame: a meter, not a flicker */
    const struct speech_endpoint *end = speech_listener_endpoint(live->listener);
    double db = speech_bands_db(&end->bands);
    live->level_db = db > live->level_db - FALL_DB ? db : live->level_db - FALL_DB;
}

static void record(struct station_live *live)
{
    const struct station_live_config *config = &live->config;
    if (config->tap == NULL)
        return;
    int64_t lasts_ms;
    config->tap(config->tap_context, station_live_now_ms(live), live->heard, live->played);
    for (const char *sentence; (sentence = station_speaker_next(&live->speaker, &lasts_ms));)
        config->told(config->tap_context, "tool", sentence, 0, lasts_ms);
}

static void record_answer(struct station_live *live, const struct speech_utterance *utterance)
{
    const struct station_live_config *config = &live->config;
    if (config->told != NULL && utterance->heard.words[0] != '\0')
        config->told(config->tap_context, "ear", utterance->heard.words,
                     utterance->speech_ms + utterance->pause_ms, utterance->speech_ms);
}

/* Is the ear open for this frame? `last`: and closed after it, the switch having been released. */
static bool is_open(struct station_live *live, bool open, bool busy, bool *last)
{
    const struct station_live_config *config = &live->config;
    *last = false;
    if (!open || (config->half_duplex && busy))
        return false;
    if (!config->push_to_talk || live->talks)
        return true;
    if (live->released_ms >= RELEASED_MS)
        return false;
    live->released_ms += SPEECH_FRAME_MS;
    *last = live->released_ms >= RELEASED_MS;
    return true;
}

static enum station_live_got hear_frame(struct station_live *live, bool open,
                                        struct job_event *event, struct fault *fault)
{
    struct speech_utterance utterance;
    bool busy = station_live_speaks(live), last, counted;
    live->listening = is_open(live, open, busy, &last);
    record(live);
    enum speech_listening got = speech_listener_frame(live->listener, live->listening, live->heard,
                                                      live->played, &utterance, fault);
    if (last && got != SPEECH_UTTERED && got != SPEECH_FAILED)
        got = speech_listener_finish(live->listener, &utterance, fault);
    const struct speech_endpoint *end = speech_listener_endpoint(live->listener);
    station_watch_frame(&live->watch, live->heard, speech_endpoint_noise_db(end));
    measure(live);
    if (busy || end->state == SPEECH_TALKING)
        live->spoke_ms = station_live_now_ms(live);
    switch (got) {
    case SPEECH_FAILED:
        return STATION_LIVE_BROKEN;
    case SPEECH_BEGAN:
        live->began_at = station_speaker_played(&live->speaker);
        return STATION_LIVE_NOTHING;
    case SPEECH_UTTERED:
        if (is_over_own_voice(live, &utterance))
            believe_stop(live, &utterance.heard);
        counted = counts(live, &utterance);
        station_watch_uttered(&live->watch, utterance.heard.verdict == SPEECH_REJECTED,
                              utterance.speech_ms);
        if (!counted)
            return STATION_LIVE_NOTHING;
        fill_event(&utterance.heard, event);
        record_answer(live, &utterance);
        live->reply = (struct station_live_reply){.utterance = utterance,
                                                  .heard_ms = station_live_now_ms(live)};
        return STATION_LIVE_ANSWER;
    case SPEECH_NOTHING:
    case SPEECH_LET_GO:
        break;
    }
    return STATION_LIVE_NOTHING;
}

/* Everything there is to read, up to the first thing that matters. */
static enum station_live_got hear(struct station_live *live, bool open, struct job_event *event,
                                  struct fault *fault)
{
    const struct audio_live_driver *driver = live->config.driver;
    for (;;) {
        live->got += driver->read(live->device, live->heard + live->got, live->played + live->got,
                                  SPEECH_FRAME - live->got);
        if (live->got < SPEECH_FRAME)
            return STATION_LIVE_NOTHING;
        live->got = 0;
        if (live->listener == NULL)
            continue;
        enum station_live_got got = hear_frame(live, open, event, fault);
        if (got != STATION_LIVE_NOTHING)
            return got;
        if (!station_speaker_pour(&live->speaker, fault))
            return STATION_LIVE_BROKEN;
    }
}

/* The ear is told of between utterances, and once. */
static bool ear_changed(struct station_live *live, enum job_ear ear, struct job_event *event)
{
    struct audio_live_status status;
    if (live->config.audio.no_microphone || live->listener == NULL)
        return false;
    live->config.driver->status(live->device, &status);
    if (status.microphone == AUDIO_ABSENT)
        station_watch_absent(&live->watch);
    if (live->watch.ear == ear)
        return false;
    if (status.microphone == AUDIO_PRESENT &&
        speech_listener_endpoint(live->listener)->state != SPEECH_QUIET && live->listening)
        return false;
    event->kind = JOB_EAR_CHANGED;
    event->source = JOB_BY_STATION;
    event->ear = live->watch.ear;
    live->misses = 0;
    return true;
}

static bool any_ready(const struct pollfd *fds, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (fds[i].revents != 0)
            return true;
    return false;
}

enum station_live_got station_live_wait(struct station_live *live, struct pollfd *fds, size_t n,
                                        int timeout_ms, bool open, enum job_ear ear,
                                        struct job_event *event, struct fault *fault)
{
    int64_t until_ms = station_live_now_ms(live) + timeout_ms;
    for (int64_t left_ms = timeout_ms; left_ms > 0;
         left_ms = until_ms - station_live_now_ms(live)) {
        if (!station_speaker_pour(&live->speaker, fault))
            return STATION_LIVE_BROKEN;
        if (!live->config.driver->wait(live->device, fds, n,
                                       left_ms < STEP_MS ? (int)left_ms : STEP_MS))
            return STATION_LIVE_SIGNAL;
        if (any_ready(fds, n))
            return STATION_LIVE_READY;
        enum station_live_got got = hear(live, open, event, fault);
        if (got != STATION_LIVE_NOTHING)
            return got;
        if (ear_changed(live, ear, event))
            return STATION_LIVE_EAR;
        if (station_speaker_is_busy(&live->speaker))
            live->spoke_ms = station_live_now_ms(live);
    }
    return STATION_LIVE_NOTHING;
}

bool station_live_say_out(struct station_live *live, bool caution, struct fault *fault)
{
    struct job_event unheard;
    while (caution ? station_live_warns(live) : station_live_speaks(live)) {
        enum station_live_got got =
            station_live_wait(live, NULL, 0, STEP_MS, false, live->watch.ear, &unheard, fault);
        if (got == STATION_LIVE_SIGNAL || got == STATION_LIVE_BROKEN)
            return false;
    }
    return true;
}

/* ---- how it is ----------------------------------------------------------------------------- */

void station_live_talk(void *context, bool down)
{
    struct station_live *live = context;
    if (live->talks && !down)
        live->released_ms = 0;
    live->talks = down;
}

void station_live_answered(struct station_live *live)
{
    live->misses = 0;
}

bool station_live_missed(struct station_live *live)
{
    bool missed = live->missed;
    live->missed = false;
    return missed;
}

enum job_ear station_live_ear(const struct station_live *live)
{
    return live->watch.ear;
}

int64_t station_live_now_ms(struct station_live *live)
{
    return live->config.driver->now_ms(live->device);
}

int64_t station_live_quiet_ms(struct station_live *live)
{
    return station_live_now_ms(live) - live->spoke_ms;
}

bool station_live_is_deaf(struct station_live *live)
{
    struct audio_live_status status;
    live->config.driver->status(live->device, &status);
    return live->listener == NULL || status.microphone != AUDIO_PRESENT;
}

void station_live_level(struct station_live *live, bool open, struct screen_level *level)
{
    *level = (struct screen_level){.ear = SCREEN_EAR_NONE, .level_db = -120, .noise_db = -120};
    if (live->listener == NULL)
        return;
    level->ear = !open ? SCREEN_EAR_PAD : live->listening ? SCREEN_EAR_OPEN : SCREEN_EAR_CLOSED;
    level->level_db = live->level_db;
    level->noise_db = speech_endpoint_noise_db(speech_listener_endpoint(live->listener));
    level->clipping = live->watch.clips;
}

void station_live_status(struct station_live *live, struct audio_live_status *status)
{
    live->config.driver->status(live->device, status);
}

struct station_live_reply station_live_reply(const struct station_live *live)
{
    struct station_live_reply reply = live->reply;
    reply.written_ms = live->speaker.first_written_ms;
    return reply;
}
