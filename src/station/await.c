/* Waiting for the next answer: see await.h. */
#include "station/await.h"

#include <poll.h>
#include <string.h>

#include "language/language.h"

enum {
    LOOK_MS = 100,        /* the screen's level is drawn so often */
    ALONE_MS = 60 * 1000, /* without any microphone, keyboard or pad it waits for one so long */
};

static void drop_input(struct station *station, size_t at)
{
    station->input[at].driver->finish(station->input[at].state);
    station->inputs--;
    for (size_t i = at; i < station->inputs; i++)
        station->input[i] = station->input[i + 1];
}

/* ---- one after the other -------------------------------------------------------------------- */

static enum station_got next_in_order(struct station *station,
                                      const struct station_question *question,
                                      struct job_event *event, struct fault *fault)
{
    while (station->inputs > 0) {
        enum station_got got =
            station->input[0].driver->next(station->input[0].state, question, event, fault);
        if (got != STATION_END)
            return got;
        drop_input(station, 0);
    }
    return STATION_END;
}

/* ---- all at once ---------------------------------------------------------------------------- */

static bool all_can_be_polled(const struct station *station)
{
    for (size_t i = 0; i < station->inputs; i++)
        if (station->input[i].driver->take == NULL || station->input[i].driver->fd == NULL)
            return false;
    return true;
}

/* What lies there already, without waiting. */
static enum station_got take_any(struct station *station, const struct station_question *question,
                                 struct job_event *event, struct fault *fault)
{
    for (size_t i = 0; i < station->inputs;) {
        enum station_got got =
            station->input[i].driver->take(station->input[i].state, question, event, fault);
        if (got == STATION_ANSWER || got == STATION_BROKEN)
            return got;
        if (got == STATION_END)
            drop_input(station, i);
        else
            i++;
    }
    return STATION_WAIT;
}

static size_t fill_fds(const struct station *station, struct pollfd fds[STATION_INPUTS_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < station->inputs; i++) {
        int fd = station->input[i].driver->fd(station->input[i].state);
        if (fd >= 0)
            fds[n++] = (struct pollfd){.fd = fd, .events = POLLIN};
    }
    return n;
}

static enum station_got poll_keys(struct station *station, const struct station_question *question)
{
    struct pollfd fds[STATION_INPUTS_MAX];
    if (station->inputs == 0)
        return STATION_END;
    size_t n = fill_fds(station, fds);
    int timeout = question->remind_ms > 0 ? (int)question->remind_ms : -1;
    int ready = poll(fds, (nfds_t)n, timeout);
    return ready == 0 ? STATION_QUIET : STATION_AGAIN;
}

/* ---- live ----------------------------------------------------------------------------------- */

/* Not said each time, but always to be seen: it points to the pad, whose keys stand there too. */
static void show_missed(struct station *station, const struct job *job)
{
    static const struct job_event missed = {
        .kind = JOB_HEARD, .source = JOB_BY_EAR, .verdict = JOB_REJECTED};
    if (!station_live_missed(station->live))
        return;
    station_show_heard(station->screen, &missed);
    if (job != NULL)
        station_show_job(station->screen, &station->shown, job); /* an advice is to stay */
}

static void show_level(const struct station *station, bool open)
{
    struct screen_level level;
    station_live_level(station->live, open, &level);
    screen_level(station->screen, &level);
}

/* No microphone and no keys: it waits a while for the microphone to come back. */
static bool is_left_alone(struct station *station)
{
    int64_t now_ms = station_live_now_ms(station->live);
    if (station->inputs > 0 || !station_live_is_deaf(station->live)) {
        station->alone_since_ms = 0;
        return false;
    }
    if (station->alone_since_ms == 0)
        station->alone_since_ms = now_ms + 1; /* 0: it is not */
    station->nothing_left = now_ms - station->alone_since_ms >= ALONE_MS;
    return station->nothing_left;
}

static bool is_quiet(struct station *station, const struct station_question *question)
{
    int64_t waited_ms = station_live_now_ms(station->live) - station->asked_ms;
    int64_t quiet_ms = station_live_quiet_ms(station->live);
    return question->remind_ms > 0 && waited_ms >= question->remind_ms &&
           quiet_ms >= question->remind_ms;
}

static enum station_got wait_live(struct station *station, const struct job *job,
                                  const struct station_question *question, struct job_event *event,
                                  struct fault *fault)
{
    struct pollfd fds[STATION_INPUTS_MAX];
    size_t n = fill_fds(station, fds);
    /* Where there are no keys nothing else than the ear could bring the ear back. */
    bool open = job == NULL || job_listens(job) || station->inputs == 0;
    enum job_ear ear = job == NULL ? station_live_ear(station->live) : job->ear;
    switch (station_live_wait(station->live, fds, n, LOOK_MS, open, ear, event, fault)) {
    case STATION_LIVE_ANSWER:
    case STATION_LIVE_EAR:
        return STATION_ANSWER;
    case STATION_LIVE_SIGNAL:
        return STATION_AGAIN;
    case STATION_LIVE_BROKEN:
        return STATION_BROKEN;
    case STATION_LIVE_READY:
        return take_any(station, question, event, fault);
    case STATION_LIVE_NOTHING:
        break;
    }
    show_level(station, open);
    show_missed(station, job);
    if (is_left_alone(station))
        return STATION_END;
    return is_quiet(station, question) ? STATION_QUIET : STATION_WAIT;
}

/* ---- what the station calls ----------------------------------------------------------------- */

enum station_got station_next(struct station *station, const struct job *job,
                              const struct station_question *question, struct job_event *event,
                              struct fault *fault)
{
    if (station->live == NULL && (station->inputs < 2 || !all_can_be_polled(station)))
        return next_in_order(station, question, event, fault);
    enum station_got got = take_any(station, question, event, fault);
    if (got != STATION_WAIT)
        return got;
    return station->live == NULL ? poll_keys(station, question)
                                 : wait_live(station, job, question, event, fault);
}

bool station_asks(struct station *station, const struct station_question *question,
                  struct fault *fault)
{
    if (station->live == NULL)
        return true;
    station->asked_ms = station_live_now_ms(station->live);
    return station_live_ask(station->live, question, fault);
}

/* What is not itself an answer to the caution: it may be heard in the middle of it. */
static bool is_urgent(const struct job_event *event, const char *grammar)
{
    struct language_value value;
    return language_parse(grammar, event->words, &value, NULL) == LANGUAGE_OK &&
           value.type == LANGUAGE_COMMAND &&
           (value.as.command == LANGUAGE_STOP || value.as.command == LANGUAGE_SAY_AGAIN);
}

bool station_make_way(struct station *station, const struct job_event *event, const char *grammar,
                      struct fault *fault)
{
    if (station->live == NULL || event->kind != JOB_HEARD)
        return true;
    if (event->source != JOB_BY_EAR)
        station_live_answered(station->live);
    fault->code = FAULT_NONE;
    bool urgent = is_urgent(event, grammar);
    while (!urgent && station_live_warns(station->live))
        if (!station_live_say_out(station->live, true, fault) &&
            (fault->code != FAULT_NONE || station_is_interrupted(station)))
            return fault->code == FAULT_NONE; /* the answer stands, then we leave */
    station_live_hush(station->live);
    return true;
}
