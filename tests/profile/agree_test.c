/* Numbers that cannot all be right: each rule broken and kept by one step, and every fault of a
 * file told with its line. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../base/scratch.h"
#include "profile/agree.h"

static char directory[SCRATCH_PATH];

static int make_directory(void **state)
{
    (void)state;
    scratch_make(directory);
    return 0;
}

static int remove_directory(void **state)
{
    (void)state;
    scratch_remove(directory);
    return 0;
}

#define HEAD "[bike]\ntitle = Test bike\nsource = manual, page 6-42\n"

/* Each pair differs in one number. The torque: an 11/16 in nut (d 13.4 mm at most, 106 mm2 of core)
 * bears 0.2 * 13.4 mm * 970 N/mm2 * 106 mm2 = 276 N m, by hand. */
static const struct {
    const char *good, *bad, *why;
    int line;
} cases[] = {
    {"[stem]\nincrement = 1/8\ntotal = 1/8\n", "[stem]\nincrement = 1/8\ntotal = 1/9\n",
     "increment is more than the total", 6},
    {"[stem]\nstep = 1/16\nincrement = 1/16\n", "[stem]\nstep = 1/15\nincrement = 1/16\n",
     "step is more than the increment", 6},
    {"[stem]\nkind = screw\npitch = 0.2 mm\n", "[stem]\nkind = screw\npitch = 0.19 mm\n",
     "none that a screw has", 6},
    {"[stem]\nkind = screw\npitch = 6 mm\n", "[stem]\nkind = screw\npitch = 6.1 mm\n",
     "none that a screw has", 6},
    {"[stem]\nkind = eccentric\nthrow = 8 mm\n", "[stem]\nkind = screw\npitch = 8 mm\n",
     "none that a screw has", 6},
    {"[lock_nut]\nacross_flats = 11/16 in\ntorque_nm = 270\n",
     "[lock_nut]\nacross_flats = 11/16 in\ntorque_nm = 280\n", "no nut of that size", 6},
    {"[lock_nut]\ntorque_nm = 280\n", "[lock_nut]\ntorque_nm = 280\nacross_flats = 0.6 in\n",
     "no nut of that size", 6},
    {"[clutch]\nfree_play_low = 1/16 in\nfree_play_high = 1/16 in\n",
     "[clutch]\nfree_play_low = 1/8 in\nfree_play_high = 1/16 in\n",
     "free_play_low is more than free_play_high", 6},
    {"[clutch]\ntravel_low = 10 mm\ntravel_high = 12 mm\n",
     "[clutch]\ntravel_low = 12 mm\ntravel_high = 10 mm\n", "travel_low is more", 6},
    {"[clutch]\nadjuster_low = 1/2\nadjuster_high = 1\n",
     "[clutch]\nadjuster_low = 1\nadjuster_high = 1/2\n", "adjuster_low is more", 6},
    {"[idle]\nlow_rpm = 950\nhigh_rpm = 1050\n", "[idle]\nlow_rpm = 1050\nhigh_rpm = 950\n",
     "low_rpm is more", 6},
    {"[primary]\nlow_ml = 900\nhigh_ml = 1000\n", "[primary]\nlow_ml = 1000\nhigh_ml = 900\n",
     "low_ml is more", 6},
    {"[pack]\nplate_low = 2 mm\nplate_high = 3 mm\n",
     "[pack]\nplate_low = 3 mm\nplate_high = 2 mm\n", "plate_low is more", 6},
    {"[pack]\nstack_low = 30 mm\nstack_high = 33 mm\n",
     "[pack]\nstack_low = 33 mm\nstack_high = 30 mm\n", "stack_low is more", 6},
    {"[pack]\nplates = 16\nplate_low = 2 mm\nstack_high = 32 mm\n",
     "[pack]\nplates = 17\nplate_low = 2 mm\nstack_high = 32 mm\n", "more than stack_high", 7},
    {"[pack]\nplates = 16\nplate_high = 2 mm\nstack_low = 32 mm\n",
     "[pack]\nplates = 15\nplate_high = 2 mm\nstack_low = 32 mm\n", "less than stack_low", 5},
};

struct told {
    int n, line;
    char sentence[512];
};

static void tell(void *context, int line, const char *sentence)
{
    struct told *told = context;
    told->n++;
    told->line = line;
    snprintf(told->sentence, sizeof told->sentence, "%s", sentence);
}

static void each_rule_tells_good_from_bad(void **state)
{
    (void)state;
    char text[512], path[SCRATCH_PATH];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct profile profile;
        struct fault fault = {0};
        snprintf(text, sizeof text, "%s%s", HEAD, cases[i].good);
        scratch_write(directory, "good.ini", text, strlen(text), path);
        if (!profile_load(path, &profile, &fault))
            fail_msg("%zu: %s", i, fault.sentence);
        snprintf(text, sizeof text, "%s%s", HEAD, cases[i].bad);
        scratch_write(directory, "bad.ini", text, strlen(text), path);
        if (profile_load(path, &profile, &fault) || strstr(fault.sentence, cases[i].why) == NULL)
            fail_msg("%zu: '%s' does not say '%s'", i, fault.sentence, cases[i].why);
        struct told told = {0};
        assert_int_equal(profile_examine(path, &profile, tell, &told), 1);
        assert_string_equal(told.sentence, fault.sentence);
        assert_int_equal(told.line, cases[i].line);
    }
}

static void every_fault_of_a_file_is_told(void **state)
{
    (void)state;
    static const char text[] = "[bike]\ntitle = X\n[stem]\nincrement = 3/4\nfrobs = 3\n"
                               "[pawl]\ngear = 7\n[clutch]\nfree_play_low = 3 mm\n"
                               "free_play_high = 2 mm\nfree_play_high = 4 mm\n";
    char path[SCRATCH_PATH];
    struct profile profile;
    struct told told = {0};
    scratch_write(directory, "many.ini", text, sizeof text - 1, path);
    /* increment, frobs, gear, the key given twice, no source, limits upside down */
    assert_int_equal(profile_examine(path, &profile, tell, &told), 6);
    assert_int_equal(told.n, 6);
    struct told none = {0};
    assert_int_equal(profile_examine("/nowhere/x.ini", &profile, tell, &none), 1);
    assert_int_equal(profile_examine(SHIPPED "/generic-big-twin.ini", &profile, tell, &none), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_rule_tells_good_from_bad),
        cmocka_unit_test(every_fault_of_a_file_is_told),
    };
    return cmocka_run_group_tests(tests, make_directory, remove_directory);
}
