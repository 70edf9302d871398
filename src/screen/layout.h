/*
 * Where everything goes in a window of a given size: the question large, what was heard with its
 * number, the balance, the pad's keys, the microphone. Pure: a view in, cells out; any size from
 * nothing up is safe.
 */
#ifndef MIDTHROW_SCREEN_LAYOUT_H
#define MIDTHROW_SCREEN_LAYOUT_H

#include "screen/face.h"
#include "screen/view.h"

/* Smaller windows show the question and the keys in the terminal's own letters, nothing else. */
enum { SCREEN_ROWS_MIN = 12, SCREEN_COLS_MIN = 40 };

/* How large the parts came out, for tests and for saying from how far they can be read: capitals,
 * in cells; 0 for what is not shown. */
struct screen_layout {
    double question, heard, keys;
};

/* Fills the whole grid. `layout` may be NULL. */
void screen_layout(const struct screen_view *view, struct screen_grid *grid,
                   struct screen_layout *layout);

#endif
