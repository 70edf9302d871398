/*
 * The balance as a picture: the way of the pawl from the back pin to the forward pin, to scale,
 * with the middle, how far from it rest may sit and still be even, where rest sits, and where each
 * reading puts its pin.
 *
 *      back 7.1 mm                        rest                        forward 8.3 mm
 *      |=====================[#####|##]####O============================================|
 */
#ifndef MIDTHROW_SCREEN_PICTURE_H
#define MIDTHROW_SCREEN_PICTURE_H

#include "screen/grid.h"
#include "screen/view.h"

/* Where everything goes, in cells from the left end of the picture. */
struct screen_picture {
    int back, forward;       /* the pins, by the mean of the readings */
    int rest, middle;        /* may be the same cell only when rest is in the middle, or nearly */
    bool has_even;           /* the tolerance is known */
    int even_low, even_high; /* rest between these, ends included, is even */
    double forward_mm, back_mm;
};

/* False unless both throws were read and the picture is at least SCREEN_PICTURE_COLS wide. */
enum { SCREEN_PICTURE_COLS = 16, SCREEN_PICTURE_ROWS = 4 };
bool screen_picture_of(const struct screen_view *view, int cols, struct screen_picture *out);

/* Draws what is known into the box, at least SCREEN_PICTURE_ROWS high: the picture, or which throw
 * is still to be read. */
void screen_picture_draw(struct screen_grid *grid, struct screen_box box,
                         const struct screen_view *view);

#endif
