/*
 * Plots of the shop's and a bike's past: bars of text for the terminal, and SVG that stands alone,
 * reads in black and white and follows a light or dark page.
 */
#ifndef MIDTHROW_RECORD_HISTORY_PLOT_H
#define MIDTHROW_RECORD_HISTORY_PLOT_H

#include <stdio.h>

#include "record/history.h"

enum { HISTORY_BAR = 30 }; /* characters of a text bar, the end not counted */

/* '#' up to the rate, '-' on to the upper limit; the whole bar is `full`. */
void history_bar(const struct history_rate *rate, double full, char out[HISTORY_BAR + 1]);

/* One line of a bike's past: rest in the middle at '|', the offset as found 'o' and as left '*'
 * (one over the other: '*'), `full_mm` at either end. */
void history_offset_bar(const struct journal_job *job, double full_mm, char out[HISTORY_BAR + 2]);

/* The causes of the cures, most frequent first; returns how many there are. */
int history_causes(const struct history_shop *shop, int order[REASON_CAUSE_COUNT]);

/* Both print to `out` and leave errors of writing to its owner. */
void history_shop_svg(const struct history_shop *shop, FILE *out);
void history_bike_svg(const char *bike, const struct journal_job job[], size_t jobs, FILE *out);

#endif
