/* Torque wrench with an adapter: see torque.h. */
#include "measure/torque.h"

#include <math.h>
#include <string.h>

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

/* Letters only, lower case, without a plural's s. */
static const struct {
    const char *letters;
    enum measure_torque_unit unit;
} unit_words[] = {
    {"nm", MEASURE_NEWTON_METRE},  {"ftlb", MEASURE_POUND_FOOT},  {"ftlbf", MEASURE_POUND_FOOT},
    {"lbft", MEASURE_POUND_FOOT},  {"lbfft", MEASURE_POUND_FOOT}, {"inlb", MEASURE_POUND_INCH},
    {"inlbf", MEASURE_POUND_INCH}, {"lbin", MEASURE_POUND_INCH},  {"lbfin", MEASURE_POUND_INCH},
};

enum { DIGITS_MAX = 9, LETTERS_MAX = 8, SHOWN = 32 };

/* ---- reading one from a person ----------------------------------------------------------- */

static bool refuse(struct fault *fault, const char *text, const char *why)
{
    char shown[SHOWN];
    size_t n = 0;
    for (; n < SHOWN - 1 && text[n] != '\0'; n++)
        shown[n] = text[n] >= ' ' && text[n] <= '~' ? text[n] : '?';
    shown[n] = '\0';
    return fault_set(fault, FAULT_USAGE, "'%s' %s: write 25Nm, 18ftlb or 216inlb.", shown, why);
}

/* Digits with at most one point among them; how many digits were read. */
static int read_value(const char **at, double *value)
{
    double number = 0, scale = 1;
    int digits = 0;
    bool point = false;
    for (; (**at >= '0' && **at <= '9') || (**at == '.' && !point); (*at)++) {
        if (**at == '.') {
            point = true;
            continue;
        }
        if (++digits > DIGITS_MAX)
            return digits;
        number = 10 * number + (**at - '0');
        scale *= point ? 10 : 1;
    }
    *value = number / scale; /* both exact: below 2^53 */
    return digits;
}

/* What is left once spaces, hyphens, points and an s at the end are gone; false if it is too long
 * or holds anything else. */
static bool read_letters(const char *at, char out[LETTERS_MAX])
{
    size_t n = 0;
    for (; *at != '\0'; at++) {
        char c = *at >= 'A' && *at <= 'Z' ? (char)(*at - 'A' + 'a') : *at;
        if (c == ' ' || c == '-' || c == '.')
            continue;
        if (c < 'a' || c > 'z' || n + 1 >= LETTERS_MAX)
            return false;
        out[n++] = c;
    }
    if (n > 0 && out[n - 1] == 's')
        n--;
    out[n] = '\0';
    return true;
}

bool measure_torque_parse(const char *text, double *value, enum measure_torque_unit *unit,
                          struct fault *fault)
{
    const char *at = text;
    double number = 0;
    char letters[LETTERS_MAX];
    while (*at == ' ')
        at++;
    int digits = read_value(&at, &number);
    if (digits == 0)
        return refuse(fault, text, "is not a torque");
    if (digits > DIGITS_MAX)
        return refuse(fault, text, "has too many digits");
    if (!(number > 0))
        return refuse(fault, text, "is no torque to tighten to");
    if (*at == '\0')
        return refuse(fault, text, "has no unit");
    if (!read_letters(at, letters))
        return refuse(fault, text, "has a unit that is not known");
    for (size_t i = 0; i < sizeof unit_words / sizeof unit_words[0]; i++)
        if (strcmp(unit_words[i].letters, letters) == 0) {
            *value = number;
            *unit = unit_words[i].unit;
            return true;
        }
    return refuse(fault, text, "has a unit that is not known");
}

/* ---- computing --------------------------------------------------------------------------- */

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
