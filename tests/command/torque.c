/* midthrow torque as its user meets it. The formula itself is tested in
 * tests/measure/test_torque.c. */
#include "process.h"

#include <math.h>
#include <string.h>

static const char *program; /* midthrow, from the command line */

static struct run run(const char *line)
{
    return process_run(program, "torque", line);
}

static json_t *json_of(const char *line)
{
    struct run result = run(line);
    return json_of_run(&result);
}

static void assert_wrong(const char *line, const char *says)
{
    struct run result = run(line);
    assert_wrong_usage(&result, says);
}

static double torque_at(const json_t *json, const char *key, const char *unit)
{
    return number_at(json_object_get(json, key), unit);
}

/* FAA AC 43.13-1B, figure 7-2: 135 lbf in, 10 in, 1.5 in: 117.39, and 158.82 turned back; the same
 * figures are printed in a helicopter's maintenance manual, chapter 20, figures 20-1 and 20-2,
 * which was looked up; the circular's own are from memory. */
static void test_faa_example(void **state)
{
    (void)state;
    json_t *json = json_of("--wanted 135inlb --wrench 10in --adapter 1-1/2in --json");
    assert_near(torque_at(json, "setting", "pound_inches"), 117.39, 0.005);
    assert_near(number_at(json, "factor"), 10 / 11.5, 1e-9);
    assert_near(number_at(json, "lever_mm"), 11.5 * 25.4, 1e-6);
    json_decref(json);
    json = json_of("--json --wanted=135in-lbs --wrench=10in --adapter=1.5in --angle 180");
    assert_near(torque_at(json, "setting", "pound_inches"), 158.82, 0.005);
    json_decref(json);
    struct run people = run("--wanted 135inlb --wrench 10in --adapter 1.5in");
    assert_says(people.out, "set the wrench  117.4 lbf in (13.26 N m, 9.783 lbf ft)\n");
    assert_says(people.out, "give or take    ");
}

/* NIST SP 811, appendix B.8: 1 lbf ft = 1.355 817 9... N m, 1 lbf in = 0.112 984 8 N m. */
static void test_both_families_of_units(void **state)
{
    (void)state;
    json_t *json = json_of("--wanted 1ftlb --wrench 300mm --adapter 0mm --json");
    assert_near(torque_at(json, "wanted", "newton_metres"), 1.3558179, 0.5e-7);
    assert_near(torque_at(json, "wanted", "pound_inches"), 12, 1e-8);
    assert_near(number_at(json, "factor"), 1, 0);
    assert_string_equal(json_string_value(json_object_get(json, "given")), "1ftlb");
    json_decref(json);
    json = json_of("--wanted 1in-lb --wrench 300mm --adapter 0mm --json");
    assert_near(torque_at(json, "setting", "newton_metres"), 0.1129848, 0.5e-7);
    json_decref(json);
    struct run people = run("--wanted 25Nm --wrench 300mm --adapter 50mm");
    assert_int_equal(people.code, 0);
    assert_says(people.out, "wanted          25.00 N m (18.44 lbf ft, 221.3 lbf in)\n");
    assert_says(people.out, "set the wrench  21.43 N m (15.80 lbf ft, 189.7 lbf in)\n");
    assert_says(people.out, "factor          0.8571 = 300 mm / 350 mm\n");
    people = run("--wanted 18FT-LBS --wrench 12in --adapter 3in --angle -22.5");
    assert_says(people.out, "wanted          18.00 lbf ft (24.40 N m, 216.0 lbf in)\n");
}

/* By hand: across nothing changes but the angle's 2 degrees: 50 sin 90 (2 pi/180)/300; straight on
 * the hand's 5 mm and the adapter's half. */
