/* Runs that can be gone on with: see work.h. */
#include "work.h"

#include <errno.h>
#include <glob.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/hash.h"

enum { PATH = 600, JOBS_MOST = 64 };

static uint32_t hash_file(const char *path, uint32_t hash)
{
    unsigned char part[4096];
    FILE *file = fopen(path, "rb");
    for (size_t got; file != NULL && (got = fread(part, 1, sizeof part, file)) > 0;)
        hash = hash_more(hash, part, got);
    if (file != NULL)
        fclose(file);
    return hash;
}

static uint32_t hash_build(void)
{
    glob_t grammars;
    uint32_t hash = hash_file("/proc/self/exe", hash_begin());
    if (glob(GRAMMARS "/*", 0, NULL, &grammars) != 0)
        return hash;
    for (size_t g = 0; g < grammars.gl_pathc; g++)
        hash = hash_file(grammars.gl_pathv[g], hash);
    globfree(&grammars);
    return hash;
}

bool work_open(struct work *work, const char *dir, const char *kind)
{
    snprintf(work->dir, sizeof work->dir, "%s", dir);
    snprintf(work->kind, sizeof work->kind, "%s%s%s", kind, work->knows[0] != '\0' ? "-knows-" : "",
             work->knows);
    work->build = hash_build();
    work->started = time(NULL);
    work->jobs = work->jobs == 0 ? 1 : work->jobs;
    if (mkdir(dir, 0777) == 0 || errno == EEXIST)
        return true;
    fprintf(stderr, "cannot make '%s': %s.\n", dir, strerror(errno));
    return false;
}

bool work_option(struct work *work, const char *option)
{
    if (strncmp(option, "stop=", 5) == 0) {
        work->stop = strtod(option + 5, NULL);
        return true;
    }
    if (strncmp(option, "knows=", 6) == 0) {
        snprintf(work->knows, sizeof work->knows, "%s", option + 6);
        return true;
    }
    if (strncmp(option, "jobs=", 5) != 0)
        return false;
    work->jobs = strtoul(option + 5, NULL, 10);
    return work->jobs >= 1 && work->jobs <= JOBS_MOST;
}

bool work_late(const struct work *work)
{
    return work->stop > 0 && difftime(time(NULL), work->started) > 60 * work->stop;
}

bool work_each(const struct work *work, bool (*use)(void *context, const char *path), void *context)
{
    char pattern[PATH];
    glob_t found;
    bool used = true;
    snprintf(pattern, sizeof pattern, "%s/%s-%08x.*.tsv", work->dir, work->kind, work->build);
    if (glob(pattern, 0, NULL, &found) != 0)
        return true; /* the first run */
    for (size_t f = 0; used && f < found.gl_pathc; f++)
        used = use(context, found.gl_pathv[f]);
    globfree(&found);
    return used;
}

/* A line that was cut off when the last run was stopped must not be glued to the next. */
static bool open_rows(struct work *work, bool *is_new)
{
    char path[PATH];
    snprintf(path, sizeof path, "%s/%s-%08x.%zu.tsv", work->dir, work->kind, work->build,
             work->job);
    work->rows = fopen(path, "a+");
    if (work->rows == NULL || fseek(work->rows, 0, SEEK_END) != 0) {
        fprintf(stderr, "cannot write '%s': %s.\n", path, strerror(errno));
        return false;
    }
    long end = ftell(work->rows);
    *is_new = end == 0;
    if (!*is_new && fseek(work->rows, end - 1, SEEK_SET) == 0 && getc(work->rows) != '\n')
        fputc('\n', work->rows);
    return true;
}

static bool print_name(void *context, const char *path)
{
    (void)context;
    return puts(path) >= 0;
}

bool work_print_names(const struct work *work)
{
    return work_each(work, print_name, NULL);
}

static bool one_job(struct work *work, bool (*do_job)(void *context, bool is_new), void *context)
{
    bool is_new = false, done = open_rows(work, &is_new) && do_job(context, is_new);
    return (work->rows == NULL || fclose(work->rows) == 0) && done;
}

int work_run(struct work *work, bool (*do_job)(void *context, bool is_new), void *context)
{
    int failed = 0, status = 0;
    fflush(stdout);
    for (work->job = 0; work->job < work->jobs; work->job++) {
        pid_t child = fork();
        if (child == 0)
            _exit(one_job(work, do_job, context) ? 0 : 1);
        failed |= child < 0;
    }
    while (wait(&status) > 0)
        failed |= status != 0;
    return failed;
}
