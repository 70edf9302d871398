/* Recordings for the tests: see recording.h. */
#include "recording.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <spandsp.h>

#include "audio/audio.h"
#include "base/random.h"
#include "speech/recogniser.h"

static bool read_g722(const char *path, struct recording *recording)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return false;
    enum { MOST = 8000 * AUDIO_SECONDS_MAX }; /* 64 kbit/s */
    uint8_t *bytes = malloc(MOST);
    size_t count = bytes == NULL ? 0 : fread(bytes, 1, MOST, file);
    fclose(file);
    recording->pcm = malloc((count * 2 + 1) * sizeof *recording->pcm);
    g722_decode_state_t *decoder = g722_decode_init(NULL, 64000, 0);
    if (count > 0 && recording->pcm != NULL && decoder != NULL)
        recording->frames = (size_t)g722_decode(decoder, recording->pcm, bytes, (int)count);
    g722_decode_free(decoder);
    free(bytes);
    return recording->frames > 0;
}

bool recording_read(const char *path, struct recording *recording)
{
    *recording = (struct recording){0};
    const char *dot = strrchr(path, '.');
    struct fault fault = {0};
    if (dot != NULL && strcmp(dot, ".g722") == 0) {
        if (read_g722(path, recording))
            return true;
        fprintf(stderr, "cannot read '%s'.\n", path);
        recording_free(recording);
        return false;
    }
    if (audio_read_whole(path, SPEECH_RATE_HZ, &recording->pcm, &recording->frames, &fault))
        return true;
    fprintf(stderr, "%s\n", fault.sentence);
    return false;
}

void recording_free(struct recording *recording)
{
    free(recording->pcm);
    *recording = (struct recording){0};
}

bool recording_copy(const struct recording *from, struct recording *to)
{
    *to = (struct recording){malloc((from->frames + 1) * sizeof *to->pcm), from->frames};
    if (to->pcm != NULL)
        memcpy(to->pcm, from->pcm, from->frames * sizeof *to->pcm);
    return to->pcm != NULL;
}

bool recording_pad(struct recording *recording, int ms)
{
    size_t pad = (size_t)ms * SPEECH_RATE_HZ / 1000;
    int16_t *wider = calloc(recording->frames + 2 * pad, sizeof *wider);
    if (wider == NULL)
        return false;
    memcpy(wider + pad, recording->pcm, recording->frames * sizeof *wider);
    free(recording->pcm);
    recording->pcm = wider;
    recording->frames += 2 * pad;
    return true;
}

static double speech_rms(const struct recording *recording)
{
    enum { STEP = 160 };
    double loudest = 0, sum = 0;
    size_t count = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t from = 0; from + STEP <= recording->frames; from += STEP) {
            double power = 0;
            for (size_t i = from; i < from + STEP; i++)
                power += (double)recording->pcm[i] * recording->pcm[i] / STEP;
            if (pass == 0)
                loudest = fmax(loudest, power);
            else if (power > loudest * 1e-3)
                sum += power, count++;
        }
    }
    return count == 0 ? 0 : sqrt(sum / (double)count);
}

static double white(uint32_t *state)
{
    return (double)random_next(state) / 4294967296.0 - 0.5;
}

static double pink(uint32_t *state, double pole[3])
{
    double w = white(state);
    pole[0] = 0.99765 * pole[0] + w * 0.0990460;
    pole[1] = 0.96300 * pole[1] + w * 0.2965164;
    pole[2] = 0.57000 * pole[2] + w * 1.0526913;
    return pole[0] + pole[1] + pole[2] + w * 0.1848;
}

void recording_dither(struct recording *recording, uint32_t seed)
{
    uint32_t state = seed * 2654435761u | 1u;
    for (size_t i = 0; i < recording->frames; i++) {
        int x = recording->pcm[i] + (int)lrint(white(&state) * 2.9999);
        recording->pcm[i] = (int16_t)(x > 32767 ? 32767 : x < -32768 ? -32768 : x);
    }
}

void recording_gate(struct recording *recording)
{
    enum { STEP = 160 };
    double loudest = 0;
    for (int pass = 0; pass < 2; pass++)
        for (size_t from = 0; from + STEP <= recording->frames; from += STEP) {
            double power = 0;
            for (size_t i = from; i < from + STEP; i++)
                power += (double)recording->pcm[i] * recording->pcm[i];
            if (pass == 0)
                loudest = fmax(loudest, power);
            else if (power < loudest * 3.16e-4)
                memset(recording->pcm + from, 0, STEP * sizeof *recording->pcm);
        }
}

void recording_mix(struct recording *recording, const double *noise, double snr_db)
{
    double wanted = speech_rms(recording) * pow(10, -snr_db / 20), power = 0;
    for (size_t i = 0; i < recording->frames; i++)
        power += noise[i] * noise[i] / (double)recording->frames;
    double gain = power > 0 ? wanted / sqrt(power) : 0;
    for (size_t i = 0; i < recording->frames; i++) {
        double x = recording->pcm[i] + gain * noise[i];
        recording->pcm[i] = (int16_t)lrint(fmax(-32768, fmin(32767, x)));
    }
}

bool recording_noise(struct recording *recording, double snr_db, uint32_t seed)
{
    uint32_t state = seed * 2654435761u | 1u;
    double pole[3] = {0}, *noise = malloc((recording->frames + 1) * sizeof *noise);
    if (noise == NULL)
        return false;
    for (size_t i = 0; i < recording->frames; i++)
        noise[i] = pink(&state, pole);
    recording_mix(recording, noise, snr_db);
    free(noise);
    return true;
}

bool recording_hum(struct recording *recording, double snr_db, uint32_t seed)
{
    enum { MAINS_HZ = 50, HARMONICS = 24 };
    static const double TURN = 6.283185307179586;
    uint32_t state = seed * 2654435761u | 1u;
    double pole[3] = {0}, phase[HARMONICS + 1];
    double *noise = malloc((recording->frames + 1) * sizeof *noise);
    if (noise == NULL)
        return false;
    for (int h = 1; h <= HARMONICS; h++)
        phase[h] = TURN * white(&state);
    for (size_t i = 0; i < recording->frames; i++) {
        noise[i] = 0.4 * pink(&state, pole); /* pink() has an RMS of about 0.45, the hum of 0.9 */
        for (int h = 1; h <= HARMONICS; h++)
            noise[i] += sin(TURN * MAINS_HZ * h * (double)i / SPEECH_RATE_HZ + phase[h]) / h;
    }
    recording_mix(recording, noise, snr_db);
    free(noise);
    return true;
}

bool recording_babble(struct recording *recording, const struct recording *others, size_t count,
                      double snr_db, uint32_t seed)
{
    enum { TALKERS = 6 };
    uint32_t state = seed * 2654435761u | 1u;
    double *noise = calloc(recording->frames + 1, sizeof *noise);
    if (noise == NULL || count == 0) {
        free(noise);
        return false;
    }
    for (int t = 0; t < TALKERS; t++) {
        const struct recording *talker = &others[(size_t)((white(&state) + 0.5) * (double)count)];
        size_t from = (size_t)((white(&state) + 0.5) * (double)talker->frames);
        double level = speech_rms(talker);
        for (size_t i = 0; level > 0 && i < recording->frames; i++)
            noise[i] += talker->pcm[(from + i) % talker->frames] / level;
    }
    recording_mix(recording, noise, snr_db);
    free(noise);
    return true;
}
