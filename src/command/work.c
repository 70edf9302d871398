/* No command's name given: start a job, or go on with one. */
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "command/command.h"
#include "command/ears.h"
#include "command/session.h"

/* Fits a screen: 24 lines of 80. */
static const char usage[] =
    "usage: midthrow [OPTION]...    start a job, or go on with an open one\n"
    "  On a terminal it listens and speaks, and the number pad's keys answer too.\n"
    "\n"
    "  --live            listen and speak, though standard input is no terminal\n"
    "  --microphone NAME, --speaker NAME   by a part of the name: 'midthrow devices'\n"
    "  --record FILE     record what is heard and spoken: FLAC, and captions in FILE.vtt;\n"
    "                    said aloud when on\n"
    "  --half-duplex     do not listen while speaking: no echo can then be heard\n"
    "  --typed           lines of standard input are words, as if they were heard\n"
    "  --pad             ... or number-pad entries, 0-9 . / * - +; both: either\n"
    "  --pad-device NAME   a number pad of its own, whatever window has the focus\n"
    "  --foot NAME=enter or NAME=talk      a foot switch: as Enter, or held to talk\n"
    "  --hear PATH...    recordings as the answers: WAV files or folders of them\n"
    "  --speak-to FILE   what is said goes into a WAV file as well\n"
    "  --mute            nothing is spoken;  --no-beeps   no short sounds\n"
    "  --plain           lines instead of the big screen, for screen readers\n"
    "  --light, --dark   the big screen's colours; else the settings', the terminal's\n"
    "  --profile NAME    the bike's profile; else it is asked for\n"
    "  --bike NAME       a new job on that bike, by its plate or frame number\n"
    "  --person NAME     who speaks: a voice learned by 'midthrow enrol'\n"
    "  --rider NAME      kept beside the new job until 'midthrow forget' erases it\n"
    "  --reason FILE     the shop's judgement; else reason.ini beside the journal\n"
    "  --new             a new job;  --resume [JOB]   that one, or the newest open\n"
    "  --data DIR        where the journal lives; else the XDG data directory\n";

enum option_key {
    TYPED = 256,
    LIVE,
    MICROPHONE,
    SPEAKER,
    HALF_DUPLEX,
    RECORD,
    PAD,
    PAD_DEVICE,
    FOOT,
    HEAR,
    SPEAK_TO,
    MUTE,
    NO_BEEPS,
    PLAIN,
    LIGHT,
    DARK,
    PROFILE,
    BIKE,
    REASON,
    RIDER,
    PERSON,
    NEW,
    RESUME,
    DATA,
    HELP
};

static const struct option long_options[] = {
    {"typed", no_argument, NULL, TYPED},
    {"live", no_argument, NULL, LIVE},
    {"microphone", required_argument, NULL, MICROPHONE},
    {"speaker", required_argument, NULL, SPEAKER},
    {"half-duplex", no_argument, NULL, HALF_DUPLEX},
    {"record", required_argument, NULL, RECORD},
    {"pad", no_argument, NULL, PAD},
    {"pad-device", required_argument, NULL, PAD_DEVICE},
    {"foot", required_argument, NULL, FOOT},
    {"hear", required_argument, NULL, HEAR},
    {"speak-to", required_argument, NULL, SPEAK_TO},
    {"mute", no_argument, NULL, MUTE},
    {"no-beeps", no_argument, NULL, NO_BEEPS},
    {"plain", no_argument, NULL, PLAIN},
    {"light", no_argument, NULL, LIGHT},
    {"dark", no_argument, NULL, DARK},
    {"profile", required_argument, NULL, PROFILE},
    {"bike", required_argument, NULL, BIKE},
    {"reason", required_argument, NULL, REASON},
    {"rider", required_argument, NULL, RIDER},
    {"person", required_argument, NULL, PERSON},
    {"new", no_argument, NULL, NEW},
    {"resume", no_argument, NULL, RESUME},
    {"data", required_argument, NULL, DATA},
    {"help", no_argument, NULL, HELP},
    {NULL, 0, NULL, 0},
};

/* What follows --hear or --resume up to the next option belongs to it. */
static bool is_value(int argc, char **argv)
{
    return optind < argc && strncmp(argv[optind], "--", 2) != 0;
}

static void take_more_recordings(struct session_options *options, int argc, char **argv)
{
    options->hear[options->hear_n++] = optarg;
    while (is_value(argc, argv))
        options->hear[options->hear_n++] = argv[optind++];
}

static bool take_job_number(struct session_options *options, int argc, char **argv,
                            struct fault *fault)
{
    options->which = SESSION_RESUME;
    if (!is_value(argc, argv))
        return true;
    char *end;
    const char *word = argv[optind++];
    options->resume = strtoll(word, &end, 10);
    if (*word == '\0' || *end != '\0' || options->resume < 1)
        return fault_set(fault, FAULT_USAGE, "'%s' is no job's number: 'midthrow jobs' lists them.",
                         word);
    return true;
}

