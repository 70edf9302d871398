/*
 * What a screen shows, before any terminal: rows of cells, each one character or four dots, with a
 * style. Pure: laid out here, drawn by a driver, looked at by the tests.
 *
 * Big letters are made of dots: two across and two down a cell, a dot being about twice as high as
 * it is wide, as half a character cell is. What dots a terminal can show is its charset.
 */
#ifndef MIDTHROW_SCREEN_GRID_H
#define MIDTHROW_SCREEN_GRID_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum screen_charset {
    SCREEN_ASCII,    /* whole cells only: a dot is a blank in reverse */
    SCREEN_HALVES,   /* upper and lower half blocks: the Linux console's fonts have these */
    SCREEN_QUARTERS, /* all sixteen */
};

/* What a cell means; a driver gives each a colour and an attribute. None is told by its colour
 * alone: words, frames and places say the same. */
enum screen_style {
    SCREEN_PLAIN,
    SCREEN_SOFT,    /* what is read close by */
    SCREEN_STRONG,  /* the question */
    SCREEN_NUMBER,  /* a value */
    SCREEN_GOOD,    /* heard */
    SCREEN_DOUBT,   /* heard, and asked about */
    SCREEN_BAD,     /* not understood; clipping */
    SCREEN_WARNING, /* a caution's frame and words */
    SCREEN_RAIL,    /* the band beside a question */
    SCREEN_KEY,     /* a key of the pad, as a cap */
    SCREEN_STYLES,
};

struct screen_cell {
    uint32_t glyph; /* a code point; ' ' where there are dots */
    uint8_t dots;   /* 1 upper left, 2 upper right, 4 lower left, 8 lower right */
    uint8_t style;
};

enum { SCREEN_ROWS_MAX = 200, SCREEN_COLS_MAX = 500 };

struct screen_grid {
    int rows, cols;
    enum screen_charset charset;
    struct screen_cell *cell; /* rows * cols */
};

/* A part of a grid, in cells. */
struct screen_box {
    int row, col, rows, cols;
};

/* At most SCREEN_ROWS_MAX by SCREEN_COLS_MAX are used of a larger window. False: out of memory,
 * and the grid is as it was. A zeroed grid is one of no cells. */
bool screen_grid_resize(struct screen_grid *grid, int rows, int cols);
void screen_grid_free(struct screen_grid *grid);
void screen_grid_clear(struct screen_grid *grid);

/* Marks beyond the grid are left out. */
void screen_grid_put(struct screen_grid *grid, int row, int col, uint32_t glyph,
                     enum screen_style style);
void screen_grid_dot(struct screen_grid *grid, int x, int y, enum screen_style style);
void screen_grid_fill(struct screen_grid *grid, struct screen_box box, uint32_t glyph,
                      enum screen_style style);

/* Text from `col` on, at most `cols` cells; returns the cells used. Control characters are shown as
 * \xNN, and what is no UTF-8 or beyond the charset as '?'. */
int screen_grid_text(struct screen_grid *grid, int row, int col, int cols, const char *text,
                     enum screen_style style);

/* The character that shows a cell on this charset; `*reverse`: as a blank in reverse. */
uint32_t screen_grid_glyph(const struct screen_grid *grid, const struct screen_cell *cell,
                           bool *reverse);

/* The next code point of a text as it is shown (see screen_grid_text); 0 at its end. `*escape`
 * starts at 0 and belongs to the walk. */
uint32_t screen_next_glyph(const char **text, int *escape, enum screen_charset charset);
int screen_text_width(const char *text, enum screen_charset charset); /* in cells */

#endif
