/* midthrow show: one job's write-up, from its journal alone; or its transcript. */
#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/plain.h"
#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "job/job.h"
#include "prompt/prompt.h"
#include "record/journal.h"
#include "record/mend.h"
#include "record/transcript.h"
#include "record/writeup.h"

static const char USAGE[] =
    "usage: midthrow show JOB [--data DIR] [--json | --transcript]\n"
    "Prints the write-up of a job; JOB is its number, as 'midthrow jobs' lists it.\n"
    "\n"
    "  --data DIR    where the jobs are kept\n"
    "  --json        summary, answers, readings as a JSON object\n"
    "  --transcript  who said what, instead\n";

enum { PATH_SIZE = 4096 };

static bool print_job(const struct job *job, int64_t number, bool json, struct fault *fault)
{
    char *text = json ? writeup_json(job, number) : malloc(WRITEUP_SIZE);
    bool ok = text != NULL && (json || writeup_text(job, number, text, WRITEUP_SIZE));
    if (ok)
        fputs(text, stdout);
    if (ok && json)
        putchar('\n');
    free(text);
    return ok || fault_set(fault, FAULT_FAILED,
                           "the write-up of job %lld does not fit into memory: close something and "
                           "try again.",
                           (long long)number);
}

/* The file was made plain when it was written: it can be shown as it is. */
static bool print_transcript(const char *directory, int64_t number, struct fault *fault)
{
    char path[PATH_SIZE];
    char bytes[4096];
    size_t n;
    FILE *file = transcript_path(directory, number, path, sizeof path) ? fopen(path, "r") : NULL;
    if (file == NULL)
        return fault_set(fault, FAULT_MISSING,
                         "job %lld has no transcript that can be read (%s): 'midthrow show %lld' "
                         "has its write-up.",
                         (long long)number, strerror(errno), (long long)number);
    while ((n = fread(bytes, 1, sizeof bytes, file)) > 0)
        fwrite(bytes, 1, n, stdout);
    bool ok = ferror(file) == 0;
    fclose(file);
    return ok || fault_set(fault, FAULT_FAILED, "cannot read '%s': check the disk.", path);
}

/* Not part of the write-up, which goes with the bike: the rider's name stays in the shop. */
static bool print_rider(struct journal *journal, int64_t number, struct fault *fault)
{
    char name[JOURNAL_RIDER];
    char shown[4 * JOURNAL_RIDER + 1];
    struct text text = text_into(shown, sizeof shown);
    if (!journal_rider(journal, number, name, fault))
        return false;
    plain_add(&text, name);
    if (name[0] != '\0')
        printf("\nRider: %s (kept beside the job; 'midthrow forget %lld' erases it)\n", shown,
               (long long)number);
    return true;
}

/* A kill may have torn the last line of a job that nobody goes on with. What cannot be mended, or
 * is being written by another midthrow, is shown as it is; one that was removed stays so. */
static void mend(struct journal *journal, int64_t number)
{
    char folder[PATH_SIZE], path[PATH_SIZE];
    if (!transcript_path(journal_directory(journal), number, path, sizeof path) ||
        access(path, F_OK) != 0 || !journal_lock(journal, number, NULL))
        return;
    struct prompt_catalogue *prompts =
        command_shared("prompts", folder, sizeof folder, NULL) ? prompt_load(folder, NULL) : NULL;
    if (prompts != NULL)
        mend_transcript(journal, number, prompts, NULL);
    prompt_free(prompts);
    journal_unlock(journal);
}

static bool show(struct journal *journal, int64_t number, const struct data_options *options,
                 struct fault *fault)
{
    struct journal_job found;
    if (!journal_find(journal, number, &found, fault))
        return false;
    if (options->transcript)
        mend(journal, number);
    if (options->transcript)
        return print_transcript(journal_directory(journal), number, fault);
    struct job *job = malloc(sizeof *job);
    if (job == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    bool ok = journal_fold(journal, number, job, fault) &&
              print_job(job, number, options->json, fault) &&
              (options->json || print_rider(journal, number, fault));
    free(job);
    return ok;
}

static bool refuse_no_journal(int64_t number, const char *directory, struct fault *fault)
{
    return fault_set(fault, FAULT_USAGE,
                     "there is no job %lld in '%s', nor any other: start one, or name another "
                     "directory with --data.",
                     (long long)number, directory);
}

int command_show(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct data_options options;
    char directory[PATH_SIZE];
    int64_t number = 0;
    if (!data_options_read(argc, argv, &options, &fault))
        return command_fail(&fault);
    if (options.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    if (!data_number(options.word, &number) || (options.json && options.transcript)) {
        fault_set(&fault, FAULT_USAGE,
                  "use 'midthrow show JOB' with the job's number, and --json or --transcript but "
                  "not both.");
        return command_fail(&fault);
    }
    if (!data_directory(&options, directory, sizeof directory, &fault) ||
        (!journal_exists(directory) && !refuse_no_journal(number, directory, &fault)))
        return command_fail(&fault);
    command_confine(directory, NULL, NULL);
    struct journal *journal = journal_open(directory, &fault);
    bool ok = journal != NULL && show(journal, number, &options, &fault) && command_printed(&fault);
    journal_close(journal);
    return ok ? FAULT_NONE : command_fail(&fault);
}
