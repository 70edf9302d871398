/* The shop's noises: see noises.h. Each is one function that adds to a silent stretch. */
#include "noises.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/random.h"
#include "level.h"
#include "speech/recogniser.h"

static const double TURN = 6.283185307179586;
static const double RATE = SPEECH_RATE_HZ;

struct noise_studio {
    uint32_t random;
    const struct noise_talkers *talkers;
};

/* ---- chance ---- */

/* 0 <= x < 1 */
static double uniform(struct noise_studio *studio)
{
    return (double)(random_next(&studio->random) >> 8) / 16777216.0;
}

static double between(struct noise_studio *studio, double least, double most)
{
    return least + (most - least) * uniform(studio);
}

/* Unit variance: twelve uniform numbers less six, near enough normal for a noise. */
static double normal(struct noise_studio *studio)
{
    double sum = -6;
    for (int i = 0; i < 12; i++)
        sum += uniform(studio);
    return sum;
}

/* ---- tools of sound ---- */

/* Second-order sections of R. Bristow-Johnson's "Cookbook formulae for audio EQ biquad filter
 * coefficients". */
struct biquad {
    double b0, b1, b2, a1, a2, x1, x2, y1, y2;
};

enum pass { PASS_LOW, PASS_HIGH, PASS_BAND };

static struct biquad biquad(enum pass pass, double hz, double q)
{
    double w = TURN * hz / RATE, alpha = sin(w) / (2 * q), a0 = 1 + alpha;
    struct biquad f = {.a1 = -2 * cos(w) / a0, .a2 = (1 - alpha) / a0};
    double edge = pass == PASS_LOW ? 1 - cos(w) : 1 + cos(w);
    f.b0 = (pass == PASS_BAND ? alpha : edge / 2) / a0;
    f.b1 = (pass == PASS_BAND ? 0 : pass == PASS_LOW ? edge : -edge) / a0;
    f.b2 = (pass == PASS_BAND ? -alpha : edge / 2) / a0;
    return f;
}

static double filter(struct biquad *f, double x)
{
    double y = f->b0 * x + f->b1 * f->x1 + f->b2 * f->x2 - f->a1 * f->y1 - f->a2 * f->y2;
    f->x2 = f->x1;
    f->x1 = x;
    f->y2 = f->y1;
    f->y1 = y;
    return y;
}

static void filter_all(enum pass pass, double hz, double *samples, size_t frames)
{
    struct biquad section = biquad(pass, hz, 0.7071);
    for (size_t i = 0; i < frames; i++)
        samples[i] = filter(&section, samples[i]);
}

/* A struck thing: one of its modes, from `at` on. */
static void ring(double *out, size_t frames, size_t at, double hz, double decay_s, double level)
{
    double fall = exp(-1 / (decay_s * RATE)), now = level;
    for (size_t i = at; i < frames && now > level * 1e-4; i++, now *= fall)
        out[i] += now * sin(TURN * hz * (double)(i - at) / RATE);
}

/* The contact itself: a burst that dies away. */
static void burst(struct noise_studio *studio, double *out, size_t frames, size_t at,
                  double decay_s, double level)
{
    double fall = exp(-1 / (decay_s * RATE)), now = level;
    for (size_t i = at; i < frames && now > level * 1e-3; i++, now *= fall)
        out[i] += now * normal(studio);
}

static size_t seconds(double s)
{
    return (size_t)(s * RATE);
}

static double *scratch(size_t frames)
{
    return calloc(frames + 1, sizeof(double));
}

static void normalise(double *samples, size_t frames, double to_rms)
{
    double rms = level_rms(samples, frames);
    for (size_t i = 0; rms > 0 && i < frames; i++)
        samples[i] *= to_rms / rms;
}

/* ---- steady noises ---- */

static void white(struct noise_studio *studio, double *out, size_t frames)
{
    for (size_t i = 0; i < frames; i++)
        out[i] += normal(studio);
}

/* P. Kellet's three poles (musicdsp.org, "Pink noise filter", the economy one: within 0.5 dB). */
static void pink(struct noise_studio *studio, double *out, size_t frames)
{
    double pole[3] = {0};
    for (size_t i = 0; i < frames; i++) {
        double w = normal(studio);
        pole[0] = 0.99765 * pole[0] + w * 0.0990460;
        pole[1] = 0.96300 * pole[1] + w * 0.2965164;
        pole[2] = 0.57000 * pole[2] + w * 1.0526913;
        out[i] += pole[0] + pole[1] + pole[2] + w * 0.1848;
    }
}

