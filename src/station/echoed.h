/* Are these words midthrow's own, heard back? Pure text. */
#ifndef MIDTHROW_STATION_ECHOED_H
#define MIDTHROW_STATION_ECHOED_H

#include <stdbool.h>

/* `sentence` as written; figures in it are compared by their words. True when two in three of the
 * words heard, or the only one, stand in the sentence in the same order. */
bool station_echoed(const char *sentence, const char *words);

#endif
