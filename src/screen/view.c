/* What is to be seen at one moment: see view.h. */
#include "screen/view.h"

#include <string.h>

#include "base/text.h"

static void append_sentence(char *to, size_t size, const char *sentence)
{
    size_t used = strlen(to);
    struct text text = text_into(to + used, size - used);
    if (used > 0)
        text_add(&text, " ");
    text_add(&text, sentence);
}

void screen_view_said(struct screen_view *view, const char *sentence, bool caution)
{
    if (view->asked) {
        view->before[0] = '\0';
        view->asked = false;
    } else {
        append_sentence(view->before, sizeof view->before, view->sentence);
    }
    text_copy(view->sentence, sizeof view->sentence, sentence);
    view->caution = caution;
    view->keys[0] = '\0';
}

void screen_view_asked(struct screen_view *view, const struct screen_question *question)
{
    if (question->prompt != NULL) {
        text_copy(view->prompt, sizeof view->prompt, question->prompt);
        view->prompt_caution = question->caution;
    } else if (strcmp(view->sentence, view->prompt) != 0) {
        append_sentence(view->before, sizeof view->before, view->sentence);
    }
    text_copy(view->sentence, sizeof view->sentence, view->prompt);
    view->caution = view->prompt_caution;
    screen_keys_for_the_eye(question->keys, view->keys, sizeof view->keys);
    view->asked = true;
}

void screen_view_heard(struct screen_view *view, const struct screen_heard *heard)
{
    view->has_heard = true;
    text_copy(view->words, sizeof view->words, heard->words);
    text_copy(view->pad, sizeof view->pad, heard->keys);
    view->source = heard->source;
    view->verdict = heard->verdict;
    view->score = heard->score;
    view->has_value = false; /* the one before belongs to another answer */
}

void screen_view_value(struct screen_view *view, const struct screen_value *value)
{
    view->has_value = true;
    text_copy(view->what, sizeof view->what, value->what);
    text_copy(view->number, sizeof view->number, value->number);
    text_copy(view->unit, sizeof view->unit, value->unit);
    text_copy(view->also, sizeof view->also, value->also);
}

static size_t copy_readings(double *to, const double *from, size_t n)
{
    n = n < MEASURE_READINGS_MAX ? n : MEASURE_READINGS_MAX;
    for (size_t i = 0; i < n; i++)
        to[i] = from[i];
    return n;
}

void screen_view_balance(struct screen_view *view, const struct screen_balance *balance)
{
    view->has_balance = balance != NULL && (balance->forward_n > 0 || balance->back_n > 0);
    if (!view->has_balance)
        return;
    view->balanced = balance->balance != NULL;
    if (view->balanced)
        view->balance = *balance->balance;
    view->forward_n = copy_readings(view->forward_mm, balance->forward_mm, balance->forward_n);
    view->back_n = copy_readings(view->back_mm, balance->back_mm, balance->back_n);
    view->tolerance_mm = balance->tolerance_mm;
}

void screen_view_level(struct screen_view *view, const struct screen_level *level)
{
    view->has_level = true;
    view->level = *level;
}

void screen_view_entry(struct screen_view *view, const char *typed)
{
    text_copy(view->entry, sizeof view->entry, typed);
}

void screen_view_progress(struct screen_view *view, const struct screen_progress *progress)
{
    text_copy(view->phase, sizeof view->phase, progress->phase);
    text_copy(view->order, sizeof view->order, progress->order);
    view->round = progress->round;
    view->answers = progress->answers;
}

void screen_view_finished(struct screen_view *view, bool closed)
{
    text_copy(view->phase, sizeof view->phase, closed ? "job closed" : "job put away, kept");
    view->keys[0] = view->entry[0] = '\0';
    view->round = 0;
}

/* ---- keys --------------------------------------------------------------------------------- */

static const char *key_named(const char *word, size_t length)
{
    static const char *const names[][2] = {
        {"minus", "-"}, {"plus", "+"}, {"star", "*"}, {"slash", "/"}};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strlen(names[i][0]) == length && strncmp(names[i][0], word, length) == 0)
            return names[i][1];
    return NULL;
}

void screen_keys_for_the_eye(const char *keys, char *out, size_t size)
{
    struct text text = text_into(out, size);
    while (*keys != '\0') {
        size_t length = strcspn(keys, " ");
        const char *key = key_named(keys, length);
        if (key == NULL) {
            if (text.used > 0)
                text_add(&text, " ");
            text_add_n(&text, keys, length);
        } else {
            /* a key after keys is pressed with them: no blank between */
            bool glued = text.used > 0 && strchr("0123456789./*-+", out[text.used - 1]) != NULL;
            if (text.used > 0 && !glued)
                text_add(&text, " ");
            text_add(&text, key);
        }
        keys += length;
        keys += strspn(keys, " ");
    }
}