/* A piston compressor: a two-pole motor of 50 or 60 Hz mains on belts, the pump at 900 to 1200 a
 * minute, its intake's hiss swelling at every stroke; hum at twice the mains and its harmonics. */
static void compressor(struct noise_studio *studio, double *out, size_t frames)
{
    enum { HARMONICS = 12 };
    double mains = uniform(studio) < 0.5 ? 50 : 60, pump = between(studio, 900, 1200) / 60;
    double phase[HARMONICS], whine_hz = between(studio, 600, 1400);
    double *hiss = scratch(frames);
    if (hiss == NULL)
        return;
    for (int h = 0; h < HARMONICS; h++)
        phase[h] = between(studio, 0, TURN);
    pink(studio, hiss, frames);
    filter_all(PASS_HIGH, 300, hiss, frames);
    for (size_t i = 0; i < frames; i++) {
        double t = (double)i / RATE, stroke = 0.5 + 0.5 * sin(TURN * pump * t);
        hiss[i] *= 0.3 + stroke * stroke;
        for (int h = 0; h < HARMONICS; h++)
            out[i] += sin(TURN * 2 * mains * (h + 1) * t + phase[h]) / (h + 1);
        out[i] += 0.3 * sin(TURN * whine_hz * t + 2 * sin(TURN * pump * t));
    }
    normalise(out, frames, 1);
    normalise(hiss, frames, 0.7);
    for (size_t i = 0; i < frames; i++)
        out[i] += hiss[i];
    free(hiss);
}

/* A 45-degree twin with one crank pin, idling at 850 to 1050 a minute: it fires after 315 and after
 * 405 degrees of crank, never quite in time. Each fires into an exhaust that rings low; the valve
 * gear ticks at every half turn, chains and primary rush above. */
static void engine(struct noise_studio *studio, double *out, size_t frames)
{
    double degree_s = 60 / between(studio, 850, 1050) / 360;
    double pipe_hz = between(studio, 70, 110), *rush = scratch(frames);
    if (rush == NULL)
        return;
    bool front = false;
    for (double t = between(studio, -0.1, 0); t < (double)frames / RATE; front = !front) {
        t += degree_s * (front ? 315 : 405) * (1 + 0.03 * normal(studio));
        if (t < 0)
            continue;
        double level = 1 + 0.15 * normal(studio);
        for (int mode = 1; mode <= 7; mode += 2)
            ring(out, frames, seconds(t), pipe_hz * mode, 0.045 / mode, level / mode);
        burst(studio, out, frames, seconds(t), 0.012, 0.25 * level);
        ring(out, frames, seconds(t + degree_s * between(studio, 150, 190)),
             between(studio, 2200, 3600), 0.004, 0.3);
    }
    pink(studio, rush, frames);
    filter_all(PASS_HIGH, 500, rush, frames);
    normalise(out, frames, 1);
    normalise(rush, frames, 0.25);
    for (size_t i = 0; i < frames; i++)
        out[i] += rush[i];
    free(rush);
}

/* ---- blows ---- */

/* A steel part struck: a few inharmonic modes, the higher the shorter. */
static void strike(struct noise_studio *studio, double *out, size_t frames, size_t at,
                   double lowest, double longest_s, double level)
{
    double hz = lowest;
    burst(studio, out, frames, at, 0.002, level);
    for (int mode = 0; mode < 5 && hz < 7500; mode++) {
        ring(out, frames, at, hz, longest_s * lowest / hz, level / (mode + 1));
        hz *= between(studio, 1.4, 2.1);
    }
}

/* A hammer, one to four blows a second, nobody keeping time. */
static void impacts(struct noise_studio *studio, double *out, size_t frames)
{
    double lowest = between(studio, 500, 1800), every_s = between(studio, 0.25, 0.9);
    for (double t = between(studio, 0, every_s / 2); t < (double)frames / RATE;
         t += every_s * between(studio, 0.8, 1.2))
        strike(studio, out, frames, seconds(t), lowest * between(studio, 0.95, 1.05), 0.06,
               between(studio, 0.6, 1));
}

