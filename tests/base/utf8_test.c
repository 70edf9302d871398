/* UTF-8 as RFC 3629 defines it: the ABNF of section 4, the examples of section 7, and the forms
 * that sections 3 and 10 forbid. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/utf8.h"

/* RFC 3629, section 3: the table of octet sequences. */
static size_t encode(uint32_t point, char out[4])
{
    if (point < 0x80) {
        out[0] = (char)point;
        return 1;
    }
    if (point < 0x800) {
        out[0] = (char)(0xC0 | point >> 6);
        out[1] = (char)(0x80 | (point & 0x3F));
        return 2;
    }
    if (point < 0x10000) {
        out[0] = (char)(0xE0 | point >> 12);
        out[1] = (char)(0x80 | (point >> 6 & 0x3F));
        out[2] = (char)(0x80 | (point & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | point >> 18);
    out[1] = (char)(0x80 | (point >> 12 & 0x3F));
    out[2] = (char)(0x80 | (point >> 6 & 0x3F));
    out[3] = (char)(0x80 | (point & 0x3F));
    return 4;
}

static void every_code_point_comes_back_and_no_surrogate_does(void **state)
{
    (void)state;
    for (uint32_t point = 0; point <= 0x10FFFF; point++) {
        char bytes[4];
        uint32_t back = 0;
        size_t n = encode(point, bytes);
        bool surrogate = point >= 0xD800 && point <= 0xDFFF;
        size_t wanted = surrogate ? 0 : n;
        if (utf8_next(bytes, n, &back) != wanted || (wanted > 0 && back != point))
            fail_msg("code point %lX", (unsigned long)point);
        if (wanted > 1 && utf8_next(bytes, n - 1, &back) != 0)
            fail_msg("code point %lX, cut short", (unsigned long)point);
    }
}

static void the_examples_of_the_standard_are_valid(void **state)
{
    (void)state;
    assert_true(utf8_is_valid("\x41\xE2\x89\xA2\xCE\x91\x2E", 7));
    assert_true(utf8_is_valid("\xED\x95\x9C\xEA\xB5\xAD\xEC\x96\xB4", 9));
    assert_true(utf8_is_valid("\xE6\x97\xA5\xE6\x9C\xAC\xE8\xAA\x9E", 9));
    assert_true(utf8_is_valid("\xEF\xBB\xBF\xF0\xA3\x8E\xB4", 7));
    assert_true(utf8_is_valid("", 0));
}

static void what_the_standard_forbids_is_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "\xC0\x80", /* overlong U+0000, section 10 */
        "\xC1\xBF", /* C0, C1 and F5 to FF never appear, section 3 */
        "\xF5\x80\x80\x80",
        "\xFF",
        "\xFE",
        "\xE0\x9F\xBF", /* overlong, three and four bytes */
        "\xF0\x8F\xBF\xBF",
        "\xED\xA1\x8C\xED\xBE\xB4", /* surrogates, section 3 */
        "\xF4\x90\x80\x80",         /* beyond 10FFFF */
        "\x80",
        "\xBF", /* a tail without its head */
        "\xE2\x89",
        "\xC3",
        "\xF0\xA3\x8E",
        "\xE2\x28\xA1",
        "\xF0\xA3\x28\xB4",
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_false(utf8_is_valid(bad[i], strlen(bad[i])));
}

static void what_steers_a_terminal_is_control_and_letters_are_not(void **state)
{
    (void)state;
    static const uint32_t control[] = {0,    7,      0x1B,   0x1F,   0x7F,   0x80,   0x9B,
                                       0x9F, 0x200E, 0x2028, 0x202A, 0x202E, 0x2066, 0x2069};
    static const uint32_t letter[] = {' ',    '~',    0xA0,   0xE9,   0x2260,
                                      0x2027, 0x202F, 0x206A, 0x1F527};
    for (size_t i = 0; i < sizeof control / sizeof control[0]; i++)
        assert_true(utf8_is_control(control[i]));
    for (size_t i = 0; i < sizeof letter / sizeof letter[0]; i++)
        assert_false(utf8_is_control(letter[i]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_code_point_comes_back_and_no_surrogate_does),
        cmocka_unit_test(the_examples_of_the_standard_are_valid),
        cmocka_unit_test(what_the_standard_forbids_is_refused),
        cmocka_unit_test(what_steers_a_terminal_is_control_and_letters_are_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
