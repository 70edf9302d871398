/* midthrow report: one job's write-up, as text, a page, JSON, transcript or captions; printed, or
 * into a file that is written whole or not at all. Everything from the journal alone. */
#include <getopt.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "command/command.h"
#include "command/data.h"
#include "job/job.h"
#include "prompt/prompt.h"
#include "record/caption.h"
#include "record/journal.h"
#include "record/rebuild.h"
#include "record/transcript.h"
#include "record/whole.h"
#include "record/writeup.h"

static const char USAGE[] =
    "usage: midthrow report JOB [--data DIR] [--format FORMAT] [-o FILE]\n"
    "Writes up a job; JOB is its number, as 'midthrow jobs' lists it.\n"
    "\n"
    "  --data DIR       where the jobs are kept\n"
    "  --format FORMAT  text (if none is given), html: one page with pictures, to show or print;\n"
    "                   json: as writeup.schema.json has it; transcript: who said what, made "
    "again\n"
    "                   from the journal; vtt: the same as captions, from the job's first moment\n"
    "  -o FILE          into FILE, whole or not at all; else printed\n";

enum { PATH_SIZE = 4096 };

struct report {
    struct journal *journal;
    int64_t number;
    FILE *out;
};

struct format {
    const char *name;
    bool (*write)(const struct report *report, struct fault *fault);
};

static bool out_of_memory(struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
}

/* ---- from the job's state ------------------------------------------------------------------- */

static bool print(const struct report *report, const char *text)
{
    fputs(text, report->out);
    return true;
}

/* Replays the job and gives it to `write_up`, with a buffer of `size`. */
static bool write_state(const struct report *report, size_t size,
                        bool (*write_up)(const struct job *job, int64_t number, char *out,
                                         size_t size),
                        struct fault *fault)
{
    struct job *job = malloc(sizeof *job);
    char *text = malloc(size);
    bool ok = job != NULL && text != NULL;
    if (!ok)
        out_of_memory(fault);
    if (ok) {
        ok = journal_fold(report->journal, report->number, job, fault);
    }
    if (ok && !write_up(job, report->number, text, size))
        ok = fault_set(fault, FAULT_FAILED,
                       "the write-up of job %lld is longer than midthrow can make it: "
                       "'--format json' has all of it.",
                       (long long)report->number);
    ok = ok && print(report, text);
    free(text);
    free(job);
    return ok;
}

static bool write_text(const struct report *report, struct fault *fault)
{
    return write_state(report, WRITEUP_SIZE, writeup_text, fault);
}

static bool write_html(const struct report *report, struct fault *fault)
{
    return write_state(report, WRITEUP_HTML_SIZE, writeup_html, fault);
}

static bool write_json(const struct report *report, struct fault *fault)
{
    struct job *job = malloc(sizeof *job);
    if (job == NULL)
        return out_of_memory(fault);
    bool ok = journal_fold(report->journal, report->number, job, fault);
    char *text = ok ? writeup_json(job, report->number) : NULL;
    if (ok && text == NULL)
        ok = out_of_memory(fault);
    if (ok)
        ok = print(report, text) && print(report, "\n");
    free(text);
    free(job);
    return ok;
}

/* ---- from what was said --------------------------------------------------------------------- */

static bool rebuild(const struct report *report,
                    bool (*line)(void *context, int64_t at_ms, const char *line), void *context,
                    struct fault *fault)
{
    char folder[PATH_SIZE];
    if (!command_shared("prompts", folder, sizeof folder, fault))
        return false;
    struct prompt_catalogue *prompts = prompt_load(folder, fault);
    if (prompts == NULL)
        return false;
    struct job *job = malloc(sizeof *job);
    struct rebuild again = {.prompts = prompts, .line = line, .context = context};
    bool ok = job != NULL || out_of_memory(fault);
    if (ok) {
        rebuild_begin(&again, job);
        ok = journal_replay(report->journal, report->number, rebuild_event, &again, fault) &&
             rebuild_end(&again, fault);
    }
    free(job);
    prompt_free(prompts);
    return ok;
}

static bool print_line(void *context, int64_t at_ms, const char *line)
{
    (void)at_ms;
    return fputs(line, context) >= 0;
}

static bool write_transcript(const struct report *report, struct fault *fault)
{
    return rebuild(report, print_line, report->out, fault);
}

struct vtt {
    const struct report *report;
    struct captions captions;
    bool begun;
    int64_t zero_ms;
};

static bool begin_captions(struct vtt *vtt, int64_t at_ms, char cue[CAPTION_CUE])
{
    char title[96];
    char at[32];
    struct text text = text_into(title, sizeof title);
    transcript_time(at_ms, at);
    text_addf(&text, "midthrow, job %lld, from %s", (long long)vtt->report->number, at);
    vtt->begun = true;
    vtt->zero_ms = at_ms;
    return captions_begin(&vtt->captions, title, cue, CAPTION_CUE) &&
           fputs(cue, vtt->report->out) >= 0;
}