/* A spanner dropped on concrete: it bounces, each time sooner (restitution about 0.5) and rings. */
static void tools(struct noise_studio *studio, double *out, size_t frames)
{
    for (double t = between(studio, 0.1, 1); t < (double)frames / RATE;
         t += between(studio, 1.5, 5)) {
        double lowest = between(studio, 1500, 3500), level = between(studio, 0.5, 1), wait = 0.28;
        double at = t;
        for (int bounce = 0; bounce < 6; bounce++) {
            strike(studio, out, frames, seconds(at), lowest, 0.12, level);
            at += wait;
            wait *= between(studio, 0.4, 0.6);
            level *= between(studio, 0.4, 0.6);
        }
    }
}

/* Small parts set down, pushed about and poured on a steel bench: handfuls of light blows, each
 * part with its own modes. */
static void clatter(struct noise_studio *studio, double *out, size_t frames)
{
    for (double t = between(studio, 0.1, 1); t < (double)frames / RATE;
         t += between(studio, 1.5, 5)) {
        double at = t;
        for (int part = 1 + (int)(14 * uniform(studio)); part > 0; part--) {
            strike(studio, out, frames, seconds(at), between(studio, 400, 5000),
                   between(studio, 0.01, 0.15), between(studio, 0.1, 1));
            at += between(studio, 0.01, 0.25);
        }
    }
}

/* ---- people ---- */

/* A throat cleared, a sneeze, a sniff, a groan at a tight nut: breath and voice in any mixture that
 * swell and fade through a vocal tract, the pitch gliding. */
static void one_throat(struct noise_studio *studio, double *out, size_t frames, size_t at)
{
    struct biquad formant[3] = {biquad(PASS_BAND, between(studio, 300, 900), 4),
                                biquad(PASS_BAND, between(studio, 900, 2200), 5),
                                biquad(PASS_BAND, between(studio, 2200, 3500), 6)};
    double voice_hz = between(studio, 80, 300), voiced = between(studio, 0, 3);
    double glide = between(studio, -0.5, 0.5), peak = between(studio, 0.1, 0.8), phase = 0;
    size_t length = seconds(between(studio, 0.15, 0.9));
    for (size_t i = 0; i < length && at + i < frames; i++) {
        double part = (double)i / (double)length;
        double swell = part < peak ? part / peak : (1 - part) / (1 - peak);
        phase += voice_hz * (1 + glide * part) * (1 + 0.02 * normal(studio)) / RATE;
        double source = normal(studio) + voiced * (fmod(phase, 1) < 0.15 ? 3 : -0.5);
        source *= swell * swell;
        out[at + i] += 0.2 * source + filter(&formant[0], source) + filter(&formant[1], source) +
                       filter(&formant[2], source);
    }
}

static void throats(struct noise_studio *studio, double *out, size_t frames)
{
    for (double t = between(studio, 0.1, 1); t < (double)frames / RATE;
         t += between(studio, 2, 5)) {
        double at = t;
        for (int row = 1 + (int)(3 * uniform(studio)); row > 0; row--) {
            one_throat(studio, out, frames, seconds(at));
            at += between(studio, 0.25, 0.8);
        }
    }
}

/* A cough: an explosive burst of 50 ms, breath for 150 ms, and mostly a hoarse voice after it, all
 * through a vocal tract (formants 650, 1150, 2500 Hz); one to three in a row. */
static void one_cough(struct noise_studio *studio, double *out, size_t frames, size_t at)
{
    struct biquad formant[3] = {biquad(PASS_BAND, between(studio, 500, 800), 3),
                                biquad(PASS_BAND, between(studio, 1000, 1400), 4),
                                biquad(PASS_BAND, between(studio, 2200, 2900), 5)};
    double voice_hz = between(studio, 110, 280), voiced = between(studio, 0, 2);
    size_t length = seconds(between(studio, 0.25, 0.45));
    for (size_t i = 0; i < length && at + i < frames; i++) {
        double t = (double)i / RATE, breath = 3 * exp(-t / 0.03) + exp(-t / 0.12);
        double pulse = fmod(voice_hz * t * (1 - 0.4 * t), 1) < 0.15 ? 3 : -0.5;
        double hoarse = t > 0.12 ? voiced * pulse * exp(-(t - 0.12) / 0.08) : 0;
        double source = breath * normal(studio) + hoarse;
        out[at + i] += 0.2 * source + filter(&formant[0], source) + filter(&formant[1], source) +
                       filter(&formant[2], source);
    }
}

