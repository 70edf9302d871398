/* Silencing ALSA, JACK and PortAudio on the terminal: see quiet.h. */
#include "audio/quiet.h"

#include <stdlib.h>

#include <alsa/asoundlib.h>

/* PortAudio brings JACK's library along where it was built with it; where not, these are NULL. */
extern void jack_set_error_function(void (*say)(const char *)) __attribute__((weak));
extern void jack_set_info_function(void (*say)(const char *)) __attribute__((weak));

static void say_nothing(const char *message)
{
    (void)message;
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
    if (jack_set_error_function != NULL)
        jack_set_error_function(say_nothing);
    if (jack_set_info_function != NULL)
        jack_set_info_function(say_nothing);
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