static void test_uncertainty(void **state)
{
    (void)state;
    const double pi = acos(-1);
    json_t *json = json_of("--wanted 30Nm --wrench 300mm --adapter 50mm --angle 90 --json");
    double across = 30 * 50 * (2 * pi / 180) / 300;
    assert_near(torque_at(json, "setting", "newton_metres"), 30, 0);
    assert_near(torque_at(json, "setting_u", "newton_metres"), across, 1e-8);
    assert_near(torque_at(json, "setting_U", "newton_metres"), 1.959964 * across, 1e-6);
    json_decref(json);
    json = json_of("--wanted 30Nm --wrench 300mm --adapter 50mm --json");
    double setting = 30.0 * 300 / 350;
    double u = setting * hypot(5 * 50.0 / (300 * 350.0), 0.5 / 350);
    assert_near(torque_at(json, "setting_u", "newton_metres"), u, 1e-8);
    json_decref(json);
}

static void test_wrong_usage_is_told_in_a_sentence(void **state)
{
    (void)state;
    assert_wrong("", "--wanted needs a value: write --wanted 25Nm.");
    assert_wrong("--wanted 25Nm", "--wrench needs a value");
    assert_wrong("--wanted 25Nm --wrench 300mm", "--adapter needs a value");
    assert_wrong("--wanted --wrench 300mm", "--wanted needs a value");
    assert_wrong("--wanted= --wrench 300mm", "--wanted needs a value");
    assert_wrong("--wanted 25Nm --wanted 25Nm", "--wanted is given twice");
    assert_wrong("--torque 25Nm", "'--torque' is no option of torque");
    assert_wrong("25Nm", "'25Nm' is no option of torque");
    assert_wrong("--wanted 25 --wrench 300mm --adapter 50mm", "'25' has no unit");
    assert_wrong("--wanted 0Nm --wrench 300mm --adapter 50mm", "no torque to tighten to");
    assert_wrong("--wanted 2000Nm --wrench 300mm --adapter 50mm", "more than 1000 N m");
    assert_wrong("--wanted 25Nm --wrench 300 --adapter 50mm", "--wrench: '300' has no unit");
    assert_wrong("--wanted 25Nm --wrench 300in --adapter 50mm", "longer than 2 m");
    assert_wrong("--wanted 25Nm --wrench 0mm --adapter 0mm", "give the wrench's length");
    assert_wrong("--wanted 25Nm --wrench 50mm --adapter 300mm", "whether they are swapped");
    assert_wrong("--wanted 25Nm --wrench 300mm --adapter 300mm --angle 180", "leaves no lever");
    assert_wrong("--wanted 25Nm --wrench 300mm --adapter 290mm --angle 180", "leaves no lever");
    static const char *const angles[] = {"181", "ninety", "-",   "1e2",      "90deg", "0.0001",
                                         ".",   "-.",     "--5", "\x1b[31m", "nan"};
    for (size_t i = 0; i < sizeof angles / sizeof angles[0]; i++) {
        char line[128] = "--wanted 25Nm --wrench 300mm --adapter 50mm --angle=";
        assert_wrong(strcat(line, angles[i]), "--angle");
    }
    char line[512] = "--wrench 300mm --adapter 50mm --wanted ";
    memset(line + strlen(line), '1', 200);
    assert_wrong(line, "too long");
}

static void test_help_fits_a_screen(void **state)
{
    (void)state;
    struct run result = run("--wanted nonsense --help");
    assert_int_equal(result.code, 0);
    assert_string_equal(result.err, "");
    assert_says(result.out, "usage: midthrow torque");
    int lines = 0, column = 0;
    for (const char *c = result.out; *c != '\0'; c++) {
        lines += *c == '\n';
        column = *c == '\n' ? 0 : column + 1;
        assert_true(column <= 100);
    }
    assert_true(lines <= 24);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_faa_example),
        cmocka_unit_test(test_both_families_of_units),
        cmocka_unit_test(test_uncertainty),
        cmocka_unit_test(test_wrong_usage_is_told_in_a_sentence),
        cmocka_unit_test(test_help_fits_a_screen),
    };
    if (argc != 2)
        return 2;
    program = argv[1];
    return cmocka_run_group_tests_name("command: torque", tests, NULL, NULL);
}
