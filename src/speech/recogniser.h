/*
 * Words out of sound, and how far to believe them. Knows grammars by name, nothing of the job.
 *
 *     struct speech_recogniser *ear = speech_recogniser_create(&config, &fault);
 *     speech_recognise(ear, "distance", pcm, frames, &heard, &fault);
 *     if (heard.verdict == SPEECH_ACCEPTED) puts(heard.words);
 *     speech_recogniser_destroy(ear);
 */
#ifndef MIDTHROW_SPEECH_RECOGNISER_H
#define MIDTHROW_SPEECH_RECOGNISER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/fault.h"

enum { SPEECH_RATE_HZ = 16000, SPEECH_WORDS = 192 };

enum speech_verdict {
    SPEECH_ACCEPTED, /* believed at once */
    SPEECH_UNSURE,   /* ask: yes or no, or which of the two readings */
    SPEECH_REJECTED, /* noise, chatter, or nothing at all */
};

struct speech_config {
    const char *model_dir;   /* acoustic model; NULL: Debian's en-us */
    const char *dictionary;  /* NULL: Debian's cmudict-en-us */
    const char *talk_model;  /* what else people say; NULL: grammar_dir's talk.lm */
    const char *grammar_dir; /* holds NAME.gram and shop.dict; mandatory */
    /* Do two readings mean the same? NULL: compare the words. Used for the margin between values.
     */
    bool (*same_meaning)(const char *grammar, const char *words, const char *other);
    /* May the words be said whatever is asked? They are believed only where they are surer. NULL:
     * none may. */
    bool (*is_command)(const char *words);
    bool live; /* somebody may go on speaking: find `so_far` too */
};

struct speech_heard {
    char words[SPEECH_WORDS]; /* best reading; empty when nothing was heard */
    char other[SPEECH_WORDS]; /* best reading that means something else, however far; empty: none */
    char so_far[SPEECH_WORDS]; /* live, unless rejected: the best reading that need not be a whole
                                  sentence yet */
    enum speech_verdict verdict;
    double score;     /* 0 .. 1: how likely `words` is right; the verdict asks more in noise */
    bool deafening;   /* rejected because the noise is as loud as the speech: say so */
    double audio_ms;  /* length of the sound given */
    double decode_ms; /* time the recogniser took */
    /* The signs the verdict rests on, for the bench and for whoever tunes it: */
    double talk;         /* log score per frame over the commonest words in any order; 0 best */
    double margin;       /* log score to `other`; HUGE_VAL when none */
    double speech_share; /* 0 .. 1 of frames that hold speech */
    double snr_db;
};

struct speech_recogniser *speech_recogniser_create(const struct speech_config *config,
                                                   struct fault *fault);
void speech_recogniser_destroy(struct speech_recogniser *recogniser);

/* Who speaks from here on (person.h, enrol.h), kept as long as it lasts by whoever gave it; NULL:
 * nobody known, as at first. */
struct speech_phonetic;
void speech_recogniser_know(struct speech_recogniser *recogniser,
                            const struct speech_phonetic *person);

/* mono, SPEECH_RATE_HZ. False only when the recogniser itself failed or the grammar is unknown;
 * noise is a verdict, not a fault. */
bool speech_recognise(struct speech_recogniser *recogniser, const char *grammar, const int16_t *pcm,
                      size_t frames, struct speech_heard *heard, struct fault *fault);

const char *speech_verdict_name(enum speech_verdict verdict); /* accepted, unsure, rejected */

#endif
