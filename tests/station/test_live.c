/* Live, in the simulated room: whole jobs by ear alone. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <glob.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "shop.h"

static double cpu_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static bool is_by_ear(const struct job_event *event)
{
    return event->kind == JOB_HEARD && event->source == JOB_BY_EAR;
}

/* ---- the recorded technician ---------------------------------------------------------------- */

/* The robot's test (tests/robot) and the benchmark "reply" do the whole job; here it is its first
 * half, chatter and one that is mumbled included. */
enum { ENOUGH = 36 };

struct recorded {
    glob_t files;
    size_t next;
};

static void play_the_next(struct shop *shop, int64_t now_ms, bool asked)
{
    (void)now_ms;
    struct recorded *recorded = shop->user;
    if (asked && recorded->next == ENOUGH) {
        shop->stop = 1;
        audio_room_interrupt(shop->room);
    } else if (asked) {
        shop_say_file(shop, recorded->files.gl_pathv[recorded->next++]);
    }
}

static void half_a_job_is_done_by_ear(void **state)
{
    (void)state;
    static struct shop shop;
    struct recorded recorded = {0};
    assert_int_equal(
        glob(MIDTHROW_SOURCE_DIR "/audio_fixtures/demo/*.wav", 0, NULL, &recorded.files), 0);
    shop_open(&shop, &(struct shop_setup){.echo_db = -20});
    shop.technician = play_the_next;
    shop.user = &recorded;
    double before = cpu_s();
    bool ok = shop_run(&shop, false);
    double virtual_s = (double)audio_room_now_ms(shop.room) / 1e3;
    print_message("%.0f s of job in %.1f s of CPU; spoke %.0f s; at %s, %zu of %zu recordings\n",
                  virtual_s, cpu_s() - before, (double)shop.spoken_ms / 1e3,
                  job_question_id(shop.job), recorded.next, (size_t)recorded.files.gl_pathc);
    if (!ok)
        fail_msg("%s", shop.fault.sentence);
    if (getenv("SHOP_SHOW") != NULL) {
        rewind(shop.screen_file);
        for (int c; (c = fgetc(shop.screen_file)) != EOF;)
            putchar(c);
    }
    assert_int_equal(recorded.next, ENOUGH);
    assert_in_range(shop.job->answers, ENOUGH - 8, ENOUGH);
    assert_int_equal(shop.job->phase, JOB_CENTRING);
    assert_true(shop.told_tool > 40);
    assert_int_equal(shop.told_ear, shop_count(&shop, is_by_ear));
    globfree(&recorded.files);
    shop_close(&shop);
}

/* ---- nobody there --------------------------------------------------------------------------- */

static bool is_accepted_by_ear(const struct job_event *event)
{
    return is_by_ear(event) && event->verdict == JOB_ACCEPTED;
}

/* The recordings' words, from their names; "" for those that answer nothing. */
static void words_of(const char *path, char *words, size_t size)
{
    const char *name = strrchr(path, '/') + 5;
    size_t length = strcspn(name, ".");
    snprintf(words, size, "%.*s", (int)length, name);
    for (char *c = words; *c != '\0'; c++)
        if (*c == '-')
            *c = ' ';
    if (strcmp(words, "cough") == 0 || strncmp(words, "did anybody", 11) == 0)
        words[0] = '\0';
}

/* Types the answers of a whole job, silently; a few times not before midthrow has reminded and
 * helped. */
struct typist {
    glob_t files;
    size_t next;
    bool helped;
};

static void type_the_next(struct shop *shop, int64_t now_ms, bool asked)
{
    struct typist *typist = shop->user;
    char words[96] = "";
    if (!asked || typist->next == typist->files.gl_pathc)
        return;
    bool slow = typist->next % 25 == 2;
    if (slow && !shop->job->reminded)
        return;
    shop->said_ms = now_ms;
    shop->answered_ms = shop->station.asked_ms;
    typist->helped = slow && !typist->helped;
    if (typist->helped) {
        shop_type(shop, "help");
        return;
    }
    while (words[0] == '\0' && typist->next < typist->files.gl_pathc)
        words_of(typist->files.gl_pathv[typist->next++], words, sizeof words);
    shop_type(shop, words);
}

static void midthrow_does_not_hear_itself(void **state)
{
    (void)state;
    static struct shop shop;
    struct typist typist = {0};
    assert_int_equal(glob(MIDTHROW_SOURCE_DIR "/audio_fixtures/demo/*.wav", 0, NULL, &typist.files),
                     0);
    shop_open(&shop, &(struct shop_setup){.echo_db = -6, .rt60_ms = 200, .with_keys = true});
    shop.technician = type_the_next;
    shop.user = &typist;
    double before = cpu_s();
    if (!shop_run(&shop, false))
        fail_msg("%s", shop.fault.sentence);
    print_message("%.0f s of job in %.1f s of CPU; spoke %.0f s; at %s\n",
                  (double)audio_room_now_ms(shop.room) / 1e3, cpu_s() - before,
                  (double)shop.spoken_ms / 1e3, job_question_id(shop.job));
    assert_true(job_is_closed(shop.job));
    assert_true(shop_said(&shop, "I am still waiting."));
    assert_true(shop.spoken_ms > 300 * 1000);
    assert_int_equal(shop_count(&shop, is_accepted_by_ear), 0);
    assert_int_equal(shop_count(&shop, is_by_ear), 0);
    globfree(&typist.files);
    shop_close(&shop);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(half_a_job_is_done_by_ear),
        cmocka_unit_test(midthrow_does_not_hear_itself),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
