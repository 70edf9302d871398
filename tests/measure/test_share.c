/* The interval of a share against published figures. */
#include "near.h"

#include "share.h"

/* Newcombe, Statistics in Medicine 17 (1998), table I, method 3 (from memory). */
static void test_newcombe(void **state)
{
    (void)state;
    static const struct {
        int count, n;
        double low, high;
    } rows[] = {
        {81, 263, 0.2553, 0.3662},
        {15, 148, 0.0624, 0.1605},
        {0, 20, 0.0000, 0.1611},
        {1, 29, 0.0061, 0.1718},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct share share = share_of(rows[i].count, rows[i].n);
        assert_near(share.value, (double)rows[i].count / rows[i].n, 1e-12);
        assert_printed(share.low, rows[i].low, 4);
        assert_printed(share.high, rows[i].high, 4);
    }
}

static void test_edges(void **state)
{
    (void)state;
    struct share all = share_of(10, 10), none = share_of(0, 10), empty = share_of(0, 0);
    assert_near(all.low, 1 - none.high, 1e-12);
    assert_true(all.high <= 1 && none.low >= 0);
    assert_true(empty.low == 0 && empty.high == 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_newcombe),
        cmocka_unit_test(test_edges),
    };
    return cmocka_run_group_tests_name("measure: share", tests, NULL, NULL);
}
