/* The computer's own microphone and speaker: see portaudio.h. The callback is in line.c. */
#include "audio/portaudio.h"

#include <errno.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <alsa/asoundlib.h>
#include <portaudio.h>

#include "audio/join.h"
#include "audio/line.h"
#include "audio/quiet.h"
#include "base/text.h"

static const int64_t MS = 1000000; /* nanoseconds */

enum {
    LOOK_MS = 100,   /* how often the tender looks at its streams */
    STALL_MS = 1000, /* a stream without a call for so long stands still */
    START_MS = 3000, /* the same while it is young: a server or a radio headset must wake up */
    AGAIN_MS = 2000, /* between two searches for a device that is missing */
    OPEN_MS = 6000,  /* a sound system that needs longer to answer hangs */
    CLOSE_MS = 2000, /* the same at the end */
    HUNG_MS = 4000,  /* a device so still, and the tender has not said so: it hangs there */
    SLEEP_MS = 10,   /* how long `wait` sleeps at a time while there is a microphone */
    BUFFER_MS = 10,  /* of sound a call */
    HEAR_MS = 30,    /* of latency asked of a microphone */
    PLAY_MS = 60,    /* of a speaker; doubled each time it proves too little for this computer */
    PLAY_MOST_MS = 480,
    STUMBLES = 8,     /* times a speaker ran empty in its driver between two looks: too little */
    SIGNATURE = 8192, /* bytes of the kernel's list of sound cards that are compared */
};

/* One way of the two. The tender's but for what is marked. */
struct way {
    bool wanted;
    char *name; /* NULL: the standard device */
    PaStream *stream;
    struct audio_line *line;
    unsigned beats;  /* of the line, when last looked at */
    int64_t beat_ns; /* when they last changed */
    int64_t opened_ns;
    unsigned stumbles; /* of the line, when last looked at */
    int latency_ms;
    int64_t next_try_ns; /* when to try to open it again */

    _Atomic(struct audio_line *) coming; /* opened, not yet taken over by the caller's thread */
    _Atomic int presence;                /* enum audio_live_presence, for the caller's thread */
    char device[AUDIO_DEVICE_NAME];      /* under `lock` */
    char why[256];                       /* under `lock` */
};

struct portaudio {
    int rate_hz;
    struct way way[AUDIO_SIDES];
    struct audio_quiet quiet;
    struct audio_join *join; /* the caller's */

    pthread_t tender;
    pthread_mutex_t lock; /* never held over a call into PortAudio, never taken in a callback */
    pthread_cond_t changed;
    bool quit, settled, ended; /* under `lock`: asked to end; first round done; thread done */

    struct audio_device *list; /* the tender's */
    size_t devices;
    bool running; /* PortAudio is initialised */
    int64_t next_list_ns;
    char signature[SIGNATURE];
};

/* ---- the devices ---- */

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
}

static struct audio_device described(PaDeviceIndex index)
{
    const PaDeviceInfo *info = Pa_GetDeviceInfo(index);
    const PaHostApiInfo *host = Pa_GetHostApiInfo(info->hostApi);
    struct audio_device device = {
        .channels = {info->maxInputChannels, info->maxOutputChannels},
        .standard = {index == Pa_GetDefaultInputDevice(), index == Pa_GetDefaultOutputDevice()},
        .rate_hz = (int)info->defaultSampleRate,
        .index = index,
    };
    text_copy(device.name, sizeof device.name, info->name);
    text_copy(device.host, sizeof device.host, host->name);
    return device;
}

/* PortAudio 19.6 aborts where ALSA's configuration names no device at all, as one with a mistake in
 * it does: that is looked at first. */
static bool alsa_is_configured(void)
{
    snd_config_t *devices = NULL;
    if (snd_config_update() < 0 || snd_config_search(snd_config, "pcm", &devices) < 0 ||
        snd_config_get_type(devices) != SND_CONFIG_TYPE_COMPOUND)
        return false;
    return snd_config_iterator_first(devices) != snd_config_iterator_end(devices);
}

static bool start_library(struct fault *fault)
{
    if (!alsa_is_configured())
        return fault_set(fault, FAULT_MISSING,
                         "ALSA's configuration names no device: put right ~/.asoundrc, "
                         "/etc/asound.conf or what $ALSA_CONFIG_PATH names.");
    PaError error = Pa_Initialize();
    return error == paNoError ||
           fault_set(fault, FAULT_MISSING, "the sound system cannot be used (%s): restart it.",
                     Pa_GetErrorText(error));
}

