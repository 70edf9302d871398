/* What a session may touch: see confine.h. */
#include "command/confine.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "command/command.h"
#include "guard/guard.h"
#include "record/store.h"

enum { PATH_SIZE = 4096 };

/* Sound and keys come and go with their plugs. What the sound libraries read and where they meet
 * their server: PulseAudio's client (pulse-client.conf(5), PULSE_* in pulseaudio(1)), ALSA's
 * configuration (/usr/share/alsa/alsa.conf), PipeWire's client; and a terminal's description. */
static const struct guard_place DEVICES[] = {
    {"/dev/snd", GUARD_DEVICE}, {"/dev/input", GUARD_STEER}, {"/dev/shm", GUARD_KEEP}};

static const struct wanted {
    const char *variable; /* of the environment */
    const char *beneath;  /* of the folder it names; NULL: that itself */
    enum guard_right right;
} WANTED[] = {
    {"ALSA_CONFIG_DIR", NULL, GUARD_READ},    {"ALSA_CONFIG_PATH", NULL, GUARD_READ},
    {"HOME", ".asoundrc", GUARD_READ},        {"HOME", ".config/alsa", GUARD_READ},
    {"HOME", ".config/pipewire", GUARD_READ}, {"HOME", ".config/pulse", GUARD_READ},
    {"HOME", ".pulse", GUARD_READ},           {"HOME", ".pulse-cookie", GUARD_READ},
    {"HOME", ".terminfo", GUARD_READ},        {"PULSE_CLIENTCONFIG", NULL, GUARD_READ},
    {"PULSE_CONFIG_PATH", NULL, GUARD_READ},  {"PULSE_COOKIE", NULL, GUARD_READ},
    {"PULSE_RUNTIME_PATH", NULL, GUARD_KEEP}, {"TERMINFO", NULL, GUARD_READ},
    {"XDG_CONFIG_HOME", "alsa", GUARD_READ},  {"XDG_CONFIG_HOME", "pipewire", GUARD_READ},
    {"XDG_CONFIG_HOME", "pulse", GUARD_READ}, {"XDG_RUNTIME_DIR", NULL, GUARD_READ},
    {"XDG_RUNTIME_DIR", "pulse", GUARD_KEEP},
};

enum {
    DEVICES_N = sizeof DEVICES / sizeof DEVICES[0],
    WANTED_N = sizeof WANTED / sizeof WANTED[0],
    OWN_N = 8, /* the session's: see add_own */
};

struct places {
    struct guard_place *place;
    size_t n;
    char path[WANTED_N][PATH_SIZE];
    char above[PATH_SIZE], pad[PATH_SIZE], foot[PATH_SIZE];
};

static void add(struct places *places, const char *path, enum guard_right right)
{
    places->place[places->n++] = (struct guard_place){path, right};
}

static void add_wanted(struct places *places)
{
    for (size_t i = 0; i < WANTED_N; i++) {
        const char *value = getenv(WANTED[i].variable);
        struct text path = text_into(places->path[i], PATH_SIZE);
        if (value == NULL || value[0] == '\0')
            continue;
        text_add(&path, value);
        if (WANTED[i].beneath != NULL)
            text_addf(&path, "/%s", WANTED[i].beneath);
        if (!path.cut)
            add(places, places->path[i], WANTED[i].right);
    }
}

/* A device named by its path is another file when it was plugged in again. */
static void add_folder_of(struct places *places, const char *path, char folder[PATH_SIZE])
{
    if (path != NULL && strchr(path, '/') != NULL && command_folder_of(path, folder, PATH_SIZE))
        add(places, folder, GUARD_STEER);
}

/* At most OWN_N, besides the recordings. */
static void add_own(struct places *places, const struct session_options *options, const char *data)
{
    add(places, data, GUARD_KEEP);
    add(places, options->reason, GUARD_READ);
    add(places, options->speak_to, GUARD_KEEP);
    if (options->scratch && command_folder_of(data, places->above, PATH_SIZE))
        add(places, places->above, GUARD_EMPTY);
    add_folder_of(places, options->pad_device, places->pad);
    add_folder_of(places, options->foot, places->foot);
    for (size_t i = 0; i < options->hear_n; i++)
        add(places, options->hear[i], GUARD_READ);
}

static bool make_output(const char *path, struct fault *fault)
{
    if (path == NULL)
        return true;
    int fd = open(path, O_WRONLY | O_CREAT | O_NONBLOCK | O_CLOEXEC, 0600);
    if (fd < 0)
        return fault_set(fault, FAULT_FAILED,
                         "cannot write '%s' (%s): name a file in a writable folder.", path,
                         strerror(errno));
    close(fd);
    return true;
}

bool confine_session(const struct session_options *options, const char *data,
                     const char *const shared[], size_t n, struct fault *fault)
{
    if (!store_make_directory(data, fault) || !make_output(options->speak_to, fault))
        return false;
    struct places *places = calloc(1, sizeof *places);
    if (places != NULL)
        places->place =
            calloc(DEVICES_N + WANTED_N + OWN_N + n + options->hear_n, sizeof *places->place);
    if (places == NULL || places->place == NULL) {
        free(places);
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    }
    for (size_t i = 0; i < DEVICES_N; i++)
        add(places, DEVICES[i].path, DEVICES[i].right);
    for (size_t i = 0; i < n; i++)
        add(places, shared[i], GUARD_READ);
    add_wanted(places);
    add_own(places, options, data);
    guard_files(places->place, places->n);
    free(places->place);
    free(places);
    return true;
}