/* A line of the transcript parted as transcript.h has it: time, who, what, two spaces between. */
static bool caption_line(void *context, int64_t at_ms, const char *line)
{
    struct vtt *vtt = context;
    char what[TRANSCRIPT_LINE];
    char who[8] = "";
    static char cue[CAPTION_CUE];
    const char *from = strstr(line, "  ");
    if (from == NULL || strlen(from) < 9 || (!vtt->begun && !begin_captions(vtt, at_ms, cue)))
        return false;
    memcpy(who, from + 2, 5);
    who[strcspn(who, " ")] = '\0';
    text_copy(what, sizeof what, from + 9);
    what[strcspn(what, "\n")] = '\0';
    const int64_t start_ms = at_ms > vtt->zero_ms ? at_ms - vtt->zero_ms : 0;
    const struct caption caption = {.start_ms = start_ms,
                                    .end_ms = start_ms + caption_reading_ms(what),
                                    .who = who,
                                    .text = what};
    return captions_add(&vtt->captions, &caption, cue, sizeof cue) &&
           fputs(cue, vtt->report->out) >= 0;
}

static bool write_vtt(const struct report *report, struct fault *fault)
{
    struct vtt vtt = {.report = report};
    return rebuild(report, caption_line, &vtt, fault);
}

/* ---- the command ---------------------------------------------------------------------------- */

static const struct format formats[] = {
    {"text", write_text}, {"html", write_html},
    {"json", write_json}, {"transcript", write_transcript},
    {"vtt", write_vtt},
};

struct options {
    struct data_options data;
    const struct format *format;
    const char *file;
    int64_t number;
};

static const struct format *format_of(const char *name)
{
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++)
        if (strcmp(formats[i].name, name) == 0)
            return &formats[i];
    return NULL;
}

static bool take_number(const char *word, int64_t *number, struct fault *fault)
{
    return data_number(word, number) ||
           fault_set(fault, FAULT_USAGE,
                     "use 'midthrow report JOB' with the job's number; "
                     "'midthrow jobs' lists them.");
}

static bool parse(int argc, char **argv, struct options *options, struct fault *fault)
{
    static const struct option long_options[] = {{"data", required_argument, NULL, 'd'},
                                                 {"format", required_argument, NULL, 'f'},
                                                 {"help", no_argument, NULL, 'h'},
                                                 {NULL, 0, NULL, 0}};
    *options = (struct options){.format = &formats[0]};
    opterr = 0;
    optind = 1;
    for (int key; (key = getopt_long(argc, argv, ":o:", long_options, NULL)) != -1;) {
        if (key == 'd')
            options->data.directory = optarg;
        else if (key == 'o')
            options->file = optarg;
        else if (key == 'h')
            options->data.help = true;
        else if (key == 'f')
            options->format = format_of(optarg);
        else
            return fault_set(fault, FAULT_USAGE,
                             "that option is not there or lacks its value: see 'midthrow report "
                             "--help'.");
        if (options->format == NULL)
            return fault_set(fault, FAULT_USAGE,
                             "there is no format '%s': use text, html, json, transcript or vtt.",
                             optarg);
    }
    if (options->data.help)
        return true;
    const char *word = optind < argc ? argv[optind++] : NULL;
    if (optind < argc)
        return fault_set(fault, FAULT_USAGE, "one word too many: see 'midthrow report --help'.");
    return take_number(word, &options->number, fault);
}

static bool write_file(const struct options *options, struct report *report, struct fault *fault)
{
    struct whole whole;
    if (!whole_begin(&whole, options->file, fault))
        return false;
    report->out = whole.file;
    if (options->format->write(report, fault))
        return whole_end(&whole, fault);
    whole_drop(&whole);
    return false;
}

static bool report_job(const struct options *options, struct journal *journal, struct fault *fault)
{
    struct journal_job found;
    struct report report = {.journal = journal, .number = options->number, .out = stdout};
    if (!journal_find(journal, options->number, &found, fault))
        return false;
    if (options->file != NULL)
        return write_file(options, &report, fault);
    return options->format->write(&report, fault) && command_printed(fault);
}

int command_report(int argc, char **argv)
{
    struct fault fault = {.code = FAULT_NONE};
    struct options options;
    char directory[PATH_SIZE];
    if (!parse(argc, argv, &options, &fault))
        return command_fail(&fault);
    if (options.data.help) {
        fputs(USAGE, stdout);
        return FAULT_NONE;
    }
    if (!data_directory(&options.data, directory, sizeof directory, &fault))
        return command_fail(&fault);
    if (!journal_exists(directory)) {
        fault_set(&fault, FAULT_USAGE,
                  "there is no job %lld in '%s', nor any other: start one, or name another "
                  "directory with --data.",
                  (long long)options.number, directory);
        return command_fail(&fault);
    }
    command_confine(directory, options.file, NULL);
    struct journal *journal = journal_open(directory, &fault);
    bool ok = journal != NULL && report_job(&options, journal, &fault);
    journal_close(journal);
    return ok ? FAULT_NONE : command_fail(&fault);
}
