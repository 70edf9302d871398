/* midthrow balance as its user meets it: a process with arguments, two streams and an exit code. */
#include "process.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static const char *program; /* balance_alone, from the command line */

static struct run run(const char *line)
{
    return process_run(program, "balance", line);
}

static void assert_wrong(const char *line, const char *says)
{
    struct run result = run(line);
    assert_wrong_usage(&result, says);
}

static json_t *json_of(const char *line)
{
    struct run result = run(line);
    return json_of_run(&result);
}

/* Two equal readings each, 5/16 and 19/64 in: worked in tests/measure/test_balance.c, with d = 1/64
 * in: u = d/sqrt(8), dof 18, t95(18) = 2.10 (JCGM 100, table G.2); offset d/2, its u = d/4. */
static void test_json_holds_every_answer(void **state)
{
    (void)state;
    json_t *json = json_of("--forward 5/16in 5/16in --back 19/64in 19/64in --json");
    const double d = 25.4 / 64;
    const json_t *forward = json_object_get(json, "forward");
    assert_near(number_at(forward, "mean_mm"), 7.9375, 1e-9);
    assert_near(number_at(forward, "mean_in"), 0.3125, 1e-9);
    assert_near(number_at(forward, "n"), 2, 0);
    assert_near(number_at(forward, "s_mm"), 0, 0);
    assert_near(number_at(forward, "u_mm"), d / sqrt(8), 1e-8);
    assert_near(number_at(forward, "dof"), 18, 1e-6);
    assert_near(number_at(forward, "k"), 2.10, 0.005);
    assert_near(number_at(forward, "U_mm"), 2.10 * d / sqrt(8), 0.001);
    assert_near(number_at(forward, "U_in") * 25.4, number_at(forward, "U_mm"), 1e-8);
    const json_t *readings = json_object_get(forward, "readings");
    assert_string_equal(json_string_value(json_array_get(readings, 1)), "5/16 in");
    assert_near(number_at(json_object_get(json, "back"), "mean_mm"), 19 * d, 1e-9);
    assert_near(number_at(json, "difference_mm"), d, 1e-9);
    assert_near(number_at(json, "difference_u_mm"), d / 2, 1e-8);
    assert_near(number_at(json, "difference_dof"), 18, 1e-6);
    assert_near(number_at(json, "offset_mm"), d / 2, 1e-9);
    assert_near(number_at(json, "offset_in"), 1.0 / 128, 1e-9);
    assert_near(number_at(json, "offset_u_mm"), d / 4, 1e-8);
    assert_near(number_at(json, "offset_U_mm"), 2.10 * d / 4, 0.001);
    assert_near(number_at(json, "sum_mm"), 39 * d, 1e-8);
    assert_near(number_at(json, "forward_percent"), 100.0 * 20 / 39, 1e-6);
    assert_near(number_at(json, "back_percent"), 100.0 * 19 / 39, 1e-6);
    assert_near(number_at(json, "probability_even"), 0.97, 0.001);
    assert_string_equal(json_string_value(json_object_get(json, "verdict")), "even");
    assert_near(number_at(json, "readings_needed"), 0, 0);
    const json_t *tolerance = json_object_get(json, "tolerance");
    assert_string_equal(json_string_value(json_object_get(tolerance, "value")), "1/32 in");
    assert_near(number_at(tolerance, "mm"), 0.79375, 1e-9);
    assert_string_equal(json_string_value(json_object_get(tolerance, "source")),
                        "common practice, no source");
    json_decref(json);
}

