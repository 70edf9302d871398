/*
 * A session: one run of the tool on one job, with everything it needs opened and closed in order.
 * What `midthrow` itself and `midthrow demo` have in common.
 */
#ifndef MIDTHROW_COMMAND_SESSION_H
#define MIDTHROW_COMMAND_SESSION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"
#include "screen/screen.h"

enum session_which {
    SESSION_OFFER, /* offer the newest open job, else start one */
    SESSION_NEW,
    SESSION_RESUME, /* `resume`, or the newest open job if that is 0 */
};

struct session_options {
    const char *data;     /* the data directory; NULL: the XDG one */
    const char *profile;  /* NULL: ask */
    const char *bike;     /* of a new job: which bike; NULL: not named */
    const char *reason;   /* a shop's own judgement; NULL: reason.ini beside the journal, if any */
    const char *rider;    /* of a new job: kept beside it, in no event; NULL: not named */
    const char *person;   /* who speaks: a voice that was learned; NULL: nobody known */
    const char *speak_to; /* a WAV file; NULL: silent */
    bool scratch;         /* `data` will be removed when all is done */
    char **hear;          /* recordings and folders of them, in order */
    size_t hear_n;
    bool typed;             /* lines of standard input are words ... */
    bool pad;               /* ... or number-pad entries; both: each line is what it looks like */
    const char *pad_device; /* a number pad of its own, by name; NULL: none */
    const char *foot;       /* a foot switch, by name; NULL: none */
    bool foot_talks;        /* it is push-to-talk; else it is Enter */
    bool live;              /* microphone and speaker, wherever standard input comes from */
    const char *microphone; /* by name; NULL: the usual one */
    const char *speaker;    /* the same */
    const char *record;     /* the session's sound into this FLAC file; NULL: it is not recorded */
    bool half_duplex;       /* the ear is closed while midthrow speaks */
    bool mute;              /* nothing is spoken */
    bool no_beeps;          /* this time, whatever the settings say */
    bool plain;             /* lines, even on a terminal */
    enum screen_colours colours; /* of the big screen */
    enum session_which which;
    int64_t resume;
};

/* Reads the options of `midthrow` itself, which every command that asks questions takes, from
 * argv[1] on. `options->hear` must have room for argc pointers; `*help` when --help was among them.
 * FAULT_USAGE for what there is not. */
bool session_options_read(int argc, char **argv, struct session_options *options, bool *help,
                          struct fault *fault);

/* Opens the ears, keys, mouth and screen that the options name, and lets `talk` ask through the
 * station outside any job. */
struct station;
typedef bool session_talker(void *context, struct station *station, struct fault *fault);
bool session_talk(const struct session_options *options, session_talker *talk, void *context,
                  struct fault *fault);

/* Of such an answer: the talk is to end. */
struct job_event;
bool session_means_stop(const struct job_event *event);

/* Runs the session. `*number` gets the job's number as soon as it is known (0 before). */
bool session_run(const struct session_options *options, int64_t *number, struct fault *fault);

#endif