/* NAME=enter or NAME=talk; the name may hold an equals sign itself. */
static bool take_foot(struct session_options *options, char *word, struct fault *fault)
{
    char *equals = strrchr(word, '=');
    bool talk = equals != NULL && strcmp(equals, "=talk") == 0;
    if (equals == NULL || equals == word || (!talk && strcmp(equals, "=enter") != 0))
        return fault_set(fault, FAULT_USAGE,
                         "'%s' does not say what the foot switch does: write --foot NAME=enter or "
                         "--foot NAME=talk.",
                         word);
    *equals = '\0';
    options->foot = word;
    options->foot_talks = talk;
    return true;
}

bool session_options_read(int argc, char **argv, struct session_options *options, bool *help,
                          struct fault *fault)
{
    opterr = 0;
    optind = 1;
    for (int key; (key = getopt_long(argc, argv, "+:", long_options, NULL)) != -1;) {
        switch (key) {
        case TYPED:
            options->typed = true;
            break;
        case LIVE:
            options->live = true;
            break;
        case MICROPHONE:
            options->microphone = optarg;
            break;
        case SPEAKER:
            options->speaker = optarg;
            break;
        case HALF_DUPLEX:
            options->half_duplex = true;
            break;
        case RECORD:
            options->record = optarg;
            break;
        case PAD:
            options->pad = true;
            break;
        case PAD_DEVICE:
            options->pad_device = optarg;
            break;
        case FOOT:
            if (!take_foot(options, optarg, fault))
                return false;
            break;
        case HEAR:
            take_more_recordings(options, argc, argv);
            break;
        case SPEAK_TO:
            options->speak_to = optarg;
            break;
        case MUTE:
            options->mute = true;
            break;
        case NO_BEEPS:
            options->no_beeps = true;
            break;
        case PLAIN:
            options->plain = true;
            break;
        case LIGHT:
            options->colours = SCREEN_LIGHT;
            break;
        case DARK:
            options->colours = SCREEN_DARK;
            break;
        case REASON:
            options->reason = optarg;
            break;
        case PROFILE:
            options->profile = optarg;
            break;
        case BIKE:
            options->bike = optarg;
            break;
        case RIDER:
            options->rider = optarg;
            break;
        case PERSON:
            options->person = optarg;
            break;
        case NEW:
            options->which = SESSION_NEW;
            break;
        case RESUME:
            if (!take_job_number(options, argc, argv, fault))
                return false;
            break;
        case DATA:
            options->data = optarg;
            break;
        case HELP:
            *help = true;
            return true;
        case ':':
            return fault_set(fault, FAULT_USAGE, "%s needs a value: see 'midthrow --help'.",
                             argv[optind - 1]);
        default:
            return fault_set(fault, FAULT_USAGE, "unknown option '%s': see 'midthrow --help'.",
                             argv[optind - 1]);
        }
    }
    if (optind < argc)
        return fault_set(fault, FAULT_USAGE, "unknown command '%s': see 'midthrow --help'.",
                         argv[optind]);
    if (options->bike != NULL || options->rider != NULL) {
        if (options->which == SESSION_RESUME)
            return fault_set(fault, FAULT_USAGE,
                             "--bike and --rider are named when a job is started: leave --resume "
                             "out, or leave them out.");
        options->which = SESSION_NEW;
    }
    if (options->mute && options->speak_to != NULL)
        return fault_set(fault, FAULT_USAGE, "--mute and --speak-to exclude each other.");
    if (options->hear_n > 0 &&
        (options->live || options->microphone != NULL || options->speaker != NULL))
        return fault_set(fault, FAULT_USAGE,
                         "--hear answers from recordings: leave --live, --microphone and --speaker "
                         "out.");
    if (options->record != NULL && !session_wants_live(options))
        return fault_set(fault, FAULT_USAGE,
                         "--record needs the microphone or the speaker: leave --typed and --hear "
                         "out, or say --live.");
    return true;
}

int command_work(int argc, char **argv)
{
    struct fault fault = {0};
    struct session_options options = {0};
    bool help = false;
    options.hear = calloc((size_t)argc + 1, sizeof *options.hear);
    if (options.hear == NULL)
        return FAULT_FAILED;
    bool ok = session_options_read(argc, argv, &options, &help, &fault);
    if (ok && help) {
        fputs(usage, stdout);
    } else if (ok) {
        int64_t number;
        ok = session_run(&options, &number, &fault);
    }
    free(options.hear);
    return ok ? FAULT_NONE : command_fail(&fault);
}