static bool list_devices(struct audio_device **list, size_t *n, struct fault *fault)
{
    PaDeviceIndex count = Pa_GetDeviceCount();
    *n = 0;
    *list = calloc(count > 0 ? (size_t)count : 1, sizeof **list);
    if (*list == NULL)
        return out_of_memory(fault);
    for (PaDeviceIndex i = 0; i < count; i++)
        (*list)[(*n)++] = described(i);
    return true;
}

/* How a device is opened: a microphone in mono; a speaker in stereo where it has that, as hardware
 * made for stereo would play mono on its left side only. */
static PaStreamParameters parameters_of(const struct audio_device *device, enum audio_side side,
                                        int latency_ms)
{
    bool stereo = side == AUDIO_SPEAKER && device->channels[side] >= 2;
    return (PaStreamParameters){.device = device->index,
                                .channelCount = stereo ? 2 : 1,
                                .sampleFormat = paInt16,
                                .suggestedLatency = latency_ms * 1e-3};
}

static bool takes_rate(const struct audio_device *device, enum audio_side side, int rate_hz)
{
    if (device->channels[side] == 0)
        return false;
    PaStreamParameters parameters = parameters_of(device, side, PLAY_MS);
    return Pa_IsFormatSupported(side == AUDIO_MICROPHONE ? &parameters : NULL,
                                side == AUDIO_SPEAKER ? &parameters : NULL,
                                (double)rate_hz) == paFormatIsSupported;
}

static void try_device(struct audio_device *device, int rate_hz)
{
    for (int i = 0; i < AUDIO_SIDES; i++) {
        enum audio_side side = (enum audio_side)i;
        device->direct[i] = takes_rate(device, side, rate_hz);
        device->works[i] = device->direct[i] || takes_rate(device, side, device->rate_hz);
    }
}

bool audio_portaudio_list(int rate_hz, struct audio_device **list, size_t *n, struct fault *fault)
{
    struct audio_quiet quiet;
    audio_quiet_begin(&quiet);
    *list = NULL;
    *n = 0;
    bool started = start_library(fault);
    bool listed = started && list_devices(list, n, fault);
    for (size_t i = 0; listed && i < *n; i++)
        try_device(&(*list)[i], rate_hz);
    if (started)
        Pa_Terminate();
    audio_quiet_end(&quiet, true);
    return listed;
}

/* ---- the tender: what may take its time ---- */

static const char GONE[] = "is gone: plug it in again.";
static const char STALLED[] = "stands still: unplug it and plug it in again.";

static void set_presence(struct portaudio *pa, enum audio_side side,
                         enum audio_live_presence presence, const char *device, const char *why)
{
    struct way *way = &pa->way[side];
    pthread_mutex_lock(&pa->lock);
    text_copy(way->device, sizeof way->device, device);
    text_copy(way->why, sizeof way->why, why);
    pthread_mutex_unlock(&pa->lock);
    atomic_store(&way->presence, (int)presence);
}

static void close_way(struct way *way)
{
    if (way->stream == NULL)
        return;
    Pa_AbortStream(way->stream);
    Pa_CloseStream(way->stream);
    way->stream = NULL;
    atomic_store(&way->line->closed, true); /* its reader frees it from here on */
    way->line = NULL;
}

/* An unread line that was replaced before anybody took it over is still the tender's. */
static void offer(struct way *way, struct audio_line *line)
{
    audio_line_destroy(atomic_exchange(&way->coming, line));
}

static PaError open_at(struct way *way, const struct audio_device *device, enum audio_side side,
                       int rate_hz, struct fault *fault)
{
    PaStreamParameters parameters = parameters_of(device, side, way->latency_ms);
    struct audio_line *line = audio_line_create(side, rate_hz, parameters.channelCount, fault);
    if (line == NULL)
        return paInsufficientMemory;
    PaError error =
        Pa_OpenStream(&way->stream, side == AUDIO_MICROPHONE ? &parameters : NULL,
                      side == AUDIO_SPEAKER ? &parameters : NULL, (double)rate_hz,
                      (unsigned long)(rate_hz * BUFFER_MS / 1000), paNoFlag, audio_line_call, line);
    if (error != paNoError) {
        way->stream = NULL;
        audio_line_destroy(line);
        return error;
    }
    const PaStreamInfo *info = Pa_GetStreamInfo(way->stream);
    if (info != NULL)
        line->latency_ns =
            (int64_t)(1e9 * (side == AUDIO_MICROPHONE ? info->inputLatency : info->outputLatency));
    Pa_SetStreamFinishedCallback(way->stream, audio_line_end);
    error = Pa_StartStream(way->stream);
    if (error != paNoError) {
        Pa_CloseStream(way->stream);
        way->stream = NULL;
        audio_line_destroy(line);
        return error;
    }
    way->line = line;
    way->beats = way->stumbles = 0;
    way->beat_ns = way->opened_ns = audio_now_ns();
    return paNoError;
}

