/*
 * What is read is what was recorded: amplitude and frequency of tones at every common rate, width
 * and number of channels, aliases kept out, and bad files refused with a sentence.
 *
 * The expected values are arithmetic: a sine of known amplitude and frequency must come back as
 * that sine at the same time, by a least-squares fit (IEEE Std 1057, three-parameter sine fit).
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>
#include <sndfile.h>

#include "audio/audio.h"
#include "audio/resample.h"
#include "folder.h"

static const double PI = 3.14159265358979323846;
enum { WANTED_HZ = 16000 };

struct recording {
    int rate_hz, channels, format;
    double seconds, tone_hz, amplitude;
};

static void record(const char *path, struct recording r)
{
    SF_INFO info = {.samplerate = r.rate_hz, .channels = r.channels, .format = r.format};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    size_t frames = (size_t)(r.seconds * r.rate_hz);
    double *pcm = calloc(frames * (size_t)r.channels + 1, sizeof *pcm);
    assert_non_null(pcm);
    for (size_t i = 0; i < frames; i++)
        for (size_t c = 0; c < (size_t)r.channels; c++)
            pcm[i * (size_t)r.channels + c] =
                r.amplitude * sin(2 * PI * r.tone_hz * (double)i / r.rate_hz);
    assert_int_equal(sf_writef_double(file, pcm, (sf_count_t)frames), frames);
    free(pcm);
    assert_int_equal(sf_close(file), 0);
}

/* In-phase and quadrature amplitude of the tone and what is left over, of full scale 1, in the
 * middle of the sound (its ends hold the filter's own ringing). */
struct fit {
    double sine, cosine, rest;
};

static struct fit fit_tone(const int16_t *pcm, size_t frames, double tone_hz)
{
    size_t from = frames / 8, to = frames - frames / 8;
    double ss = 0, cc = 0, sc = 0, xs = 0, xc = 0, xx = 0;
    for (size_t i = from; i < to; i++) {
        double angle = 2 * PI * tone_hz * (double)i / WANTED_HZ;
        double s = sin(angle), c = cos(angle), x = pcm[i] / 32768.0;
        ss += s * s, cc += c * c, sc += s * c, xs += x * s, xc += x * c, xx += x * x;
    }
    double det = ss * cc - sc * sc;
    struct fit fit = {(xs * cc - xc * sc) / det, (xc * ss - xs * sc) / det, 0};
    double explained = fit.sine * xs + fit.cosine * xc;
    fit.rest = sqrt(fmax(0, xx - explained) / (double)(to - from));
    return fit;
}

static double decibel(double ratio)
{
    return 20 * log10(fmax(ratio, 1e-9));
}

static const int rates_hz[] = {8000,  11025, 16000, 22050, 24000,  32000,
                               44100, 48000, 88200, 96000, 176400, 192000};

static void a_tone_keeps_its_amplitude_frequency_and_time_at_every_rate(void **state)
{
    static const double tones_hz[] = {200, 1000, 3000};
    const char *path = in_folder(state, "tone.wav");
    for (size_t r = 0; r < sizeof rates_hz / sizeof rates_hz[0]; r++) {
        for (size_t t = 0; t < sizeof tones_hz / sizeof tones_hz[0]; t++) {
            record(path, (struct recording){rates_hz[r], 1, SF_FORMAT_WAV | SF_FORMAT_PCM_24, 1.0,
                                            tones_hz[t], 0.5});
            int16_t *pcm;
            size_t frames;
            struct fault fault = {0};
            assert_true(audio_read_whole(path, WANTED_HZ, &pcm, &frames, &fault));
            assert_true(frames >= WANTED_HZ - 1 && frames <= WANTED_HZ + 1);
            struct fit fit = fit_tone(pcm, frames, tones_hz[t]);
            double level = decibel(hypot(fit.sine, fit.cosine) / 0.5);
            double delay_us = atan2(fit.cosine, fit.sine) / (2 * PI * tones_hz[t]) * 1e6;
            double rest = decibel(fit.rest * sqrt(2) / 0.5);
            print_message("%6d Hz, tone %4.0f Hz: level %+.4f dB, late %+.3f us, rest %.1f dB\n",
                          rates_hz[r], tones_hz[t], level, -delay_us, rest);
            assert_true(fabs(level) < 0.01);
            assert_true(fabs(delay_us) < 1.0);
            assert_true(rest < -85); /* 16 bit: -98 dB of full scale, the tone is at -6 */
            free(pcm);
        }
    }
}

