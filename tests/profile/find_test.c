/* Which profiles there are: own before shared, sorted, plain names only. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../base/scratch.h"
#include "profile/profile.h"

static char own[SCRATCH_PATH];
static char shared[SCRATCH_PATH];

static int make_directories(void **state)
{
    (void)state;
    scratch_make(own);
    scratch_make(shared);
    return 0;
}

static int remove_directories(void **state)
{
    (void)state;
    scratch_remove(own);
    scratch_remove(shared);
    return 0;
}

static void add(const char *directory, const char *file, const char *title)
{
    char content[128];
    snprintf(content, sizeof content, "[bike]\ntitle = %s\nsource = test\n", title);
    scratch_text(directory, file, content);
}

static void names_are_sorted_and_none_comes_twice(void **state)
{
    (void)state;
    char names[PROFILES_MAX][PROFILE_NAME];
    add(shared, "generic.ini", "shared");
    add(shared, "beta.ini", "shared");
    add(own, "generic.ini", "own");
    add(own, "alpha.ini", "own");
    add(own, "notes.txt", "none");
    add(own, ".hidden.ini", "none");
    add(own, "with space.ini", "none");
    assert_int_equal(profile_names(own, shared, names), 3);
    assert_string_equal(names[0], "alpha");
    assert_string_equal(names[1], "beta");
    assert_string_equal(names[2], "generic");
    assert_int_equal(profile_names(NULL, shared, names), 2);
    assert_int_equal(profile_names(own, NULL, names), 2);
    assert_int_equal(profile_names(NULL, NULL, names), 0);
}

static void the_shops_own_profile_wins(void **state)
{
    (void)state;
    struct profile profile;
    add(shared, "generic.ini", "shared");
    add(shared, "beta.ini", "shared");
    add(own, "generic.ini", "own");
    assert_true(profile_find("generic", own, shared, &profile, NULL));
    assert_string_equal(profile.title, "own");
    assert_true(profile_find("beta", own, shared, &profile, NULL));
    assert_string_equal(profile.title, "shared");
    assert_true(profile_find("generic", NULL, shared, &profile, NULL));
    assert_string_equal(profile.title, "shared");
}

static void an_unknown_name_is_wrong_usage_and_lists_the_names(void **state)
{
    (void)state;
    struct profile profile;
    struct fault fault = {0};
    add(shared, "generic.ini", "shared");
    add(own, "alpha.ini", "own");
    assert_false(profile_find("gamma", own, shared, &profile, &fault));
    assert_int_equal(fault.code, FAULT_USAGE);
    assert_string_equal(fault.sentence, "there is no profile 'gamma': use one of: alpha, generic.");
}

static void names_that_could_leave_the_folder_are_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",         "../generic", "a/b",     "..",
        ".generic", "a b",        "\x1B[2J", "n2345678901234567890123456789012345678901234567x"};
    add(shared, "generic.ini", "shared");
    add(own, "alpha.ini", "own");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct profile profile;
        struct fault fault = {0};
        assert_false(profile_find(bad[i], own, shared, &profile, &fault));
        assert_int_equal(fault.code, FAULT_USAGE);
        assert_null(strchr(fault.sentence, '\x1B'));
    }
}

static void a_bad_profile_is_reported_and_not_passed_over(void **state)
{
    (void)state;
    struct profile profile;
    struct fault fault = {0};
    add(shared, "generic.ini", "shared");
    scratch_text(own, "generic.ini", "[bike]\nnonsense = 1\n");
    assert_false(profile_find("generic", own, shared, &profile, &fault));
    assert_non_null(strstr(fault.sentence, "there is no key 'nonsense'"));
}

static void more_profiles_than_can_be_listed_leave_the_own_ones_in(void **state)
{
    (void)state;
    char names[PROFILES_MAX][PROFILE_NAME];
    struct profile profile;
    for (char letter = 'a'; letter <= 'n'; letter++) {
        char file[] = "x.ini";
        file[0] = letter;
        add(shared, file, "shared");
    }
    add(own, "z.ini", "own");
    add(own, "y.ini", "own");
    assert_int_equal(profile_names(own, shared, names), PROFILES_MAX);
    assert_string_equal(names[0], "a");
    assert_string_equal(names[6], "g");
    assert_string_equal(names[7], "y");
    assert_string_equal(names[8], "z");
    assert_true(profile_find("n", own, shared, &profile, NULL)); /* not listed, still there */
    for (char letter = 'h'; letter <= 'x'; letter++) {
        char file[] = "x.ini";
        file[0] = letter;
        add(own, file, "own");
    }
    assert_int_equal(profile_names(own, shared, names), PROFILES_MAX);
    assert_string_equal(names[0], "h");
    assert_string_equal(names[8], "p");
}

static void no_profile_at_all_is_something_missing(void **state)
{
    (void)state;
    struct profile profile;
    struct fault fault = {0};
    assert_false(profile_find("generic", own, shared, &profile, &fault));
    assert_int_equal(fault.code, FAULT_MISSING);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, make_directories, remove_directories)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(names_are_sorted_and_none_comes_twice),
        TEST(the_shops_own_profile_wins),
        TEST(an_unknown_name_is_wrong_usage_and_lists_the_names),
        TEST(names_that_could_leave_the_folder_are_refused),
        TEST(a_bad_profile_is_reported_and_not_passed_over),
        TEST(more_profiles_than_can_be_listed_leave_the_own_ones_in),
        TEST(no_profile_at_all_is_something_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
