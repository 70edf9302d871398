/* A device is found by its name, a part of it, or because it is the usual one; if not, the sentence
 * says which there are. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "audio/device.h"

static const struct audio_device SHOP[] = {
    {.name = "Built-in Analog: hw 0,0", .channels = {2, 2}},
    {.name = "Headset Blue: hw 1,0", .channels = {1, 2}},
    {.name = "Headset Red: hw 2,0", .channels = {1, 2}},
    {.name = "Screen: hw 0,3", .channels = {0, 8}},
    {.name = "default", .channels = {32, 32}, .standard = {true, true}},
    {.name = "default", .channels = {2, 2}}, /* by way of another sound system */
    {.name = "default hum filter", .channels = {1, 0}},
};
enum { SHOP_N = sizeof SHOP / sizeof SHOP[0] };

static void names_lead_to_devices(void **state)
{
    (void)state;
    static const struct {
        enum audio_side side;
        const char *name;
        size_t which;
    } rows[] = {
        {AUDIO_MICROPHONE, NULL, 4},      {AUDIO_SPEAKER, NULL, 4},
        {AUDIO_MICROPHONE, "blue", 1},    {AUDIO_SPEAKER, "RED", 2},
        {AUDIO_SPEAKER, "screen", 3},     {AUDIO_MICROPHONE, "hw 0", 0},
        {AUDIO_MICROPHONE, "default", 4}, {AUDIO_SPEAKER, "Default", 4},
        {AUDIO_MICROPHONE, "hum", 6},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        size_t which = 99;
        char why[256] = "";
        assert_true(
            audio_device_choose(SHOP, SHOP_N, rows[i].side, rows[i].name, &which, why, sizeof why));
        assert_int_equal(which, rows[i].which);
    }
}

static void refuses(enum audio_side side, const char *name, const char *sentence)
{
    size_t which;
    char why[256] = "";
    assert_false(audio_device_choose(SHOP, SHOP_N, side, name, &which, why, sizeof why));
    assert_string_equal(why, sentence);
}

static void other_names_are_refused_with_what_there_is(void **state)
{
    (void)state;
    refuses(AUDIO_MICROPHONE, "headset",
            "'headset' may be more than one microphone: name one of 'Headset Blue: hw 1,0', "
            "'Headset Red: hw 2,0'.");
    refuses(AUDIO_MICROPHONE, "screen",
            "no microphone is called 'screen': plug it in, or name one of "
            "'Built-in Analog: hw 0,0', 'Headset Blue: hw 1,0', 'Headset Red: hw 2,0', 'default', "
            "'default hum filter'.");
}

static void the_first_serves_where_none_is_usual_and_none_is_said(void **state)
{
    (void)state;
    size_t which = 99;
    char why[256] = "";
    assert_true(audio_device_choose(SHOP, 4, AUDIO_MICROPHONE, NULL, &which, why, sizeof why));
    assert_int_equal(which, 0);
    assert_false(audio_device_choose(SHOP, 0, AUDIO_SPEAKER, NULL, &which, why, sizeof why));
    assert_string_equal(why, "there is no speaker: plug one in.");
    assert_false(
        audio_device_choose(SHOP + 3, 1, AUDIO_MICROPHONE, "blue", &which, why, sizeof why));
    assert_string_equal(why, "there is no microphone: plug one in.");
}

static void many_names_do_not_overrun_the_sentence(void **state)
{
    (void)state;
    static struct audio_device many[50];
    for (size_t i = 0; i < 50; i++) {
        many[i].channels[AUDIO_MICROPHONE] = 1;
        snprintf(many[i].name, sizeof many[i].name, "a rather long name of a device %zu", i);
    }
    size_t which;
    char why[256];
    assert_false(audio_device_choose(many, 50, AUDIO_MICROPHONE, "x", &which, why, sizeof why));
    assert_non_null(strstr(why, "device 0'"));
    assert_string_equal(why + strlen(why) - strlen(" and more."), " and more.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_lead_to_devices),
        cmocka_unit_test(other_names_are_refused_with_what_there_is),
        cmocka_unit_test(the_first_serves_where_none_is_usual_and_none_is_said),
        cmocka_unit_test(many_names_do_not_overrun_the_sentence),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