/* What cannot be heard at 16 kHz must not come back as something else. Measured in floats, before
 * the last bit hides it. 9 kHz is the worst such tone that matters: its alias, 7 kHz, is the first
 * above the recogniser's filters (which end at 6.9 kHz). */
static void tones_above_half_the_rate_do_not_come_back_as_aliases(void **state)
{
    (void)state;
    static const double tones_hz[] = {9000, 10000, 12000, 15000, 20000, 40000, 80000};
    static float in[192000], out[20000];
    for (size_t r = 0; r < sizeof rates_hz / sizeof rates_hz[0]; r++) {
        for (size_t t = 0; t < sizeof tones_hz / sizeof tones_hz[0]; t++) {
            size_t used = (size_t)rates_hz[r], made = 20000;
            if (tones_hz[t] >= rates_hz[r] / 2.0 || rates_hz[r] <= WANTED_HZ)
                continue;
            for (size_t i = 0; i < used; i++)
                in[i] = (float)(0.5 * sin(2 * PI * tones_hz[t] * (double)i / rates_hz[r]));
            struct fault fault = {0};
            struct audio_resampler *resampler =
                audio_resampler_create(rates_hz[r], WANTED_HZ, &fault);
            assert_non_null(resampler);
            audio_resample(resampler, in, &used, out, &made);
            audio_resampler_destroy(resampler);
            assert_int_equal(used, rates_hz[r]);
            assert_in_range(made, WANTED_HZ * 9 / 10, WANTED_HZ);
            double power = 0;
            for (size_t i = made / 8; i < made - made / 8; i++)
                power += (double)out[i] * (double)out[i];
            double left = decibel(sqrt(2 * power / ((double)made * 0.75)) / 0.5);
            print_message("%6d Hz, tone %5.0f Hz: alias %.1f dB\n", rates_hz[r], tones_hz[t], left);
            assert_true(left < -90);
        }
    }
}

static void every_width_and_channel_count_reads_the_same_sound(void **state)
{
    /* What may be left over: at 16 bit, -98 dB of full scale under a tone at -12; at 8 bit -50 dB
     * of noise, and as much again because libsndfile truncates there (half a step of offset). */
    static const struct {
        int format;
        double rest_db;
    } widths[] = {
        {SF_FORMAT_WAV | SF_FORMAT_PCM_U8, -40},   {SF_FORMAT_WAV | SF_FORMAT_PCM_16, -80},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_24, -80},   {SF_FORMAT_WAV | SF_FORMAT_PCM_32, -80},
        {SF_FORMAT_WAV | SF_FORMAT_FLOAT, -80},    {SF_FORMAT_WAV | SF_FORMAT_DOUBLE, -80},
        {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, -80},  {SF_FORMAT_FLAC | SF_FORMAT_PCM_24, -80},
        {SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, -80}, {SF_FORMAT_AIFF | SF_FORMAT_PCM_16, -80},
    };
    const char *path = in_folder(state, "width");
    for (size_t w = 0; w < sizeof widths / sizeof widths[0]; w++) {
        for (int channels = 1; channels <= 6; channels += channels == 2 ? 4 : 1) {
            record(path, (struct recording){48000, channels, widths[w].format, 0.5, 700, 0.25});
            int16_t *pcm;
            size_t frames;
            struct fault fault = {0};
            assert_true(audio_read_whole(path, WANTED_HZ, &pcm, &frames, &fault));
            struct fit fit = fit_tone(pcm, frames, 700);
            double level = decibel(hypot(fit.sine, fit.cosine) / 0.25);
            double rest = decibel(fit.rest * sqrt(2) / 0.25);
            print_message("format %06x, %d channels: level %+.4f dB, rest %.1f dB\n",
                          (unsigned)widths[w].format, channels, level, rest);
            assert_true(fabs(level) < 0.07); /* libsndfile writes 8 bit as 127/128: -0.068 dB */
            assert_true(rest < widths[w].rest_db);
            free(pcm);
        }
    }
}

