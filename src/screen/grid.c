/* Cells and dots: see grid.h. */
#include "screen/grid.h"

#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"

bool screen_grid_resize(struct screen_grid *grid, int rows, int cols)
{
    rows = rows < 0 ? 0 : rows > SCREEN_ROWS_MAX ? SCREEN_ROWS_MAX : rows;
    cols = cols < 0 ? 0 : cols > SCREEN_COLS_MAX ? SCREEN_COLS_MAX : cols;
    struct screen_cell *cell = calloc((size_t)rows * (size_t)cols + 1, sizeof *cell);
    if (cell == NULL)
        return false;
    free(grid->cell);
    grid->cell = cell;
    grid->rows = rows;
    grid->cols = cols;
    screen_grid_clear(grid);
    return true;
}

void screen_grid_free(struct screen_grid *grid)
{
    free(grid->cell);
    memset(grid, 0, sizeof *grid);
}

void screen_grid_clear(struct screen_grid *grid)
{
    screen_grid_fill(grid, (struct screen_box){0, 0, grid->rows, grid->cols}, ' ', SCREEN_PLAIN);
}

static struct screen_cell *cell_at(struct screen_grid *grid, int row, int col)
{
    if (row < 0 || col < 0 || row >= grid->rows || col >= grid->cols)
        return NULL;
    return &grid->cell[row * grid->cols + col];
}

void screen_grid_put(struct screen_grid *grid, int row, int col, uint32_t glyph,
                     enum screen_style style)
{
    struct screen_cell *cell = cell_at(grid, row, col);
    if (cell != NULL)
        *cell = (struct screen_cell){.glyph = glyph, .style = (uint8_t)style};
}

void screen_grid_dot(struct screen_grid *grid, int x, int y, enum screen_style style)
{
    struct screen_cell *cell = x < 0 || y < 0 ? NULL : cell_at(grid, y / 2, x / 2);
    if (cell == NULL)
        return;
    cell->glyph = ' ';
    cell->dots |= (uint8_t)(1u << ((y % 2) * 2 + x % 2));
    cell->style = (uint8_t)style;
}

void screen_grid_fill(struct screen_grid *grid, struct screen_box box, uint32_t glyph,
                      enum screen_style style)
{
    for (int row = 0; row < box.rows; row++)
        for (int col = 0; col < box.cols; col++)
            screen_grid_put(grid, box.row + row, box.col + col, glyph, style);
}

/* ---- text --------------------------------------------------------------------------------- */

enum { BEYOND_LATIN = 0x250 };

/* What stands for a byte or a character that must not reach a terminal: "\x1b", told one character
 * at a time. */
static uint32_t hex_of(unsigned byte, int at)
{
    static const char digits[] = "0123456789abcdef";
    switch (at) {
    case 0:
        return '\\';
    case 1:
        return 'x';
    case 2:
        return (uint32_t)digits[byte >> 4];
    default:
        return (uint32_t)digits[byte & 15];
    }
}

static size_t sequence_length(unsigned char first)
{
    return first < 0xc2 ? 1 : first < 0xe0 ? 2 : first < 0xf0 ? 3 : first < 0xf5 ? 4 : 1;
}

uint32_t screen_next_glyph(const char **text, int *escape, enum screen_charset charset)
{
    const unsigned char *at = (const unsigned char *)*text;
    if (*at == '\0')
        return 0;
    if (*at < 0x20 || *at == 0x7f) {
        uint32_t shown = hex_of(*at, *escape);
        *escape = (*escape + 1) % 4;
        if (*escape == 0)
            (*text)++;
        return shown;
    }
    size_t length = sequence_length(*at);
    if (length > strlen(*text) || !utf8_is_valid(*text, length)) {
        (*text)++;
        return '?';
    }
    uint32_t point = length == 1 ? *at : *at & (0xffu >> (length + 1));
    for (size_t i = 1; i < length; i++)
        point = point << 6 | (at[i] & 0x3fu);
    *text += length;
    if (point < 0x80)
        return point;
    if (point == 0xa0)
        return ' '; /* the blank that does not break a line */
    /* Beyond Latin a character may be two cells wide, or none. */
    return charset == SCREEN_ASCII || point < 0xa1 || point >= BEYOND_LATIN ? '?' : point;
}

int screen_text_width(const char *text, enum screen_charset charset)
{
    int cols = 0, escape = 0;
    while (screen_next_glyph(&text, &escape, charset) != 0)
        cols++;
    return cols;
}

int screen_grid_text(struct screen_grid *grid, int row, int col, int cols, const char *text,
                     enum screen_style style)
{
    int used = 0, escape = 0;
    while (used < cols) {
        uint32_t glyph = screen_next_glyph(&text, &escape, grid->charset);
        if (glyph == 0)
            break;
        screen_grid_put(grid, row, col + used++, glyph, style);
    }
    return used;
}

uint32_t screen_grid_glyph(const struct screen_grid *grid, const struct screen_cell *cell,
                           bool *reverse)
{
    /* Unicode's block elements, by their dots. */
    static const uint16_t blocks[16] = {' ',    0x2598, 0x259d, 0x2580, 0x2596, 0x258c,
                                        0x259e, 0x259b, 0x2597, 0x259a, 0x2590, 0x259c,
                                        0x2584, 0x2599, 0x259f, 0x2588};
    *reverse = false;
    if (cell->dots == 0)
        return cell->glyph;
    if (grid->charset == SCREEN_ASCII) {
        *reverse = true;
        return ' ';
    }
    return blocks[cell->dots & 15];
}
