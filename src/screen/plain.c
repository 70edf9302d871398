/* Lines, one after another: for pipes, screen readers and logs. What is said stands behind a blank,
 * a caution behind "!", the pad's keys in brackets, what was heard behind ">". */
#include <stdlib.h>

#include "base/plain.h"
#include "screen/screen.h"

struct plain {
    FILE *out;
};

static bool plain_open(const struct screen_config *config, void **state, struct fault *fault)
{
    struct plain *plain = calloc(1, sizeof *plain);
    if (plain == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    plain->out = config->out;
    *state = plain;
    return true;
}

static void plain_said(void *state, const char *sentence, bool caution)
{
    const struct plain *plain = state;
    fputs(caution ? "! " : "  ", plain->out);
    plain_print(plain->out, sentence); /* a bike's or a profile's name may be in it */
    fputc('\n', plain->out);
    fflush(plain->out);
}

static void plain_asked(void *state, const struct screen_question *question)
{
    const struct plain *plain = state;
    fprintf(plain->out, "      [%s]\n", question->keys);
    fflush(plain->out);
}

static void plain_heard(void *state, const struct screen_heard *heard)
{
    const struct plain *plain = state;
    fputs("> ", plain->out);
    plain_print(plain->out, heard->words[0] != '\0' ? heard->words : "(nothing)");
    if (heard->source == SCREEN_BY_PAD) {
        fputs("   (pad: ", plain->out);
        plain_print(plain->out, heard->keys);
        fputs(")", plain->out);
    } else if (heard->source == SCREEN_BY_EAR) {
        fprintf(plain->out, "   (heard, %s, %.2f)", screen_verdict_name(heard->verdict),
                heard->score);
    }
    fputc('\n', plain->out);
    fflush(plain->out);
}

/* Only the number pad on a terminal shows its entry while it is typed. */
static void plain_entry(void *state, const char *typed)
{
    const struct plain *plain = state;
    if (typed == NULL)
        fputs("\r\033[K", plain->out);
    else
        fprintf(plain->out, "\r> %s \b", typed);
    fflush(plain->out);
}

static void plain_close(void *state)
{
    free(state);
}

const struct screen_driver screen_plain = {
    .name = "plain",
    .open = plain_open,
    .said = plain_said,
    .asked = plain_asked,
    .heard = plain_heard,
    .entry = plain_entry,
    .close = plain_close,
};
