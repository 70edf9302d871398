/* What is written can be read back sample for sample, and what cannot be written is said. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <sndfile.h>

#include "audio/audio.h"
#include "folder.h"

static void ramp(int16_t *pcm, size_t frames)
{
    for (size_t i = 0; i < frames; i++)
        pcm[i] = (int16_t)((int)(i * 37 % 65536) - 32768);
}

static void a_wav_comes_back_sample_for_sample(void **state)
{
    const char *path = in_folder(state, "out.wav");
    int16_t pcm[5000];
    ramp(pcm, 5000);
    void *sink;
    struct fault fault = {0};
    assert_true(audio_sink_wav.open(path, 22050, &sink, &fault));
    assert_true(audio_sink_wav.write(sink, pcm, 1234, &fault));
    assert_true(audio_sink_wav.write(sink, pcm, 0, &fault));
    assert_true(audio_sink_wav.write(sink, pcm + 1234, 5000 - 1234, &fault));
    assert_true(audio_sink_wav.close(sink, &fault));

    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    assert_non_null(file);
    assert_int_equal(info.samplerate, 22050);
    assert_int_equal(info.channels, 1);
    assert_int_equal(info.format & SF_FORMAT_SUBMASK, SF_FORMAT_PCM_16);
    int16_t back[5001];
    assert_int_equal(sf_readf_short(file, back, 5001), 5000);
    assert_memory_equal(back, pcm, sizeof pcm);
    sf_close(file);
}

static void a_sink_that_cannot_be_opened_says_so(void **state)
{
    void *sink = NULL;
    struct fault fault = {0};
    assert_false(audio_sink_wav.open(in_folder(state, "no/such/folder.wav"), 16000, &sink, &fault));
    assert_int_equal(fault.code, FAULT_FAILED);
    assert_non_null(strstr(fault.sentence, "cannot write"));
    assert_false(audio_sink_wav.open(*state, 16000, &sink, &fault));
}

/* /dev/full takes every open and fails every write for want of space: the kernel's own full disk.
 */
static void a_full_disk_is_reported(void **state)
{
    (void)state;
    void *sink;
    struct fault fault = {0};
    static int16_t pcm[100000];
    if (!audio_sink_wav.open("/dev/full", 16000, &sink, &fault)) {
        assert_int_equal(fault.code, FAULT_FAILED);
        return;
    }
    bool written = audio_sink_wav.write(sink, pcm, 100000, &fault);
    bool closed = audio_sink_wav.close(sink, &fault);
    assert_false(written && closed);
    print_message("%s\n", fault.sentence);
    assert_int_equal(fault.code, FAULT_FAILED);
}

static void memory_keeps_all_that_was_written(void **state)
{
    (void)state;
    int16_t pcm[3000];
    ramp(pcm, 3000);
    struct audio_memory memory = {0};
    void *sink;
    struct fault fault = {0};
    assert_true(audio_sink_memory.open(audio_memory_where(&memory), 16000, &sink, &fault));
    for (size_t i = 0; i < 3000; i += 100)
        assert_true(audio_sink_memory.write(sink, pcm + i, 100, &fault));
    assert_true(audio_sink_memory.close(sink, &fault));
    assert_int_equal(memory.rate_hz, 16000);
    assert_int_equal(memory.frames, 3000);
    assert_memory_equal(memory.pcm, pcm, sizeof pcm);
    free(memory.pcm);
}

static void silence_takes_anything(void **state)
{
    (void)state;
    int16_t pcm[10] = {0};
    void *sink;
    struct fault fault = {0};
    assert_true(audio_sink_none.open("", 16000, &sink, &fault));
    assert_true(audio_sink_none.write(sink, pcm, 10, &fault));
    assert_true(audio_sink_none.close(sink, &fault));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wav_comes_back_sample_for_sample),
        cmocka_unit_test(a_sink_that_cannot_be_opened_says_so),
        cmocka_unit_test(a_full_disk_is_reported),
        cmocka_unit_test(memory_keeps_all_that_was_written),
        cmocka_unit_test(silence_takes_anything),
    };
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
