/*
 * One pure function runs the job.
 *
 * Everything the tool hears is an *event*; job_step folds events into the job's state and answers
 * with *effects*: say this, listen for that, fetch a profile, remind me. No I/O, no clock, no
 * memory of its own: time comes with the event. The journal is the list of events, so resume, "go
 * back", replay, the transcript and the write-up all come from this one function.
 *
 *     struct job job;
 *     struct job_effects effects;
 *     job_init(&job);
 *     job_step(&job, &event, &effects);      // for every event, oldest first
 */
#ifndef MIDTHROW_JOB_JOB_H
#define MIDTHROW_JOB_JOB_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "language/language.h"
#include "measure/balance.h"
#include "measure/limit.h"
#include "measure/pack.h"
#include "measure/turn.h"
#include "profile/profile.h"
#include "reason/reason.h"

enum {
    JOB_ANSWERS_MAX = 512, /* the last question but one of a job this long is "stop" */
    JOB_ROUNDS_MAX = 24,   /* the first measurement and the adjusting rounds after it */
    JOB_EFFECTS_MAX = 16,
    JOB_KEY = 64,
    JOB_ARGUMENTS_MAX = 8,
    JOB_ARGUMENT = 256,
    JOB_CAUTIONS_MAX = 160,
    JOB_CORRECTIONS_MAX = 64,
    JOB_PROOFS_MAX = 16,
    JOB_CHECKS_MAX = 24,
    JOB_WALK = 8, /* the walk of the questions: 1 ends after the pawl, 2 goes on to the dear checks,
                     3 asks for the cautions again when it comes back to the cheap checks,
                     4 knows the words for the voice, 5 asks for the gear and how far to turn where
                     the profile does not say, 6 carries on when it made out "carry on" twice, 7
                     asks for the cautions of the block again when it was started again, 8 has the
                     bike strapped and the wheel clear before a proof with the engine off, and the
                     clutch adjuster put back after its check */
    JOB_BIKE = 48, /* which bike: a plate or frame number, as the shop names it */
};

/* ---- events ------------------------------------------------------------------------------- */

enum job_event_kind {
    JOB_OPENED,         /* the first event: `names` lists the profiles there are */
    JOB_HEARD,          /* an answer, by voice, keys or typed words */
    JOB_PROFILE_READ,   /* the profile asked for by JOB_FETCH_PROFILE */
    JOB_PROFILE_FAILED, /* it could not be read: `words` holds the sentence */
    JOB_REMINDED,       /* nothing was said for a while */
    JOB_RESUMED,        /* the tool was started again on this job */
    JOB_HUNG_UP,        /* the input ended: the job stays open */
    JOB_EAR_CHANGED,    /* the live ear went away or came back: `ear` says which */
};

enum job_source { JOB_BY_EAR, JOB_BY_TYPING, JOB_BY_PAD, JOB_BY_STATION };
enum job_verdict { JOB_ACCEPTED, JOB_UNSURE, JOB_REJECTED };

/* What may be expected of the live ear. Jobs without one stay at the first. */
enum job_ear {
    JOB_EAR_OPEN,
    JOB_EAR_MISSING,  /* there is no microphone, or it was unplugged */
    JOB_EAR_SILENT,   /* it gives nothing but zeros: muted, or dead */
    JOB_EAR_CLIPPING, /* it is driven too hard: what it gives is no speech any more */
    JOB_EAR_NOISE,    /* it is too loud here to be heard */
    JOB_EAR_COUNT,
};