static void test_json_when_repeatability_is_unknown(void **state)
{
    (void)state;
    json_t *json = json_of("--json --forward 7.9mm --back 8mm --tolerance 1mm --resolution .1mm");
    const json_t *forward = json_object_get(json, "forward");
    assert_true(json_is_null(json_object_get(forward, "k")));
    assert_true(json_is_null(json_object_get(forward, "U_mm")));
    assert_near(number_at(forward, "dof"), 0, 0);
    assert_true(json_is_null(json_object_get(json, "offset_U_mm")));
    assert_string_equal(json_string_value(json_object_get(json, "verdict")), "cannot tell");
    assert_near(number_at(json, "readings_needed"), 1, 0);
    const json_t *resolution = json_object_get(json, "resolution");
    assert_string_equal(json_string_value(json_object_get(resolution, "source")), "given");
    assert_string_equal(json_string_value(json_object_get(resolution, "value")), "0.1 mm");
    json_decref(json);
    /* Infinite degrees of freedom: a perfect scale and equal readings. */
    json = json_of("--json --forward 8mm 8mm --back 8mm 8mm --resolution 0mm");
    assert_true(json_is_null(json_object_get(json, "difference_dof")));
    assert_string_equal(json_string_value(json_object_get(json, "verdict")), "even");
    json_decref(json);
}

/* However the values are written, they are the same readings. */
static void test_ways_to_write_the_same(void **state)
{
    (void)state;
    struct run one = run("--forward 5/16in 0.3125in --back 19/64in 19/64in --json");
    static const char *const same[] = {
        "--forward 5/16in,0.3125in --back 19/64in,19/64in --json",
        "--forward 5/16in --forward 0.3125in --back 19/64in --json --back 19/64in",
        "--back=19/64in,19/64in --forward=5/16in 0.3125in --json",
        "--json --forward=5/16in --back=19/64in 19/64in --forward 0.3125in",
    };
    assert_int_equal(one.code, 0);
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        struct run other = run(same[i]);
        assert_int_equal(other.code, 0);
        assert_string_equal(other.out, one.out);
    }
}

static void test_for_people(void **state)
{
    (void)state;
    struct run result = run("--forward 5/16in 5/16in --back 19/64in 19/64in");
    assert_int_equal(result.code, 0);
    assert_says(result.out, "7.94 mm (0.312 in) ± 0.29 mm (0.012 in); 2 readings, k = 2.10, 18.0 "
                            "degrees of freedom\n");
    assert_says(result.out, "0.20 mm (0.0078 in) ± 0.21 mm (0.0082 in); rest sits too far back\n");
    assert_says(result.out, "51.3 % forward, 48.7 % back\n");
    assert_says(result.out, "1/32 in, 0.794 mm (common practice, no source)\n");
    assert_says(result.out, "1/64 in, 0.397 mm (common practice, no source)\n");
    assert_says(result.out, "97.0 %\n");
    assert_says(result.out, "verdict          even\n");
    assert_says(result.out, "still needed     nothing\n");
    result = run("--forward 8mm --back 7.9mm");
    assert_int_equal(result.code, 0);
    assert_says(result.out, "1 reading, uncertainty not known: read it at least twice\n");
    assert_says(result.out, "probability even not known\n");
    assert_says(result.out, "verdict          cannot tell\n");
    assert_says(result.out, "1 more reading of each throw\n");
    result = run("--forward 7mm 7mm --back 7.8mm 7.8mm --resolution 0.1mm --tolerance 0.8mm");
    assert_says(result.out, "rest sits too far forward\n");
    assert_says(result.out, "0.8 mm, 0.800 mm (given)\n");
    assert_says(result.out, "no number will do: read with a finer instrument\n");
    result = run("--forward 9mm 9.1mm --back 7mm 7.1mm --resolution 0.1mm");
    assert_says(result.out, "verdict          uneven\n");
    result = run("--forward 8mm 8mm --back 8mm 8mm --resolution 0in");
    assert_says(result.out, "rest sits in the middle\n");
    assert_says(result.out, "degrees of freedom: infinite\n");
}

