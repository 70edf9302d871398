/*
 * The acoustic model at work gives the library's own scores (PocketSphinx logs them if told where:
 * -senlogdir), to within the library's rounding, joins a network's to them, and refuses what is no
 * model.
 */
#include <glob.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include <pocketsphinx.h>
#include <sphinxbase/err.h>

#include "speech/acoustic.h"

enum { FRAMES = 120, ROW = 16384 };

/* Half a second of something like vowels, half of something like a hiss: cepstra about their mean.
 */
static void make_cepstra(float cepstra[FRAMES][SPEECH_CEPSTRA])
{
    uint32_t state = 7;
    for (int f = 0; f < FRAMES; f++)
        for (int c = 0; c < SPEECH_CEPSTRA; c++) {
            state = state * 1664525u + 1013904223u;
            double noise = (double)(state >> 8) / 16777216.0 - 0.5;
            cepstra[f][c] = (float)(12.0 / (c + 1) * sin(0.1 * f * (1 + c % 3)) + 4 * noise);
        }
}

/* The frames of a table or of the library's log, after its head. */
static const int16_t *frames_of(const char *table, size_t size)
{
    static const char END[] = "endhdr\n";
    for (size_t i = 0; i + sizeof END + 4 < size; i++)
        if (memcmp(table + i, END, sizeof END - 1) == 0)
            return (const int16_t *)(const void *)(table + i + sizeof END - 1 + 4);
    return NULL;
}

static char *read_log(const char *folder, size_t *size)
{
    char pattern[64];
    glob_t found;
    snprintf(pattern, sizeof pattern, "%s/*.sen", folder);
    assert_int_equal(glob(pattern, 0, NULL, &found), 0);
    FILE *file = fopen(found.gl_pathv[0], "rb");
    assert_non_null(file);
    char *log = malloc(1 << 22);
    assert_non_null(log);
    *size = fread(log, 1, 1 << 22, file);
    fclose(file);
    unlink(found.gl_pathv[0]);
    globfree(&found);
    return log;
}

/* As PocketSphinx scores the cepstra: all senones, four Gaussians of each stream. */
static char *library_scores(float cepstra[FRAMES][SPEECH_CEPSTRA], size_t *size)
{
    char folder[] = "midthrow-senones-XXXXXX";
    assert_non_null(mkdtemp(folder));
    err_set_logfp(NULL);
    cmd_ln_t *options = cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", MODEL_DIR "/en-us", "-dict",
                                    "/dev/null", "-compallsen", "yes", "-topn", "4", "-allphone_ci",
                                    "yes", "-senlogdir", folder, NULL);
    ps_decoder_t *decoder = ps_init(options);
    assert_non_null(decoder);
    ps_get_feat(decoder)->cmn = CMN_NONE;
    assert_int_equal(ps_set_allphone_file(decoder, "loop", MODEL_DIR "/en-us-phone.lm.bin"), 0);
    assert_int_equal(ps_set_search(decoder, "loop"), 0);
    mfcc_t *row[FRAMES];
    for (int f = 0; f < FRAMES; f++)
        row[f] = cepstra[f];
    assert_int_equal(ps_start_utt(decoder), 0);
    assert_true(ps_process_cep(decoder, row, FRAMES, FALSE, TRUE) >= 0);
    assert_int_equal(ps_end_utt(decoder), 0);
    ps_free(decoder);
    cmd_ln_free_r(options);
    char *log = read_log(folder, size);
    rmdir(folder);
    return log;
}

static void the_scores_are_the_librarys(void **state)
{
    (void)state;
    static float cepstra[FRAMES][SPEECH_CEPSTRA];
    struct fault fault = {0};
    struct speech_scores scores;
    size_t size;
    make_cepstra(cepstra);
    struct speech_acoustic *model = speech_acoustic_open(MODEL_DIR "/en-us", &fault);
    assert_non_null(model);
    assert_true(
        speech_acoustic_score(model, (const float(*)[SPEECH_CEPSTRA])cepstra, FRAMES, &scores));
    char *log = library_scores(cepstra, &size);
    const int16_t *ours = frames_of(scores.table, scores.size), *theirs = frames_of(log, size);
    assert_non_null(ours);
    assert_non_null(theirs);
    size_t senones = (size_t)ours[0];
    assert_in_range(senones, 1000, ROW);
    double sum = 0, apart = 0, far = 0;
    for (size_t f = 0; f < FRAMES; f++) {
        int16_t our[ROW], their[ROW];
        memcpy(our, (const char *)ours + f * (senones + 1) * 2, (senones + 1) * 2);
        memcpy(their, (const char *)theirs + f * (senones + 1) * 2, (senones + 1) * 2);
        assert_int_equal(their[0], our[0]);
        for (size_t s = 1; s <= senones; s++) {
            double difference = abs(our[s] - their[s]);
            apart += difference;
            sum += their[s];
            far += difference > 4;
        }
    }
    double count = (double)(senones * FRAMES);
    print_message("steps apart: %.2f on average, of scores of %.0f; over 4: %.2f %%\n",
                  apart / count, sum / count, 100 * far / count);
    assert_true(apart / count < 1.5);
    assert_true(far / count < 0.01); /* the library forgets a Gaussian now and then */
    free(log);
    speech_scores_finish(&scores);
    speech_acoustic_close(model);
}

