/*
 * midthrow devices: the microphones and speakers there are, by the names that --microphone and
 * --speaker take.
 *
 * --json prints one object:
 *   rate_hz     what midthrow hears and speaks at
 *   pads        number pads and other keys: name, path, readable, pad
 *   devices     each with name, host, rate_hz (its own), and microphone and speaker: null, or
 *               channels, default (used when none is named), works (could be opened just now),
 *               direct (takes rate_hz as it is; if not, midthrow resamples)
 */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "audio/portaudio.h"
#include "base/plain.h"
#include "command/command.h"
#include "keypad/device.h"

static const char usage[] =
    "usage: midthrow devices [--json]\n"
    "\n"
    "The microphones and speakers there are, by the names that --microphone and --speaker take (a\n"
    "part of a name will do, if no other has it). '*' is the one used when none is named. A rate\n"
    "stands beside a device that cannot do 16 kHz itself: midthrow converts that. And the number\n"
    "pads and foot switches, by the names that --pad-device and --foot take.\n"
    "\n"
    "  --json    print one JSON object\n";

enum { RATE_HZ = 16000, NAME_SHOWN = 4 * AUDIO_DEVICE_NAME };

static void print_side(const struct audio_device *list, size_t n, enum audio_side side)
{
    char name[NAME_SHOWN];
    size_t found = 0;
    printf("%ss\n", audio_side_name(side));
    for (size_t i = 0; i < n; i++) {
        const struct audio_device *device = &list[i];
        if (device->channels[side] == 0)
            continue;
        found++;
        printf("  %c %-32s %s, %d channel%s", device->standard[side] ? '*' : ' ',
               plain_text(device->name, name, sizeof name), device->host, device->channels[side],
               device->channels[side] == 1 ? "" : "s");
        if (!device->works[side])
            printf(", busy or not for this");
        else if (!device->direct[side])
            printf(", %d Hz", device->rate_hz);
        putchar('\n');
    }
    if (found == 0)
        puts("    none");
}

static json_t *json_side(const struct audio_device *device, enum audio_side side)
{
    if (device->channels[side] == 0)
        return json_null();
    return json_pack("{s:i, s:b, s:b, s:b}", "channels", device->channels[side], "default",
                     (int)device->standard[side], "works", (int)device->works[side], "direct",
                     (int)device->direct[side]);
}

static bool print_json(const struct audio_device *list, size_t n, json_t *pads)
{
    json_t *devices = json_array();
    for (size_t i = 0; i < n; i++) {
        char name[NAME_SHOWN];
        json_array_append_new(devices,
                              json_pack("{s:s, s:s, s:i, s:o, s:o}", "name",
                                        plain_text(list[i].name, name, sizeof name), "host",
                                        list[i].host, "rate_hz", list[i].rate_hz, "microphone",
                                        json_side(&list[i], AUDIO_MICROPHONE), "speaker",
                                        json_side(&list[i], AUDIO_SPEAKER)));
    }
    json_t *all =
        json_pack("{s:i, s:o, s:o}", "rate_hz", (int)RATE_HZ, "devices", devices, "pads", pads);
    bool printed = all != NULL && json_dumpf(all, stdout, JSON_INDENT(2)) == 0;
    putchar('\n');
    json_decref(all);
    return printed;
}

static bool read_arguments(int argc, char **argv, bool *json, bool *help, struct fault *fault)
{
    char shown[128];
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--json") == 0)
            *json = true;
        else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
            *help = true;
        else
            return fault_set(fault, FAULT_USAGE,
                             "'%s' is no option of devices: see midthrow devices --help.",
                             plain_text(argv[i], shown, sizeof shown));
    }
    return true;
}

/* Number pads and foot switches, by the names that --pad-device and --foot take. */
enum { PADS_MAX = 32 };

static void print_pads(const struct keypad_found *found, size_t n)
{
    char name[NAME_SHOWN];
    puts("number pads and other keys");
    for (size_t i = 0; i < n; i++)
        if (found[i].readable)
            printf("    %-32s %s%s\n", plain_text(found[i].name, name, sizeof name), found[i].path,
                   found[i].pad ? "" : ", not a pad: a foot switch?");
        else
            printf("    %-32s may not be read: add the user to the group 'input'\n", found[i].path);
    if (n == 0)
        puts("    none");
}

static json_t *json_pads(const struct keypad_found *found, size_t n)
{
    json_t *pads = json_array();
    char name[NAME_SHOWN];
    for (size_t i = 0; i < n; i++)
        json_array_append_new(pads, json_pack("{s:s, s:s, s:b, s:b}", "name",
                                              plain_text(found[i].name, name, sizeof name), "path",
                                              found[i].path, "readable", found[i].readable, "pad",
                                              found[i].pad));
    return pads;
}

int command_devices(int argc, char **argv)
{
    struct fault fault = {0};
    bool json = false, help = false;
    if (!read_arguments(argc, argv, &json, &help, &fault))
        return command_fail(&fault);
    if (help) {
        fputs(usage, stdout);
        return FAULT_NONE;
    }
    struct audio_device *list = NULL;
    size_t n = 0;
    struct keypad_found pads[PADS_MAX];
    size_t pads_n = keypad_device_list(NULL, pads, PADS_MAX);
    bool listed = audio_portaudio_list(RATE_HZ, &list, &n, &fault);
    if (listed && json)
        listed = print_json(list, n, json_pads(pads, pads_n)) ||
                 fault_set(&fault, FAULT_FAILED, "out of memory: close something and try again.");
    else if (listed && n > 0)
        for (int side = 0; side < AUDIO_SIDES; side++)
            print_side(list, n, (enum audio_side)side);
    free(list);
    if (!json)
        print_pads(pads, pads_n);
    if (listed && n == 0)
        listed = fault_set(&fault, FAULT_MISSING,
                           "there is neither a microphone nor a speaker: plug one in, or start "
                           "the sound server.");
    if (!listed || !command_printed(&fault))
        return command_fail(&fault);
    return FAULT_NONE;
}
