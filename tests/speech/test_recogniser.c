/*
 * The recogniser as its callers meet it: the same sound always gets the same answer, noise is never
 * taken for a word, every grammar loads, and what is missing is said in a sentence.
 */
#include <dirent.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "language/language.h"
#include "level.h"
#include "recording.h"
#include "speech/recogniser.h"
#include "speech/verdict.h"
#include "voices.h"

static const struct speech_config config = {.grammar_dir = GRAMMARS,
                                            .same_meaning = language_same_meaning,
                                            .is_command = language_is_command};

static struct speech_recogniser *make_ear(void)
{
    struct fault fault = {0};
    struct speech_recogniser *ear = speech_recogniser_create(&config, &fault);
    if (ear == NULL)
        print_message("%s\n", fault.sentence);
    assert_non_null(ear);
    return ear;
}

static const struct {
    const char *grammar, *words;
} said[] = {
    {"distance", "five sixteenths of an inch"},
    {"yesno", "affirmative"},
    {"number", "two hundred and six"},
    {"distance", "ninety thou"},
    {"yesno", "no"},
    {"distance", "seven point nine millimetres"},
    {"turn", "one sixteenth of a turn clockwise"},
    {"caution", "the lock nut is tight"},
};
enum { SAID = sizeof said / sizeof said[0] };

static bool record_all(struct recording *recordings)
{
    for (size_t i = 0; i < SAID; i++)
        if (!voices_say("slt", said[i].words, &recordings[i]))
            return false;
    return true;
}

static void hear(struct speech_recogniser *ear, size_t i, const struct recording *recording,
                 struct speech_heard *heard)
{
    struct fault fault = {0};
    assert_true(
        speech_recognise(ear, said[i].grammar, recording->pcm, recording->frames, heard, &fault));
}

static void measure(struct speech_recogniser *ear, size_t i, const struct recording *recording,
                    struct speech_heard *heard, struct speech_signs *signs)
{
    struct fault fault = {0};
    assert_true(speech_measure(ear, said[i].grammar, recording->pcm, recording->frames, heard,
                               signs, &fault));
}

/* Bit for bit: nothing of an earlier utterance, nor of the order grammars were loaded in, may reach
 * a later one. */
static void the_same_sound_gets_the_same_answer_whatever_was_heard_before(void **state)
{
    (void)state;
    struct recording recordings[SAID];
    if (!record_all(recordings))
        skip();
    struct speech_heard first[SAID], again;
    for (size_t i = 0; i < SAID; i++) { /* each by an ear that has heard nothing yet */
        struct speech_recogniser *ear = make_ear();
        hear(ear, i, &recordings[i], &first[i]);
        speech_recogniser_destroy(ear);
        print_message("%s: %s \"%s\" %.3f\n", said[i].words, speech_verdict_name(first[i].verdict),
                      first[i].words, first[i].score);
        assert_string_equal(first[i].words, said[i].words);
        assert_int_not_equal(first[i].verdict, SPEECH_REJECTED);
    }
    struct speech_recogniser *ear = make_ear();
    for (size_t round = 0; round < 3; round++) {
        for (size_t k = 0; k < SAID; k++) {
            size_t i = round == 0 ? SAID - 1 - k : (k * 5 + round) % SAID;
            hear(ear, i, &recordings[i], &again);
            assert_string_equal(again.words, first[i].words);
            assert_string_equal(again.other, first[i].other);
            assert_memory_equal(&again.score, &first[i].score, sizeof again.score);
            assert_memory_equal(&again.margin, &first[i].margin, sizeof again.margin);
            assert_memory_equal(&again.talk, &first[i].talk, sizeof again.talk);
        }
    }
    speech_recogniser_destroy(ear);
    for (size_t i = 0; i < SAID; i++)
        recording_free(&recordings[i]);
}

/* Somebody else goes on talking, so many dB under the answer. */
static void put_talk_under(struct recording *answer, const struct recording *talk, double snr_db)
{
    double *under = malloc(answer->frames * sizeof *under);
    assert_non_null(under);
    for (size_t i = 0; i < answer->frames; i++)
        under[i] = talk->pcm[(talk->frames / 4 + i) % talk->frames];
    assert_true(level_mix(answer, under, snr_db));
    free(under);
}

/* The answers with room around them, and somebody else's talk; false where they cannot be said. */
static bool record_with_talk(struct recording *recordings, struct recording *talk)
{
    if (!record_all(recordings))
        return false;
    for (size_t i = 0; i < SAID; i++)
        assert_true(recording_pad(&recordings[i], 400));
    assert_true(voices_say("awb", "the customer called again about his invoice", talk));
    return true;
}