static void sixteen_bit_at_the_wanted_rate_is_untouched(void **state)
{
    const char *path = in_folder(state, "exact.wav");
    SF_INFO info = {
        .samplerate = WANTED_HZ, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    int16_t all[65536];
    for (int i = 0; i < 65536; i++)
        all[i] = (int16_t)(i - 32768);
    assert_int_equal(sf_writef_short(file, all, 65536), 65536);
    sf_close(file);
    int16_t *pcm;
    size_t frames;
    struct fault fault = {0};
    assert_true(audio_read_whole(path, WANTED_HZ, &pcm, &frames, &fault));
    assert_int_equal(frames, 65536);
    assert_memory_equal(pcm, all, sizeof all);
    free(pcm);
}

static void floats_beyond_full_scale_are_clipped_not_wrapped(void **state)
{
    const char *path = in_folder(state, "loud.wav");
    record(path, (struct recording){16000, 1, SF_FORMAT_WAV | SF_FORMAT_FLOAT, 0.25, 300, 4.0});
    int16_t *pcm;
    size_t frames;
    struct fault fault = {0};
    assert_true(audio_read_whole(path, WANTED_HZ, &pcm, &frames, &fault));
    for (size_t i = 0; i < frames; i++) {
        double wanted = 4.0 * sin(2 * PI * 300 * (double)i / WANTED_HZ);
        assert_true(fabs(fmax(-1, fmin(1, wanted)) - pcm[i] / 32768.0) < 1e-3);
    }
    free(pcm);
}

static void memory_and_file_read_alike_in_pieces_of_any_size(void **state)
{
    (void)state;
    int16_t tone[44100];
    for (int i = 0; i < 44100; i++)
        tone[i] = (int16_t)lrint(8000 * sin(2 * PI * 440 * i / 44100));
    struct audio_memory memory = {.pcm = tone, .frames = 44100, .rate_hz = 44100};
    static int16_t whole[20000], pieces[20000];
    const struct audio_source_driver *driver = audio_source_named("memory");
    assert_ptr_equal(driver, &audio_source_memory);
    void *source;
    struct fault fault = {0};
    assert_true(driver->open(audio_memory_where(&memory), WANTED_HZ, &source, &fault));
    assert_int_equal(driver->read(source, whole, 20000, &fault), 16000);
    assert_int_equal(driver->read(source, whole, 20000, &fault), 0);
    driver->close(source);
    assert_true(driver->open(audio_memory_where(&memory), WANTED_HZ, &source, &fault));
    size_t done = 0;
    for (size_t piece = 1;; piece = piece * 3 % 997 + 1) {
        long got = driver->read(source, pieces + done, piece, &fault);
        assert_true(got >= 0);
        if (got == 0)
            break;
        done += (size_t)got;
    }
    driver->close(source);
    assert_int_equal(done, 16000);
    /* again from the start: reading after the end overwrote whole[] with nothing */
    assert_memory_equal(whole, pieces, sizeof whole[0] * 16000);
}

static void write_bytes(const char *path, const void *bytes, size_t count)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, count, file), count);
    assert_int_equal(fclose(file), 0);
}

static void refused(const char *path, enum fault_code code, const char *says)
{
    int16_t *pcm;
    size_t frames;
    struct fault fault = {0};
    assert_false(audio_read_whole(path, WANTED_HZ, &pcm, &frames, &fault));
    print_message("%s\n", fault.sentence);
    assert_null(pcm);
    assert_int_equal(frames, 0);
    assert_int_equal(fault.code, code);
    assert_non_null(strstr(fault.sentence, says));
    assert_int_equal(fault.sentence[strlen(fault.sentence) - 1], '.');
}

