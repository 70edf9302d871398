/*
 * A length as transcript and write-up show it: exact, and in millimetres to the thousandth beside
 * it unless it was given in them: "5/16 in (7.938 mm)", "7.9 mm".
 */
#ifndef MIDTHROW_RECORD_FIGURE_H
#define MIDTHROW_RECORD_FIGURE_H

#include "measure/length.h"

enum { FIGURE_LENGTH = 96 };

const char *figure_length(struct measure_length length, char out[FIGURE_LENGTH]);

#endif
