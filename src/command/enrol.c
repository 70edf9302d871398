/* midthrow enrol: learns a person's voice from sentences that are read to it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "command/session.h"
#include "command/voices.h"
#include "language/language.h"
#include "record/said.h"
#include "speech/enrol.h"
#include "speech/person.h"
#include "station/station.h"

static const char USAGE[] =
    "usage: midthrow enrol NAME [OPTION]...\n"
    "       midthrow enrol --list [--data DIR]\n"
    "       midthrow enrol --forget NAME [--data DIR]\n"
    "Learns a voice from twenty sentences that are read aloud, two minutes, so that it is heard\n"
    "better in noise: 'midthrow --person NAME' from then on. No sound is kept, only what was\n"
    "learned. Again: learns it anew. One person, one microphone: a name for each.\n"
    "\n"
    "  --list           the names of those who have enrolled\n"
    "  --forget NAME    erases what was learned of that voice\n"
    "  --microphone NAME, --hear PATH..., --data DIR and the like\n"
    "                   as for a job, 'midthrow work --help'\n";

enum {
    TRIES = 3,
    LEAST = 12,            /* sentences that must have been heard as they are */
    REMIND_MS = 20 * 1000, /* of silence: perhaps the sentence was not made out */
};

struct enrolling {
    struct session_options options;
    const char *name, *forget;
    bool list;
    size_t taken;
    bool stopped;
};

/* ---- reading ------------------------------------------------------------------------------ */

static bool tell(struct station *station, const char *key, struct fault *fault)
{
    char sentence[PROMPT_SENTENCE];
    return said_prompt(station->prompts, key, NULL, 0, sentence, sizeof sentence, fault) &&
           station_say(station, sentence, fault);
}

static enum station_got ask(struct station *station, const char *key, const char *words,
                            struct job_event *event, struct fault *fault)
{
    const struct station_question question = {
        .grammar = "enrol", .phrase = LANGUAGE_NOT_YET, .remind_ms = REMIND_MS};
    struct prompt_argument argument = {.name = "words"};
    char sentence[PROMPT_SENTENCE];
    text_copy(argument.value, sizeof argument.value, words);
    return said_prompt(station->prompts, key, &argument, 1, sentence, sizeof sentence, fault)
               ? station_ask(station, sentence, &question, event, fault)
               : STATION_BROKEN;
}

/* Until it is heard as it is, `TRIES` times at most. What else was said, or typed, is no reading.
 */
static enum station_got read_one(struct enrolling *enrolling, struct station *station,
                                 struct speech_enrolment *enrolment, const char *words,
                                 struct job_event *event, struct fault *fault)
{
    struct fault not_that = {0};
    for (int attempt = 0; attempt < TRIES;) {
        enum station_got got =
            ask(station, attempt == 0 ? "enrol.say" : "enrol.again", words, event, fault);
        if (got != STATION_ANSWER)
            return got;
        if (event->kind == JOB_EAR_CHANGED)
            continue; /* the microphone is gone, or there again */
        attempt++;
        if (session_means_stop(event)) {
            enrolling->stopped = true;
            return STATION_END;
        }
        bool heard = event->source == JOB_BY_EAR && event->verdict != JOB_REJECTED &&
                     strcmp(event->words, words) == 0;
        if (heard && speech_enrolment_take(enrolment, words, &not_that)) {
            enrolling->taken++;
            return STATION_ANSWER;
        }
    }
    return tell(station, "enrol.pass", fault) ? STATION_ANSWER : STATION_BROKEN;
}