static void explain(PaError error, const struct audio_device *device, enum audio_side side,
                    char *why, size_t size)
{
    struct text text = text_into(why, size);
    text_addf(&text, "the %s '%s' ", audio_side_name(side), device->name);
    if (error == paInvalidSampleRate)
        text_add(&text, "has none of the rates midthrow can use: name another one.");
    else if (error == paDeviceUnavailable)
        text_add(&text, "is busy or gone: close the program that uses it, or plug it in again.");
    else
        text_addf(&text, "cannot be used (%s): name another one.", Pa_GetErrorText(error));
}

/* The rates are tried in turn: the one asked for, the one the device likes, the usual ones. */
static bool try_open(struct portaudio *pa, enum audio_side side)
{
    struct way *way = &pa->way[side];
    size_t which = 0;
    char why[256] = "";
    if (!audio_device_choose(pa->list, pa->devices, side, way->name, &which, why, sizeof why)) {
        set_presence(pa, side, AUDIO_ABSENT, way->name != NULL ? way->name : "", why);
        return false;
    }
    const struct audio_device *device = &pa->list[which];
    const int rates[] = {pa->rate_hz, device->rate_hz, 48000, 44100, 32000};
    struct fault fault;
    PaError error = paInvalidSampleRate;
    for (size_t i = 0; i < sizeof rates / sizeof rates[0] && error == paInvalidSampleRate; i++)
        error = open_at(way, device, side, rates[i], &fault);
    if (error != paNoError) {
        explain(error, device, side, why, sizeof why);
        set_presence(pa, side, AUDIO_ABSENT, device->name, why);
        return false;
    }
    offer(way, way->line);
    set_presence(pa, side, AUDIO_PRESENT, device->name, "");
    return true;
}

/* NULL, or what is wrong with a stream that is open. */
static const char *trouble(struct way *way, int64_t now)
{
    if (atomic_load(&way->line->ended))
        return GONE;
    unsigned beats = atomic_load(&way->line->beats);
    if (beats != way->beats) {
        way->beats = beats;
        way->beat_ns = now;
    }
    int64_t patience = now - way->opened_ns < START_MS * MS ? START_MS : STALL_MS;
    return now - way->beat_ns > patience * MS ? STALLED : NULL;
}

/* A driver whose buffer is too short for how late this computer wakes it runs empty at every call,
 * and some then ask for sound as fast as they can: such a stream is opened again with more. */
static bool stumbles(struct way *way)
{
    unsigned stumbles = atomic_load(&way->line->missed);
    bool often = way->line->side == AUDIO_SPEAKER && stumbles - way->stumbles >= STUMBLES;
    way->stumbles = stumbles;
    if (!often || way->latency_ms >= PLAY_MOST_MS)
        return false;
    way->latency_ms *= 2;
    return true;
}

static void look_after(struct portaudio *pa, enum audio_side side, int64_t now)
{
    struct way *way = &pa->way[side];
    if (!way->wanted)
        return;
    if (way->stream != NULL) {
        const char *what = trouble(way, now);
        if (what == NULL && !stumbles(way))
            return;
        if (what == NULL) {
            close_way(way);
            try_open(pa, side);
            return;
        }
        char why[256], device[AUDIO_DEVICE_NAME];
        struct text text = text_into(why, sizeof why);
        text_copy(device, sizeof device, way->device); /* only this thread writes it */
        text_addf(&text, "the %s '%s' %s", audio_side_name(side), device, what);
        set_presence(pa, side, AUDIO_ABSENT, device, why);
        close_way(way);
        way->next_try_ns = now + AGAIN_MS * MS / 4;
        return;
    }
    if (now >= way->next_try_ns && pa->running) {
        try_open(pa, side);
        way->next_try_ns = audio_now_ns() + AGAIN_MS * MS;
    }
}

/* ---- PortAudio anew ---- */

/* What the kernel knows of sound cards; "" where it does not say. */
static void read_signature(char *signature)
{
    memset(signature, 0, SIGNATURE);
    FILE *file = fopen("/proc/asound/pcm", "r");
    if (file == NULL)
        return;
    if (fread(signature, 1, SIGNATURE - 1, file) == 0)
        signature[0] = '\0';
    fclose(file);
}

