/*
 * From what the recogniser measured to what may be believed. Pure arithmetic on a few signs, so
 * that the bench can fit it and the tests can push it about.
 */
#ifndef MIDTHROW_SPEECH_VERDICT_H
#define MIDTHROW_SPEECH_VERDICT_H

#include <stdbool.h>
#include <stddef.h>

#include "speech/recogniser.h"

struct speech_signs {
    size_t words;      /* 0: no reading at all */
    size_t phones;     /* in those words */
    double talk;       /* (words - talk of any kind), nats per frame, over the words' frames; 0: no
                        * other common words fit better */
    double worst;      /* the same of the word that fits worst */
    double good;       /* goodness of pronunciation (after Witt and Young 2000, "Phone-level
                        * pronunciation scoring and assessment", Speech Communication 30, from
                        * memory), by the network: the log of the chance of the words' phones, each
                        * in its turn, nats a frame; 0: sure of them */
    double least_good; /* the same of the word that has least */
    double familiar;   /* good over the same by the network that knows nobody: how much better the
                        * words fit for who is known than for anybody; HUGE_VAL: nobody is known */
    size_t frames;     /* of 10 ms, of the words */
    double margin; /* nats to the best reading that means something else; HUGE_VAL: none near. When
                    * all that is near means the same, to the last of that: it is no nearer */
    bool tens;     /* it has another word where the words have a number from ten on */
    bool digit;    /* ... differs in one digit alone */
    bool grown;    /* ... has a word less, and the rest of them */
    bool command;  /* the words can be said whatever is asked */
    double left_out; /* nats that talk gains where the words have silence, and it is about as loud
                      * as they are; 0: nothing there */
    size_t besides;  /* frames of 10 ms, as loud as the words and not near them, that are speech */
    double over_db;  /* the words' power over that of the sound around them; HUGE_VAL: not known */
    double speech_s; /* seconds of speech */
    double snr_db;   /* the loudest over the pauses; what comes in bursts, as others' talk does, is
                      * in over_db alone */
};

/* speech_recognise with its signs, for the bench and for whoever fits the table. */
bool speech_measure(struct speech_recogniser *recogniser, const char *grammar, const int16_t *pcm,
                    size_t frames, struct speech_heard *heard, struct speech_signs *signs,
                    struct fault *fault);

/* How likely the words are what was said, and what was meant. */
double speech_score(const struct speech_signs *signs);

/* Too loud to hear anything at all. */
bool speech_deafening(const struct speech_signs *signs);

enum speech_verdict speech_judge(const struct speech_signs *signs, double score);

#endif
