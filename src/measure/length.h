/*
 * Lengths as a technician says them, exact until they meet an uncertainty.
 *
 * A length is a rational number of the unit it was given in, so 5/16 in, 0.31 in, 310 thou and
 * 7.9 mm all come back as they went in. 1 in = 25.4 mm exactly (international yard and pound
 * agreement of 1959; NIST SP 811, appendix B.6).
 *
 *     struct measure_length rule;
 *     if (measure_length_parse("1-5/16in", &rule, &fault))
 *         printf("%g mm\n", measure_length_mm(rule));    // 33.3375
 */
#ifndef MIDTHROW_MEASURE_LENGTH_H
#define MIDTHROW_MEASURE_LENGTH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

enum measure_unit {
    MEASURE_INCH, /* fractions and decimal inches */
    MEASURE_THOU, /* thousandths of an inch */
    MEASURE_MM,   /* millimetres */
};

/* num/den in `unit`; den > 0, lowest terms. Never negative when it comes from a person. */
struct measure_length {
    int64_t num;
    int64_t den;
    enum measure_unit unit;
};

/* The largest numerator and denominator of a length that comes from a person. */
#define MEASURE_LENGTH_MAX INT64_C(1000000000)

/* Lowest terms, positive denominator. den must not be 0 (0/1 comes back if it is). Everything below
 * is exact for numerators and denominators up to MEASURE_LENGTH_MAX, which measure_length_parse and
 * language_parse keep to, and in fact up to 1e15; beyond that results are rounded, never undefined.
 */
struct measure_length measure_length_of(int64_t num, int64_t den, enum measure_unit unit);

/* In millimetres, correctly rounded to double from the exact rational (one division of two integers
 * below 2^53, IEC 60559). */
double measure_length_mm(struct measure_length length);

/* The same length expressed exactly in another unit. */
struct measure_length measure_length_in(struct measure_length length, enum measure_unit unit);

/* <0, 0, >0: exact comparison across units. */
int measure_length_compare(struct measure_length a, struct measure_length b);

/* The nearest fraction with denominator 1, 2, 4 ... up to 64 of an inch, ties away from zero. Zero
 * for NaN; held at MEASURE_LENGTH_MAX inches. */
struct measure_length measure_length_nearest_64th(double mm);

/* Reads `5/16in`, `1-5/16in`, `1+5/16in`, `1 5/16in`, `0.31in`, `.31in`, `310thou`, `7.9mm`,
 * `5/16"`; spaces allowed, a unit is required (in, inch, inches, ", thou, mm, in either case).
 * Refuses, with a sentence that says what to write instead: empty, no unit, unknown unit, negative,
 * 0/0 or any zero denominator, more than 9 digits in a part, a numerator or denominator above
 * MEASURE_LENGTH_MAX, anything left over. Zero is allowed. `length` is untouched on refusal. */
bool measure_length_parse(const char *text, struct measure_length *length, struct fault *fault);

/* As a person writes it: "5/16 in", "1-5/16 in", "0.31 in", "310 thou", "7.9 mm". Inch values whose
 * denominator is a power of two up to 64 print as fractions, the others as decimals; what no
 * decimal of nine places can hold prints as a fraction in any unit ("1/3 mm"). What is printed
 * parses back to the same length. A length from a person takes at most 48 bytes, terminator
 * counted. */
void measure_length_print(struct measure_length length, char *out, size_t size);

#endif