/* A radio behind the answer is somebody else's, and the answer stands; a voice as loud as it makes
 * it a part of something else. */
static void only_what_is_as_loud_is_a_part_of_what_was_said(void **state)
{
    (void)state;
    struct recording recordings[SAID], talk;
    if (!record_with_talk(recordings, &talk))
        skip();
    struct speech_recogniser *ear = make_ear();
    size_t behind = 0, beside = 0;
    for (size_t i = 0; i < SAID; i++) {
        struct recording as_loud;
        struct speech_heard heard;
        assert_true(recording_copy(&recordings[i], &as_loud));
        put_talk_under(&recordings[i], &talk, 25);
        hear(ear, i, &recordings[i], &heard);
        behind += heard.verdict == SPEECH_ACCEPTED && strcmp(heard.words, said[i].words) == 0;
        put_talk_under(&as_loud, &talk, 3);
        hear(ear, i, &as_loud, &heard);
        beside += heard.verdict == SPEECH_ACCEPTED;
        recording_free(&recordings[i]);
        recording_free(&as_loud);
    }
    print_message("of %d answers %zu believed over talk 25 dB under them, %zu over talk as loud\n",
                  (int)SAID, behind, beside);
    assert_true(behind > SAID / 2);
    assert_int_equal(beside, 0);
    recording_free(&talk);
    speech_recogniser_destroy(ear);
}

/* Somebody else begins where the answer ends. */
static void say_after(struct recording *answer, const struct recording *talk)
{
    int16_t *both = malloc((answer->frames + talk->frames) * sizeof *both);
    assert_non_null(both);
    memcpy(both, answer->pcm, answer->frames * sizeof *both);
    memcpy(both + answer->frames, talk->pcm, talk->frames * sizeof *both);
    free(answer->pcm);
    answer->pcm = both;
    answer->frames += talk->frames;
}

static void speech_besides_the_words_is_counted(void **state)
{
    (void)state;
    struct recording recordings[SAID], talk;
    if (!record_with_talk(recordings, &talk))
        skip();
    struct speech_recogniser *ear = make_ear();
    assert_true(level_set(&talk, -26));
    for (size_t i = 0; i < SAID; i++) {
        struct speech_heard heard;
        struct speech_signs alone, after;
        assert_true(level_set(&recordings[i], -26));
        measure(ear, i, &recordings[i], &heard, &alone);
        assert_string_equal(heard.words, said[i].words);
        say_after(&recordings[i], &talk);
        measure(ear, i, &recordings[i], &heard, &after);
        print_message("%s: %zu frames of speech besides it, %zu with talk after it (\"%s\")\n",
                      said[i].words, alone.besides, after.besides, heard.words);
        assert_int_equal(alone.besides, 0);
        assert_true(strcmp(heard.words, said[i].words) != 0 || after.besides > 50);
        assert_int_not_equal(heard.verdict, SPEECH_ACCEPTED);
        recording_free(&recordings[i]);
    }
    recording_free(&talk);
    speech_recogniser_destroy(ear);
}

/* Talk behind the answer fits the pauses better than silence does, and is no part of the answer.
 * How far the answer is above it is seen nevertheless, though between the talker's words it is
 * quiet. */
static void talk_behind_an_answer_is_noise_and_no_part_of_it(void **state)
{
    (void)state;
    struct recording recordings[SAID], talk;
    if (!record_with_talk(recordings, &talk))
        skip();
    struct speech_recogniser *ear = make_ear();
    size_t understood = 0, left_out = 0;
    for (size_t i = 0; i < SAID; i++) {
        struct speech_heard heard;
        struct speech_signs alone, over;
        measure(ear, i, &recordings[i], &heard, &alone);
        put_talk_under(&recordings[i], &talk, 20);
        measure(ear, i, &recordings[i], &heard, &over);
        print_message("%s: left out %.0f, over what is around %.0f dB (alone %.0f)\n", heard.words,
                      over.left_out, over.over_db, alone.over_db);
        assert_true(over.over_db < 25 && over.over_db < alone.over_db);
        if (strcmp(heard.words, said[i].words) == 0) {
            understood++;
            left_out += over.left_out > 30;
        }
        recording_free(&recordings[i]);
    }
    print_message("of %zu answers %zu with talk left out\n", understood, left_out);
    assert_true(understood > SAID / 2);
    assert_true(4 * left_out <= understood);
    recording_free(&talk);
    speech_recogniser_destroy(ear);
}

static uint32_t noise_state = 1;

static double noise(void)
{
    noise_state = noise_state * 1664525u + 1013904223u;
    return (double)(noise_state >> 8) / 8388608.0 - 1;
}