static void coughs(struct noise_studio *studio, double *out, size_t frames)
{
    for (double t = between(studio, 0.1, 1); t < (double)frames / RATE;
         t += between(studio, 2, 6)) {
        double at = t;
        for (int row = 1 + (int)(3 * uniform(studio)); row > 0; row--) {
            one_cough(studio, out, frames, seconds(at));
            at += between(studio, 0.35, 0.6);
        }
    }
}

/* One person talking on: whatever was recorded, in any order, each as loud as the next, with
 * pauses of `least` to `most` seconds. */
static void talk(struct noise_studio *studio, double *out, size_t frames, double least, double most)
{
    const struct noise_talkers *talkers = studio->talkers;
    bool first = true;
    for (size_t at = 0; at < frames; first = false) {
        const struct recording *said =
            &talkers->said[(size_t)(uniform(studio) * (double)talkers->count)];
        double level_db = level_active_db(said->pcm, said->frames, NULL);
        double gain = isfinite(level_db) ? pow(10, -level_db / 20) / 32768 : 0;
        size_t from = first ? (size_t)(uniform(studio) * (double)said->frames) : 0;
        for (; from < said->frames && at < frames; from++, at++)
            out[at] += gain * said->pcm[from];
        at += seconds(between(studio, least, most)) + 1;
    }
}

/* Six others talking at once. */
static void babble(struct noise_studio *studio, double *out, size_t frames)
{
    for (int talker = 0; talker < 6; talker++)
        talk(studio, out, frames, 0, 0.3);
}

/* Two others in conversation, near by. */
static void neighbours(struct noise_studio *studio, double *out, size_t frames)
{
    talk(studio, out, frames, 0.05, 0.4);
    talk(studio, out, frames, 0.5, 3);
}

/* One person talking on, right beside the microphone. */
static void speech(struct noise_studio *studio, double *out, size_t frames)
{
    talk(studio, out, frames, 0.3, 1.5);
}

/* A tune nobody wrote: four chords to a bar of two seconds, each a triad of eight harmonics, a
 * melody above, a drum on the beat and a hiss between. */
static void music(struct noise_studio *studio, double *out, size_t frames)
{
    static const int chords[4][3] = {{0, 4, 7}, {-3, 0, 4}, {-7, -3, 0}, {-5, -1, 2}};
    static const int scale[7] = {0, 2, 4, 5, 7, 9, 11};
    double beat_s = between(studio, 0.4, 0.65), key_hz = between(studio, 180, 300);
    int chord = 0;
    for (double t = 0; t < (double)frames / RATE; t += beat_s, chord++) {
        const int *triad = chords[(chord / 2) % 4];
        for (int note = 0; note < 3; note++)
            for (int h = 1; h <= 8; h++)
                ring(out, frames, seconds(t), key_hz * h * pow(2, triad[note] / 12.0), 0.5 / h,
                     0.3 / h);
        double sung = key_hz * pow(2, 1 + scale[(int)(7 * uniform(studio))] / 12.0);
        for (int h = 1; h <= 6 && sung * h < 7500; h++)
            ring(out, frames, seconds(t + (uniform(studio) < 0.3 ? beat_s / 2 : 0)), sung * h, 0.35,
                 0.5 / h);
        ring(out, frames, seconds(t), 60, 0.08, chord % 2 == 0 ? 1.5 : 0);
        burst(studio, out, frames, seconds(t), 0.03, chord % 2 == 0 ? 0.1 : 0.5);
        burst(studio, out, frames, seconds(t + beat_s / 2), 0.01, 0.25);
    }
}

