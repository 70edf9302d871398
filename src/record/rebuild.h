/*
 * The transcript once more, from the journal alone: every event folded again, every sentence filled
 * again. Byte for byte the file the station wrote, as long as the sentences are the same ones; a
 * line that a power cut took between journal and file is there again.
 *
 *     struct rebuild rebuild = {.prompts = prompts, .line = print, .context = stdout};
 *     rebuild_begin(&rebuild, &job);
 *     journal_replay(journal, number, rebuild_event, &rebuild, &fault) && rebuild_end(&rebuild,
 * &fault)
 */
#ifndef MIDTHROW_RECORD_REBUILD_H
#define MIDTHROW_RECORD_REBUILD_H

#include <stdbool.h>
#include <stdint.h>

#include "base/fault.h"
#include "job/job.h"
#include "prompt/prompt.h"

struct rebuild {
    const struct prompt_catalogue *prompts;
    /* Gets each line, with its "\n", and the time it carries; false stops the rebuilding. */
    bool (*line)(void *context, int64_t at_ms, const char *line);
    void *context;

    struct job *job; /* where the fold stands; the caller's */
    struct fault fault;
    bool stopped;
};

void rebuild_begin(struct rebuild *rebuild, struct job *job);

/* As journal_replay calls it, with the struct rebuild as its context. */
bool rebuild_event(void *rebuild, const struct job_event *event);

/* False when a sentence is missing, or memory was, or `line` stopped it. */
bool rebuild_end(const struct rebuild *rebuild, struct fault *fault);

#endif
