/*
 * The clutch pack: thicknesses of the plates, one by one, summed and held against the manual's
 * range, and what a pack out of range points at.
 *
 * Uncertainty after JCGM 100:2008. Rounding and scatter differ from plate to plate and add in
 * squares (5.1.2); the caliper's zero error is the same in every reading and adds in full, n times
 * (5.2.2): many plates read with a caliper that is off by a little are off by a lot. Reading the
 * whole pack in one piece as well is therefore worth its minute, and shows what no sum can: that
 * the plates do not lie flat on one another. Verdicts after JCGM 106 (measure/limit.h).
 *
 * A pack over its range while every plate is within its own is the loose spring plate's sign: its
 * halves stand apart, which no single thickness shows (common practice, no source). It is not given
 * when a plate has no upper limit to be held against.
 */
#ifndef MIDTHROW_MEASURE_PACK_H
#define MIDTHROW_MEASURE_PACK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "measure/limit.h"

enum { MEASURE_PLATES_MAX = 32 };

/* All in millimetres. A limit the manual does not give is -HUGE_VAL or HUGE_VAL. */
struct measure_plate {
    double thickness_mm;
    double low_mm, high_mm;
};

struct measure_pack_input {
    const struct measure_plate *plate;
    size_t n;        /* 1 .. MEASURE_PLATES_MAX */
    double whole_mm; /* the pack in one piece, pressed flat; 0: not measured */
    double low_mm, high_mm;
    double resolution_mm; /* of the caliper, >= 0 */
    double zero_u_mm;     /* standard uncertainty of its zero, >= 0 */
    double scatter_mm;    /* standard deviation of a single reading, >= 0 */
    double scatter_dof;   /* its degrees of freedom, >= 1; HUGE_VAL when judged, not measured */
};

enum measure_pack_sign {
    MEASURE_PACK_RIGHT,        /* in range */
    MEASURE_PACK_THIN,         /* below it: worn plates, or one is missing */
    MEASURE_PACK_PLATES,       /* a plate is out of its own range: look there first */
    MEASURE_PACK_SPRING_PLATE, /* above it, every plate in its own range: the spring plate came
                                  loose */
    MEASURE_PACK_CANNOT_TELL,  /* measure again, or in one piece */
};

struct measure_pack {
    double sum_mm;
    double sum_u_mm, sum_dof, sum_U_mm;
    struct measure_limit plate[MEASURE_PLATES_MAX]; /* each against its own range */
    struct measure_limit stack;                     /* the pack, in one piece if so measured */
    double gap_mm, gap_u_mm; /* whole - sum; 0 when the whole was not measured */
    double gap_probability;  /* that the plates stand apart at all: whole > sum; 0.5 then too */
    enum measure_pack_sign sign;
};

/* False with a sentence for no plate or too many, a thickness that is not more than zero, limits
 * the wrong way round, or a negative uncertainty. */
bool measure_pack_of(const struct measure_pack_input *input, struct measure_pack *out,
                     struct fault *fault);

const char *measure_pack_sign_name(enum measure_pack_sign sign);

#endif