static bool read_all(struct enrolling *enrolling, struct station *station,
                     struct speech_enrolment *enrolment, struct fault *fault)
{
    struct job_event *event = calloc(1, sizeof *event);
    if (event == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    enum station_got got = tell(station, "enrol.begin", fault) ? STATION_ANSWER : STATION_BROKEN;
    for (size_t s = 0; got == STATION_ANSWER && speech_person_sentence(s) != NULL; s++)
        got = read_one(enrolling, station, enrolment, speech_person_sentence(s), event, fault);
    free(event);
    enrolling->stopped = enrolling->stopped || station_is_interrupted(station);
    return got != STATION_BROKEN;
}

static bool learn(struct enrolling *enrolling, struct station *station,
                  struct speech_enrolment *enrolment, struct fault *fault)
{
    if (enrolling->stopped)
        return fault_set(fault, FAULT_FAILED, "stopped: nothing was kept.");
    if (enrolling->taken < LEAST)
        return fault_set(
            fault, FAULT_FAILED,
            "only %zu sentences were heard as they are, and %d are needed: read them in "
            "a quieter place, or nearer to the microphone. Nothing was kept.",
            enrolling->taken, (int)LEAST);
    struct speech_phonetic *person =
        tell(station, "enrol.learn", fault) ? speech_enrolment_learn(enrolment, fault) : NULL;
    bool saved = person != NULL && voices_save(station->data, enrolling->name, person, fault);
    speech_phonetic_close(person);
    return saved;
}

static bool enrol(void *context, struct station *station, struct fault *fault)
{
    struct enrolling *enrolling = context;
    if (station->ear == NULL)
        return fault_set(fault, FAULT_MISSING,
                         "nobody listens: enrol with a microphone, or by recordings with --hear.");
    struct speech_enrolment *enrolment = speech_enrolment_open(station->ear, fault);
    bool done = enrolment != NULL && read_all(enrolling, station, enrolment, fault) &&
                learn(enrolling, station, enrolment, fault);
    speech_enrolment_close(enrolment);
    return done;
}

/* ---- the command line --------------------------------------------------------------------- */

static bool usage(struct fault *fault)
{
    return fault_set(
        fault, FAULT_USAGE,
        "say whose voice to learn: 'midthrow enrol NAME'; --list and --forget NAME stand "
        "alone.");
}

/* Takes the command's own words out; the rest are a session's options. */
static bool read_own(int *argc, char **argv, struct enrolling *enrolling, struct fault *fault)
{
    int kept = 1;
    for (int i = 1; i < *argc; i++) {
        if (strcmp(argv[i], "--list") == 0)
            enrolling->list = true;
        else if (strcmp(argv[i], "--forget") == 0 && i + 1 < *argc)
            enrolling->forget = argv[++i];
        else if (strcmp(argv[i], "--forget") == 0)
            return usage(fault);
        else if (i == 1 && argv[i][0] != '-')
            enrolling->name = argv[i];
        else
            argv[kept++] = argv[i];
    }
    argv[kept] = NULL;
    *argc = kept;
    return true;
}

static bool where(const struct enrolling *enrolling, char *data, size_t size, struct fault *fault)
{
    const struct data_options options = {.directory = enrolling->options.data};
    return data_directory(&options, data, size, fault);
}

static bool list_or_forget(const struct enrolling *enrolling, struct fault *fault)
{
    char data[4096], names[65536];
    if (!where(enrolling, data, sizeof data, fault))
        return false;
    command_confine(data, NULL, NULL);
    if (enrolling->forget != NULL) {
        if (!voices_forget(data, enrolling->forget, fault))
            return false;
        printf("What was learned of %s's voice is erased.\n", enrolling->forget);
    } else {
        voices_list(data, names, sizeof names);
        puts(names[0] != '\0' ? names : "Nobody has enrolled.");
    }
    return command_printed(fault);
}

static bool run(struct enrolling *enrolling, struct fault *fault)
{
    int asked = (enrolling->name != NULL) + (enrolling->forget != NULL) + enrolling->list;
    if (asked != 1)
        return usage(fault);
    if (enrolling->name == NULL)
        return list_or_forget(enrolling, fault);
    if (!voices_name_check(enrolling->name, fault) ||
        !session_talk(&enrolling->options, enrol, enrolling, fault))
        return false;
    printf("\n%s's voice is known now, by %zu sentences: 'midthrow --person %s' listens to it.\n",
           enrolling->name, enrolling->taken, enrolling->name);
    return command_printed(fault);
}

int command_enrol(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct enrolling *enrolling = calloc(1, sizeof *enrolling);
    char **hear = calloc((size_t)argc + 1, sizeof *hear);
    bool help = false;
    bool ok = enrolling != NULL && hear != NULL;
    if (ok) {
        enrolling->options.hear = hear;
        ok = read_own(&argc, argv, enrolling, &fault) &&
             session_options_read(argc, argv, &enrolling->options, &help, &fault);
    } else {
        fault_set(&fault, FAULT_FAILED, "out of memory: close other programs.");
    }
    if (ok && help)
        fputs(USAGE, stdout);
    else if (ok)
        ok = run(enrolling, &fault);
    free(hear);
    free(enrolling);
    return ok ? FAULT_NONE : command_fail(&fault);
}
