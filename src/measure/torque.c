/* Torque wrench with an adapter: see torque.h. */
#include "measure/torque.h"

#include <math.h>

#include "measure/uncertainty.h"

static const double least_share = 0.1; /* of L that must be left as a lever */

/* NIST SP 811, B.8. */
static const struct {
    const char *name;
    double newton_metres;
} units[] = {
    [MEASURE_NEWTON_METRE] = {"N m", 1},
    [MEASURE_POUND_FOOT] = {"lbf ft", 4.4482216152605 * 0.3048},
    [MEASURE_POUND_INCH] = {"lbf in", 4.4482216152605 * 0.0254},
};
enum { UNITS = sizeof units / sizeof units[0] };

static double radians(double degrees)
{
    return degrees * (acos(-1) / 180);
}

/* Cosine that is exactly zero across and one along, as the formula means it. */
static double cosine(double degrees)
{
    double turned = fmod(fabs(degrees), 360);
    if (fabs(turned - 90) <= 0 || fabs(turned - 270) <= 0)
        return 0;
    return cos(radians(turned));
}

static bool in_range(double value, double low, double high)
{
    return value >= low && value <= high; /* false for NaN */
}

static bool lever_is_sane(double wrench_mm, double adapter_mm, double angle_degrees)
{
    return wrench_mm > 0 && in_range(wrench_mm, 0, MEASURE_MM_MAX) &&
           in_range(adapter_mm, 0, MEASURE_MM_MAX) && in_range(angle_degrees, -360, 360);
}

static bool is_sane(const struct measure_torque *torque, struct fault *fault)
{
    if (!(torque->wanted > 0) || !in_range(torque->wanted, 0, 1e9))
        return fault_set(fault, FAULT_USAGE,
                         "the torque wanted must be more than zero: take it from the service "
                         "manual.");
    if (!lever_is_sane(torque->wrench_mm, torque->adapter_mm, torque->angle_degrees))
        return fault_set(fault, FAULT_USAGE,
                         "give the wrench's length from grip to drive, the adapter's from drive to "
                         "nut, and the angle between them in degrees.");
    if (!in_range(torque->wrench_u_mm, 0, MEASURE_MM_MAX) ||
        !in_range(torque->adapter_u_mm, 0, MEASURE_MM_MAX) ||
        !in_range(torque->angle_u_degrees, 0, 360))
        return fault_set(fault, FAULT_USAGE,
                         "the uncertainties of lengths and angle must be zero or more.");
    return true;
}

bool measure_torque_of(const struct measure_torque *torque, struct measure_torque_result *result,
                       struct fault *fault)
{
    if (!is_sane(torque, fault))
        return false;
    double along = cosine(torque->angle_degrees);
    double lever = torque->wrench_mm + torque->adapter_mm * along;
    if (lever < least_share * torque->wrench_mm)
        return fault_set(fault, FAULT_USAGE,
                         "the adapter reaches back under the handle and leaves no lever: turn it "
                         "outward or across.");
    double factor = torque->wrench_mm / lever;
    /* Relative sensitivities of L/(L + E cos a) to L, E and a. */
    double angle_u = radians(torque->angle_u_degrees);
    const struct measure_component parts[] = {
        {fabs(torque->adapter_mm * along / (torque->wrench_mm * lever)) * torque->wrench_u_mm,
         HUGE_VAL},
        {fabs(along / lever) * torque->adapter_u_mm, HUGE_VAL},
        {fabs(torque->adapter_mm * sin(radians(torque->angle_degrees)) / lever) * angle_u,
         HUGE_VAL},
    };
    *result = (struct measure_torque_result){
        .setting = torque->wanted * factor,
        .setting_u = torque->wanted * factor * measure_combined(parts, 3),
        .factor = factor,
    };
    return true;
}

double measure_torque_at_nut(double setting, double wrench_mm, double adapter_mm,
                             double angle_degrees)
{
    if (!in_range(setting, 0, 1e9) || !lever_is_sane(wrench_mm, adapter_mm, angle_degrees))
        return 0;
    return setting * fmax(wrench_mm + adapter_mm * cosine(angle_degrees), 0) / wrench_mm;
}

double measure_torque_in(double value, enum measure_torque_unit from, enum measure_torque_unit to)
{
    if ((unsigned)from >= UNITS || (unsigned)to >= UNITS)
        return NAN;
    return value * units[from].newton_metres / units[to].newton_metres;
}

const char *measure_torque_unit_name(enum measure_torque_unit unit)
{
    return (unsigned)unit < UNITS ? units[unit].name : "?";
}
