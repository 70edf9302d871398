/* midthrow check: is this station fit for a job? And a practice that shows how well a voice is
 * heard here. */
#define _DEFAULT_SOURCE /* adjtimex */
#include "command/command.h"
#include "command/confine.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/statvfs.h>
#include <sys/timex.h>
#include <time.h>
#include <unistd.h>

#include <jansson.h>

#include "audio/portaudio.h"
#include "base/plain.h"
#include "base/text.h"
#include "command/past.h"
#include "command/profile.h"
#include "command/session.h"
#include "keypad/device.h"
#include "language/language.h"
#include "record/json_text.h"
#include "record/said.h"
#include "record/store.h"
#include "speech/grammar_file.h"
#include "speech/recogniser.h"
#include "station/station.h"
#include "survey/survey.h"

static const char USAGE[] =
    "usage: midthrow check [--json] [--no-sound | --no-voice] [OPTION]...\n"
    "       midthrow check --practice [--json] [OPTION]...\n"
    "Is this station fit for a job? Microphone, noise, voice, clipping, speaker, echo, "
    "timing,\n"
    "number pad, model, data directory, disk, clock: what was found, good, doubtful or bad, and "
    "what\n"
    "to do.\n"
    "Exit code: 0 it is fit, 1 something is bad, 3 something is missing.\n"
    "\n"
    "  --practice       two minutes of saying what a job asks for: how well you are heard here, "
    "and\n"
    "                   whether voice or number pad suits better\n"
    "  --no-voice       nobody is there to speak; --no-sound: without microphone and speaker\n"
    "  --json           as a JSON object\n"
    "  --microphone NAME, --speaker NAME, --pad-device NAME, --foot NAME=USE, --data DIR\n"
    "                   as for a job, 'midthrow work --help'; a practice takes them all\n";

enum { MADE_S = 1795564800 }; /* 25 November 2026: no clock that is right says less */

struct checking {
    struct session_options options;
    bool json, practice, no_sound, no_voice, help;
};

static volatile bool stopped;

static void on_signal(int number)
{
    (void)number;
    stopped = true;
}

/* ---- sound -------------------------------------------------------------------------------- */

/* What to do now, to whoever stands there; not into the JSON. */
static void tell_phase(void *context, enum survey_phase phase)
{
    static const char *const words[] = {
        [SURVEY_QUIET] = "Please be quiet for three seconds.",
        [SURVEY_TONE] = "Now a rising tone.",
        [SURVEY_VOICE] = "Now speak as you would at the lift, for five seconds: say what you like.",
    };
    const struct checking *checking = context;
    fprintf(checking->json ? stderr : stdout, "%s\n", words[phase]);
    fflush(stdout);
}

static bool check_sound(struct checking *checking, struct survey_items *items, struct fault *fault)
{
    struct audio_live_config config = {.microphone = checking->options.microphone,
                                       .speaker = checking->options.speaker,
                                       .rate_hz = SURVEY_RATE_HZ};
    struct survey_hooks hooks = {
        .phase = tell_phase, .context = checking, .no_voice = checking->no_voice, .stop = &stopped};
    struct survey_sound sound;
    struct sigaction action = {.sa_handler = on_signal};
    sigemptyset(&action.sa_mask);
    sigaction(SIGINT, &action, NULL);
    if (!survey_listen(&audio_live_portaudio, &config, &hooks, &sound, fault))
        return false;
    survey_judge_sound(&sound, items);
    return true;
}

/* ---- the rest ----------------------------------------------------------------------------- */

static void check_named(const struct keypad_device_state *state, const char *name,
                        struct survey_items *items)
{
    struct survey_item *item =
        survey_add(items, name, state->present ? SURVEY_GOOD : SURVEY_MISSING);
    snprintf(item->found, sizeof item->found, "%s", state->present ? state->name : "not there");
    text_copy(item->todo, sizeof item->todo, state->why);
}

