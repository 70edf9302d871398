/* One run of the tool on one job: see session.h. Opens what is needed before it begins, so that
 * what is missing is said before the first question and not in the middle of the job. */
#include "command/session.h"

#include <dirent.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"
#include "base/utf8.h"
#include "command/command.h"
#include "command/confine.h"
#include "command/ears.h"
#include "command/voices.h"
#include "profile/shop.h"
#include "record/history.h"
#include "record/learn.h"
#include "record/mend.h"
#include "record/said.h"
#include "station/pad_device.h"
#include "station/station.h"

enum { PATH_SIZE = 1024, RECORDINGS_MAX = 4096 };

struct session {
    const struct session_options *options;
    char data[PATH_SIZE];
    char prompts_dir[PATH_SIZE], grammars_dir[PATH_SIZE], profiles_dir[PATH_SIZE];
    char own_profiles[PATH_SIZE];
    char *recording[RECORDINGS_MAX];
    size_t recordings;
    struct prompt_catalogue *prompts;
    struct journal *journal;
    struct transcript *transcript;
    struct speech_recogniser *recogniser;
    struct speech_phonetic *person; /* NULL: nobody the ear has learned */
    struct screen screen;
    struct station_settings settings;
    struct station_mouth mouth;
    struct station_ears ears;
    struct session_record record;
    struct session_ears live;
    struct station_lines lines;
    struct job job;
    char bike[JOB_BIKE], rider[JOURNAL_RIDER];
    double priors[REASON_CAUSE_COUNT];
    struct profile_shop shop;
    struct station station;
};

static volatile sig_atomic_t interrupted;

static void on_signal(int signal_number)
{
    (void)signal_number;
    interrupted = 1;
}

static void catch_signals(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = on_signal; /* no SA_RESTART: a wait for an answer must end */
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    sigaction(SIGHUP, &action, NULL);
    action.sa_handler = SIG_IGN; /* a full disk is reported by write, a closed pipe too */
    sigaction(SIGXFSZ, &action, NULL);
    sigaction(SIGPIPE, &action, NULL);
}

/* ---- recordings --------------------------------------------------------------------------- */