static void bad_files_are_refused_with_a_sentence(void **state)
{
    static unsigned char bytes[44 + 3200];
    const char *path = in_folder(state, "bad.wav");
    refused(path, FAULT_MISSING, "is not there");
    refused(*state, FAULT_FAILED, "is a folder");
    refused("/dev/null", FAULT_FAILED, "not an ordinary file");
    write_bytes(path, "", 0);
    refused(path, FAULT_FAILED, "is empty");
    write_bytes(path, "This is a letter, not a recording.\n", 35);
    refused(path, FAULT_FAILED, "not a sound file");
    record(path, (struct recording){16000, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 0.1, 300, 0.5});
    FILE *file = fopen(path, "rb");
    assert_int_equal(fread(bytes, 1, sizeof bytes, file), sizeof bytes);
    fclose(file);
    for (size_t cut = 1; cut < 40; cut++) {
        write_bytes(path, bytes, cut);
        refused(path, FAULT_FAILED, path);
    }
    write_bytes(path, bytes, 44);
    refused(path, FAULT_FAILED, "holds no sound");
    record(path, (struct recording){16000, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 0, 300, 0.5});
    refused(path, FAULT_FAILED, "holds no sound");
    record(path, (struct recording){2000, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 0.1, 300, 0.5});
    refused(path, FAULT_FAILED, "2000 Hz");
    record(path, (struct recording){8000, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16,
                                    AUDIO_SECONDS_MAX + 1, 300, 0.5});
    refused(path, FAULT_FAILED, "longer than");
    unlink(path);
    assert_int_equal(mkfifo(path, 0600), 0);
    refused(path, FAULT_FAILED, "not an ordinary file");
    unlink(path);
}

static void samples_that_are_not_numbers_are_refused(void **state)
{
    static const float bad[] = {NAN, INFINITY, -INFINITY};
    const char *path = in_folder(state, "nan.wav");
    for (size_t b = 0; b < 3; b++) {
        SF_INFO info = {
            .samplerate = 48000, .channels = 2, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
        SNDFILE *file = sf_open(path, SFM_WRITE, &info);
        float pcm[20000] = {0};
        pcm[15001] = bad[b];
        assert_int_equal(sf_writef_float(file, pcm, 10000), 10000);
        sf_close(file);
        refused(path, FAULT_FAILED, "not numbers");
    }
}

/* A header may promise more than the file holds: a recorder that died. What is there is read. */
static void a_recording_cut_short_is_read_as_far_as_it_goes(void **state)
{
    static unsigned char bytes[44 + 32000];
    const char *path = in_folder(state, "cut.wav");
    record(path, (struct recording){16000, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1.0, 300, 0.5});
    FILE *file = fopen(path, "rb");
    assert_int_equal(fread(bytes, 1, sizeof bytes, file), sizeof bytes);
    fclose(file);
    write_bytes(path, bytes, 44 + 16000);
    int16_t *pcm;
    size_t frames;
    struct fault fault = {0};
    assert_true(audio_read_whole(path, WANTED_HZ, &pcm, &frames, &fault));
    assert_int_equal(frames, 8000);
    free(pcm);
}

static void drivers_are_found_by_name(void **state)
{
    (void)state;
    assert_ptr_equal(audio_source_named("wav"), &audio_source_wav);
    assert_null(audio_source_named("gramophone"));
    assert_ptr_equal(audio_sink_named("wav"), &audio_sink_wav);
    assert_ptr_equal(audio_sink_named("memory"), &audio_sink_memory);
    assert_ptr_equal(audio_sink_named("none"), &audio_sink_none);
    assert_null(audio_sink_named("gramophone"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tone_keeps_its_amplitude_frequency_and_time_at_every_rate),
        cmocka_unit_test(tones_above_half_the_rate_do_not_come_back_as_aliases),
        cmocka_unit_test(every_width_and_channel_count_reads_the_same_sound),
        cmocka_unit_test(sixteen_bit_at_the_wanted_rate_is_untouched),
        cmocka_unit_test(floats_beyond_full_scale_are_clipped_not_wrapped),
        cmocka_unit_test(memory_and_file_read_alike_in_pieces_of_any_size),
        cmocka_unit_test(bad_files_are_refused_with_a_sentence),
        cmocka_unit_test(samples_that_are_not_numbers_are_refused),
        cmocka_unit_test(a_recording_cut_short_is_read_as_far_as_it_goes),
        cmocka_unit_test(drivers_are_found_by_name),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
