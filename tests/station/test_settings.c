/* What a station remembers: the voice within its bounds, kept whole for its owner alone, refused
 * with a sentence when somebody wrote nonsense; and which beep answers what. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "station/beep.h"
#include "station/settings.h"

enum { PATH = 512 };
static char data[PATH], path[PATH + 16];

static int remove_entry(const char *name, const struct stat *status, int kind, struct FTW *ftw)
{
    (void)status;
    (void)kind;
    (void)ftw;
    return remove(name);
}

static int set_up(void **state)
{
    (void)state;
    const char *where = getenv("TMPDIR");
    snprintf(data, sizeof data, "%s/midthrow-settings-XXXXXX", where != NULL ? where : "/tmp");
    assert_non_null(mkdtemp(data));
    snprintf(path, sizeof path, "%s/settings.ini", data);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    return nftw(data, remove_entry, 8, FTW_DEPTH | FTW_PHYS);
}

static void write_file(const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static struct station_settings loaded(void)
{
    struct station_settings settings;
    struct fault fault = {0};
    station_settings_init(&settings);
    if (!station_settings_load(data, &settings, &fault))
        fail_msg("%s", fault.sentence);
    return settings;
}

static void without_a_file_everything_is_as_usual(void **state)
{
    (void)state;
    struct station_settings settings = loaded();
    assert_int_equal(station_settings_words_per_minute(&settings), 165);
    assert_true(station_settings_loudness_db(&settings) == 0);
    assert_true(settings.beeps);
    assert_int_equal(settings.colours, SCREEN_BY_ITSELF);
}

static void what_is_kept_comes_back(void **state)
{
    (void)state;
    struct station_settings settings = {
        .loudness = 2, .speed = 7, .beeps = false, .colours = SCREEN_LIGHT};
    assert_true(station_settings_save(data, &settings, NULL));
    struct station_settings again = loaded();
    assert_int_equal(again.loudness, 2);
    assert_int_equal(again.speed, 7);
    assert_false(again.beeps);
    assert_int_equal(again.colours, SCREEN_LIGHT);
}

static void it_is_its_owners_alone_and_nothing_is_left_beside_it(void **state)
{
    (void)state;
    struct station_settings settings;
    struct stat status;
    char beside[PATH + 32];
    mode_t before = umask(0);
    station_settings_init(&settings);
    assert_true(station_settings_save(data, &settings, NULL));
    assert_true(station_settings_save(data, &settings, NULL));
    umask(before);
    assert_int_equal(stat(path, &status), 0);
    assert_int_equal(status.st_mode & 07777, 0600);
    snprintf(beside, sizeof beside, "%s.new", path);
    assert_int_not_equal(access(beside, F_OK), 0);
}

static void the_voice_stays_within_its_bounds(void **state)
{
    (void)state;
    struct station_settings settings;
    station_settings_init(&settings);
    int louder = 0, slower = 0;
    while (station_settings_change(&settings, JOB_LOUDER))
        louder++;
    assert_true(station_settings_loudness_db(&settings) <= 3);
    while (station_settings_change(&settings, JOB_QUIETER))
        ;
    assert_true(station_settings_loudness_db(&settings) >= -15);
    while (station_settings_change(&settings, JOB_SLOWER))
        slower++;
    assert_in_range(station_settings_words_per_minute(&settings), 80, 120);
    while (station_settings_change(&settings, JOB_FASTER))
        ;
    assert_in_range(station_settings_words_per_minute(&settings), 200, 260);
    assert_true(louder >= 1 && slower >= 2);
    assert_int_equal(settings.loudness, 1);
    assert_int_equal(settings.speed, STATION_VOICE_STEPS);
}

static void nonsense_is_refused_with_its_line(void **state)
{
    (void)state;
    static const char *const nonsense[] = {
        "[voice]\nloudness = 0\n",
        "[voice]\nloudness = 8\n",
        "[voice]\nspeed = fast\n",
        "[voice]\nspeed = 55\n",
        "[voice]\nspeed = -1\n",
        "[sound]\nbeeps = perhaps\n",
        "[screen]\ncolours = octarine\n",
        "[voice]\npitch = 3\n",
        "loudness = 3\n",
        "[voice]\nloudness =\n",
        "[voice]\nloudness = 3\n    4\n",
        "[voice\nloudness = 3\n",
    };
    for (size_t i = 0; i < sizeof nonsense / sizeof nonsense[0]; i++) {
        struct station_settings settings;
        struct fault fault = {0};
        station_settings_init(&settings);
        write_file(nonsense[i]);
        if (station_settings_load(data, &settings, &fault))
            fail_msg("believed: %s", nonsense[i]);
        assert_int_equal(fault.code, FAULT_FAILED);
        assert_non_null(strstr(fault.sentence, "settings.ini"));
        assert_int_equal(settings.loudness, 6); /* as it was */
    }
}

static void a_full_or_missing_disk_is_said(void **state)
{
    (void)state;
    struct station_settings settings;
    struct fault fault = {0};
    station_settings_init(&settings);
    assert_false(station_settings_save("/nowhere/at/all", &settings, &fault));
    assert_true(fault.sentence[0] != '\0');
}

/* ---- beeps -------------------------------------------------------------------------------- */

static bool beep_of(struct job *job, const char *words, enum job_source source,
                    enum job_verdict verdict, enum audio_tone *tone)
{
    static struct job before;
    static struct job_effects effects;
    static struct job_event event;
    memset(&event, 0, sizeof event);
    event.kind = JOB_HEARD;
    event.at_ms = job->now_ms + 1000;
    event.source = source;
    event.verdict = verdict;
    snprintf(event.words, sizeof event.words, "%s", words);
    before = *job;
    job_step(job, &event, &effects);
    return station_beep_for(&before, job, &event, tone);
}

static void each_answer_has_its_beep(void **state)
{
    (void)state;
    static struct job job;
    static struct job_effects effects;
    static struct job_event opened = {.kind = JOB_OPENED, .at_ms = 1000, .walk = JOB_WALK};
    enum audio_tone tone;
    job_init(&job);
    job_step(&job, &opened, &effects);
    assert_true(beep_of(&job, "where are we", JOB_BY_EAR, JOB_ACCEPTED, &tone));
    assert_int_equal(tone, AUDIO_TONE_HEARD);
    assert_true(beep_of(&job, "", JOB_BY_EAR, JOB_REJECTED, &tone));
    assert_int_equal(tone, AUDIO_TONE_ASKED_AGAIN);
    assert_true(beep_of(&job, "?", JOB_BY_PAD, JOB_ACCEPTED, &tone));
    assert_int_equal(tone, AUDIO_TONE_WRONG_KEY);
    assert_true(beep_of(&job, "five zero eight three", JOB_BY_EAR, JOB_UNSURE, &tone));
    assert_int_equal(tone, AUDIO_TONE_ASKED_AGAIN);
    assert_true(beep_of(&job, "yes", JOB_BY_EAR, JOB_ACCEPTED, &tone));
    assert_int_equal(tone, AUDIO_TONE_ACCEPTED);
    static const struct job_event reminded = {.kind = JOB_REMINDED};
    assert_false(station_beep_for(&job, &job, &reminded, &tone));
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(without_a_file_everything_is_as_usual),
        TEST(what_is_kept_comes_back),
        TEST(it_is_its_owners_alone_and_nothing_is_left_beside_it),
        TEST(the_voice_stays_within_its_bounds),
        TEST(nonsense_is_refused_with_its_line),
        TEST(a_full_or_missing_disk_is_said),
        cmocka_unit_test(each_answer_has_its_beep),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
