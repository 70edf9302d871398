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

/* ---- the recorded technician ---------------------------------------------------------------- */

struct recorded {
    glob_t files;
    size_t next;
};

static void play_the_next(struct shop *shop, int64_t now_ms, bool asked)
{
    (void)now_ms;
    struct recorded *recorded = shop->user;
    if (asked && recorded->next < recorded->files.gl_pathc)
        shop_say_file(shop, recorded->files.gl_pathv[recorded->next++]);
}

static void a_whole_job_is_done_by_ear(void **state)
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
    assert_true(job_is_closed(shop.job));
    globfree(&recorded.files);
    shop_close(&shop);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_job_is_done_by_ear),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
