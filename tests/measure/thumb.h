/*
 * Two rules of thumb for turning the stem, to hold the advisor against: always an eighth of a turn;
 * half of the offset over the nominal gain. Both probe as the advisor does while the sense is not
 * settled, follow the sense it has learned, and keep its limits on rounds and on the total turn.
 *
 * The plain ones know no other reason to stop, as a rule of thumb knows none. Those "with stops"
 * also hand over when the advisor would: what differs then is the size of the turn alone.
 */
#ifndef MIDTHROW_TESTS_THUMB_H
#define MIDTHROW_TESTS_THUMB_H

#include "measure/turn.h"

void thumb_eighth(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                  struct measure_turn_advice *advice);
void thumb_half(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                struct measure_turn_advice *advice);
void thumb_eighth_with_stops(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                             struct measure_turn_advice *advice);
void thumb_half_with_stops(const struct measure_turn *turn, double offset_mm, double offset_u_mm,
                           struct measure_turn_advice *advice);

#endif
