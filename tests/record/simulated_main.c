/* Prints write-ups of simulated jobs, for the tests that read them with other programs:
 *     record_simulated html|json|text SEED [EVENTS] [spoiled]
 *     record_simulated json-lines|html-lines FROM TO [spoiled]    one a line, parted by a NUL
 *     record_simulated longest FROM TO                            the seed whose page is the
 * longest */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "record/writeup.h"
#include "simulated.h"

static struct simulated simulated;
static char page[WRITEUP_HTML_SIZE];

static int print(const char *format, uint64_t seed, int events, bool spoiled)
{
    simulated_work(&simulated, seed, events);
    if (spoiled)
        simulated_spoil(&simulated.job);
    if (strncmp(format, "json", 4) == 0) {
        char *json = writeup_json(&simulated.job, 12);
        if (json == NULL)
            return 1;
        fputs(json, stdout);
        free(json);
        return 0;
    }
    bool html = strncmp(format, "html", 4) == 0;
    if (!(html ? writeup_html : writeup_text)(&simulated.job, 12, page, sizeof page))
        return 1;
    fputs(page, stdout);
    return 0;
}

/* The length of what a reader sees grows with the page's bytes. */
static int find_longest(uint64_t from, uint64_t to)
{
    uint64_t best = from;
    size_t most = 0;
    for (uint64_t seed = from; seed < to; seed++) {
        simulated_work(&simulated, seed, 2000);
        if (!writeup_html(&simulated.job, 12, page, sizeof page))
            return 1;
        if (strlen(page) > most) {
            most = strlen(page);
            best = seed;
        }
    }
    printf("%llu\n", (unsigned long long)best);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc < 3)
        return 2;
    const char *format = argv[1];
    bool spoiled = strcmp(argv[argc - 1], "spoiled") == 0;
    uint64_t first = strtoull(argv[2], NULL, 10);
    if (strcmp(format, "longest") == 0)
        return find_longest(first, strtoull(argv[3], NULL, 10));
    if (strstr(format, "-lines") == NULL) {
        int events = argc > 3 && argv[3][0] >= '0' && argv[3][0] <= '9' ? atoi(argv[3]) : 2000;
        return print(format, first, events, spoiled);
    }
    for (uint64_t seed = first; seed < strtoull(argv[3], NULL, 10); seed++) {
        /* some of the jobs are left open, anywhere */
        int events = seed % 5 == 4 ? (int)(seed * 7 % 90) : 2000;
        if (print(format, seed, events, spoiled) != 0)
            return 1;
        putchar('\0');
    }
    return 0;
}