static void stop_all(struct portaudio *pa)
{
    close_way(&pa->way[AUDIO_MICROPHONE]);
    close_way(&pa->way[AUDIO_SPEAKER]);
    if (pa->running)
        Pa_Terminate();
    pa->running = false;
    free(pa->list);
    pa->list = NULL;
    pa->devices = 0;
}

static void start_anew(struct portaudio *pa)
{
    struct fault fault;
    stop_all(pa);
    read_signature(pa->signature);
    pa->running = start_library(&fault);
    if (pa->running)
        list_devices(&pa->list, &pa->devices, &fault);
    for (int i = 0; i < AUDIO_SIDES && !pa->running; i++)
        if (pa->way[i].wanted)
            set_presence(pa, (enum audio_side)i, AUDIO_ABSENT, "", fault.sentence);
    pa->way[AUDIO_MICROPHONE].next_try_ns = pa->way[AUDIO_SPEAKER].next_try_ns = 0;
    pa->next_list_ns = audio_now_ns() + AGAIN_MS * MS;
}

static bool missing(const struct way *way)
{
    return way->wanted && way->stream == NULL;
}

static bool speaking(const struct portaudio *pa)
{
    const struct audio_line *line = pa->way[AUDIO_SPEAKER].line;
    return line != NULL && audio_ring_pending(line->sound) > 0;
}

static bool cards_changed(const struct portaudio *pa)
{
    char signature[SIGNATURE];
    read_signature(signature);
    return strcmp(signature, pa->signature) != 0;
}

static bool worth_starting_anew(const struct portaudio *pa, int64_t now)
{
    const struct way *ear = &pa->way[AUDIO_MICROPHONE], *mouth = &pa->way[AUDIO_SPEAKER];
    if (!missing(ear) && !missing(mouth))
        return false;
    if (now < pa->next_list_ns)
        return false;
    if (ear->stream == NULL && mouth->stream == NULL)
        return true;
    return cards_changed(pa) && !speaking(pa);
}

static void one_round(struct portaudio *pa)
{
    int64_t now = audio_now_ns();
    if (!pa->running || worth_starting_anew(pa, now)) {
        if (pa->running || now >= pa->next_list_ns)
            start_anew(pa);
    }
    look_after(pa, AUDIO_MICROPHONE, now);
    look_after(pa, AUDIO_SPEAKER, now);
}

static struct timespec in_ms(int ms)
{
    struct timespec at;
    clock_gettime(CLOCK_MONOTONIC, &at);
    int64_t ns = at.tv_nsec + ms * MS;
    at.tv_sec += (time_t)(ns / 1000000000);
    at.tv_nsec = (long)(ns % 1000000000);
    return at;
}

static void *tend(void *argument)
{
    struct portaudio *pa = argument;
    pthread_mutex_lock(&pa->lock);
    while (!pa->quit) {
        pthread_mutex_unlock(&pa->lock);
        one_round(pa);
        pthread_mutex_lock(&pa->lock);
        pa->settled = true;
        pthread_cond_broadcast(&pa->changed);
        struct timespec until = in_ms(LOOK_MS);
        while (!pa->quit && pthread_cond_timedwait(&pa->changed, &pa->lock, &until) == 0)
            ;
    }
    pthread_mutex_unlock(&pa->lock);
    stop_all(pa);
    pthread_mutex_lock(&pa->lock);
    pa->ended = true;
    pthread_cond_broadcast(&pa->changed);
    pthread_mutex_unlock(&pa->lock);
    return NULL;
}

/* Waits for a flag under the lock; false when it took too long. */
static bool await(struct portaudio *pa, const bool *flag, int ms)
{
    struct timespec until = in_ms(ms);
    pthread_mutex_lock(&pa->lock);
    while (!*flag && pthread_cond_timedwait(&pa->changed, &pa->lock, &until) == 0)
        ;
    bool set = *flag;
    pthread_mutex_unlock(&pa->lock);
    return set;
}

/* Signals are for the caller's thread: the tender, and the threads PortAudio makes from it, get
 * none, so that one always ends the caller's `wait`. */
static bool start_tender(struct portaudio *pa)
{
    pthread_condattr_t clock;
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_cond_init(&pa->changed, &clock);
    pthread_condattr_destroy(&clock);
    pthread_mutex_init(&pa->lock, NULL);

    sigset_t all, before;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    int error = pthread_create(&pa->tender, NULL, tend, pa);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return error == 0;
}