/* A small radio in the corner: stretches of talk and of music, 200 Hz to 4 kHz. */
static void radio(struct noise_studio *studio, double *out, size_t frames)
{
    double *part = scratch(frames);
    bool talking = uniform(studio) < 0.6;
    for (size_t at = 0; part != NULL && at < frames; talking = !talking) {
        size_t length = seconds(between(studio, 4, 12));
        length = length < frames - at ? length : frames - at;
        if (talking)
            talk(studio, part + at, length, 0.05, 0.5);
        else
            music(studio, part + at, length);
        normalise(part + at, length, 1);
        at += length;
    }
    if (part != NULL) {
        for (int twice = 0; twice < 2; twice++) {
            filter_all(PASS_HIGH, 200, part, frames);
            filter_all(PASS_LOW, 4000, part, frames);
        }
        for (size_t i = 0; i < frames; i++)
            out[i] += part[i];
    }
    free(part);
}

/* ---- songs ---- */

/* A string plucked: Karplus and Strong (1983, "Digital synthesis of plucked-string and drum
 * timbres", Computer Music Journal 7), each turn round the line averaged. */
static void pluck(struct noise_studio *studio, double *out, size_t frames, size_t at, double hz,
                  double level)
{
    enum { LINE = 400 };
    double line[LINE], last = 0;
    size_t turn = (size_t)fmin(LINE, RATE / hz);
    for (size_t i = 0; i < turn; i++)
        line[i] = level * between(studio, -1, 1);
    for (size_t i = 0; at + i < frames && i < seconds(1.5); i++) {
        double now = line[i % turn];
        line[i % turn] = 0.498 * (now + last);
        last = now;
        out[at + i] += now;
    }
}

/* What goes on while a song lasts. */
struct song {
    double key_hz, beat_s, breath, vibrato;
    bool sung; /* the melody: a voice without words, or a reed */
    const int *scale;
};

static double step_hz(const struct song *song, int step)
{
    int octave = (step + 70) / 7 - 10;
    return song->key_hz * pow(2, octave + song->scale[(step + 70) % 7] / 12.0);
}

/* A note held: saw teeth with a vibrato of 4 to 7 a second, through a vowel's formants or a reed's
 * low pass. */
static void hold(struct noise_studio *studio, const struct song *song, double *out, size_t frames,
                 size_t at, double hz, double length_s, double level)
{
    struct biquad formant[3] = {biquad(PASS_BAND, between(studio, 300, 850), 6),
                                biquad(PASS_BAND, between(studio, 900, 2300), 8),
                                biquad(PASS_BAND, between(studio, 2400, 3400), 8)};
    struct biquad reed = biquad(PASS_LOW, between(studio, 900, 4000), 0.7071);
    double phase = uniform(studio), sway_hz = between(studio, 4, 7);
    double attack_s = between(studio, 0.01, 0.1), fade_s = between(studio, 0.03, 0.15);
    for (size_t i = 0; i < seconds(length_s) && at + i < frames; i++) {
        double t = (double)i / RATE, swell = fmin(1, fmin(t / attack_s, (length_s - t) / fade_s));
        phase += hz * (1 + song->vibrato * sin(TURN * sway_hz * t)) / RATE;
        double source = 2 * fmod(phase, 1) - 1 + song->breath * normal(studio);
        source *= level * swell;
        out[at + i] += song->sung ? filter(&formant[0], source) + filter(&formant[1], source) +
                                        0.5 * filter(&formant[2], source)
                                  : filter(&reed, source);
    }
}

static void drum(struct noise_studio *studio, double *out, size_t frames, size_t at, int beat)
{
    ring(out, frames, at, between(studio, 50, 90), 0.1, beat % 2 == 0 ? 1.5 : 0);
    burst(studio, out, frames, at, between(studio, 0.03, 0.1), beat % 2 == 0 ? 0.1 : 0.4);
}

/* A song nobody wrote: chords plucked, struck together or one after the other, a bass, a melody by
 * a voice without words or a reed, drums; each of them in some songs. */
