/* Options of the commands about past jobs: see past.h. */
#include "command/past.h"

#include <getopt.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/text.h"
#include "command/command.h"
#include "command/data.h"

enum { DIRECTORY = 4096, COMEBACK_MAX = 3660, DAY_MS = 86400000 };
enum key { DATA = 256, HELP, JSON, SINCE, UNTIL, BIKE, CAUSE, OPEN, CLOSED, SVG, KEEP, ALL, BACK };

static const struct option long_options[] = {
    {"data", required_argument, NULL, DATA},
    {"help", no_argument, NULL, HELP},
    {"json", no_argument, NULL, JSON},
    {"since", required_argument, NULL, SINCE},
    {"until", required_argument, NULL, UNTIL},
    {"bike", required_argument, NULL, BIKE},
    {"cause", required_argument, NULL, CAUSE},
    {"open", no_argument, NULL, OPEN},
    {"closed", no_argument, NULL, CLOSED},
    {"svg", required_argument, NULL, SVG},
    {"output", required_argument, NULL, 'o'},
    {"keep-both", no_argument, NULL, KEEP},
    {"all", no_argument, NULL, ALL},
    {"comeback", required_argument, NULL, BACK},
    {NULL, 0, NULL, 0},
};

/* Which commands take a key; those of --data and --help are for all. */
static const struct {
    int key;
    unsigned needs;
} NEEDS[] = {
    {JSON, PAST_JSON},    {SINCE, PAST_DATES},    {UNTIL, PAST_DATES},   {BIKE, PAST_FILTER},
    {CAUSE, PAST_FILTER}, {OPEN, PAST_FILTER},    {CLOSED, PAST_FILTER}, {SVG, PAST_SVG},
    {'o', PAST_OUT},      {KEEP, PAST_KEEP_BOTH}, {ALL, PAST_ALL},       {BACK, PAST_COMEBACK},
};

static bool is_allowed(int key, unsigned allowed)
{
    for (size_t i = 0; i < sizeof NEEDS / sizeof NEEDS[0]; i++)
        if (NEEDS[i].key == key)
            return (NEEDS[i].needs & allowed) != 0;
    return key == DATA || key == HELP;
}

static bool take_days(const char *word, int *days, struct fault *fault)
{
    char *end = NULL;
    long value = strtol(word, &end, 10);
    if (*word < '0' || *word > '9' || *end != '\0' || value < 1 || value > COMEBACK_MAX)
        return fault_set(fault, FAULT_USAGE, "--comeback takes days, from 1 to %d.",
                         (int)COMEBACK_MAX);
    *days = (int)value;
    return true;
}

static bool take(struct past_request *request, int key, struct fault *fault)
{
    struct history_filter *filter = &request->filter;
    switch (key) {
    case DATA:
        request->directory = optarg;
        return true;
    case HELP:
        request->help = true;
        return true;
    case JSON:
        request->json = true;
        return true;
    case SINCE:
        filter->has_since = true;
        return history_date(optarg, &filter->since_ms, fault);
    case UNTIL: /* that day is in */
        filter->has_until = history_date(optarg, &filter->until_ms, fault);
        filter->until_ms += DAY_MS;
        return filter->has_until;
    case BIKE:
        filter->text = optarg;
        return true;
    case CAUSE:
        filter->cause = optarg;
        return history_is_cause(optarg, fault);
    case OPEN:
        filter->open = true;
        return true;
    case CLOSED:
        filter->closed = true;
        return true;
    case SVG:
        request->svg = optarg;
        return true;
    case 'o':
        request->out = optarg;
        return true;
    case KEEP:
        request->keep_both = true;
        return true;
    case ALL:
        request->all = true;
        return true;
    case BACK:
        return take_days(optarg, &request->comeback_days, fault);
    default:
        return false;
    }
}

bool past_read(int argc, char **argv, unsigned allowed, size_t most, struct past_request *request,
               struct fault *fault)
{
    *request = (struct past_request){.directory = NULL};
    opterr = 0;
    optind = 0; /* from the start, and what was left of an earlier command line is forgotten */
    for (int key; (key = getopt_long(argc, argv, ":o:", long_options, NULL)) != -1;) {
        if (key == ':')
            return fault_set(fault, FAULT_USAGE,
                             "%.60s lacks its directory, file or value: see 'midthrow %s --help'.",
                             argv[optind - 1], argv[0]);
        if (key == '?' || !is_allowed(key, allowed))
            return fault_set(fault, FAULT_USAGE,
                             "that option is not one of midthrow %s: see 'midthrow %s --help'.",
                             argv[0], argv[0]);
        if (!take(request, key, fault))
            return false;
        if (request->help)
            return true;
    }
    request->word = argv + optind;
    request->words = (size_t)(argc - optind);
    if (request->filter.open && request->filter.closed)
        return fault_set(fault, FAULT_USAGE, "--open and --closed exclude each other.");
    return request->words <= most ||
           fault_set(fault, FAULT_USAGE, "one word too many: see 'midthrow %s --help'.", argv[0]);
}

bool past_open(const struct past_request *request, struct journal **journal, struct fault *fault)
{
    const struct data_options data = {.directory = request->directory};
    char directory[DIRECTORY];
    *journal = NULL;
    if (!data_directory(&data, directory, sizeof directory, fault))
        return false;
    if (!journal_exists(directory))
        return true;
    command_confine(directory, request->out, request->svg);
    *journal = journal_open(directory, fault);
    return *journal != NULL;
}

bool past_number(const char *word, int64_t *number, struct fault *fault)
{
    return data_number(word, number) ||
           fault_set(fault, FAULT_USAGE, "'%.40s' is no job's number: 'midthrow jobs' lists them.",
                     word);
}

int64_t past_now_ms(void)
{
    struct timespec now;
    if (clock_gettime(CLOCK_REALTIME, &now) != 0)
        return 0;
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

bool past_out_open(struct past_out *out, const char *path, struct fault *fault)
{
    out->file = stdout;
    if (path == NULL || strcmp(path, "-") == 0)
        return true;
    if (!whole_begin(&out->whole, path, fault))
        return false;
    out->file = out->whole.file;
    return true;
}

bool past_out_close(struct past_out *out, bool ok, struct fault *fault)
{
    if (out->file == stdout)
        return command_printed(ok ? fault : NULL) && ok;
    if (ok)
        return whole_end(&out->whole, fault);
    whole_drop(&out->whole);
    return false;
}

/* JSON allows DEL as it is, in strings alone; a terminal is not to see it. */
static int put_json(const char *bytes, size_t n, void *out)
{
    for (size_t i = 0; i < n; i++)
        if ((bytes[i] == 0x7F ? fputs("\\u007F", out) : putc(bytes[i], out)) == EOF)
            return -1;
    return 0;
}

bool past_print_json(struct json_t *json, struct fault *fault)
{
    bool ok = json != NULL &&
              json_dump_callback(json, put_json, stdout, JSON_INDENT(2) | JSON_ENSURE_ASCII) == 0;
    if (ok)
        putchar('\n');
    json_decref(json);
    return (ok && command_printed(fault)) ||
           fault_set(fault, FAULT_FAILED,
                     "cannot print all of it: see that there is memory, and that where it goes to "
                     "is open and not full.");
}