struct job_event {
    enum job_event_kind kind;
    int64_t at_ms;              /* Unix time, milliseconds */
    enum job_source source;     /* of JOB_HEARD */
    enum job_verdict verdict;   /* of JOB_HEARD; typed words and keys are always accepted */
    double score;               /* of JOB_HEARD: 0 .. 1 */
    bool deafening;             /* of a rejected JOB_HEARD: the noise was as loud as the speech */
    enum job_ear ear;           /* of JOB_EAR_CHANGED */
    char words[LANGUAGE_WORDS]; /* what was heard; of the pad: the words its keys stand for */
    char other[LANGUAGE_WORDS]; /* the second reading, if one was near */
    char keys[48];              /* of the pad: the keys themselves, for the transcript */
    char names[PROFILES_MAX][PROFILE_NAME]; /* of JOB_OPENED */
    size_t names_n;
    /* of JOB_OPENED, and kept with it so that a replay starts from the same place: */
    int walk;                /* JOB_WALK of a new job; 0, as older journals have it, is 1. Of
                                JOB_RESUMED: of the midthrow that was started again */
    struct reason_shop shop; /* the shop's own rows of likelihoods */
    char bike[JOB_BIKE];     /* "": not named */
    bool has_priors;         /* what this shop had learned; else the table's priors */
    double priors[REASON_CAUSE_COUNT]; /* as reason_init_with takes them */
    struct profile profile;            /* of JOB_PROFILE_READ */
};

/* ---- effects ------------------------------------------------------------------------------ */

enum job_effect_kind {
    JOB_SAY,    /* speak and show `key` with `arguments` */
    JOB_LISTEN, /* take the next answer in `grammar`; for cautions `phrase` is the one awaited */
    JOB_FETCH_PROFILE, /* read profile `arguments[0]` and send JOB_PROFILE_READ or _FAILED */
    JOB_REMIND,        /* send JOB_REMINDED if nothing is heard for `delay_ms` */
    JOB_TO_PAD,        /* the technician asked for the keypad: stop trusting the ear until told */
    JOB_VOICE,         /* the voice: `voice` says how; nothing of the job has changed */
    JOB_LEAVE,         /* the session is over; the job is closed or left open (see job_is_closed) */
};

enum job_voice { JOB_LOUDER, JOB_QUIETER, JOB_FASTER, JOB_SLOWER };

struct job_argument {
    const char *name; /* static */
    char value[JOB_ARGUMENT];
};

struct job_effect {
    enum job_effect_kind kind;
    char key[JOB_KEY]; /* of JOB_SAY: the prompt's key. Besides the arguments every prompt
                          may use {keys}, the number pad's keys, which the station knows */
    struct job_argument argument[JOB_ARGUMENTS_MAX];
    size_t arguments;
    bool caution;        /* of JOB_SAY: somebody could come to harm */
    const char *grammar; /* of JOB_LISTEN, static */
    enum language_phrase phrase;
    int64_t delay_ms;
    enum job_voice voice; /* of JOB_VOICE */
};

struct job_effects {
    struct job_effect effect[JOB_EFFECTS_MAX];
    size_t n;
    bool missed; /* they say that nothing was understood: "say again" means what was said before */
};

/* ---- state -------------------------------------------------------------------------------- */

enum job_phase {
    JOB_CARD,
    JOB_INTAKE,
    JOB_CHECKS,
    JOB_CENTRING,
    JOB_ADJUSTING,
    JOB_DEEP, /* the dear checks, when the pawl was not it */
    JOB_PROVING,
    JOB_CLOSING,
    JOB_OVER,
    JOB_PHASE_COUNT,
};

struct job_answer {
    uint16_t question; /* index in the question table */
    enum job_source source;
    int64_t at_ms;
    bool anew; /* the tool was started again between the answer before and this one */
    struct language_value value;
};

struct job_readings {
    struct measure_length value[MEASURE_READINGS_MAX];
    size_t n;
};

/* One measurement of both throws, and the adjustment that followed it. round[0] is as found. */
struct job_round {
    struct job_readings forward, back;
    bool balanced; /* `balance` holds a result */
    struct measure_balance balance;
    bool sum_suspect;     /* forward + back changed since the round before */
    bool scatter_suspect; /* one throw's readings scatter more than a hand and a rule do */
    bool advised;
    bool learned;                      /* what its turn taught is in `turn` */
    bool more_wanted;                  /* the verdict was: measure again */
    struct measure_turn_advice advice; /* what to turn next, or why to stop */
    bool turned;
    double turns;              /* really made after this measurement; clockwise positive */
    struct language_turn turn; /* the same as it was said */
    int64_t at_ms;             /* when the balance was known */
};

