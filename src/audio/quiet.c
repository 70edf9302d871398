/* Silencing ALSA, JACK and PortAudio on the terminal: see quiet.h. */
#include "audio/quiet.h"

#include <dlfcn.h>
#include <stdlib.h>

#include <alsa/asoundlib.h>

static void say_nothing(const char *message)
{
    (void)message;
}

/* PortAudio brings JACK's library along where it was built with it. Asked for by name, so that
 * midthrow neither needs it nor is linked against it. */
static void quieten_jack(void)
{
    static const char *const setters[] = {"jack_set_error_function", "jack_set_info_function"};
    void *program = dlopen(NULL, RTLD_LAZY);
    for (size_t i = 0; program != NULL && i < sizeof setters / sizeof setters[0]; i++) {
        void (*set)(void (*say)(const char *)) = NULL;
        *(void **)&set = dlsym(program, setters[i]); /* as POSIX has it, dlsym, rationale */
        if (set != NULL)
            set(say_nothing);
    }
    if (program != NULL)
        dlclose(program);
}

static void alsa_says_nothing(const char *file, int line, const char *function, int error,
                              const char *format, ...)
{
    (void)file;
    (void)line;
    (void)function;
    (void)error;
    (void)format;
}

void audio_quiet_begin(struct audio_quiet *quiet)
{
    setenv("JACK_NO_START_SERVER", "1", 0); /* looking for devices must not start a server */
    snd_lib_error_set_handler(alsa_says_nothing);
    quieten_jack();
    quiet->kept = stderr;
    quiet->null = NULL;
#ifdef __GLIBC__ /* where `stderr` may be assigned to (its manual, "Standard Streams") */
    quiet->null = fopen("/dev/null", "w");
    if (quiet->null != NULL)
        stderr = quiet->null;
#endif
}

void audio_quiet_end(struct audio_quiet *quiet, bool over)
{
#ifdef __GLIBC__
    if (quiet->null != NULL) {
        stderr = quiet->kept;
        if (over)
            fclose(quiet->null);
    }
#endif
    quiet->null = NULL;
    if (over)
        snd_lib_error_set_handler(NULL);
}
