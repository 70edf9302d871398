/* The picture of a bench: right, asked and wrong against the noise, midthrow beside stock. */
#ifndef MIDTHROW_TESTS_SPEECH_PLOT_H
#define MIDTHROW_TESTS_SPEECH_PLOT_H

#include <stdio.h>

#include "tally.h"

/* SVG; the first key of `way` is drawn, each share with its 95 % interval as a bar. */
void plot_write(FILE *file, const struct tallies *way);

#endif