static void look_for_pads(struct survey_items *items)
{
    struct keypad_found found[16];
    size_t n = keypad_device_list(NULL, found, 16), unreadable = 0;
    const struct keypad_found *pad = NULL;
    for (size_t i = 0; i < n; i++) {
        if (pad == NULL && found[i].pad)
            pad = &found[i];
        unreadable += !found[i].readable;
    }
    struct survey_item *item =
        survey_add(items, "number pad", pad != NULL ? SURVEY_GOOD : SURVEY_DOUBTFUL);
    if (pad != NULL)
        snprintf(item->found, sizeof item->found, "%s: --pad-device takes its name", pad->name);
    else if (unreadable > 0)
        snprintf(item->found, sizeof item->found, "%zu input devices may not be read", unreadable);
    else
        snprintf(item->found, sizeof item->found, "none of its own is plugged in");
    if (pad == NULL)
        text_copy(item->todo, sizeof item->todo,
                  unreadable > 0
                      ? "Add the user to the group 'input' and log in again; until then "
                        "the terminal's keys do."
                      : "Plug one in for greasy gloves; the terminal's keys do as well.");
}

static bool check_pad(const struct checking *checking, struct survey_items *items,
                      struct fault *fault)
{
    struct keypad_device_config config = {.pad = checking->options.pad_device,
                                          .foot = checking->options.foot,
                                          .foot_talks = checking->options.foot_talks};
    struct keypad_device_status status;
    struct keypad_device *device = keypad_device_create(&config, fault);
    if (device == NULL)
        return false;
    keypad_device_status(device, &status);
    keypad_device_destroy(device);
    if (status.pad.wanted)
        check_named(&status.pad, "number pad", items);
    else
        look_for_pads(items);
    if (status.foot.wanted)
        check_named(&status.foot, "foot switch", items);
    return true;
}

/* The recogniser reads a grammar when it is first needed: here all are looked at. */
static bool has_grammars(const char *folder, struct fault *fault)
{
    for (size_t i = 0; i < language_grammar_count(); i++)
        if (!grammar_file_check(folder, language_grammar_name(i), NULL, fault))
            return false;
    return true;
}

static void check_model(struct survey_items *items)
{
    char grammars[PROFILE_COMMAND_PATH];
    struct fault fault = {.code = FAULT_NONE};
    struct speech_recogniser *ear = NULL;
    if (command_shared("grammars", grammars, sizeof grammars, &fault) &&
        has_grammars(grammars, &fault)) {
        struct speech_config config = {.grammar_dir = grammars,
                                       .same_meaning = language_same_meaning,
                                       .is_command = language_is_command};
        ear = speech_recogniser_create(&config, &fault);
    }
    struct survey_item *item =
        survey_add(items, "model", ear != NULL ? SURVEY_GOOD : SURVEY_MISSING);
    snprintf(item->found, sizeof item->found, "%s",
             ear != NULL ? "the recogniser has its model and grammars"
                         : "the recogniser cannot be used");
    text_copy(item->todo, sizeof item->todo, ear != NULL ? "" : fault.sentence);
    if (ear != NULL)
        speech_recogniser_destroy(ear);
}

static bool keep_newest(void *context, const struct journal_job *job)
{
    int64_t *newest_ms = context;
    *newest_ms = job->last_ms > *newest_ms ? job->last_ms : *newest_ms;
    return true;
}

/* The journal opens and can be written to; its newest moment in `newest_ms`. */
static void check_data(const char *data, int64_t *newest_ms, struct survey_items *items)
{
    struct fault fault = {.code = FAULT_NONE};
    struct journal *journal = journal_open(data, &fault);
    bool good = journal != NULL && journal_jobs(journal, keep_newest, newest_ms, &fault);
    struct survey_item *item = survey_add(items, "data directory", good ? SURVEY_GOOD : SURVEY_BAD);
    snprintf(item->found, sizeof item->found,
             good ? "%.250s holds the jobs" : "%.250s cannot be used", data);
    text_copy(item->todo, sizeof item->todo, good ? "" : fault.sentence);
    journal_close(journal);
}

