/* The clutch pack: see pack.h. */
#include "measure/pack.h"

#include <math.h>

#include "measure/uncertainty.h"

enum { PARTS = 3 };

static bool is_length(double mm)
{
    return mm >= 0 && mm <= MEASURE_MM_MAX; /* false for NaN */
}

static bool plates_are_sane(const struct measure_pack_input *input, struct fault *fault)
{
    if (input->plate == NULL || input->n == 0)
        return fault_set(fault, FAULT_USAGE, "no plate was measured: give each plate's thickness.");
    if (input->n > MEASURE_PLATES_MAX)
        return fault_set(fault, FAULT_USAGE, "%zu plates are too many: give at most %d.", input->n,
                         MEASURE_PLATES_MAX);
    for (size_t i = 0; i < input->n; i++) {
        const struct measure_plate *plate = &input->plate[i];
        if (!(plate->thickness_mm > 0) || !is_length(plate->thickness_mm))
            return fault_set(fault, FAULT_USAGE,
                             "plate %zu cannot be that thick: measure it again.", i + 1);
        if (!(plate->low_mm <= plate->high_mm))
            return fault_set(fault, FAULT_USAGE,
                             "the limits of plate %zu are the wrong way round: check the manual.",
                             i + 1);
    }
    return true;
}

static bool is_sane(const struct measure_pack_input *input, struct fault *fault)
{
    if (!plates_are_sane(input, fault))
        return false;
    if (!is_length(input->whole_mm))
        return fault_set(fault, FAULT_USAGE,
                         "the pack cannot be that thick in one piece: measure it again.");
    if (!(input->low_mm <= input->high_mm))
        return fault_set(fault, FAULT_USAGE,
                         "the limits of the pack are the wrong way round: check the manual.");
    if (!is_length(input->resolution_mm) || !is_length(input->zero_u_mm) ||
        !is_length(input->scatter_mm) || !(input->scatter_dof >= 1))
        return fault_set(
            fault, FAULT_USAGE,
            "the caliper's resolution, zero and scatter must be zero or more, with one "
            "degree of freedom at least.");
    return true;
}

/* Standard uncertainty of `readings` readings added up: see pack.h. */
static struct measure_component of_readings(const struct measure_pack_input *input, double readings)
{
    const struct measure_component parts[PARTS] = {
        {input->scatter_mm * sqrt(readings), input->scatter_dof},
        {input->resolution_mm * sqrt(readings / 12), HUGE_VAL}, /* F.2.2.1 */
        {input->zero_u_mm * readings, HUGE_VAL},
    };
    return (struct measure_component){measure_combined(parts, PARTS),
                                      measure_effective_dof(parts, PARTS)};
}

static void sum_up(const struct measure_pack_input *input, struct measure_pack *out)
{
    struct measure_component one = of_readings(input, 1);
    for (size_t i = 0; i < input->n; i++) {
        const struct measure_plate *plate = &input->plate[i];
        out->sum_mm += plate->thickness_mm;
        out->plate[i] =
            measure_limit_check(plate->thickness_mm, one.u, one.dof, plate->low_mm, plate->high_mm);
    }
    struct measure_component sum = of_readings(input, (double)input->n);
    out->sum_u_mm = sum.u;
    out->sum_dof = sum.dof;
    out->sum_U_mm = measure_coverage_factor(MEASURE_LEVEL, sum.dof) * sum.u;
    out->stack = measure_limit_check(out->sum_mm, sum.u, sum.dof, input->low_mm, input->high_mm);
}

/* The whole against the sum. The zero error is in the sum n times and in the whole once, so n - 1
 * times in their difference. */
static void compare_whole(const struct measure_pack_input *input, struct measure_pack *out)
{
    struct measure_component whole = of_readings(input, 1);
    double readings = (double)input->n + 1;
    const struct measure_component parts[PARTS] = {
        {input->scatter_mm * sqrt(readings), input->scatter_dof},
        {input->resolution_mm * sqrt(readings / 12), HUGE_VAL},
        {input->zero_u_mm * (readings - 2), HUGE_VAL},
    };
    out->gap_mm = input->whole_mm - out->sum_mm;
    out->gap_u_mm = measure_combined(parts, PARTS);
    out->gap_probability = measure_probability_within(
        out->gap_mm, out->gap_u_mm, measure_effective_dof(parts, PARTS), 0, HUGE_VAL);
    out->stack =
        measure_limit_check(input->whole_mm, whole.u, whole.dof, input->low_mm, input->high_mm);
}

/* Whether every plate is known to be no thicker than it may. */
static bool plates_are_in(const struct measure_pack_input *input, const struct measure_pack *pack)
{
    for (size_t i = 0; i < input->n; i++)
        if (pack->plate[i].verdict != MEASURE_IN || !isfinite(input->plate[i].high_mm))
            return false;
    return true;
}

static enum measure_pack_sign sign_of(const struct measure_pack_input *input,
                                      const struct measure_pack *pack)
{
    for (size_t i = 0; i < input->n; i++)
        if (pack->plate[i].verdict == MEASURE_OUT)
            return MEASURE_PACK_PLATES;
    switch (pack->stack.verdict) {
    case MEASURE_IN:
        return MEASURE_PACK_RIGHT;
    case MEASURE_OUT:
        if (pack->stack.side < 0)
            return MEASURE_PACK_THIN;
        return plates_are_in(input, pack) ? MEASURE_PACK_SPRING_PLATE : MEASURE_PACK_CANNOT_TELL;
    case MEASURE_IN_OR_OUT:
        break;
    }
    return MEASURE_PACK_CANNOT_TELL;
}

bool measure_pack_of(const struct measure_pack_input *input, struct measure_pack *out,
                     struct fault *fault)
{
    if (!is_sane(input, fault))
        return false;
    *out = (struct measure_pack){.gap_probability = 0.5};
    sum_up(input, out);
    if (input->whole_mm > 0)
        compare_whole(input, out);
    out->sign = sign_of(input, out);
    return true;
}

const char *measure_pack_sign_name(enum measure_pack_sign sign)
{
    switch (sign) {
    case MEASURE_PACK_RIGHT:
        return "in range";
    case MEASURE_PACK_THIN:
        return "too thin: worn plates, or one is missing";
    case MEASURE_PACK_PLATES:
        return "a plate is out of its own range";
    case MEASURE_PACK_SPRING_PLATE:
        return "too thick with every plate in range: look at the spring plate";
    case MEASURE_PACK_CANNOT_TELL:
        break;
    }
    return "cannot tell";
}
