/* Voices for the tests and the bench: see voices.h. */
#include "voices.h"

#include <glob.h>
#include <math.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "audio/audio.h"
#include "audio/resample.h"
#include "speech/recogniser.h"

extern char **environ;

/* kal16 and kal are one speaker at two sampling rates, so kal is only half unseen. */
static const struct voice cast[] = {
    {"kal16", VOICES_FLITE, true, "man, diphones"},
    {"awb", VOICES_FLITE, true, "man, Scottish, statistical"},
    {"en-us", VOICES_ESPEAK, true, "formants, American"},
    {"rms", VOICES_FLITE, false, "man, American, statistical"},
    {"slt", VOICES_FLITE, false, "woman, American, statistical"},
    {"kal", VOICES_FLITE, false, "man, diphones, telephone band"},
    {"en-gb", VOICES_ESPEAK, false, "formants, British"},
    {"en-gb+f3", VOICES_ESPEAK, false, "formants, British, a woman's"},
};

/* For teaching and for fitting the verdict; no test needs them. */
static const struct voice guests[] = {
    {"ked_diphone", VOICES_FESTIVAL, true, "man, diphones"},
    {"bdl", VOICES_RHVOICE, true, "man, American, statistical"},
    {"clb", VOICES_RHVOICE, true, "woman, American, statistical"},
    {"en-US", VOICES_PICO, true, "woman, American, statistical"},
    {"en-GB", VOICES_PICO, true, "woman, British, statistical"},
};

static const struct voices_manner manners[VOICES_MANNERS] = {
    {1.0, 1, 16000}, {0.9, 1, 16000}, {1.1, 1, 16000}, {1.0, 1, 14400}, {1.0, 1, 17600},
    {0.9, 1, 14400}, {1.1, 1, 14400}, {0.9, 1, 17600}, {1.1, 1, 17600},
};

size_t voices_at_rest(size_t manner)
{
    size_t m = 0;
    while (manners[m].from_hz != manners[manner].from_hz || (int)lrint(manners[m].tempo * 10) != 10)
        m++;
    return m;
}

size_t voices_count(void)
{
    return sizeof cast / sizeof cast[0];
}

const struct voice *voices_at(size_t index)
{
    return index < voices_count() ? &cast[index] : NULL;
}

const struct voice *voices_named(const char *name)
{
    for (size_t v = 0; v < voices_count(); v++)
        if (strcmp(cast[v].name, name) == 0)
            return &cast[v];
    for (size_t v = 0; v < sizeof guests / sizeof guests[0]; v++)
        if (strcmp(guests[v].name, name) == 0)
            return &guests[v];
    return NULL;
}

static bool run(char *const words[])
{
    pid_t child;
    int status = 1;
    return posix_spawnp(&child, words[0], NULL, NULL, words, environ) == 0 &&
           waitpid(child, &status, 0) == child && status == 0;
}

/* The voice_ked_diphone of festvox-kdlpc16k has its mean pitch first in its parameters. */
static const double KED_HZ = 105;

static bool say_by_festival(const struct voice *voice, const struct voices_manner *manner,
                            char *text_path, char *path)
{
    char voice_is[64], stretch[64], pitch[128];
    char program[] = "text2wave", eval[] = "-eval", out_is[] = "-o";
    snprintf(voice_is, sizeof voice_is, "(voice_%s)", voice->name);
    snprintf(stretch, sizeof stretch, "(Parameter.set 'Duration_Stretch %.3f)", 1 / manner->tempo);
    snprintf(pitch, sizeof pitch,
             "(set! int_lr_params (cons '(target_f0_mean %.1f) (cdr int_lr_params)))",
             KED_HZ * manner->pitch);
    char *const words[] = {program, eval,   voice_is, eval,      stretch, eval,
                           pitch,   out_is, path,     text_path, NULL};
    return run(words);
}

static bool say_by_rhvoice(const struct voice *voice, const struct voices_manner *manner,
                           char *text_path, char *path)
{
    char program[] = "RHVoice-test", profile[] = "-p", rate_is[] = "-r", in_is[] = "-i";
    char pitch_is[] = "-t", out_is[] = "-o", name[32], rate[16], pitch[16];
    snprintf(name, sizeof name, "%s", voice->name);
    snprintf(rate, sizeof rate, "%.0f", 100 * manner->tempo);
    snprintf(pitch, sizeof pitch, "%.0f", 100 * manner->pitch);
    char *const words[] = {program, profile, name,      rate_is, rate, pitch_is,
                           pitch,   in_is,   text_path, out_is,  path, NULL};
    return run(words);
}

/* These two want the sentence in a file. */
static bool say_by_file(const struct voice *voice, const struct voices_manner *manner,
                        const char *said, char *path)
{
    char text_path[80];
    snprintf(text_path, sizeof text_path, "%s.txt", path);
    FILE *text = fopen(text_path, "w");
    bool spoken = text != NULL && fputs(said, text) >= 0;
    if (text != NULL && fclose(text) != 0)
        spoken = false;
    spoken = spoken &&
             (voice->engine == VOICES_FESTIVAL ? say_by_festival(voice, manner, text_path, path)
                                               : say_by_rhvoice(voice, manner, text_path, path));
    remove(text_path);
    return spoken;
}