/* ---- the driver: the caller's thread ---- */

static void release(struct portaudio *pa)
{
    for (int i = 0; i < AUDIO_SIDES; i++) {
        audio_line_destroy(atomic_exchange(&pa->way[i].coming, NULL));
        free(pa->way[i].name);
    }
    audio_join_destroy(pa->join);
    free(pa);
}

/* A tender that hangs in a driver is left behind with all it may still touch. */
static void portaudio_close(void *state)
{
    struct portaudio *pa = state;
    pthread_mutex_lock(&pa->lock);
    pa->quit = true;
    pthread_cond_broadcast(&pa->changed);
    pthread_mutex_unlock(&pa->lock);
    if (!await(pa, &pa->ended, CLOSE_MS)) {
        pthread_detach(pa->tender);
        audio_quiet_end(&pa->quiet, false);
        return;
    }
    pthread_join(pa->tender, NULL);
    audio_quiet_end(&pa->quiet, true);
    pthread_cond_destroy(&pa->changed);
    pthread_mutex_destroy(&pa->lock);
    release(pa);
}

static struct portaudio *create(const struct audio_live_config *config, struct fault *fault)
{
    struct portaudio *pa = calloc(1, sizeof *pa);
    if (pa == NULL) {
        out_of_memory(fault);
        return NULL;
    }
    const char *const names[] = {config->microphone, config->speaker};
    const bool unwanted[] = {config->no_microphone, config->no_speaker};
    bool kept = true;
    for (int i = 0; i < AUDIO_SIDES; i++) {
        struct way *way = &pa->way[i];
        way->wanted = !unwanted[i];
        way->latency_ms = i == AUDIO_SPEAKER ? PLAY_MS : HEAR_MS;
        way->name = names[i] != NULL ? strdup(names[i]) : NULL;
        kept = kept && (names[i] == NULL || way->name != NULL);
        atomic_store(&way->presence, (int)(way->wanted ? AUDIO_ABSENT : AUDIO_UNWANTED));
    }
    pa->rate_hz = config->rate_hz;
    pa->join = kept ? audio_join_create(config->rate_hz, fault) : NULL;
    if (pa->join == NULL) {
        release(pa);
        out_of_memory(fault);
        return NULL;
    }
    return pa;
}

/* A server that stands still can hold the tender as it closes one stream, before it has looked at
 * the other: then the caller sees for itself. */
static bool hangs(const struct portaudio *pa, enum audio_side side)
{
    return audio_join_still_ms(pa->join, side) > HUNG_MS;
}

static enum audio_live_presence presence_of(struct portaudio *pa, enum audio_side side)
{
    int presence = atomic_load(&pa->way[side].presence);
    if (presence == (int)AUDIO_PRESENT && hangs(pa, side))
        return AUDIO_ABSENT;
    return (enum audio_live_presence)presence;
}

static bool nothing_there(struct portaudio *pa)
{
    return presence_of(pa, AUDIO_MICROPHONE) != AUDIO_PRESENT &&
           presence_of(pa, AUDIO_SPEAKER) != AUDIO_PRESENT;
}

static void say_why(struct portaudio *pa, struct fault *fault)
{
    const char *ear = pa->way[AUDIO_MICROPHONE].why, *mouth = pa->way[AUDIO_SPEAKER].why;
    pthread_mutex_lock(&pa->lock);
    fault_set(fault, FAULT_MISSING, "%s%s%s", ear, ear[0] != '\0' && mouth[0] != '\0' ? " " : "",
              mouth);
    pthread_mutex_unlock(&pa->lock);
}

static void take_lines(struct portaudio *pa)
{
    struct fault fault;
    for (int i = 0; i < AUDIO_SIDES; i++) {
        if (atomic_load(&pa->way[i].coming) == NULL)
            continue;
        struct audio_line *line = atomic_exchange(&pa->way[i].coming, NULL);
        if (line != NULL)
            audio_join_set(pa->join, line, &fault);
    }
    audio_join_pump(pa->join);
}

