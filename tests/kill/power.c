/* The power goes while the journal's log is being written: what is on disk of it is its beginning,
 * and behind that nothing, zeros, or what was there before. Every event whose commit is within the
 * beginning must be there, and nothing after it.
 *     power EVENTS STEP          EVENTS committed; cut at every STEP-th byte, and round each frame
 * Frames and what makes one valid: sqlite.org/fileformat2.html, section 4. */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../base/scratch.h"
#include "bench.h"
#include "record/journal.h"

enum { EVENTS_MAX = 400, LOG_HEADER = 32, FRAME_HEADER = 24, PAGE = 4096 };

enum tail { NOTHING, ZEROS, RUBBISH, TAILS };

static char scratch[SCRATCH_PATH], data[SCRATCH_PATH], copy[SCRATCH_PATH];
static long committed[EVENTS_MAX + 1]; /* the log's length when so many events were in it */
static int events;
static unsigned char *log_bytes, *database;
static long log_length, database_length;

static void give_up(const char *why, long at)
{
    printf("FAILED: %s at %ld; the data are in %s\n", why, at, scratch);
    exit(1);
}

static unsigned char *take(const char *name, long *length)
{
    char path[SCRATCH_PATH];
    FILE *file = fopen(scratch_path(data, name, path), "rb");
    if (file == NULL || fseek(file, 0, SEEK_END) != 0)
        give_up(name, 0);
    *length = ftell(file);
    unsigned char *bytes = malloc((size_t)*length + 1);
    rewind(file);
    if (bytes == NULL || fread(bytes, 1, (size_t)*length, file) != (size_t)*length)
        give_up(name, 0);
    fclose(file);
    return bytes;
}

static long length_of_log(void)
{
    char path[SCRATCH_PATH];
    struct stat status;
    return stat(scratch_path(data, "journal.sqlite-wal", path), &status) == 0 ? (long)status.st_size
                                                                              : 0;
}

static void work(void)
{
    struct fault fault = {0};
    int64_t number = 0;
    struct journal *journal = journal_open(data, &fault);
    static struct job job;
    static struct job_effects effects;
    job_init(&job);
    if (journal == NULL || !journal_begin_job(journal, 1, &number, &fault))
        give_up(fault.sentence, 0);
    for (int i = 0; i < events; i++) {
        struct job_event event = {.kind = i == 0 ? JOB_OPENED : JOB_HEARD, .at_ms = i + 1};
        snprintf(event.words, sizeof event.words, i == 0 ? "" : "answer %d", i);
        job_step(&job, &event, &effects);
        if (!journal_commit(journal, number, &event, &job, &fault))
            give_up(fault.sentence, i);
        committed[i + 1] = length_of_log();
    }
    log_bytes = take("journal.sqlite-wal", &log_length); /* before closing takes the log away */
    database = take("journal.sqlite", &database_length);
    journal_close(journal);
    if (committed[events] != log_length || committed[1] <= LOG_HEADER)
        give_up("the log did not grow with each event", log_length);
}

static void put_back(long cut, enum tail tail, uint64_t *seed)
{
    char path[SCRATCH_PATH];
    unsigned char *log = malloc((size_t)log_length + 1);
    size_t n = tail == NOTHING ? (size_t)cut : (size_t)log_length;
    scratch_remove(copy);
    if (mkdir(copy, 0700) != 0 || log == NULL)
        give_up("cannot make the copy", cut);
    memcpy(log, log_bytes, (size_t)cut);
    for (long i = cut; i < log_length; i++)
        log[i] = tail == ZEROS ? 0 : (unsigned char)bench_draw(seed, 256);
    scratch_write(copy, "journal.sqlite", database, (size_t)database_length, path);
    scratch_write(copy, "journal.sqlite-wal", log, n, path);
    free(log);
}

static bool check(void *context, const struct job_event *event)
{
    int *n = context;
    char words[32] = "";
    if (*n > 0)
        snprintf(words, sizeof words, "answer %d", *n);
    if (strcmp(event->words, words) != 0)
        return false;
    (*n)++;
    return true;
}

/* How many events are there, in order and whole. */
static int count(long cut)
{
    struct fault fault = {0};
    struct journal_job job;
    int n = 0;
    struct journal *journal = journal_open(copy, &fault);
    if (journal == NULL)
        give_up(fault.sentence, cut);
    if (journal_find(journal, 1, &job, NULL) &&
        (!journal_replay(journal, 1, check, &n, &fault) || n != job.events))
        give_up("what is there is not whole", cut);
    journal_close(journal);
    return n;
}

static void cut_at(long cut, enum tail tail, uint64_t *seed)
{
    int wanted = 0;
    while (wanted < events && committed[wanted + 1] <= cut)
        wanted++;
    put_back(cut, tail, seed);
    int got = count(cut);
    if (got == wanted)
        return;
    printf("%d events, wanted %d (tail %d): ", got, wanted, (int)tail);
    give_up("the log was cut", cut);
}

int main(int argc, char **argv)
{
    uint64_t seed = 7;
    long cuts = 0;
    long step = argc == 3 ? strtol(argv[2], NULL, 10) : 0;
    events = argc == 3 ? (int)strtol(argv[1], NULL, 10) : 0;
    if (step < 1 || events < 2 || events > EVENTS_MAX)
        return 2;
    if (access("/dev/shm", W_OK) == 0)
        setenv("TMPDIR", "/dev/shm", 1); /* what is cut off is chosen here, not by a disk */
    scratch_make(scratch);
    scratch_path(scratch, "data", data);
    scratch_path(scratch, "copy", copy);
    work();
    for (long cut = 0; cut <= log_length; cut++) {
        long in_frame = cut < LOG_HEADER ? cut : (cut - LOG_HEADER) % (FRAME_HEADER + PAGE);
        bool edge =
            in_frame <= 1 || in_frame == FRAME_HEADER || in_frame == FRAME_HEADER + PAGE - 1;
        if (!edge && cut % step != 0)
            continue;
        cut_at(cut, (enum tail)(cuts % TAILS), &seed);
        cuts++;
    }
    scratch_remove(scratch);
    printf("%ld cuts through a log of %ld bytes with %d events: none lost, none half\n", cuts,
           log_length, events);
    return 0;
}