static void check_disk(const char *data, struct survey_items *items)
{
    struct statvfs volume;
    uint64_t free_bytes =
        statvfs(data, &volume) == 0 ? (uint64_t)volume.f_bavail * (uint64_t)volume.f_frsize : 0;
    survey_judge_disk(free_bytes, items);
}

static bool check_computer(struct checking *checking, struct survey_items *items,
                           struct fault *fault)
{
    struct profile_folders folders;
    int64_t newest_ms = 0;
    struct timex keeping = {.modes = 0};
    if (!profile_folders_find(checking->options.data, &folders, fault) ||
        !check_pad(checking, items, fault))
        return false;
    check_model(items);
    check_data(folders.data, &newest_ms, items);
    check_disk(folders.data, items);
    bool in_step = adjtimex(&keeping) >= 0 && (keeping.status & STA_UNSYNC) == 0;
    survey_judge_clock((int64_t)time(NULL), newest_ms / 1000, MADE_S, in_step, items);
    return true;
}

/* ---- telling ------------------------------------------------------------------------------ */

static void print_items(const struct survey_items *items)
{
    static const char *const sums[] = {[FAULT_NONE] = "The station is fit.",
                                       [FAULT_FAILED] = "The station is not fit yet.",
                                       [FAULT_MISSING] = "Something is missing."};
    putchar('\n');
    for (size_t i = 0; i < items->n; i++) {
        const struct survey_item *item = &items->item[i];
        printf("%-10s%-16s", survey_verdict_name(item->verdict), item->name);
        plain_print(stdout, item->found);
        putchar('\n');
        if (item->todo[0] != '\0') {
            printf("%26s", "");
            plain_print(stdout, item->todo);
            putchar('\n');
        }
    }
    int code = survey_exit_code(items);
    printf("\n%s\n", code >= 0 && code < 4 && sums[code] != NULL ? sums[code] : "");
}

static json_t *json_of(const struct survey_items *items)
{
    json_t *checks = json_array();
    for (size_t i = 0; i < items->n; i++) {
        const struct survey_item *item = &items->item[i];
        json_t *measures = json_object();
        for (size_t m = 0; m < SURVEY_MEASURES && item->measure[m].name != NULL; m++)
            json_object_set_new(measures, item->measure[m].name, json_real(item->measure[m].value));
        json_array_append_new(checks, json_pack("{ss ss so so so}", "check", item->name, "verdict",
                                                survey_verdict_name(item->verdict), "found",
                                                json_text(item->found), "todo",
                                                json_text(item->todo), "measures", measures));
    }
    return json_pack("{sb so}", "fit", survey_exit_code(items) == FAULT_NONE, "checks", checks);
}

/* A data directory that cannot be made is told of by check_data; then nothing is taken away. */
static void confine(const struct checking *checking)
{
    struct profile_folders folders;
    char grammars[PROFILE_COMMAND_PATH], prompts[PROFILE_COMMAND_PATH];
    if (!profile_folders_find(checking->options.data, &folders, NULL) ||
        !command_shared("grammars", grammars, sizeof grammars, NULL) ||
        !command_shared("prompts", prompts, sizeof prompts, NULL))
        return;
    const char *const shared[] = {grammars, prompts, folders.shared};
    confine_session(&checking->options, folders.data, shared, 3, NULL);
}

static int check_station(struct checking *checking)
{
    struct survey_items *items = calloc(1, sizeof *items);
    struct fault fault = {.code = FAULT_NONE};
    if (items == NULL) {
        fault_set(&fault, FAULT_FAILED, "out of memory: close other programs.");
        return command_fail(&fault);
    }
    confine(checking);
    bool ok = (checking->no_sound || check_sound(checking, items, &fault)) &&
              check_computer(checking, items, &fault);
    for (size_t i = 0; i < items->n; i++)
        text_begin_sentence(items->item[i].todo);
    if (ok && checking->json)
        ok = past_print_json(json_of(items), &fault);
    else if (ok)
        print_items(items);
    int code = survey_exit_code(items);
    free(items);
    return ok && (checking->json || command_printed(&fault)) ? code : command_fail(&fault);
}