static int16_t score_at(const struct speech_scores *scores, size_t f, size_t senone)
{
    int16_t score;
    const char *rows = (const char *)frames_of(scores->table, scores->size);
    size_t row = (scores->size - scores->head) / scores->frames;
    memcpy(&score, rows + f * row + (1 + senone) * sizeof score, sizeof score);
    return score;
}

/* The model's first senones are the phones' without context, three each: no phone fits worse than
 * they do, and one phone fits best. */
static void a_phone_fits_as_its_best_senone(void **state)
{
    (void)state;
    static float cepstra[FRAMES][SPEECH_CEPSTRA], fit[FRAMES][PHONETIC_PHONES];
    struct fault fault = {0};
    struct speech_scores scores;
    make_cepstra(cepstra);
    struct speech_acoustic *model = speech_acoustic_open(MODEL_DIR "/en-us", &fault);
    assert_non_null(model);
    assert_true(
        speech_acoustic_score(model, (const float(*)[SPEECH_CEPSTRA])cepstra, FRAMES, &scores));
    speech_acoustic_fit(model, &scores, fit);
    for (size_t f = 0; f < FRAMES; f++) {
        float best = HUGE_VALF;
        for (size_t p = 0; p < PHONETIC_PHONES; p++) {
            for (size_t s = 0; s < PHONETIC_STATES; s++)
                assert_true((double)fit[f][p] <=
                            score_at(&scores, f, PHONETIC_STATES * p + s) * SPEECH_NATS + 1e-3);
            best = fminf(best, fit[f][p]);
        }
        assert_true(best == 0);
    }
    speech_scores_finish(&scores);
    speech_acoustic_close(model);
}

/* A network that holds one sound for e^3 times likelier than any other: differences between other
 * sounds stay what they are, times one exponent, and that sound gains as much in every frame, more
 * in noise than in quiet. */
static void the_network_favours_its_sound(void **state)
{
    (void)state;
    enum { SOUND = 3 * 20, OTHER = 3 * 10, THIRD = 3 * 5 };
    static float cepstra[FRAMES][SPEECH_CEPSTRA], sounds[FRAMES][PHONETIC_SOUNDS];
    static const float hushed[FRAMES];
    struct fault fault = {0};
    double gain[4] = {0}; /* in quiet, in noise; the same of a known person */
    make_cepstra(cepstra);
    for (size_t f = 0; f < FRAMES; f++)
        sounds[f][SOUND] = 3;
    struct speech_acoustic *model = speech_acoustic_open(MODEL_DIR "/en-us", &fault);
    assert_non_null(model);
    for (int how = 0; how < 4; how++) {
        struct speech_scores alone, both;
        double kept = 0, apart = 0;
        assert_true(
            speech_acoustic_score(model, (const float(*)[SPEECH_CEPSTRA])cepstra, FRAMES, &alone));
        assert_true(
            speech_acoustic_score(model, (const float(*)[SPEECH_CEPSTRA])cepstra, FRAMES, &both));
        assert_true(speech_acoustic_join(model, (const float(*)[PHONETIC_SOUNDS])sounds, hushed,
                                         how % 2 == 1, how >= 2, &both));
        for (size_t f = 0; f < FRAMES; f++) {
            kept += abs(score_at(&both, f, OTHER) - score_at(&both, f, THIRD));
            apart += abs(score_at(&alone, f, OTHER) - score_at(&alone, f, THIRD));
        }
        double exponent = kept / apart;
        assert_true(exponent > 0.2 && exponent < 1);
        for (size_t f = 0; f < FRAMES; f++) {
            double now = score_at(&both, f, OTHER) - score_at(&both, f, SOUND);
            double before = score_at(&alone, f, OTHER) - score_at(&alone, f, SOUND);
            double gained = (now - exponent * before) * SPEECH_NATS;
            gain[how] += gained / FRAMES;
            assert_true(gained > 0.5 && gained < 3.2);
        }
        speech_scores_finish(&alone);
        speech_scores_finish(&both);
    }
    print_message("of three nats %.2f in quiet, %.2f in noise; of a known person %.2f, %.2f\n",
                  gain[0], gain[1], gain[2], gain[3]);
    assert_true(gain[1] > gain[0] && gain[3] > gain[2]);
    assert_true(gain[2] > gain[0] && gain[3] > gain[1]);
    speech_acoustic_close(model);
}