static void test_help_fits_a_screen(void **state)
{
    (void)state;
    static const char *const ways[] = {"--help", "-h", "--forward 5/16in --help"};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct run result = run(ways[i]);
        assert_int_equal(result.code, 0);
        assert_string_equal(result.err, "");
        assert_says(result.out, "usage: midthrow balance");
        int lines = 0, column = 0;
        for (const char *c = result.out; *c != '\0'; c++) {
            lines += *c == '\n';
            column = *c == '\n' ? 0 : column + 1;
            assert_true(column <= 100);
        }
        assert_true(lines <= 24);
    }
}

static void test_wrong_usage_is_told_in_a_sentence(void **state)
{
    (void)state;
    assert_wrong("", "--forward needs a value: write --forward 5/16in");
    assert_wrong("--json", "--forward needs a value");
    assert_wrong("--forward 5/16in", "--back needs a value");
    assert_wrong("--forward --back 5/16in", "--forward needs a value");
    assert_wrong("--forward 8mm --back 8mm --tolerance", "--tolerance needs a value");
    assert_wrong("--forward 8mm --back 8mm --resolution --json", "--resolution needs a value");
    assert_wrong("5/16in --back 8mm", "'5/16in' belongs to no throw");
    assert_wrong("--forward 8mm --json 8mm --back 8mm", "'8mm' belongs to no throw");
    assert_wrong("--forwards 8mm", "'--forwards' is no option");
    assert_wrong("--forward 8mm --back 8mm --tolerance 1mm 2mm",
                 "--tolerance takes at most 1 value:");
    assert_wrong("--forward 8mm --back 8mm --resolution 1mm --resolution 1mm",
                 "--resolution takes");
    assert_wrong("--forward 5/16 --back 8mm", "--forward: '5/16' has no unit");
    assert_wrong("--forward 8mm --back 0/0in", "--back: '0/0in' divides by zero");
    assert_wrong("--forward 8mm --back -8mm", "--back: '-8mm' is negative");
    assert_wrong("--forward 8mm,, --back 8mm", "no distance given");
    assert_wrong("--forward= --back 8mm", "no distance given");
    assert_wrong("--forward 8mm --back 8furlongs", "not a unit");
    assert_wrong("--forward 8mm --back 999999999in", "longer than any throw");
    assert_wrong("--forward 0mm 0mm --back 0mm 0mm", "both throws are zero");
    assert_wrong("--forward 8mm 8mm --back 8mm 8mm --tolerance 0mm", "tolerance");
    assert_wrong("--forward 1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm,1mm "
                 "--back 1mm",
                 "--forward takes at most 16 values");
    assert_wrong("--forward \x1b[31m8mm --back 8mm", "'?[31m8mm'");
    assert_wrong("--\x1b[31m", "'--?[31m' is no option");
    char line[9000] = "--back 8mm --forward ";
    memset(line + strlen(line), '1', 8000);
    assert_wrong(line, "too long");
}

/* A full disk must not look like success. */
static void test_full_disk(void **state)
{
    (void)state;
    if (access("/dev/full", W_OK) != 0)
        skip();
    char command[4096];
    static const char *const ways[] = {"", "--json", "--help"};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        snprintf(command, sizeof command,
                 "'%s' balance --forward 8mm 8mm --back 8mm 8mm %s >/dev/full 2>/dev/null", program,
                 ways[i]);
        int status = system(command);
        assert_true(WIFEXITED(status));
        assert_int_equal(WEXITSTATUS(status), 1);
    }
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_json_holds_every_answer),
        cmocka_unit_test(test_json_when_repeatability_is_unknown),
        cmocka_unit_test(test_ways_to_write_the_same),
        cmocka_unit_test(test_for_people),
        cmocka_unit_test(test_help_fits_a_screen),
        cmocka_unit_test(test_wrong_usage_is_told_in_a_sentence),
        cmocka_unit_test(test_full_disk),
    };
    if (argc != 2)
        return 2;
    program = argv[1];
    return cmocka_run_group_tests_name("command: balance", tests, NULL, NULL);
}
