/* Jobs from another station: all of the file, but for conflicts, or nothing of it. Whatever came in
 * can be listed and folded. */
#include <stdio.h>
#include <stdlib.h>

#include "fuzz.h"
#include "record/journal.h"
#include "record/move.h"

static int64_t jobs_n;
static int64_t numbers[64];

static bool note(void *context, const struct journal_job *job)
{
    (void)context;
    if (jobs_n < 64)
        numbers[jobs_n] = job->number;
    jobs_n++;
    return true;
}

static void conflict(void *context, const struct move_conflict *found)
{
    (void)context;
    FUZZ_PROMISED(found->id != NULL && found->parts_at > 0);
}

static struct journal *open_journal(void)
{
    static struct journal *journal;
    static int used;
    enum { FRESH_AFTER = 200 };
    char path[128];
    if (journal != NULL && used++ < FRESH_AFTER)
        return journal;
    journal_close(journal);
    static const char *const ends[] = {"", "-wal", "-shm"};
    for (int i = 0; i < 3; i++) {
        snprintf(path, sizeof path, "%s/journal.sqlite%s", fuzz_folder(), ends[i]);
        remove(path);
    }
    used = 0;
    return journal = journal_open(fuzz_folder(), NULL);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct job job;
    struct fault fault = {0};
    struct move_report report = {0};
    struct journal *journal = open_journal();
    FUZZ_PROMISED(journal != NULL);
    if (size == 0)
        return 0;
    jobs_n = 0;
    FUZZ_PROMISED(journal_jobs(journal, note, NULL, &fault));
    int64_t before = jobs_n;
    FILE *in = fmemopen((void *)(uintptr_t)data, size, "rb");
    FUZZ_PROMISED(in != NULL);
    bool taken = move_import(journal, in, "fuzzed", true, conflict, NULL, &report, &fault);
    fclose(in);
    jobs_n = 0;
    FUZZ_PROMISED(journal_jobs(journal, note, NULL, &fault));
    if (!taken) {
        FUZZ_PROMISED(fault.sentence[0] != '\0');
        FUZZ_PROMISED(jobs_n == before);
    } else {
        FUZZ_PROMISED(jobs_n == before + report.added + report.kept);
        for (int64_t i = 0; i < jobs_n && i < 64 && report.added > 0; i++)
            FUZZ_PROMISED(journal_fold(journal, numbers[i], &job, &fault));
    }
    return 0;
}
