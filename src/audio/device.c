/* Which device is meant by a name: see device.h. */
#include "audio/device.h"

#include <string.h>
#include <strings.h>

#include "base/text.h"

const char *audio_side_name(enum audio_side side)
{
    return side == AUDIO_MICROPHONE ? "microphone" : "speaker";
}

static bool holds(const char *name, const char *part)
{
    size_t length = strlen(part);
    for (; *name != '\0'; name++)
        if (strncasecmp(name, part, length) == 0)
            return true;
    return false;
}

static bool seen_before(const struct audio_device *list, size_t i, enum audio_side side)
{
    for (size_t k = 0; k < i; k++)
        if (list[k].channels[side] > 0 && strcmp(list[k].name, list[i].name) == 0)
            return true;
    return false;
}

/* "'A', 'B' and 'C'", of those that hold `part`; what does not fit ends in "and more". */
static void add_names(struct text *text, const struct audio_device *list, size_t n,
                      enum audio_side side, const char *part)
{
    static const char more[] = " and more";
    size_t named = 0;
    for (size_t i = 0; i < n; i++) {
        if (list[i].channels[side] == 0 || !holds(list[i].name, part) || seen_before(list, i, side))
            continue;
        if (text->used + strlen(list[i].name) + 64 > text->size) {
            text_add(text, more);
            return;
        }
        text_addf(text, "%s'%s'", named++ == 0 ? "" : ", ", list[i].name);
    }
}

static bool any(const struct audio_device *list, size_t n, enum audio_side side, size_t *which)
{
    for (size_t pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < n; i++)
            if (list[i].channels[side] > 0 && (pass == 1 || list[i].standard[side])) {
                *which = i;
                return true;
            }
    return false;
}

/* How many different names hold `part`; `*which` is the first, or the one that is just `part`. */
static size_t matches(const struct audio_device *list, size_t n, enum audio_side side,
                      const char *part, size_t *which)
{
    size_t found = 0;
    for (size_t i = 0; i < n; i++) {
        if (list[i].channels[side] == 0 || !holds(list[i].name, part) || seen_before(list, i, side))
            continue;
        if (strcasecmp(list[i].name, part) == 0) {
            *which = i;
            return 1;
        }
        if (found++ == 0)
            *which = i;
    }
    return found;
}

bool audio_device_choose(const struct audio_device *list, size_t n, enum audio_side side,
                         const char *name, size_t *which, char *why, size_t size)
{
    struct text text = text_into(why, size);
    size_t standard = 0;
    bool there = any(list, n, side, &standard);
    if (!there) {
        text_addf(&text, "there is no %s: plug one in.", audio_side_name(side));
        return false;
    }
    if (name == NULL) {
        *which = standard;
        return true;
    }
    size_t found = matches(list, n, side, name, which);
    if (found == 1)
        return true;
    if (found == 0) {
        text_addf(&text, "no %s is called '%.60s': plug it in, or name one of ",
                  audio_side_name(side), name);
        add_names(&text, list, n, side, "");
    } else {
        text_addf(&text, "'%.60s' may be more than one %s: name one of ", name,
                  audio_side_name(side));
        add_names(&text, list, n, side, name);
    }
    text_add(&text, ".");
    return false;
}
