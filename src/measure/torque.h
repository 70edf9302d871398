/*
 * A torque wrench with an adapter that moves the nut off the drive: what to set.
 *
 *     setting = wanted L / (L + E cos angle)
 *
 * L is the wrench's effective length, from the middle of the grip (where the hand pulls) to the
 * centre of the drive; E the adapter's, from the centre of the drive to the centre of the nut; the
 * angle lies between the adapter and the wrench's own line: 0 straight on, 90 across (nothing
 * changes), 180 back under the handle. The same formula is figure 7-2 of FAA AC 43.13-1B, chapter
 * 7, section 2, paragraph 7-40 (as L + E and L - E), and that of the shop manuals named in
 * tests/measure/test_torque.c.
 *
 *     struct measure_torque_result result;
 *     if (measure_torque_of(&(struct measure_torque){.wanted = 30, .wrench_mm = 300, .adapter_mm =
 * 50}, &result, &fault)) printf("set %.1f\n", result.setting);    // 25.7, in the unit of `wanted`
 */
#ifndef MIDTHROW_MEASURE_TORQUE_H
#define MIDTHROW_MEASURE_TORQUE_H

#include <stdbool.h>

#include "base/fault.h"

enum measure_torque_unit {
    MEASURE_NEWTON_METRE,
    MEASURE_POUND_FOOT, /* pound-force foot */
    MEASURE_POUND_INCH, /* pound-force inch */
};

struct measure_torque {
    double wanted;        /* > 0: at the nut, in any unit */
    double wrench_mm;     /* L > 0 */
    double adapter_mm;    /* E >= 0 */
    double angle_degrees; /* -360 .. 360 */
    double wrench_u_mm;   /* standard uncertainties, >= 0: where the hand pulls is not exact */
    double adapter_u_mm;
    double angle_u_degrees;
};

struct measure_torque_result {
    double setting;   /* in the unit of `wanted` */
    double setting_u; /* from the three lengths and angle, JCGM 100, 5.1.2 */
    double factor;    /* setting/wanted: below 1 for an adapter that lengthens */
};

/* False with a sentence when a number makes no sense, or when the adapter reaches back so far that
 * less than a tenth of the wrench's length is left: no setting is to be trusted then. */
bool measure_torque_of(const struct measure_torque *torque, struct measure_torque_result *result,
                       struct fault *fault);

/* The other way: the torque at the nut when the wrench is set to `setting`; 0 for nonsense. */
double measure_torque_at_nut(double setting, double wrench_mm, double adapter_mm,
                             double angle_degrees);

/* Reads `25Nm`, `18 ft-lb`, `18.5lbf ft`, `216inlb`: a decimal number of at most nine digits, more
 * than zero, and its unit, in either case: Nm, ft lb, lb ft, in lb, lb in, with or without the f of
 * force or an s at the end; between the letters spaces, hyphens, points or nothing. Refuses with a
 * sentence that says what to write; `value` and `unit` are untouched then. */
bool measure_torque_parse(const char *text, double *value, enum measure_torque_unit *unit,
                          struct fault *fault);

/* Converts; 1 lbf = 4.4482216152605 N and 1 ft = 0.3048 m exactly (NIST SP 811, B.8). */
double measure_torque_in(double value, enum measure_torque_unit from, enum measure_torque_unit to);

const char *measure_torque_unit_name(enum measure_torque_unit unit); /* "N m", "lbf ft", "lbf in" */

#endif
