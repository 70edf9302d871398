/*
 * Big letters: an alphabet of our own, seven dots to a capital, drawn at whatever size a text fits
 * its place; and the choice of that size.
 *
 *     struct screen_fit fit;
 *     screen_fit_text("Back throw, reading 1?", box, charset, SCREEN_SY_MAX, &fit);
 *     screen_fit_draw(grid, box, &fit, SCREEN_STRONG);
 */
#ifndef MIDTHROW_SCREEN_FACE_H
#define MIDTHROW_SCREEN_FACE_H

#include "screen/grid.h"

enum {
    SCREEN_FACE_CAP = 7,     /* dots from the baseline to the top of a capital, at size 1 */
    SCREEN_FACE_DESCENT = 2, /* below the baseline */
    SCREEN_SY_MAX = 8,
    SCREEN_LINES_MAX = 24,
    SCREEN_FIT_TEXT = 1024,
};

/* How large a letter's dot is drawn, in dots of the grid: sx across and sy down. sx = 2 sy is
 * square; sx = sy is half as wide, for more letters a line; stout, its stems are twice as wide, for
 * strokes of one thickness. sx = 0: the terminal's own letters. */
struct screen_fit {
    int sx, sy;
    bool stout;
    int pitch; /* from line to line, in letter dots */
    int lines;
    char text[SCREEN_FIT_TEXT]; /* the lines, each terminated */
    uint16_t at[SCREEN_LINES_MAX];
    bool cut; /* not all of the text found room */
};

/* The largest size at which the whole text fits the box, taller before wider, `sy_max` at most;
 * the terminal's own letters when none does; then what does not fit is cut and ends in "...". */
void screen_fit_text(const char *text, struct screen_box box, enum screen_charset charset,
                     int sy_max, struct screen_fit *fit);

/* Rows that the text needs at the smallest of the big sizes, of one width; 0 when a word of it is
 * too long for that, or there are not so many rows. */
enum screen_width { SCREEN_NARROW, SCREEN_STOUT, SCREEN_SQUARE };
int screen_fit_least(const char *text, struct screen_box box, enum screen_charset charset,
                     enum screen_width width);

/* Draws the fitted lines from the top left of the box. */
void screen_fit_draw(struct screen_grid *grid, struct screen_box box, const struct screen_fit *fit,
                     enum screen_style style);

int screen_fit_rows(const struct screen_fit *fit); /* cells from the first line to the last */
int screen_fit_cols(const struct screen_fit *fit, enum screen_charset charset);

/* Height of a capital in cells: 3.5 for sy = 1; of the terminal's own letters about two thirds. */
double screen_fit_capital(const struct screen_fit *fit);

/* For tests: how wide a character is in letter dots, without the gap behind it, and its dots. */
int screen_face_width(uint32_t glyph);
bool screen_face_dot(uint32_t glyph, int x, int y);

#endif