/* ---- practice ----------------------------------------------------------------------------- */

/* What a job asks for, of every kind, the easily mistaken ones among them. */
static const struct {
    const char *grammar, *words;
} phrases[] = {
    {"yesno", "affirmative"},
    {"distance", "five sixteenths of an inch"},
    {"distance", "six point three millimetres"},
    {"caution", "engine off and key out"},
    {"complaint", "it is hard to find"},
    {"distance", "one quarter of an inch"},
    {"temperature", "when it is hot"},
    {"turn", "turned as told"},
    {"caution", "the rear wheel is just clear"},
    {"distance", "three hundred sixty thousandths"},
    {"number", "forty"},
    {"number", "fourteen"},
    {"caution", "it is in third gear"},
    {"command", "go back"},
};
enum { PHRASES = sizeof phrases / sizeof phrases[0] };

struct practising {
    struct survey_practice result;
    const char *heard[PHRASES]; /* "right", "asked", "rejected", "wrong"; NULL: not said */
    char words[PHRASES][LANGUAGE_WORDS];
};

static void count(struct practising *practising, size_t i, const struct job_event *event)
{
    struct survey_practice *result = &practising->result;
    bool same = language_same_meaning(phrases[i].grammar, event->words, phrases[i].words);
    result->said++;
    text_copy(practising->words[i], LANGUAGE_WORDS, event->words);
    switch (event->verdict) {
    case JOB_ACCEPTED:
        *(same ? &result->right : &result->wrong) += 1;
        practising->heard[i] = same ? "right" : "wrong";
        return;
    case JOB_UNSURE:
        result->asked++;
        practising->heard[i] = "asked";
        return;
    case JOB_REJECTED:
        break;
    }
    result->rejected++;
    practising->heard[i] = "rejected";
}