struct job_caution {
    const char *id; /* the question's id, static: "adjusting.engine_off" */
    int round;      /* the adjusting round it was confirmed in, from 1; 0 outside them */
    enum job_source source;
    int64_t at_ms;
};

/* What is counted instead of measured: turns of an adjuster, revolutions a minute, millilitres. */
struct job_count {
    double value[MEASURE_READINGS_MAX];
    size_t n;
};

/* One check: what was found against the manual. */
struct job_check {
    enum reason_check check;
    const char *what; /* static, for the write-up: "lever free play" */
    bool measured;    /* `value`, `low`, `high` and `limit` count */
    struct measure_length value;
    bool has_low;
    struct measure_length low, high;
    bool low_asked, high_asked; /* the limit was given by the technician, not the profile */
    struct measure_limit limit;
    const char *unit; /* static: counted in "rpm", "turns" or "ml", not measured; else NULL */
    bool counted;     /* `number`, its two limits and `limit` count */
    double number, number_low, number_high;
    char found[64]; /* in words: "out: too much", "level low" */
    bool put_right; /* set to the manual afterwards */
    int cured;      /* -1 not tried, 0 no, 1 yes */
    int64_t at_ms;
};

struct job_proof {
    const char *id;   /* static: "proving.first_engine_off" */
    const char *what; /* static: "neutral from first, engine off" */
    int result;       /* 1 passed, 0 failed, -1 not done */
    int64_t at_ms;
};

/* Something heard that did not stand: a value taken back, an answer asked again. */
struct job_correction {
    const char *id;  /* the question, static */
    char was[64];    /* what was taken at first; "" when nothing was */
    char became[64]; /* what stands now; "" when not answered again */
    int64_t at_ms;
};

enum job_ending {
    JOB_STILL_OPEN,
    JOB_FIXED,
    JOB_NOT_FIXED,
};

/* How the centring ended. */
enum job_centring {
    JOB_NOT_MEASURED,
    JOB_CENTRED_AS_FOUND,
    JOB_CENTRED,   /* made even by adjusting */
    JOB_ESCALATED, /* stopped; the last round's advice says why */
    JOB_HOOK_BAD,  /* hook, pin or arm worn or bent: nothing to centre */
    JOB_CENTRING_SKIPPED,
    JOB_CANNOT_TELL, /* the readings never settled it */
};

/* What the next answer is an answer to. */
enum job_mode {
    JOB_ASKING,   /* the question itself */
    JOB_SURE,     /* "did you say ...?" */
    JOB_WHICH,    /* "was it ..., or ...?" */
    JOB_STOPPED,  /* after "stop": carry on, or put it away */
    JOB_FETCHING, /* a profile is being read; no answer is awaited */
    JOB_LEFT,     /* the session is over */
};

struct job {
    /* what the fold starts from */
    int64_t opened_ms;
    char profile_names[PROFILES_MAX][PROFILE_NAME];
    size_t profile_names_n;
    char bike[JOB_BIKE];
    int walk;
    struct reason_shop shop;
    bool has_priors; /* the shop's own, from the first event; else the table's */
    double priors[REASON_CAUSE_COUNT];
    bool has_profile;
    struct profile profile; /* as read; numbers asked for are in `numbers` */
    struct job_answer answer[JOB_ANSWERS_MAX];
    size_t answers;

    /* the card */
    char order[LANGUAGE_DIGITS_MAX];
    int64_t odometer; /* -1: not given */

    /* what the answers say */
    struct reason reason;
    unsigned checks_done; /* a bit for each reason_check */
    struct job_check check[JOB_CHECKS_MAX];
    size_t checks;
    struct profile numbers; /* the profile with what was asked for filled in */
    struct job_round round[JOB_ROUNDS_MAX];
    int rounds; /* measurements begun: round[rounds - 1] is the current one */
    struct measure_turn turn;
    enum job_centring centring;
    int hook; /* reason's value, -1 not looked at */
    struct job_proof proof[JOB_PROOFS_MAX];
    size_t proofs;
    enum job_ending ending;
    int cause; /* enum reason_cause confirmed at closing; -1 none */
    int64_t closed_ms;

