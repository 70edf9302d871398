/* What every screen has in common: a driver's missing members show nothing. */
#include "screen/screen.h"

#include <string.h>

bool screen_open(struct screen *screen, const struct screen_driver *driver,
                 const struct screen_config *config, struct fault *fault)
{
    memset(screen, 0, sizeof *screen);
    if (!driver->open(config, &screen->state, fault))
        return false;
    screen->driver = driver;
    return true;
}

void screen_close(struct screen *screen)
{
    if (screen->driver != NULL)
        screen->driver->close(screen->state);
    memset(screen, 0, sizeof *screen);
}

void screen_said(const struct screen *screen, const char *sentence, bool caution)
{
    if (screen->driver != NULL)
        screen->driver->said(screen->state, sentence, caution);
}

void screen_asked(const struct screen *screen, const struct screen_question *question)
{
    if (screen->driver != NULL)
        screen->driver->asked(screen->state, question);
}

void screen_heard(const struct screen *screen, const struct screen_heard *heard)
{
    if (screen->driver != NULL)
        screen->driver->heard(screen->state, heard);
}

void screen_value(const struct screen *screen, const struct screen_value *value)
{
    if (screen->driver != NULL && screen->driver->value != NULL)
        screen->driver->value(screen->state, value);
}

void screen_balance(const struct screen *screen, const struct screen_balance *balance)
{
    if (screen->driver != NULL && screen->driver->balance != NULL)
        screen->driver->balance(screen->state, balance);
}

void screen_level(const struct screen *screen, const struct screen_level *level)
{
    if (screen->driver != NULL && screen->driver->level != NULL)
        screen->driver->level(screen->state, level);
}

void screen_entry(const struct screen *screen, const char *typed)
{
    if (screen->driver != NULL && screen->driver->entry != NULL)
        screen->driver->entry(screen->state, typed);
}

void screen_progress(const struct screen *screen, const struct screen_progress *progress)
{
    if (screen->driver != NULL && screen->driver->progress != NULL)
        screen->driver->progress(screen->state, progress);
}

void screen_finished(const struct screen *screen, bool closed)
{
    if (screen->driver != NULL && screen->driver->finished != NULL)
        screen->driver->finished(screen->state, closed);
}

void screen_tick(const struct screen *screen)
{
    if (screen->driver != NULL && screen->driver->tick != NULL)
        screen->driver->tick(screen->state);
}

const char *screen_verdict_name(enum screen_verdict verdict)
{
    static const char *const names[] = {"accepted", "unsure", "rejected"};
    return (unsigned)verdict < sizeof names / sizeof names[0] ? names[verdict] : "?";
}
