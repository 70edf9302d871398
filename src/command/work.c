/* No command's name given: start a job, or go on with one. */
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "command/command.h"
#include "command/session.h"

static const char usage[] =
    "usage: midthrow [OPTION]...\n"
    "Starts a job, or goes on with an open one.\n"
    "\n"
    "Without --typed, --pad and --hear, on a terminal, it listens and speaks.\n"
    "\n"
    "  --live           listen and speak though standard input is no terminal\n"
    "  --microphone NAME, --speaker NAME  the device with that in its name; 'midthrow devices'\n"
    "  --half-duplex    do not listen while speaking, where the echo cannot be cancelled\n"
    "  --typed          each line of standard input is words, as if they had been heard\n"
    "  --pad            standard input is a number pad: 0-9 . / * - + and Enter\n"
    "                   with both, or with neither, a line may be either\n"
    "  --pad-device NAME  a number pad that works whatever window has the focus, by its\n"
    "                   name or a part of it; --foot NAME=enter or NAME=talk: a foot switch\n"
    "  --hear PATH...   recordings as the answers, in order: WAV files, or folders of them\n"
    "  --speak-to FILE  what is said is rendered into a WAV file as well\n"
    "  --mute           nothing is spoken; the screen shows it\n"
    "  --plain          lines instead of the big screen, as pipes get; for screen readers\n"
    "  --light, --dark  how the big screen is coloured; else as the terminal says\n"
    "  --profile NAME   the bike's profile; else it is asked for\n"
    "  --bike NAME      the bike, by plate or frame number: starts a new job\n"
    "  --reason FILE    the shop's own judgement for a new job; else reason.ini beside the "
    "journal\n"
    "  --rider NAME     the rider, kept beside the new job until 'midthrow forget' erases it\n"
    "  --new            a new job, whatever is open\n"
    "  --resume [JOB]   go on with that job, or with the newest open one\n"
    "  --data DIR       where the journal lives; else the XDG data directory\n";

enum option_key {
    TYPED = 256,
    LIVE,
    MICROPHONE,
    SPEAKER,
    HALF_DUPLEX,
    PAD,
    PAD_DEVICE,
    FOOT,
    HEAR,
    SPEAK_TO,
    MUTE,
    PLAIN,
    LIGHT,
    DARK,
    PROFILE,
    BIKE,
    REASON,
    RIDER,
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
    {"pad", no_argument, NULL, PAD},
    {"pad-device", required_argument, NULL, PAD_DEVICE},
    {"foot", required_argument, NULL, FOOT},
    {"hear", required_argument, NULL, HEAR},
    {"speak-to", required_argument, NULL, SPEAK_TO},
    {"mute", no_argument, NULL, MUTE},
    {"plain", no_argument, NULL, PLAIN},
    {"light", no_argument, NULL, LIGHT},
    {"dark", no_argument, NULL, DARK},
    {"profile", required_argument, NULL, PROFILE},
    {"bike", required_argument, NULL, BIKE},
    {"reason", required_argument, NULL, REASON},
    {"rider", required_argument, NULL, RIDER},
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
