/* Captions: see caption.h. */
#include "record/caption.h"

#include <inttypes.h>
#include <string.h>

#include "base/text.h"

/* The three characters that cue text and a voice's name must not hold as they are (section 4.2.2);
 * without '>' there is no "-->" either. A line end would end the cue. */
static void add_escaped(struct text *text, const char *from)
{
    static const char special[] = "&<>\n\r";
    static const char *const escape[] = {"&amp;", "&lt;", "&gt;", " ", " "};
    while (*from != '\0') {
        size_t n = strcspn(from, special);
        text_add_n(text, from, n);
        from += n;
        if (*from == '\0')
            return;
        text_add(text, escape[strchr(special, *from) - special]);
        from++;
    }
}

/* A WebVTT timestamp, section 4.1.1: hours of two digits or more. */
static void add_time(struct text *text, int64_t at_ms)
{
    text_addf(text, "%02" PRId64 ":%02d:%02d.%03d", at_ms / 3600000, (int)(at_ms / 60000 % 60),
              (int)(at_ms / 1000 % 60), (int)(at_ms % 1000));
}

bool captions_begin(struct captions *captions, const char *title, char *out, size_t size)
{
    struct text text = text_into(out, size);
    captions->last_ms = 0;
    text_add(&text, "WEBVTT ");
    add_escaped(&text, title);
    text_add(&text, "\n\n");
    return !text.cut;
}

bool captions_add(struct captions *captions, const struct caption *caption, char *out, size_t size)
{
    struct text text = text_into(out, size);
    int64_t start_ms =
        caption->start_ms > captions->last_ms ? caption->start_ms : captions->last_ms;
    if (start_ms == INT64_MAX)
        start_ms--;
    captions->last_ms = start_ms;
    add_time(&text, start_ms);
    text_add(&text, " --> ");
    add_time(&text, caption->end_ms > start_ms ? caption->end_ms : start_ms + 1);
    text_add(&text, "\n<v ");
    add_escaped(&text, caption->who);
    size_t length = strlen(caption->who);
    bool dash = length > 0 && caption->who[length - 1] == '-';
    text_add(&text, dash ? " >" : ">"); /* "-->" must not arise here either; players trim names */
    add_escaped(&text, caption->text);
    text_add(&text, "\n\n");
    return !text.cut;
}

int64_t caption_reading_ms(const char *text)
{
    size_t letters = strlen(text);
    return letters > 135 ? 10000 : 1000 + (int64_t)letters * 1000 / 15;
}