enum sound { ZEROS, HISS, COUGH, KNOCKS, HUM, WHISTLE, FULL_SCALE, ONE_CLICK, SOUNDS };

/* A second and a half of what a shop has instead of words. */
static double sample_of(enum sound sound, double t)
{
    double cough = fmod(t, 0.6);
    switch (sound) {
    case HISS:
        return 0.05 * noise();
    case COUGH: /* a burst of broad noise with a rough voice under it, twice */
        return t > 0.2 && cough < 0.25
                   ? 0.5 * exp(-cough * 9) * (noise() + 0.6 * sin(700 * t + 3 * sin(230 * t)))
                   : 0.001 * noise();
    case KNOCKS: /* a hammer: rings at 2.3 kHz, dies in 30 ms */
        return 0.8 * exp(-fmod(t, 0.3) * 60) * sin(14451 * t) + 0.001 * noise();
    case HUM:
        return 0.2 * sin(314.16 * t) + 0.1 * sin(942.5 * t) + 0.01 * noise();
    case WHISTLE:
        return 0.3 * sin(9000 * t + 5 * sin(12 * t));
    case FULL_SCALE:
        return noise() > 0 ? 1 : -1;
    case ONE_CLICK:
        return t >= 0.5 && t < 0.5001 ? 1 : 0;
    default:
        return 0;
    }
}

static void noises_are_never_taken_for_words(void **state)
{
    (void)state;
    static const char *const grammars[] = {"yesno", "command", "number", "distance", "caution"};
    enum { FRAMES = 24000 };
    static int16_t pcm[FRAMES];
    struct speech_recogniser *ear = make_ear();
    for (int sound = 0; sound < SOUNDS; sound++) {
        for (int i = 0; i < FRAMES; i++)
            pcm[i] = (int16_t)lrint(32767 *
                                    fmax(-1, fmin(1, sample_of((enum sound)sound, i / 16000.0))));
        for (size_t g = 0; g < 5; g++) {
            struct speech_heard heard;
            struct fault fault = {0};
            assert_true(speech_recognise(ear, grammars[g], pcm, FRAMES, &heard, &fault));
            print_message("noise %d, %s: %s \"%s\" %.3f\n", sound, grammars[g],
                          speech_verdict_name(heard.verdict), heard.words, heard.score);
            assert_int_not_equal(heard.verdict, SPEECH_ACCEPTED);
        }
    }
    speech_recogniser_destroy(ear);
}

static void sounds_of_any_length_are_survived(void **state)
{
    (void)state;
    static int16_t pcm[40000];
    static const size_t lengths[] = {0, 1, 159, 160, 161, 409, 410, 1600, 40000};
    struct speech_recogniser *ear = make_ear();
    for (size_t l = 0; l < sizeof lengths / sizeof lengths[0]; l++) {
        for (size_t i = 0; i < lengths[l]; i++)
            pcm[i] = (int16_t)(noise() * 20000);
        struct speech_heard heard;
        struct fault fault = {0};
        assert_true(speech_recognise(ear, "yesno", pcm, lengths[l], &heard, &fault));
        assert_int_not_equal(heard.verdict, SPEECH_ACCEPTED);
    }
    speech_recogniser_destroy(ear);
}

static void every_grammar_loads_and_knows_its_words(void **state)
{
    (void)state;
    struct speech_recogniser *ear = make_ear();
    static const int16_t nothing[16000];
    for (size_t g = 0; g < language_grammar_count(); g++) {
        struct speech_heard heard;
        struct fault fault = {0};
        bool heard_it =
            speech_recognise(ear, language_grammar_name(g), nothing, 16000, &heard, &fault);
        if (!heard_it)
            print_message("%s: %s\n", language_grammar_name(g), fault.sentence);
        assert_true(heard_it);
        assert_int_equal(heard.verdict, SPEECH_REJECTED);
    }
    speech_recogniser_destroy(ear);
}

static void unknown_grammars_are_refused(void **state)
{
    (void)state;
    static const char *const names[] = {"opera",    "",    "../grammars/yesno", "_phones",
                                        "_compare", "a/b", "yesno.gram"};
    struct speech_recogniser *ear = make_ear();
    static const int16_t nothing[1600];
    for (size_t n = 0; n < sizeof names / sizeof names[0]; n++) {
        struct speech_heard heard;
        struct fault fault = {0};
        assert_false(speech_recognise(ear, names[n], nothing, 1600, &heard, &fault));
        assert_int_equal(fault.code, FAULT_USAGE);
        assert_non_null(strstr(fault.sentence, "no grammar"));
    }
    speech_recogniser_destroy(ear);
}