static void song(struct noise_studio *studio, double *out, size_t frames)
{
    static const int scales[3][7] = {
        {0, 2, 4, 5, 7, 9, 11}, {0, 2, 3, 5, 7, 8, 10}, {0, 2, 3, 5, 7, 9, 10}};
    struct song song = {.key_hz = between(studio, 110, 260),
                        .beat_s = between(studio, 0.3, 0.8),
                        .breath = between(studio, 0, 0.3),
                        .vibrato = between(studio, 0, 0.02),
                        .sung = uniform(studio) < 0.6,
                        .scale = scales[(int)(3 * uniform(studio))]};
    double strum_s = between(studio, 0.005, song.beat_s / 3), chords = between(studio, 0, 1);
    double bass = between(studio, -0.5, 1), melody = between(studio, -0.5, 1);
    double drums = between(studio, -0.7, 0.7), rest_until = 0;
    int root = 0, step = 7, beat = 0;
    for (double t = between(studio, -0.5, 0); t < (double)frames / RATE; t += song.beat_s, beat++) {
        double now = fmax(t, 0);
        if (beat % 4 == 0)
            root = (int)(7 * uniform(studio)) - 3;
        for (int note = 0; note < 4; note++)
            pluck(studio, out, frames, seconds(now + note * strum_s),
                  step_hz(&song, root + 2 * note), chords);
        if (bass > 0 && beat % 2 == 0)
            pluck(studio, out, frames, seconds(now), step_hz(&song, root - 7), bass);
        if (drums > 0)
            drum(studio, out, frames, seconds(now), beat);
        while (melody > 0 && rest_until < t + song.beat_s) {
            double length_s = song.beat_s * between(studio, 0.3, 2);
            step += (int)(5 * uniform(studio)) - 2;
            step = step < 3 ? 5 : step > 14 ? 12 : step;
            hold(studio, &song, out, frames, seconds(fmax(rest_until, 0)), step_hz(&song, step),
                 length_s, melody);
            rest_until += length_s + (uniform(studio) < 0.2 ? song.beat_s : 0);
        }
    }
}

/* ---- the table ---- */

/* impacts, radio and what comes after clatter and throats are kept from the tuning, so that there
 * are noises it never heard; neighbours and song are kept from the report, being too like its radio
 * and its music. */
static const struct noise_kind kinds[] = {
    {"pink", "pink noise", true, true, true, false, pink},
    {"white", "white noise", true, true, true, false, white},
    {"babble", "six people talking", true, true, true, true, babble},
    {"neighbours", "two people in conversation", true, true, false, true, neighbours},
    {"compressor", "compressor: hum, whine, strokes of hiss", true, true, true, false, compressor},
    {"engine", "a twin idling", true, true, true, false, engine},
    {"impacts", "hammering", true, false, true, false, impacts},
    {"radio", "radio: talk and music", true, false, true, true, radio},
    {"clatter", "small parts on a steel bench", false, true, true, false, clatter},
    {"throats", "throats cleared, sneezes, groans", false, true, true, false, throats},
    {"song", "a song: strings, reed or voice, drums", false, true, false, false, song},
    {"speech", "one person talking on", false, false, true, true, speech},
    {"music", "music", false, false, true, false, music},
    {"coughs", "coughs", false, false, true, false, coughs},
    {"tools", "tools dropped", false, false, true, false, tools},
};

size_t noise_count(void)
{
    return sizeof kinds / sizeof kinds[0];
}

const struct noise_kind *noise_at(size_t index)
{
    return index < noise_count() ? &kinds[index] : NULL;
}

const struct noise_kind *noise_named(const char *name)
{
    for (size_t k = 0; k < noise_count(); k++)
        if (strcmp(kinds[k].name, name) == 0)
            return &kinds[k];
    return NULL;
}

bool noise_make(const struct noise_kind *kind, uint32_t seed, const struct noise_talkers *talkers,
                double *out, size_t frames)
{
    /* Knuth's multiplier spreads neighbouring seeds; xorshift must not start at 0. */
    struct noise_studio studio = {.random = seed * 2654435761u | 1u, .talkers = talkers};
    memset(out, 0, frames * sizeof *out);
    if (kind == NULL || (kind->people && (talkers == NULL || talkers->count == 0)))
        return false;
    for (int i = 0; i < 8; i++)
        uniform(&studio);
    kind->make(&studio, out, frames);
    normalise(out, frames, 1);
    return fabs(level_rms(out, frames) - 1) < 1e-6;
}

bool noise_put_under(struct recording *said, const char *name, uint32_t seed, double snr_db)
{
    double *noise = malloc((said->frames + 1) * sizeof *noise);
    bool put = noise != NULL && noise_make(noise_named(name), seed, NULL, noise, said->frames) &&
               level_mix(said, noise, snr_db);
    free(noise);
    return put;
}
