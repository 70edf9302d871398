/* midthrow devices as its user meets it: on a sound server with devices, and on a computer with
 * none. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../command/process.h"
#include "pulse.h"

enum { SKIPPED = 77 };

static const char *program; /* midthrow, from the command line */
static struct pulse pulse;

static const json_t *device_of(const json_t *all, const char *name)
{
    const json_t *devices = json_object_get(all, "devices");
    for (size_t i = 0; i < json_array_size(devices); i++) {
        const json_t *device = json_array_get(devices, i);
        if (strcmp(json_string_value(json_object_get(device, "name")), name) == 0)
            return device;
    }
    fail_msg("no device '%s'", name);
    return NULL;
}

static bool is(const json_t *device, const char *side, const char *what)
{
    return json_is_true(json_object_get(json_object_get(device, side), what));
}

static void devices_are_listed_with_what_they_can_do(void **state)
{
    (void)state;
    struct run result = process_run(program, "devices", "--json");
    json_t *all = json_of_run(&result);
    assert_int_equal(json_integer_value(json_object_get(all, "rate_hz")), 16000);
    const json_t *speaker = device_of(all, "lift_speaker"),
                 *ear = device_of(all, "lift_microphone");
    assert_string_equal(json_string_value(json_object_get(speaker, "host")), "ALSA");
    assert_true(is(speaker, "speaker", "works") && is(speaker, "speaker", "direct"));
    assert_true(is(ear, "microphone", "works") && is(ear, "microphone", "direct"));
    assert_false(is(ear, "speaker", "works")); /* a monitor is for listening only */
    assert_true(is(device_of(all, "default"), "microphone", "default"));
    assert_false(is(ear, "microphone", "default"));
    json_decref(all);

    struct run people = process_run(program, "devices", "");
    assert_int_equal(people.code, 0);
    assert_string_equal(people.err, ""); /* nor any library's chatter */
    assert_says(people.out, "microphones\n");
    assert_says(people.out, "  * default ");
    assert_says(people.out, "    lift_microphone ");
}

/* Lets ALSA be configured by these words alone. */
static void configure_alsa(const char *words)
{
    char path[256];
    snprintf(path, sizeof path, "%s/other.conf", pulse.folder);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(words, file);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(setenv("ALSA_CONFIG_PATH", path, 1), 0);
}

static void assert_none(const char *says)
{
    struct run result = process_run(program, "devices", "");
    assert_int_equal(result.code, 3);
    assert_null(strstr(result.out, "microphone")); /* number pads are listed all the same */
    assert_null(strstr(result.out, "speaker"));
    assert_string_equal(result.err, says);
}

static void a_computer_without_sound_is_told_so(void **state)
{
    (void)state;
    configure_alsa("pcm.card { type hw card 77 }\n");
    assert_none("midthrow: there is neither a microphone nor a speaker: plug one in, or start the "
                "sound server.\n");
    struct run result = process_run(program, "devices", "--json");
    assert_int_equal(result.code, 3);
    assert_says(result.out, "\"devices\": []");
}

/* PortAudio would abort. */
static void a_mistake_in_the_configuration_is_said(void **state)
{
    (void)state;
    static const char says[] = "midthrow: ALSA's configuration names no device: put right "
                               "~/.asoundrc, /etc/asound.conf or what $ALSA_CONFIG_PATH names.\n";
    configure_alsa("pcm.card { type ");
    assert_none(says);
    configure_alsa("");
    assert_none(says);
}

static void other_words_are_refused(void **state)
{
    (void)state;
    struct run result = process_run(program, "devices", "headset");
    assert_wrong_usage(&result, "no option of devices");
}

static int begin(void **state)
{
    (void)state;
    return pulse_begin(&pulse) ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    pulse_end(&pulse);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    program = argv[1];
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(devices_are_listed_with_what_they_can_do),
        cmocka_unit_test(a_computer_without_sound_is_told_so),
        cmocka_unit_test(a_mistake_in_the_configuration_is_said),
        cmocka_unit_test(other_words_are_refused),
    };
    if (!pulse_is_installed()) {
        print_message("skipped: pulseaudio is not installed\n");
        return SKIPPED;
    }
    return cmocka_run_group_tests(tests, begin, end);
}