/* Five nats against speech: every sound of it loses them to silence, and nothing to another. */
static void a_hushed_frame_favours_silence(void **state)
{
    (void)state;
    enum { SPEECH = 3 * 20, OTHER = 3 * 10, SILENCE = 3 * PHONETIC_SILENCE };
    static float cepstra[FRAMES][SPEECH_CEPSTRA], hushed[2][FRAMES];
    static const float sounds[FRAMES][PHONETIC_SOUNDS];
    static const double NATS = 5;
    struct fault fault = {0};
    struct speech_scores scores[2];
    make_cepstra(cepstra);
    for (size_t f = 0; f < FRAMES; f++)
        hushed[1][f] = (float)NATS;
    struct speech_acoustic *model = speech_acoustic_open(MODEL_DIR "/en-us", &fault);
    assert_non_null(model);
    for (size_t i = 0; i < 2; i++)
        assert_true(speech_acoustic_score(model, (const float(*)[SPEECH_CEPSTRA])cepstra, FRAMES,
                                          &scores[i]) &&
                    speech_acoustic_join(model, sounds, hushed[i], false, false, &scores[i]));
    for (size_t f = 0; f < FRAMES; f++) {
        double to_silence[2], to_other[2];
        for (size_t i = 0; i < 2; i++) {
            to_silence[i] = score_at(&scores[i], f, SPEECH) - score_at(&scores[i], f, SILENCE);
            to_other[i] = score_at(&scores[i], f, SPEECH) - score_at(&scores[i], f, OTHER);
        }
        assert_true(fabs((to_silence[1] - to_silence[0]) * SPEECH_NATS - NATS) < 2 * SPEECH_NATS);
        assert_true(fabs(to_other[1] - to_other[0]) <= 2);
    }
    for (size_t i = 0; i < 2; i++)
        speech_scores_finish(&scores[i]);
    speech_acoustic_close(model);
}

static void what_is_no_model_is_refused(void **state)
{
    (void)state;
    static const char *const folders[] = {"no-such-folder", GRAMMARS, MODEL_DIR};
    for (size_t f = 0; f < 3; f++) {
        struct fault fault = {0};
        assert_null(speech_acoustic_open(folders[f], &fault));
        assert_int_equal(fault.code, FAULT_MISSING);
        assert_non_null(strstr(fault.sentence, folders[f]));
    }
}

/* Every length at which one of the four files can break off. */
static void a_model_cut_short_is_refused(void **state)
{
    (void)state;
    static const char *const names[] = {"mdef", "means", "variances", "sendump"};
    char folder[] = "midthrow-model-XXXXXX", path[128], from[512];
    assert_non_null(mkdtemp(folder));
    for (size_t cut = 0; cut < 4; cut++)
        for (long keep = 0; keep < 600000; keep = keep * 4 + 40) {
            for (size_t n = 0; n < 4; n++) {
                snprintf(from, sizeof from, "%s/en-us/%s", MODEL_DIR, names[n]);
                snprintf(path, sizeof path, "%s/%s", folder, names[n]);
                unlink(path);
                if (n != cut) {
                    assert_int_equal(symlink(from, path), 0);
                    continue;
                }
                FILE *whole = fopen(from, "rb"), *part = fopen(path, "wb");
                assert_true(whole != NULL && part != NULL);
                for (long i = 0; i < keep; i++)
                    fputc(fgetc(whole), part);
                fclose(whole);
                fclose(part);
            }
            struct fault fault = {0};
            assert_null(speech_acoustic_open(folder, &fault));
        }
    for (size_t n = 0; n < 4; n++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[n]);
        unlink(path);
    }
    rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_scores_are_the_librarys),
        cmocka_unit_test(a_phone_fits_as_its_best_senone),
        cmocka_unit_test(the_network_favours_its_sound),
        cmocka_unit_test(a_hushed_frame_favours_silence),
        cmocka_unit_test(what_is_no_model_is_refused),
        cmocka_unit_test(a_model_cut_short_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
