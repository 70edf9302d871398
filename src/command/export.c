/* midthrow export: jobs into a file, for another station. */
#include <stdio.h>
#include <stdlib.h>

#include "command/command.h"
#include "command/past.h"
#include "record/move.h"

static const char USAGE[] =
    "usage: midthrow export [JOB...] [-o FILE] [--data DIR]\n"
    "Writes jobs, or all of them, as JSON lines for 'midthrow import' at another station: every\n"
    "event as it was, no rider's name.\n"
    "\n"
    "  -o FILE     into that file, not to standard output\n"
    "  --data DIR  where the jobs are kept\n";

static bool write_out(struct journal *journal, int64_t numbers[],
                      const struct past_request *request, struct fault *fault)
{
    int64_t jobs = 0;
    struct past_out *out = malloc(sizeof *out);
    if (out == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    bool ok = past_out_open(out, request->out, fault);
    if (ok)
        ok = past_out_close(
            out, move_export(journal, numbers, request->words, out->file, &jobs, fault), fault);
    if (ok && request->out != NULL)
        fprintf(stderr, "%lld job%s exported.\n", (long long)jobs, jobs == 1 ? "" : "s");
    free(out);
    return ok;
}

static bool run(const struct past_request *request, struct fault *fault)
{
    struct journal *journal = NULL;
    int64_t *numbers = calloc(request->words + 1, sizeof *numbers);
    bool ok = numbers != NULL ||
              fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    for (size_t i = 0; ok && i < request->words; i++)
        ok = past_number(request->word[i], &numbers[i], fault);
    ok = ok && past_open(request, &journal, fault) &&
         (journal != NULL ||
          fault_set(fault, FAULT_MISSING,
                    "there are no jobs to export: start one, or name another directory with "
                    "--data.")) &&
         write_out(journal, numbers, request, fault);
    journal_close(journal);
    free(numbers);
    return ok;
}

int command_export(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct past_request request;
    if (!past_read(argc, argv, PAST_OUT, SIZE_MAX, &request, &fault))
        return command_fail(&fault);
    if (request.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    return run(&request, &fault) ? FAULT_NONE : command_fail(&fault);
}
