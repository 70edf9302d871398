/* How often an interruption gets through, by how loud midthrow comes back into its own microphone:
 * spoken at ten moments of the welcome, at midthrow's own level and twice as loud. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "shop.h"

struct
try {
    const char *words;
    double gain;
    int64_t at_ms;
    bool said;
};

static void interrupt_once(struct shop *shop, int64_t now_ms, bool asked)
{
    struct try *try = shop->user;
    (void)asked;
    if (!try->said && now_ms >= try->at_ms) {
        try->said = true;
        shop_say_louder(shop, try->words, try->gain);
    }
}

static bool is_heard(const struct job_event *event)
{
    return event->kind == JOB_HEARD && event->verdict == JOB_ACCEPTED;
}

static bool is_tried(const char *words, double gain, int64_t at_ms, float echo_db)
{
    static struct shop shop;
    struct try try = {.words = words, .gain = gain, .at_ms = at_ms};
    shop_open(&shop, &(struct shop_setup){.echo_db = echo_db, .rt60_ms = 200});
    shop.technician = interrupt_once;
    shop.user = &try;
    shop.give_up_ms = at_ms + 3500;
    shop_run(&shop, false);
    bool heard = shop_count(&shop, is_heard) > 0;
    shop_close(&shop);
    return heard;
}

int main(void)
{
    static const char *const words[] = {"stop", "say again", "five zero eight three"};
    static const float echoes_db[] = {-6, -12, -20, -30};
    puts("interruptions heard of ten, spoken by slt: words, gain, then by echo");
    printf("%-24s %5s", "", "");
    for (size_t e = 0; e < 4; e++)
        printf(" %4.0f dB", (double)echoes_db[e]);
    puts("");
    for (size_t w = 0; w < 3; w++)
        for (int gain = 1; gain <= 2; gain++) {
            printf("%-24s %5d", words[w], gain);
            for (size_t e = 0; e < 4; e++) {
                int heard = 0;
                for (int i = 0; i < 10; i++)
                    heard += is_tried(words[w], gain, 700 + 400 * i, echoes_db[e]);
                printf(" %7d", heard);
                fflush(stdout);
            }
            puts("");
        }
    return 0;
}