    /* what was confirmed and corrected */
    struct job_caution caution[JOB_CAUTIONS_MAX];
    size_t cautions;
    struct job_correction correction[JOB_CORRECTIONS_MAX];
    size_t corrections;
    unsigned heard, asked_again, rejected; /* answers taken, unsure ones, ones not understood */

    /* what the rows of the table remember between them */
    char wanted_profile[PROFILE_NAME]; /* chosen on the card; read when `profile.name` equals it */
    unsigned safe;                     /* a bit for each phrase confirmed in this hands-on block */
    enum job_phase block;              /* the phase in which that block began */
    unsigned again;                    /* ... and those confirmed before the tool was started again,
                                          to be confirmed once more before the job goes on */
    uint16_t stood_at;                 /* the question that waits for them */
    bool anew;                         /* it was started again since the last answer */
    bool access_is_open;               /* a cover is off */
    struct job_readings reading;       /* of the cheap check at hand */
    int tries;                         /* times it was set and measured again */
    int level, condition;              /* of the fluid; -1 not looked at */
    struct job_count count;            /* of the dear check at hand */
    bool in_millimetres;               /* the last length was: people keep to one unit */
    enum language_unit volume_unit;    /* millilitres or fluid ounces, as the technician says it */
    bool kind_asked;                   /* whether the clutch has a cable */
    int offered;                       /* enum reason_check on offer; -1 none is left */
    int course;                        /* what was said to the offer: 0 now, 1 left out, 2 over */
    unsigned left_out;                 /* a bit for each check left out on purpose */
    int feel;                          /* of the clutch lever; -1 not felt */
    bool measured_now;                 /* the check at hand has a verdict */
    struct measure_length plate[MEASURE_PLATES_MAX]; /* of the clutch pack */
    size_t plates;
    struct measure_length whole, warp, caliper; /* the pack in one piece; the caliper's division */
    bool has_whole, has_warp;
    enum measure_pack_sign pack_sign;
    int proving_for;                 /* enum reason_check being proved; -1 none */
    bool proof_passed, proof_failed; /* anything, in this proving */
    bool has_finer;                  /* a finer rule is at hand */
    bool running;                    /* the engine was started for a proof */
    bool says_fixed;

    /* where we are */
    enum job_phase phase;
    uint16_t question; /* index in the question table */
    int64_t now_ms;    /* of the last event */
    int misses;        /* in a row on this question */
    bool on_pad;       /* the technician asked for the number pad: nobody is listened to */
    enum job_ear ear;  /* unless open, nobody is listened to either */
    enum job_mode mode;
    struct language_value held; /* the value waiting for a yes, or the first of two */
    struct language_value held_other;
    char held_words[LANGUAGE_WORDS];
    bool reminded;
    struct job_effects last; /* for "say again" */
};

void job_init(struct job *job);

/* Folds one event. Any event in any state is safe; events after the job is over change nothing. */
void job_step(struct job *job, const struct job_event *event, struct job_effects *effects);

bool job_is_closed(const struct job *job);
bool job_listens(const struct job *job);  /* is the ear to be believed, or only the keys? */
bool job_has_left(const struct job *job); /* JOB_LEAVE was sent and nothing resumed it */

/* The question being asked: its id ("intake.temperature"), and the grammar its answer is awaited in
 * just now ("yesno" while the tool asks whether it heard right). */
const char *job_question_id(const struct job *job);
const char *job_grammar(const struct job *job);
enum language_phrase job_phrase(const struct job *job);
/* A bit for each check that is done, or that does not belong to such a clutch; one that was left
 * out is open still. */
unsigned job_checks_settled(const struct job *job);
const char *job_phase_name(enum job_phase phase);    /* "pawl check": as said and shown */
const char *job_source_name(enum job_source source); /* "ear", "typed", "pad", "station" */
const char *job_verdict_name(enum job_verdict verdict);
const char *job_ear_name(enum job_ear ear); /* "open", "missing", ...; part of a prompt's key */

/* The question table, for tests, the screen and whoever draws it. */
struct job_question; /* job/question.h */
size_t job_question_count(void);
const struct job_question *job_question_at(size_t index);

#endif
