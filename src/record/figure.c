/* Lengths as shown: see figure.h. */
#include "record/figure.h"

#include "base/text.h"

/* Halves go up, as in any table of inches (1/16 in is 1.5875 mm, shown as 1.588), though in binary
 * many of them lie a hair below. */
static double rounded_up(double mm)
{
    return mm + mm * 1e-12;
}

const char *figure_length(struct measure_length length, char out[FIGURE_LENGTH])
{
    char exact[64];
    measure_length_print(length, exact, sizeof exact);
    struct text text = text_into(out, FIGURE_LENGTH);
    text_add(&text, exact);
    if (length.unit != MEASURE_MM)
        text_addf(&text, " (%.3f mm)", rounded_up(measure_length_mm(length)));
    return out;
}
