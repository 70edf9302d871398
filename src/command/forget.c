/* midthrow forget: riders' names, out of the files and not from sight only. */
#include <stdio.h>

#include "command/command.h"
#include "command/data.h"
#include "command/past.h"

static const char USAGE[] =
    "usage: midthrow forget JOB | --all [--data DIR]\n"
    "Erases the rider's name of a job, or of all jobs, for good: it is in no file of the data\n"
    "directory afterwards. The job stays. Copies made before, a backup say, are yours to erase.\n"
    "\n"
    "  --all       of all jobs\n"
    "  --data DIR  where the jobs are kept\n";

static bool run(const struct past_request *request, struct fault *fault)
{
    struct journal *journal = NULL;
    struct journal_job job;
    int64_t number = 0;
    int64_t names = 0;
    if (request->all == (request->words == 1))
        return fault_set(fault, FAULT_USAGE,
                         "say whose name to forget: 'midthrow forget JOB', or --all.");
    bool ok = (request->all || past_number(request->word[0], &number, fault)) &&
              past_open(request, &journal, fault);
    if (ok && journal != NULL)
        ok = (request->all || journal_find(journal, number, &job, fault)) &&
             journal_forget_riders(journal, request->all ? 0 : number, &names, fault);
    journal_close(journal);
    if (!ok)
        return false;
    printf("%lld rider's name%s erased.\n", (long long)names, names == 1 ? "" : "s");
    return command_printed(fault);
}

int command_forget(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct past_request request;
    if (!past_read(argc, argv, PAST_ALL, 1, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    return run(&request, &fault) ? FAULT_NONE : command_fail(&fault);
}