static bool practise(void *context, struct station *station, struct fault *fault)
{
    struct practising *practising = context;
    struct job_event *event = calloc(1, sizeof *event);
    char sentence[PROMPT_SENTENCE];
    enum station_got got = STATION_ANSWER;
    if (event == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    if (!said_prompt(station->prompts, "check.practice", NULL, 0, sentence, sizeof sentence,
                     fault) ||
        !station_say(station, sentence, fault))
        got = STATION_BROKEN;
    for (size_t i = 0; i < PHRASES && got == STATION_ANSWER;) {
        struct station_question question = {.grammar = phrases[i].grammar,
                                            .phrase = LANGUAGE_NOT_YET};
        struct prompt_argument words = {.name = "words"};
        text_copy(words.value, sizeof words.value, phrases[i].words);
        got =
            said_prompt(station->prompts, "check.say", &words, 1, sentence, sizeof sentence, fault)
                ? station_ask(station, sentence, &question, event, fault)
                : STATION_BROKEN;
        if (got == STATION_ANSWER && session_means_stop(event))
            break;
        if (got == STATION_ANSWER && event->kind == JOB_EAR_CHANGED)
            continue; /* the microphone is gone, or there again: the same once more */
        if (got == STATION_ANSWER && event->source == JOB_BY_EAR)
            count(practising, i, event);
        i++;
    }
    free(event);
    return got != STATION_BROKEN;
}

static const char *const advice[] = {
    [SURVEY_USE_VOICE] = "You are heard well here: work by voice.",
    [SURVEY_USE_BOTH] =
        "You are heard, but asked again often: work by voice, keep the number pad at "
        "hand for numbers.",
    [SURVEY_USE_PAD] =
        "You are not heard well enough here: work with the number pad, or try another "
        "microphone or a quieter place.",
};

static bool print_practice(const struct practising *practising, bool json, struct fault *fault)
{
    static const char *const names[] = {"voice", "both", "pad"};
    const struct survey_practice *result = &practising->result;
    enum survey_advice suggested = survey_advise(result);
    json_t *list = json_array();
    for (size_t i = 0; i < PHRASES; i++) {
        if (practising->heard[i] == NULL)
            continue;
        if (!json)
            printf("  %-9s %s%s%s%s\n", practising->heard[i], phrases[i].words,
                   practising->heard[i][0] == 'w' ? "  -> \"" : "",
                   practising->heard[i][0] == 'w' ? practising->words[i] : "",
                   practising->heard[i][0] == 'w' ? "\"" : "");
        json_array_append_new(list,
                              json_pack("{ss ss ss}", "said", phrases[i].words, "heard",
                                        practising->words[i], "result", practising->heard[i]));
    }
    if (json)
        return past_print_json(json_pack("{si si si si si ss so}", "said", (int)result->said,
                                         "right", (int)result->right, "asked", (int)result->asked,
                                         "rejected", (int)result->rejected, "wrong",
                                         (int)result->wrong, "use", names[suggested], "phrases",
                                         list),
                               fault);
    json_decref(list);
    printf("\n%u said: %u right, %u asked about, %u not understood, %u taken for something else.\n",
           result->said, result->right, result->asked, result->rejected, result->wrong);
    puts(result->said == 0 ? "Nothing was heard: see 'midthrow check'." : advice[suggested]);
    return command_printed(fault);
}

/* The session shows itself on standard output, which belongs to the JSON where that is wanted. */
static bool talk_aside(struct checking *checking, struct practising *practising,
                       struct fault *fault)
{
    if (!checking->json)
        return session_talk(&checking->options, practise, practising, fault);
    fflush(stdout);
    int out = dup(STDOUT_FILENO);
    if (out < 0 || dup2(STDERR_FILENO, STDOUT_FILENO) < 0)
        return fault_set(fault, FAULT_FAILED, "standard output cannot be used: open it.");
    bool ok = session_talk(&checking->options, practise, practising, fault);
    fflush(stdout);
    return dup2(out, STDOUT_FILENO) >= 0 && close(out) == 0 && ok;
}

static int practice(struct checking *checking)
{
    struct fault fault = {.code = FAULT_NONE};
    struct practising *practising = calloc(1, sizeof *practising);
    bool ok = practising != NULL;
    if (!ok)
        fault_set(&fault, FAULT_FAILED, "out of memory: close other programs.");
    ok = ok && talk_aside(checking, practising, &fault) &&
         print_practice(practising, checking->json, &fault);
    bool heard = ok && practising->result.said > 0;
    free(practising);
    if (!ok)
        return command_fail(&fault);
    return heard ? FAULT_NONE : FAULT_MISSING;
}

/* ---- the command line --------------------------------------------------------------------- */

static void read_own(int *argc, char **argv, struct checking *checking)
{
    const struct {
        const char *name;
        bool *to;
    } flags[] = {{"--json", &checking->json},
                 {"--practice", &checking->practice},
                 {"--no-sound", &checking->no_sound},
                 {"--no-voice", &checking->no_voice}};
    int kept = 1;
    for (int i = 1; i < *argc; i++) {
        bool own = false;
        for (size_t f = 0; f < sizeof flags / sizeof flags[0]; f++) {
            bool is = strcmp(argv[i], flags[f].name) == 0;
            *flags[f].to |= is;
            own |= is;
        }
        if (!own)
            argv[kept++] = argv[i];
    }
    argv[kept] = NULL;
    *argc = kept;
}

int command_check(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct checking checking = {.json = false};
    read_own(&argc, argv, &checking);
    checking.options.hear = calloc((size_t)argc + 1, sizeof *checking.options.hear);
    if (checking.options.hear == NULL)
        return FAULT_FAILED;
    int code = FAULT_NONE;
    if (!session_options_read(argc, argv, &checking.options, &checking.help, &fault))
        code = command_fail(&fault);
    else if (checking.help)
        fputs(USAGE, stdout);
    else
        code = checking.practice ? practice(&checking) : check_station(&checking);
    free(checking.options.hear);
    return code;
}
