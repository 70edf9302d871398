/* What a station remembers between jobs: see settings.h. */
#include "station/settings.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/inifile.h"
#include "base/text.h"
#include "record/store.h"

enum { USUAL_LOUDNESS = 6, USUAL_SPEED = 4, STEP_DB = 3 };

static const char file_name[] = "settings.ini";
static const char new_name[] = "settings.ini.new";
static const char *const colour_names[] = {
    [SCREEN_BY_ITSELF] = "automatic", [SCREEN_LIGHT] = "light", [SCREEN_DARK] = "dark"};

void station_settings_init(struct station_settings *settings)
{
    *settings = (struct station_settings){.loudness = USUAL_LOUDNESS,
                                          .speed = USUAL_SPEED,
                                          .beeps = true,
                                          .colours = SCREEN_BY_ITSELF};
}

/* ---- reading ------------------------------------------------------------------------------ */

static bool refuse(const struct inifile_entry *entry, const char *wanted, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED,
                     "'%s', line %d: '%s' is %s. Correct it, or remove the file to begin anew.",
                     entry->path, entry->line, entry->key, wanted);
}

static bool take_step(const struct inifile_entry *entry, int *step, struct fault *fault)
{
    const char *value = entry->value;
    if (value[0] < '1' || value[0] > '0' + STATION_VOICE_STEPS || value[1] != '\0')
        return refuse(entry, "a number from 1 to 7", fault);
    *step = value[0] - '0';
    return true;
}

static bool take_beeps(const struct inifile_entry *entry, bool *beeps, struct fault *fault)
{
    if (strcmp(entry->value, "yes") != 0 && strcmp(entry->value, "no") != 0)
        return refuse(entry, "yes or no", fault);
    *beeps = entry->value[0] == 'y';
    return true;
}

static bool take_colours(const struct inifile_entry *entry, enum screen_colours *colours,
                         struct fault *fault)
{
    for (size_t i = 0; i < sizeof colour_names / sizeof colour_names[0]; i++) {
        if (strcmp(entry->value, colour_names[i]) == 0) {
            *colours = (enum screen_colours)i;
            return true;
        }
    }
    return refuse(entry, "dark, light or automatic", fault);
}

static bool is(const struct inifile_entry *entry, const char *section, const char *key)
{
    return strcmp(entry->section, section) == 0 && strcmp(entry->key, key) == 0;
}

static bool take_entry(void *context, const struct inifile_entry *entry, struct fault *fault)
{
    struct station_settings *settings = context;
    if (entry->continued)
        return refuse(entry, "one line long", fault);
    if (is(entry, "voice", "loudness"))
        return take_step(entry, &settings->loudness, fault);
    if (is(entry, "voice", "speed"))
        return take_step(entry, &settings->speed, fault);
    if (is(entry, "sound", "beeps"))
        return take_beeps(entry, &settings->beeps, fault);
    if (is(entry, "screen", "colours"))
        return take_colours(entry, &settings->colours, fault);
    return refuse(entry, "not known here", fault);
}

bool station_settings_load(const char *directory, struct station_settings *settings,
                           struct fault *fault)
{
    char path[STORE_PATH];
    struct station_settings read = *settings;
    if (!store_path(directory, file_name, 0, path, fault))
        return false;
    if (access(path, F_OK) != 0)
        return true;
    if (!inifile_read(path, take_entry, &read, fault))
        return false;
    *settings = read;
    return true;
}

/* ---- writing ------------------------------------------------------------------------------ */

static bool write_all(int fd, const char *text)
{
    for (size_t left = strlen(text); left > 0;) {
        ssize_t n = write(fd, text, left);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return false;
        text += n;
        left -= (size_t)n;
    }
    return true;
}

/* Beside the old one first: a power cut leaves the one or the other, never half of it. */
bool station_settings_save(const char *directory, const struct station_settings *settings,
                           struct fault *fault)
{
    char path[STORE_PATH], fresh[STORE_PATH], text[256];
    struct text into = text_into(text, sizeof text);
    text_addf(
        &into,
        "[voice]\nloudness = %d\nspeed = %d\n\n[sound]\nbeeps = %s\n\n[screen]\ncolours = %s\n",
        settings->loudness, settings->speed, settings->beeps ? "yes" : "no",
        colour_names[settings->colours]);
    if (!store_path(directory, file_name, 0, path, fault) ||
        !store_path(directory, new_name, 0, fresh, fault))
        return false;
    int fd = store_open(fresh, O_TRUNC, fault);
    if (fd < 0)
        return false;
    bool ok = write_all(fd, text) && fsync(fd) == 0;
    ok = close(fd) == 0 && ok;
    if (ok && rename(fresh, path) == 0)
        return true;
    fault_set(fault, FAULT_FAILED, "'%s' cannot be written (%s): make room on the disk.", path,
              strerror(errno));
    unlink(fresh);
    return false;
}

/* ---- meaning ------------------------------------------------------------------------------ */

bool station_settings_change(struct station_settings *settings, enum job_voice change)
{
    int *step =
        change == JOB_LOUDER || change == JOB_QUIETER ? &settings->loudness : &settings->speed;
    int next = change == JOB_LOUDER || change == JOB_FASTER ? *step + 1 : *step - 1;
    if (next < 1 || next > STATION_VOICE_STEPS)
        return false;
    *step = next;
    return true;
}

int station_settings_words_per_minute(const struct station_settings *settings)
{
    static const int speeds[STATION_VOICE_STEPS] = {105, 125, 145, 165, 185, 205, 230};
    return speeds[settings->speed - 1];
}

double station_settings_loudness_db(const struct station_settings *settings)
{
    return STEP_DB * (settings->loudness - USUAL_LOUDNESS);
}