static void refused(struct speech_config wrong, const char *says)
{
    struct fault fault = {0};
    assert_null(speech_recogniser_create(&wrong, &fault));
    print_message("%s\n", fault.sentence);
    assert_int_equal(fault.code, FAULT_MISSING);
    assert_non_null(strstr(fault.sentence, says));
}

static void what_is_missing_is_said(void **state)
{
    (void)state;
    refused((struct speech_config){.grammar_dir = "no-such-folder"}, "no-such-folder");
    refused((struct speech_config){.grammar_dir = GRAMMARS, .model_dir = "no-model"}, "no-model");
    refused((struct speech_config){.grammar_dir = GRAMMARS, .model_dir = GRAMMARS},
            "acoustic model");
    refused((struct speech_config){.grammar_dir = GRAMMARS, .dictionary = "no-dict"}, "no-dict");
    refused((struct speech_config){.grammar_dir = GRAMMARS, .talk_model = "no-lm"}, "no-lm");
    refused((struct speech_config){.grammar_dir = GRAMMARS, .talk_model = GRAMMARS "/shop.dict"},
            "common words");
}

static void a_word_nobody_can_pronounce_is_named(void **state)
{
    (void)state;
    char folder[] = "midthrow-grammar-XXXXXX", path[64];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/odd.gram", folder);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs("#JSGF V1.0;\ngrammar odd;\npublic <odd> = yes | xyzzyplugh;\n", file);
    fclose(file);
    char dictionary[64];
    snprintf(dictionary, sizeof dictionary, "%s/shop.dict", folder);
    assert_int_equal(symlink(GRAMMARS "/shop.dict", dictionary), 0);
    struct speech_config odd = {.grammar_dir = folder, .talk_model = GRAMMARS "/talk.lm"};
    struct fault fault = {0};
    struct speech_recogniser *ear = speech_recogniser_create(&odd, &fault);
    assert_non_null(ear);
    static const int16_t nothing[1600];
    struct speech_heard heard;
    assert_false(speech_recognise(ear, "odd", nothing, 1600, &heard, &fault));
    assert_non_null(strstr(fault.sentence, "xyzzyplugh"));
    speech_recogniser_destroy(ear);
    unlink(dictionary);
    unlink(path);
    rmdir(folder);
}

static void the_library_keeps_off_the_terminal(void **state)
{
    (void)state;
    char path[] = "midthrow-stderr-XXXXXX";
    int file = mkstemp(path), kept = dup(STDERR_FILENO);
    assert_true(file >= 0 && kept >= 0);
    fflush(stderr);
    dup2(file, STDERR_FILENO);
    struct speech_recogniser *ear = make_ear();
    static int16_t pcm[16000];
    for (int i = 0; i < 16000; i++)
        pcm[i] = (int16_t)(noise() * 9000);
    struct speech_heard heard;
    struct fault fault = {0};
    bool done = speech_recognise(ear, "distance", pcm, 16000, &heard, &fault);
    speech_recogniser_destroy(ear);
    fflush(stderr);
    dup2(kept, STDERR_FILENO);
    close(kept);
    struct stat status;
    assert_int_equal(fstat(file, &status), 0);
    close(file);
    unlink(path);
    assert_true(done);
    assert_int_equal(status.st_size, 0);
}

static void starting_takes_little_time_and_memory(void **state)
{
    (void)state;
    struct timespec before, after;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &before);
    struct speech_recogniser *ear = make_ear();
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &after);
    speech_recogniser_destroy(ear);
    double ms = (double)(after.tv_sec - before.tv_sec) * 1e3 +
                (double)(after.tv_nsec - before.tv_nsec) / 1e6;
    struct rusage use;
    getrusage(RUSAGE_SELF, &use);
    print_message("%.0f ms of processor time to start; at most %ld MB in all\n", ms,
                  use.ru_maxrss / 1024);
    assert_true(ms < 1000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(starting_takes_little_time_and_memory),
        cmocka_unit_test(the_same_sound_gets_the_same_answer_whatever_was_heard_before),
        cmocka_unit_test(only_what_is_as_loud_is_a_part_of_what_was_said),
        cmocka_unit_test(speech_besides_the_words_is_counted),
        cmocka_unit_test(talk_behind_an_answer_is_noise_and_no_part_of_it),
        cmocka_unit_test(noises_are_never_taken_for_words),
        cmocka_unit_test(sounds_of_any_length_are_survived),
        cmocka_unit_test(every_grammar_loads_and_knows_its_words),
        cmocka_unit_test(unknown_grammars_are_refused),
        cmocka_unit_test(what_is_missing_is_said),
        cmocka_unit_test(a_word_nobody_can_pronounce_is_named),
        cmocka_unit_test(the_library_keeps_off_the_terminal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
