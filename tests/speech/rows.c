/* Rows to text and back, by one table: see rows.h. */
#include "rows.h"

#include <stdlib.h>
#include <string.h>

enum type { TEXT, INT, SIZE, BOOL, REAL };

#define COLUMN(type, member)                                                                       \
    {                                                                                              \
#member, type, offsetof(struct row, member), sizeof(((struct row *)0)->member)             \
    }

static const struct {
    const char *name;
    enum type type;
    size_t offset, size;
} columns[] = {
    COLUMN(INT, utterance),       COLUMN(TEXT, voice),         COLUMN(INT, manner),
    COLUMN(TEXT, class),          COLUMN(TEXT, grammar),       COLUMN(TEXT, noise),
    COLUMN(INT, snr_db),          COLUMN(TEXT, said),          COLUMN(TEXT, verdict),
    COLUMN(INT, right),           COLUMN(TEXT, heard),         COLUMN(INT, other_right),
    COLUMN(TEXT, other),          COLUMN(REAL, score),         COLUMN(SIZE, signs.words),
    COLUMN(SIZE, signs.phones),   COLUMN(REAL, signs.talk),    COLUMN(REAL, signs.margin),
    COLUMN(REAL, signs.worst),    COLUMN(REAL, signs.good),    COLUMN(REAL, signs.least_good),
    COLUMN(SIZE, signs.frames),   COLUMN(BOOL, signs.tens),    COLUMN(BOOL, signs.digit),
    COLUMN(BOOL, signs.grown),    COLUMN(BOOL, signs.command), COLUMN(REAL, signs.familiar),
    COLUMN(REAL, signs.left_out), COLUMN(SIZE, signs.besides), COLUMN(REAL, signs.over_db),
    COLUMN(REAL, signs.speech_s), COLUMN(REAL, signs.snr_db),  COLUMN(REAL, ear_s),
    COLUMN(INT, stock_right),     COLUMN(TEXT, stock),         COLUMN(REAL, stock_s),
    COLUMN(REAL, sound_s),
};
enum { COLUMNS = sizeof columns / sizeof columns[0], LINE = 4096 };

void rows_write_head(FILE *file)
{
    for (size_t c = 0; c < COLUMNS; c++)
        fprintf(file, "%s%c", columns[c].name, c + 1 < COLUMNS ? '\t' : '\n');
}

/* Numbers keep all their digits, so that what is fitted on them is the same to the last one. */
void rows_write(FILE *file, const struct row *row)
{
    for (size_t c = 0; c < COLUMNS; c++) {
        const void *at = (const char *)row + columns[c].offset;
        switch (columns[c].type) {
        case TEXT:
            fputs(*(const char *)at == '\0' ? "-" : (const char *)at, file);
            break;
        case INT:
            fprintf(file, "%d", *(const int *)at);
            break;
        case SIZE:
            fprintf(file, "%zu", *(const size_t *)at);
            break;
        case BOOL:
            fprintf(file, "%d", *(const bool *)at);
            break;
        case REAL:
            fprintf(file, "%.17g", *(const double *)at);
            break;
        }
        putc(c + 1 < COLUMNS ? '\t' : '\n', file);
    }
}

static void read_cell(size_t c, const char *text, struct row *row)
{
    void *at = (char *)row + columns[c].offset;
    switch (columns[c].type) {
    case TEXT:
        snprintf(at, columns[c].size, "%s", strcmp(text, "-") == 0 ? "" : text);
        break;
    case INT:
        *(int *)at = (int)strtol(text, NULL, 10);
        break;
    case SIZE:
        *(size_t *)at = strtoul(text, NULL, 10);
        break;
    case BOOL:
        *(bool *)at = text[0] == '1';
        break;
    case REAL:
        *(double *)at = strtod(text, NULL);
        break;
    }
}

static bool read_row(char *line, struct row *row)
{
    char *rest = line;
    *row = (struct row){0};
    for (size_t c = 0; c < COLUMNS; c++) {
        char *cell = rest;
        rest = strchr(rest, c + 1 < COLUMNS ? '\t' : '\n');
        if (rest == NULL)
            return false; /* it was being written when the run was stopped */
        *rest++ = '\0';
        read_cell(c, cell, row);
    }
    return true;
}

static bool is_head(char *line)
{
    char *rest = line;
    for (size_t c = 0; c < COLUMNS; c++) {
        const char *cell = strtok_r(rest, "\t\n", &rest);
        if (cell == NULL || strcmp(cell, columns[c].name) != 0)
            return false;
    }
    return true;
}

bool rows_read(FILE *file, void (*take)(void *context, const struct row *row), void *context)
{
    char line[LINE];
    struct row row;
    if (fgets(line, sizeof line, file) == NULL)
        return true; /* nothing in it yet */
    if (!is_head(line))
        return false;
    while (fgets(line, sizeof line, file) != NULL)
        if (read_row(line, &row))
            take(context, &row);
    return true;
}

bool rows_read_file(const char *path, void (*take)(void *context, const struct row *row),
                    void *context)
{
    FILE *file = fopen(path, "r");
    bool read = file != NULL && rows_read(file, take, context);
    if (file != NULL)
        fclose(file);
    return read;
}
