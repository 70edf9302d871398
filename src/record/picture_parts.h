/*
 * The measures of the pictures, in units of the viewBox: shared by what works out the places and
 * what draws.
 */
#ifndef MIDTHROW_RECORD_PICTURE_PARTS_H
#define MIDTHROW_RECORD_PICTURE_PARTS_H

enum {
    PICTURE_EDGE = 16, /* left and right of the throws */
    PICTURE_ROW_TOP = 8,
    PICTURE_ROW_HEIGHT = 98,

    PICTURE_PLOT_LEFT = 46, /* the frame of the rounds */
    PICTURE_PLOT_RIGHT = 470,
    PICTURE_PLOT_TOP = 30,
    PICTURE_PLOT_BOTTOM = 240,
    PICTURE_INSET = 28, /* from the frame to the first and the last round */
    PICTURE_ASIDE = 6,  /* what was foretold stands this far left of what was measured */

    PICTURE_BARS_LEFT = 226, /* the bars of the causes */
    PICTURE_BARS_RIGHT = 386,
    PICTURE_CAUSES_TOP = 26,
    PICTURE_CAUSE_HEIGHT = 22,
};

#endif
