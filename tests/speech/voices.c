/* Voices for the tests: see voices.h. */
#include "voices.h"

#include <glob.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

bool voices_say(const char *voice, const char *sentence, struct recording *recording)
{
    char path[] = "midthrow-voice-XXXXXX";
    int file = mkstemp(path);
    if (file < 0)
        return false;
    close(file);
    char flite[] = "flite", voice_is[] = "-voice", text_is[] = "-t", out_is[] = "-o";
    char said[256], name[32];
    snprintf(said, sizeof said, "%s", sentence);
    snprintf(name, sizeof name, "%s", voice);
    char *const words[] = {flite, voice_is, name, text_is, said, out_is, path, NULL};
    pid_t child;
    int status = 1;
    bool spoken = posix_spawnp(&child, flite, NULL, NULL, words, environ) == 0 &&
                  waitpid(child, &status, 0) == child && status == 0 &&
                  recording_read(path, recording);
    unlink(path);
    return spoken;
}

bool voices_person(const char *name, struct recording *recording)
{
    char pattern[256];
    glob_t found;
    snprintf(pattern, sizeof pattern, "/usr/share/asterisk/sounds/*/%s", name);
    if (glob(pattern, 0, NULL, &found) != 0)
        return false;
    bool read = recording_read(found.gl_pathv[0], recording);
    globfree(&found);
    return read;
}
