/* The end of a transcript from the journal: see mend.h. An event has one line of its own, then one
 * a sentence said of it; so counting lines tells how far the file goes. */
#include "record/mend.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "record/rebuild.h"
#include "record/store.h"
#include "record/transcript.h"

struct reach {
    int64_t events; /* whose own line is in the file */
    int64_t said;   /* lines of the last one's sentences */
    long bytes;     /* of whole lines of text */
};

struct mending {
    FILE *file;
    struct reach there; /* what the file has */
    struct reach now;   /* how far the journal's lines have come */
};

/* transcript.h: the time, two spaces, who, two spaces. */
static bool is_said(const char *line)
{
    const char *who = strstr(line, "  ");
    return who != NULL && strncmp(who, "  tool   ", 9) == 0;
}

static void count(struct reach *reach, const char *line)
{
    if (is_said(line)) {
        reach->said++;
        return;
    }
    reach->events++;
    reach->said = 0;
}

/* Up to the first line that is not whole: a power cut may leave zeros where text was to be. */
static bool measure(FILE *file, struct reach *reach)
{
    char *line = NULL;
    size_t room = 0;
    ssize_t length;
    *reach = (struct reach){0};
    while ((length = getline(&line, &room, file)) > 0) {
        if (line[length - 1] != '\n' || strlen(line) != (size_t)length)
            break;
        count(reach, line);
        reach->bytes += length;
    }
    free(line);
    return ferror(file) == 0;
}

static bool add_missing(void *context, int64_t at_ms, const char *line)
{
    struct mending *mending = context;
    struct reach *now = &mending->now;
    (void)at_ms;
    count(now, line);
    bool there = now->events < mending->there.events ||
                 (now->events == mending->there.events && now->said <= mending->there.said);
    return there || fputs(line, mending->file) >= 0;
}

static bool append_missing(struct mending *mending, struct journal *journal, int64_t number,
                           const struct prompt_catalogue *prompts, struct fault *fault)
{
    struct rebuild rebuild = {.prompts = prompts, .line = add_missing, .context = mending};
    struct job *job = malloc(sizeof *job);
    if (job == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    rebuild_begin(&rebuild, job);
    bool ok = journal_replay(journal, number, rebuild_event, &rebuild, fault) &&
              rebuild_end(&rebuild, fault);
    free(job);
    return ok;
}

bool mend_transcript(struct journal *journal, int64_t number,
                     const struct prompt_catalogue *prompts, struct fault *fault)
{
    char path[STORE_PATH];
    struct mending mending = {0};
    if (!store_path(journal_directory(journal), "job-%lld.txt", number, path, fault))
        return false;
    int fd = store_open(path, O_APPEND, fault);
    if (fd < 0)
        return false;
    mending.file = fdopen(fd, "a+");
    if (mending.file == NULL) {
        close(fd);
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    }
    bool ok = fseek(mending.file, 0, SEEK_SET) == 0 && measure(mending.file, &mending.there) &&
              ftruncate(fd, mending.there.bytes) == 0 && fseek(mending.file, 0, SEEK_END) == 0;
    int error = errno;
    if (!ok)
        fault_set(fault, FAULT_FAILED,
                  "cannot read the transcript '%s' (%s): move it away, it can be made again from "
                  "the journal.",
                  path, strerror(error));
    ok = ok && append_missing(&mending, journal, number, prompts, fault);
    if (fclose(mending.file) != 0 && ok)
        ok =
            fault_set(fault, FAULT_FAILED,
                      "cannot write the transcript '%s': free some space there, then go on.", path);
    return ok;
}
