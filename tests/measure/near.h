/* What the tests of measure/ share: cmocka with what it needs, and doubles compared. */
#ifndef MIDTHROW_TESTS_NEAR_H
#define MIDTHROW_TESTS_NEAR_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* |actual - expected| <= within, and neither is NaN. */
#define assert_near(actual, expected, within)                                                      \
    do {                                                                                           \
        double near_a = (actual), near_e = (expected);                                             \
        if (!(fabs(near_a - near_e) <= (within)))                                                  \
            fail_msg("%s is %.12g, not %.12g", #actual, near_a, near_e);                           \
    } while (0)

/* Equal to a number as printed in a source with so many decimals: within half of the last digit. */
#define assert_printed(actual, printed, decimals)                                                  \
    assert_near(actual, printed, 0.5000001 * pow(10, -(decimals)))

#endif
