/*
 * Colours, as numbers of a terminal's palette: one set for 256 colours, one for the eight of old,
 * one without; each light and dark. Pure, so that a test can measure their contrast.
 */
#ifndef MIDTHROW_SCREEN_THEME_H
#define MIDTHROW_SCREEN_THEME_H

#include <stdbool.h>

#include "screen/grid.h"
#include "screen/screen.h"

struct screen_ink {
    short front, back; /* palette numbers; -1, -1: the terminal's own */
    bool bold, reverse, underline;
};

/* `colours`: how many the terminal has, 0 without. */
const struct screen_ink *screen_theme(int colours, bool light); /* SCREEN_STYLES of them */

/* Light or dark, when nobody chose: COLORFGBG, which some terminals set to "15;0" or "0;15", says
 * what the background is; else dark. `colorfgbg` may be NULL. */
bool screen_theme_is_light(enum screen_colours wanted, const char *colorfgbg);

#endif