static bool add_recording(struct session *session, const char *path, struct fault *fault)
{
    int16_t *pcm;
    size_t frames;
    if (session->recordings == RECORDINGS_MAX)
        return fault_set(fault, FAULT_USAGE, "more than %d recordings: give fewer files.",
                         (int)RECORDINGS_MAX);
    /* read once now: a bad recording is refused before the job begins */
    if (!audio_read_whole(path, SPEECH_RATE_HZ, &pcm, &frames, fault))
        return false;
    free(pcm);
    char *copy = strdup(path);
    if (copy == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    session->recording[session->recordings++] = copy;
    return true;
}

static int is_wav(const struct dirent *entry)
{
    size_t length = strlen(entry->d_name);
    return length > 4 && strcmp(entry->d_name + length - 4, ".wav") == 0;
}

static bool add_folder(struct session *session, const char *folder, struct fault *fault)
{
    struct dirent **entries;
    int n = scandir(folder, &entries, is_wav, alphasort);
    if (n < 0)
        return fault_set(fault, FAULT_MISSING, "cannot read the folder '%s' (%s).", folder,
                         strerror(errno));
    bool ok =
        n > 0 || fault_set(fault, FAULT_MISSING,
                           "the folder '%s' holds no .wav file: record the answers there.", folder);
    for (int i = 0; i < n; i++) {
        char path[PATH_SIZE];
        struct text text = text_into(path, sizeof path);
        text_addf(&text, "%s/%s", folder, entries[i]->d_name);
        ok = ok && add_recording(session, path, fault);
        free(entries[i]);
    }
    free(entries);
    return ok;
}

static bool find_recordings(struct session *session, struct fault *fault)
{
    for (size_t i = 0; i < session->options->hear_n; i++) {
        struct stat status;
        const char *path = session->options->hear[i];
        bool folder = stat(path, &status) == 0 && S_ISDIR(status.st_mode);
        if (!(folder ? add_folder(session, path, fault) : add_recording(session, path, fault)))
            return false;
    }
    return true;
}

/* ---- opening ------------------------------------------------------------------------------ */

static bool find_folders(struct session *session, struct fault *fault)
{
    if (!command_shared("prompts", session->prompts_dir, sizeof session->prompts_dir, fault) ||
        !command_shared("grammars", session->grammars_dir, sizeof session->grammars_dir, fault) ||
        !command_shared("profiles", session->profiles_dir, sizeof session->profiles_dir, fault))
        return false;
    if (session->options->data != NULL) {
        if (!text_copy(session->data, sizeof session->data, session->options->data))
            return fault_set(fault, FAULT_USAGE, "the data directory's name is too long.");
    } else if (!journal_default_directory(session->data, sizeof session->data, fault)) {
        return false;
    }
    struct text own = text_into(session->own_profiles, sizeof session->own_profiles);
    text_addf(&own, "%s/profiles", session->data);
    return true;
}

static bool check_profile(const struct session *session, struct fault *fault)
{
    struct profile profile;
    return session->options->profile == NULL ||
           profile_find(session->options->profile, session->own_profiles, session->profiles_dir,
                        &profile, fault);
}

/* Who and what a new job is about, fit to be kept. */
static bool check_names(struct session *session, struct fault *fault)
{
    const char *rider = session->options->rider;
    if (session->options->bike != NULL &&
        !history_bike(session->options->bike, session->bike, fault))
        return false;
    if (rider == NULL || (rider[0] != '\0' && utf8_is_valid(rider, strlen(rider)) &&
                          text_copy(session->rider, sizeof session->rider, rider)))
        return true;
    return fault_set(fault, FAULT_USAGE, "--rider takes a name of at most %d letters.",
                     (int)JOURNAL_RIDER - 1);
}

/* The shop's own judgement, where it has written any; a file that was named must be there. */
static bool find_reason(struct session *session, struct fault *fault)
{
    char path[PATH_SIZE];
    struct text text = text_into(path, sizeof path);
    if (session->options->reason != NULL)
        return profile_shop_load(session->options->reason, &session->shop, fault);
    text_addf(&text, "%s/reason.ini", session->data);
    return access(path, F_OK) != 0 || profile_shop_load(path, &session->shop, fault);
}

static bool open_ears(struct session *session, struct fault *fault)
{
    if (session->recordings == 0)
        return true;
    struct speech_config config = {
        .grammar_dir = session->grammars_dir,
        .same_meaning = language_same_meaning,
        .is_command = language_is_command,
    };
    session->recogniser = speech_recogniser_create(&config, fault);
    return session->recogniser != NULL;
}

static void add_input(struct station *station, const struct station_input *driver, void *state)
{
    station->input[station->inputs].driver = driver;
    station->input[station->inputs].state = state;
    station->inputs++;
}

/* Words and entries on standard input, or the number pad alone, as the options say. */
static bool open_keys(struct session *session, struct fault *fault)
{
    const struct session_options *options = session->options;
    bool any = options->typed || options->pad;
    bool words = any ? options->typed : true, pad = any ? options->pad : true;
    if (!any && (session->recordings > 0 || options->pad_device != NULL))
        return true;
    if (words && session->screen.driver == &screen_big) {
        struct station_typing *typing =
            station_typing_create(STDIN_FILENO, true, pad, &session->screen, fault);
        if (typing == NULL)
            return false;
        add_input(&session->station, &station_input_typing, typing);
    } else if (pad && !words && isatty(STDIN_FILENO) == 1) {
        struct station_pad *keys = station_pad_create(STDIN_FILENO, &session->screen, fault);
        if (keys == NULL)
            return false;
        add_input(&session->station, &station_input_pad, keys);
    } else {
        station_lines_init(&session->lines, STDIN_FILENO, words, pad);
        add_input(&session->station, &station_input_lines, &session->lines);
    }
    return true;
}

static bool open_inputs(struct session *session, struct fault *fault)
{
    const struct session_options *options = session->options;
    if (session->recordings > 0) {
        session->ears = (struct station_ears){.recogniser = session->recogniser,
                                              .paths = session->recording,
                                              .n = session->recordings};
        add_input(&session->station, &station_input_recordings, &session->ears);
    }
    if (options->pad_device != NULL || options->foot != NULL) {
        struct keypad_device_config config = {
            .pad = options->pad_device, .foot = options->foot, .foot_talks = options->foot_talks};
        struct station_pad_device *device =
            station_pad_device_create(&config, &session->screen, fault);
        if (device == NULL)
            return false;
        if (session->live.live != NULL && options->foot_talks)
            station_pad_device_on_talk(device, station_live_talk, session->live.live);
        add_input(&session->station, &station_input_pad_device, device);
    }
    return open_keys(session, fault);
}

/* The big one on a terminal that can be drawn on, else lines. Before the inputs, and closed after
 * them: who takes the terminal last gives it back first. */
static bool open_screen(struct session *session, struct fault *fault)
{
    const struct session_options *options = session->options;
    struct screen_config config = {.out = stdout,
                                   .colours = options->colours != SCREEN_BY_ITSELF
                                                  ? options->colours
                                                  : session->settings.colours};
    bool terminal = isatty(STDIN_FILENO) == 1 && isatty(STDOUT_FILENO) == 1;
    if (terminal && !session->options->plain &&
        screen_open(&session->screen, &screen_big, &config, NULL))
        return true;
    return screen_open(&session->screen, &screen_plain, &config, fault);
}

/* ---- which job ---------------------------------------------------------------------------- */

/* A job without an event is one whose beginning an older midthrow did not live to commit. */
static bool keep_newest_open(void *context, const struct journal_job *job)
{
    struct journal_job *newest = context;
    if (job->closed_ms == 0 && job->events > 0 &&
        (newest->number == 0 || job->last_ms >= newest->last_ms))
        *newest = *job;
    return true;
}

static bool offer(struct session *session, const struct journal_job *open, bool *resume,
                  struct fault *fault)
{
    struct prompt_argument argument[3] = {{.name = "number"}, {.name = "order"}, {.name = "since"}};
    snprintf(argument[0].value, sizeof argument[0].value, "%lld", (long long)open->number);
    text_copy(argument[1].value, sizeof argument[1].value,
              open->order[0] != '\0' ? open->order : "none");
    char since[32];
    transcript_time(open->last_ms, since);
    text_copy(argument[2].value, sizeof argument[2].value, since);
    int choice = station_choose(&session->station, "station.offer", argument, 3, "start", fault);
    *resume = choice == 0;
    return choice >= 0;
}

static bool which_job(struct session *session, int64_t *number, bool *resume, struct fault *fault)
{
    struct journal_job open = {0};
    *resume = false;
    switch (session->options->which) {
    case SESSION_NEW:
        return true;
    case SESSION_RESUME:
        if (session->options->resume > 0) {
            if (!journal_find(session->journal, session->options->resume, &open, fault))
                return false;
            if (open.events == 0)
                return fault_set(fault, FAULT_USAGE,
                                 "job %lld was never begun: start one with --new.",
                                 (long long)open.number);
        } else if (!journal_jobs(session->journal, keep_newest_open, &open, fault)) {
            return false;
        }
        if (open.number == 0)
            return fault_set(fault, FAULT_USAGE, "no job is open: start one without --resume.");
        *resume = true;
        break;
    case SESSION_OFFER:
        if (!journal_jobs(session->journal, keep_newest_open, &open, fault))
            return false;
        if (open.number == 0)
            return true;
        if (!offer(session, &open, resume, fault))
            return false;
        break;
    }
    *number = *resume ? open.number : 0;
    return true;
}

/* A new job begins with what the shop has learned, and is about this bike and rider. */
static bool begin_job(struct session *session, int64_t *number, struct fault *fault)
{
    bool learned = false;
    if (!learn_priors(session->journal, session->priors, &learned, fault) ||
        !journal_begin_job(session->journal, station_now_ms(), number, fault))
        return false;
    if (learned)
        session->station.priors = session->priors;
    if (session->shop.has_priors) /* what is written down goes before what was learned */
        session->station.priors = session->shop.priors;
    session->station.shop = &session->shop.rows;
    session->station.bike = session->bike;
    return session->rider[0] == '\0' ||
           journal_set_rider(session->journal, *number, session->rider, fault);
}

/* Under the lock: until then another midthrow may have gone on with the job, to its end even. */
static bool read_job(struct session *session, int64_t number, struct fault *fault)
{
    if (!journal_fold(session->journal, number, &session->job, fault))
        return false;
    if (job_is_closed(&session->job))
        return fault_set(fault, FAULT_USAGE,
                         "job %lld is closed: 'midthrow show %lld' prints its write-up.",
                         (long long)number, (long long)number);
    return mend_transcript(session->journal, number, session->prompts, fault);
}

static bool open_job(struct session *session, int64_t *number, bool resume, struct fault *fault)
{
    job_init(&session->job);
    if (!resume && !begin_job(session, number, fault))
        return false;
    if (!journal_lock(session->journal, *number, fault))
        return false;
    if (resume && !read_job(session, *number, fault))
        return false;
    session->transcript = transcript_open(session->data, *number, fault);
    session->station.transcript = session->transcript;
    return session->transcript != NULL;
}

static bool confine(struct session *session, struct fault *fault)
{
    const char *const shared[] = {session->prompts_dir, session->grammars_dir,
                                  session->profiles_dir};
    return confine_session(session->options, session->data, shared, 3, fault);
}

/* ---- running ------------------------------------------------------------------------------ */

static bool has_keys(const struct session *session)
{
    return isatty(STDIN_FILENO) == 1 || session->options->pad_device != NULL;
}

/* The voice as it was left, on whichever way it is heard. */
static struct speech_voice *set_voice(const struct session *session)
{
    struct speech_voice *voice =
        session->mouth.voice != NULL ? session->mouth.voice : session->live.voice;
    if (voice != NULL)
        speech_voice_set(voice, station_settings_words_per_minute(&session->settings),
                         station_settings_loudness_db(&session->settings));
    return voice;
}

static struct speech_recogniser *ear_of(const struct session *session)
{
    return session->recogniser != NULL ? session->recogniser : session->live.recogniser;
}

/* Whoever was named is known to the ear from here on. Asked for in vain before the first question,
 * and not in the middle of the job. */
static bool know_person(struct session *session, struct fault *fault)
{
    if (session->options->person == NULL)
        return true;
    session->person = voices_load(session->data, session->options->person, fault);
    if (session->person != NULL && ear_of(session) != NULL)
        speech_recogniser_know(ear_of(session), session->person);
    return session->person != NULL;
}

static bool open_all(struct session *session, struct fault *fault)
{
    station_settings_init(&session->settings);
    if (!find_folders(session, fault) ||
        !session_record_open(&session->record, session->options->record, fault) ||
        !confine(session, fault) || !find_recordings(session, fault) ||
        !check_profile(session, fault) || !check_names(session, fault) ||
        !find_reason(session, fault) || !open_ears(session, fault))
        return false;
    session->prompts = prompt_load(session->prompts_dir, fault);
    if (session->prompts == NULL)
        return false;
    session->journal = journal_open(session->data, fault);
    if (session->journal == NULL)
        return false;
    if (!station_settings_load(session->data, &session->settings, fault) ||
        !station_mouth_open(&session->mouth, session->options->speak_to, fault))
        return false;
    if (session_wants_live(session->options) &&
        !session_ears_open(&session->live, session->options, session->grammars_dir, &session->mouth,
                           &session->record, has_keys(session), fault))
        return false;
    if (!know_person(session, fault) || !open_screen(session, fault))
        return false;
    session->station = (struct station){
        .journal = session->journal,
        .job = &session->job,
        .prompts = session->prompts,
        .mouth = &session->mouth,
        .screen = &session->screen,
        .settings = &session->settings,
        .beeps = session->settings.beeps && !session->options->no_beeps,
        .voice = set_voice(session),
        .data = session->data,
        .live = session->live.live,
        .ear = ear_of(session),
        .own_profiles = session->own_profiles,
        .shared_profiles = session->profiles_dir,
        .only_profile = session->options->profile,
        .interrupted = &interrupted,
    };
    return open_inputs(session, fault);
}

static bool close_all(struct session *session, struct fault *fault)
{
    for (size_t i = 0; i < session->station.inputs; i++)
        session->station.input[i].driver->finish(session->station.input[i].state);
    screen_close(&session->screen);
    session_ears_close(&session->live);
    bool ok = station_mouth_close(&session->mouth, fault);
    ok = session_record_close(&session->record, fault) && ok;
    if (session->transcript != NULL)
        transcript_close(session->transcript);
    if (session->journal != NULL) {
        journal_unlock(session->journal);
        journal_close(session->journal);
    }
    if (session->recogniser != NULL)
        speech_recogniser_destroy(session->recogniser);
    speech_phonetic_close(session->person);
    if (session->prompts != NULL)
        prompt_free(session->prompts);
    for (size_t i = 0; i < session->recordings; i++)
        free(session->recording[i]);
    return ok;
}

static bool tell_of_recording(struct session *session, struct fault *fault)
{
    char sentence[PROMPT_SENTENCE];
    return session->record.recording == NULL ||
           (said_prompt(session->prompts, "station.recording", NULL, 0, sentence, sizeof sentence,
                        fault) &&
            station_say(&session->station, sentence, fault));
}

static bool run(struct session *session, int64_t *number, struct fault *fault)
{
    bool resume;
    if (!open_all(session, fault) || !tell_of_recording(session, fault) ||
        !which_job(session, number, &resume, fault) || !open_job(session, number, resume, fault))
        return false;
    session->station.number = *number;
    if (!station_run(&session->station, resume, fault))
        return false;
    return !session->station.nothing_left ||
           fault_set(fault, FAULT_MISSING,
                     "there is no microphone, no keyboard and no number pad: plug one in and start "
                     "again.");
}

static struct session *begin(const struct session_options *options, struct fault *fault)
{
    struct session *session = calloc(1, sizeof *session);
    if (session == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
        return NULL;
    }
    session->options = options;
    interrupted = 0;
    catch_signals();
    return session;
}

/* Gives everything back; the first fault is the one that is told. */
static bool end(struct session *session, bool ok, struct fault *fault)
{
    struct fault closing = {0};
    if (!close_all(session, &closing) && ok) {
        *fault = closing;
        ok = false;
    }
    free(session);
    return ok;
}

bool session_means_stop(const struct job_event *event)
{
    struct language_value value;
    return event->verdict == JOB_ACCEPTED &&
           language_parse("command", event->words, &value, NULL) == LANGUAGE_OK &&
           value.type == LANGUAGE_COMMAND && value.as.command == LANGUAGE_STOP;
}

bool session_talk(const struct session_options *options, session_talker *talk, void *context,
                  struct fault *fault)
{
    struct session *session = begin(options, fault);
    if (session == NULL)
        return false;
    bool ok = open_all(session, fault) && talk(context, &session->station, fault);
    return end(session, ok, fault);
}

bool session_run(const struct session_options *options, int64_t *number, struct fault *fault)
{
    *number = 0;
    struct session *session = begin(options, fault);
    if (session == NULL)
        return false;
    bool ok = run(session, number, fault);
    bool kept = session->station.number != 0 && !job_is_closed(&session->job);
    ok = end(session, ok, fault);
    if (kept)
        printf("\nJob %lld is kept. 'midthrow' goes on with it.\n", (long long)*number);
    return ok;
}