static bool portaudio_open(const struct audio_live_config *config, void **state,
                           struct fault *fault)
{
    struct portaudio *pa = create(config, fault);
    if (pa == NULL)
        return false;
    audio_quiet_begin(&pa->quiet);
    if (!start_tender(pa)) {
        audio_quiet_end(&pa->quiet, true);
        release(pa);
        return fault_set(fault, FAULT_FAILED,
                         "no thread can be started for the sound: close something and try again.");
    }
    if (!await(pa, &pa->settled, OPEN_MS)) {
        fault_set(fault, FAULT_MISSING,
                  "the sound system does not answer: restart it, or unplug its devices.");
        portaudio_close(pa);
        return false;
    }
    if (nothing_there(pa)) {
        say_why(pa, fault);
        portaudio_close(pa);
        return false;
    }
    take_lines(pa);
    *state = pa;
    return true;
}

static size_t portaudio_read(void *state, int16_t *heard, int16_t *played, size_t frames)
{
    struct portaudio *pa = state;
    take_lines(pa);
    return audio_join_read(pa->join, heard, played, frames);
}

/* A speaker that is there but whose line is just being replaced has no room for the moment. */
static size_t portaudio_write(void *state, const int16_t *pcm, size_t frames)
{
    struct portaudio *pa = state;
    take_lines(pa);
    if (presence_of(pa, AUDIO_SPEAKER) != AUDIO_PRESENT)
        return frames;
    return audio_join_write(pa->join, pcm, frames);
}

static size_t portaudio_pending(void *state)
{
    struct portaudio *pa = state;
    take_lines(pa);
    if (presence_of(pa, AUDIO_SPEAKER) != AUDIO_PRESENT)
        return 0;
    return audio_join_pending(pa->join);
}

static void portaudio_drop(void *state)
{
    struct portaudio *pa = state;
    take_lines(pa);
    audio_join_drop(pa->join);
}

/* The callback may not wake anybody, so this looks every few milliseconds. */
static bool portaudio_wait(void *state, struct pollfd *fds, size_t n, int timeout_ms)
{
    struct portaudio *pa = state;
    int64_t until = audio_now_ns() + timeout_ms * MS;
    for (;;) {
        take_lines(pa);
        bool over = audio_join_readable(pa->join) > 0;
        int64_t left = timeout_ms < 0 ? SLEEP_MS : (until - audio_now_ns() + MS - 1) / MS;
        int sleep_ms = over || left <= 0 ? 0 : left < SLEEP_MS ? (int)left : SLEEP_MS;
        int ready = poll(fds, (nfds_t)n, sleep_ms);
        if (ready < 0 && errno == EINTR)
            return false;
        if (ready != 0 || over || left <= 0)
            return true;
    }
}

static int64_t portaudio_now_ms(void *state)
{
    (void)state;
    return audio_now_ns() / MS;
}

/* Name and sentence of one side; the lock is held. */
static void describe(const struct way *way, enum audio_side side, enum audio_live_presence presence,
                     char name[AUDIO_DEVICE_NAME], char *why, size_t size)
{
    struct text text = text_into(why, size);
    text_copy(name, AUDIO_DEVICE_NAME, way->device);
    if (presence == AUDIO_ABSENT && way->why[0] == '\0')
        text_addf(&text, "the %s '%s' %s", audio_side_name(side), way->device, STALLED);
    else
        text_add(&text, way->why);
}

static void portaudio_status(void *state, struct audio_live_status *status)
{
    struct portaudio *pa = state;
    take_lines(pa);
    *status = (struct audio_live_status){
        .microphone = presence_of(pa, AUDIO_MICROPHONE),
        .speaker = presence_of(pa, AUDIO_SPEAKER),
        .lost_frames = audio_join_lost(pa->join),
        .starved_calls = audio_join_starved(pa->join),
    };
    audio_join_deadlines(pa->join, AUDIO_MICROPHONE, &status->ear_deadlines);
    audio_join_deadlines(pa->join, AUDIO_SPEAKER, &status->mouth_deadlines);
    pthread_mutex_lock(&pa->lock);
    describe(&pa->way[AUDIO_MICROPHONE], AUDIO_MICROPHONE, status->microphone,
             status->microphone_name, status->microphone_why, sizeof status->microphone_why);
    describe(&pa->way[AUDIO_SPEAKER], AUDIO_SPEAKER, status->speaker, status->speaker_name,
             status->speaker_why, sizeof status->speaker_why);
    pthread_mutex_unlock(&pa->lock);
}

const struct audio_live_driver audio_live_portaudio = {
    .name = "portaudio",
    .open = portaudio_open,
    .read = portaudio_read,
    .write = portaudio_write,
    .pending = portaudio_pending,
    .drop = portaudio_drop,
    .wait = portaudio_wait,
    .now_ms = portaudio_now_ms,
    .status = portaudio_status,
    .close = portaudio_close,
};
