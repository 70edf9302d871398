/*
 * midthrow demo: a whole job by ear, from the recordings in audio_fixtures/demo, through the same
 * recogniser, job and journal as any other; then its transcript and its write-up. The scenario, the
 * names and the figures are invented.
 */
#include <errno.h>
#include <ftw.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "command/command.h"
#include "command/session.h"
#include "record/journal.h"

static const char usage[] =
    "usage: midthrow demo [--speak-to FILE] [--data DIR]\n"
    "Runs a whole job from recorded answers; no sound card, no network.\n"
    "\n"
    "  --speak-to FILE  render what midthrow says into a WAV file\n"
    "  --data DIR       keep the job there; else it is thrown away afterwards\n";

enum { PATH_SIZE = 1024 };

static bool make_scratch(char *out, size_t size, struct fault *fault)
{
    const char *where = getenv("TMPDIR");
    struct text path = text_into(out, size);
    text_addf(&path, "%s/midthrow-demo-XXXXXX", where != NULL && where[0] != '\0' ? where : "/tmp");
    if (path.cut || mkdtemp(out) == NULL)
        return fault_set(fault, FAULT_FAILED,
                         "cannot make a folder for the demo (%s): set TMPDIR to one that can be "
                         "written to.",
                         strerror(errno));
    return true;
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *ftw)
{
    (void)status;
    (void)ftw;
    return kind == FTW_DP ? rmdir(path) : unlink(path); /* remove() would unlink a folder first */
}

static int show(const char *data, int64_t number, bool transcript)
{
    char name[] = "show", data_option[] = "--data", transcript_option[] = "--transcript";
    char job[32], folder[PATH_SIZE];
    snprintf(job, sizeof job, "%lld", (long long)number);
    text_copy(folder, sizeof folder, data);
    char *arguments[] = {name, job, data_option, folder, transcript ? transcript_option : NULL,
                         NULL};
    return command_show(transcript ? 5 : 4, arguments);
}

/* The demo has come to its end only if its job is closed. */
static bool came_to_its_end(const char *data, int64_t number, struct fault *fault)
{
    struct journal_job job = {0};
    struct journal *journal = journal_open(data, fault);
    if (journal == NULL)
        return false;
    bool found = journal_find(journal, number, &job, fault);
    journal_close(journal);
    if (found && job.closed_ms == 0)
        return fault_set(fault, FAULT_FAILED,
                         "the recordings ended before the job did: make them again with "
                         "audio_fixtures/make-demo.");
    return found;
}

static int play(const char *data, bool scratch, const char *speak_to, struct fault *fault)
{
    char recordings[PATH_SIZE], profile[] = "generic-big-twin";
    if (!command_shared("audio_fixtures/demo", recordings, sizeof recordings, fault))
        return command_fail(fault);
    char *hear[] = {recordings};
    struct session_options options = {.data = data,
                                      .profile = profile,
                                      .speak_to = speak_to,
                                      .scratch = scratch,
                                      .hear = hear,
                                      .hear_n = 1,
                                      .plain = true,
                                      .which = SESSION_NEW};
    int64_t number;
    if (!session_run(&options, &number, fault))
        return command_fail(fault);
    if (!came_to_its_end(data, number, fault))
        return command_fail(fault);
    puts("\n======== transcript ========\n");
    int failed = show(data, number, true);
    puts("\n======== write-up ========\n");
    return failed != 0 ? failed : show(data, number, false);
}

int command_demo(int argc, char **argv)
{
    static const struct option long_options[] = {{"speak-to", required_argument, NULL, 's'},
                                                 {"data", required_argument, NULL, 'd'},
                                                 {"help", no_argument, NULL, 'h'},
                                                 {NULL, 0, NULL, 0}};
    struct fault fault = {0};
    const char *speak_to = NULL, *data = NULL;
    opterr = 0;
    optind = 1;
    for (int key; (key = getopt_long(argc, argv, "", long_options, NULL)) != -1;) {
        if (key == 'h') {
            fputs(usage, stdout);
            return FAULT_NONE;
        }
        if (key == '?') {
            fault_set(&fault, FAULT_USAGE, "'%s': see 'midthrow demo --help'.", argv[optind - 1]);
            return command_fail(&fault);
        }
        *(key == 's' ? &speak_to : &data) = optarg;
    }
    if (optind < argc) {
        fault_set(&fault, FAULT_USAGE, "'%s': the demo takes no file; see 'midthrow demo --help'.",
                  argv[optind]);
        return command_fail(&fault);
    }
    char scratch[PATH_SIZE];
    if (data != NULL)
        return play(data, false, speak_to, &fault);
    if (!make_scratch(scratch, sizeof scratch, &fault))
        return command_fail(&fault);
    int code = play(scratch, true, speak_to, &fault);
    fflush(stdout);
    nftw(scratch, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
    return code;
}