/* It writes nothing that is not called .wav. */
static bool say_by_pico(const struct voice *voice, const struct voices_manner *manner,
                        const char *sentence, char *path)
{
    char program[] = "pico2wave", language[] = "-l", wave_is[] = "-w";
    char name[32], said[384], wave_path[80];
    snprintf(name, sizeof name, "%s", voice->name);
    snprintf(said, sizeof said, "<pitch level=\"%.0f\"><speed level=\"%.0f\">%s</speed></pitch>",
             100 * manner->pitch, 100 * manner->tempo, sentence);
    snprintf(wave_path, sizeof wave_path, "%s.wav", path);
    char *const words[] = {program, language, name, wave_is, wave_path, said, NULL};
    return run(words) && rename(wave_path, path) == 0;
}

static bool say(const struct voice *voice, const struct voices_manner *manner, const char *sentence,
                char *path)
{
    char flite[] = "flite", espeak[] = "espeak-ng", voice_is[] = "-voice", text_is[] = "-t";
    char out_is[] = "-o", set[] = "--setf", speaker_is[] = "-v", speed_is[] = "-s",
         wave_is[] = "-w";
    char pitch_is[] = "-p", said[256], name[32], stretch[40], shift[40], speed[16], pitch[16];
    snprintf(said, sizeof said, "%s", sentence);
    snprintf(name, sizeof name, "%s", voice->name);
    snprintf(stretch, sizeof stretch, "duration_stretch=%.3f", 1 / manner->tempo);
    snprintf(shift, sizeof shift, "f0_shift=%.3f", manner->pitch);
    snprintf(speed, sizeof speed, "%.0f", 160 * manner->tempo); /* words a minute */
    /* 0 .. 99; by ear of the program: a pitch of 0.8 at 20, 1.34 at 80 */
    snprintf(pitch, sizeof pitch, "%.0f", 50 + 115 * log(manner->pitch));
    char *const by_flite[] = {flite, voice_is, name, set,    stretch, set,
                              shift, text_is,  said, out_is, path,    NULL};
    char *const by_espeak[] = {espeak, speaker_is, name, speed_is, speed, pitch_is,
                               pitch,  wave_is,    path, said,     NULL};
    switch (voice->engine) {
    case VOICES_FESTIVAL:
    case VOICES_RHVOICE:
        return say_by_file(voice, manner, said, path);
    case VOICES_PICO:
        return say_by_pico(voice, manner, said, path);
    case VOICES_ESPEAK:
        return run(by_espeak);
    default:
        return run(by_flite);
    }
}

static int16_t to_pcm(float sample)
{
    return (int16_t)lrint(fmax(-32768, fmin(32767, sample * 32768.0)));
}

/* The sound as if it had been sampled at from_hz. */
static bool change_size(struct recording *recording, int from_hz)
{
    struct fault fault = {0};
    struct audio_resampler *resampler = audio_resampler_create(from_hz, SPEECH_RATE_HZ, &fault);
    size_t room = recording->frames * SPEECH_RATE_HZ / (size_t)from_hz + 16, done = 0, used = 0;
    float *in = malloc((recording->frames + 1) * sizeof *in), *out = malloc(room * sizeof *out);
    int16_t *pcm = malloc(room * sizeof *pcm);
    bool ready = resampler != NULL && in != NULL && out != NULL && pcm != NULL;
    for (size_t i = 0; ready && i < recording->frames; i++)
        in[i] = recording->pcm[i] / 32768.0f;
    for (size_t made = 1; ready && made > 0 && done < room; done += made) {
        size_t left = recording->frames - used;
        made = room - done;
        if (left > 0)
            audio_resample(resampler, in + used, &left, out + done, &made);
        else
            audio_resample_flush(resampler, out + done, &made);
        used += recording->frames > used ? left : 0;
    }
    for (size_t i = 0; ready && i < done; i++)
        pcm[i] = to_pcm(out[i]);
    audio_resampler_destroy(resampler);
    free(in);
    free(out);
    if (!ready) {
        free(pcm);
        return false;
    }
    free(recording->pcm);
    *recording = (struct recording){pcm, done};
    return true;
}

bool voices_say_as(const struct voice *voice, size_t manner, const char *sentence,
                   struct recording *recording)
{
    return voices_say_with(voice, &manners[manner], sentence, recording);
}

bool voices_say_with(const struct voice *voice, const struct voices_manner *manner,
                     const char *sentence, struct recording *recording)
{
    char path[] = "midthrow-voice-XXXXXX";
    int file = mkstemp(path);
    *recording = (struct recording){0};
    if (file < 0)
        return false;
    close(file);
    bool spoken = say(voice, manner, sentence, path) && recording_read(path, recording);
    unlink(path);
    if (!spoken)
        fprintf(stderr, "%s cannot say '%s': install its synthesiser (DEVELOPERS.md).\n",
                voice->name, sentence);
    return spoken && (manner->from_hz == SPEECH_RATE_HZ || change_size(recording, manner->from_hz));
}

bool voices_say(const char *voice, const char *sentence, struct recording *recording)
{
    const struct voice *found = voices_named(voice);
    return found != NULL && voices_say_as(found, 0, sentence, recording);
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
