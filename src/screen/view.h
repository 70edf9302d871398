/*
 * What is to be seen at one moment, gathered from what the station tells: the model between the
 * driver and the layout. Pure; every string is a copy.
 */
#ifndef MIDTHROW_SCREEN_VIEW_H
#define MIDTHROW_SCREEN_VIEW_H

#include "screen/screen.h"

enum { SCREEN_SENTENCE = 1024, SCREEN_WORDS = 256, SCREEN_SHORT = 64 };

struct screen_view {
    char prompt[SCREEN_SENTENCE]; /* of the question now open */
    bool prompt_caution;
    char sentence[SCREEN_SENTENCE]; /* what stands large: the question, or what is being said */
    bool caution;
    char before[SCREEN_SENTENCE]; /* what was said on the way to it */
    bool asked;                   /* the question is open; what is said next leads to another */
    char keys[SCREEN_WORDS];

    bool has_heard;
    char words[SCREEN_WORDS], pad[SCREEN_SHORT];
    enum screen_source source;
    enum screen_verdict verdict;
    double score;

    bool has_value;
    char what[SCREEN_SHORT]; /* "taken", or a heading */
    char number[SCREEN_SHORT], unit[SCREEN_SHORT], also[SCREEN_SHORT];

    bool has_balance, balanced;
    struct measure_balance balance;
    double forward_mm[MEASURE_READINGS_MAX], back_mm[MEASURE_READINGS_MAX];
    size_t forward_n, back_n;
    double tolerance_mm;

    bool has_level;
    struct screen_level level;

    char entry[SCREEN_WORDS]; /* "": nothing is being typed */

    char phase[SCREEN_SHORT], order[SCREEN_SHORT];
    int round;
    size_t answers;
};

void screen_view_said(struct screen_view *view, const char *sentence, bool caution);
void screen_view_asked(struct screen_view *view, const struct screen_question *question);
void screen_view_heard(struct screen_view *view, const struct screen_heard *heard);
void screen_view_value(struct screen_view *view, const struct screen_value *value);
void screen_view_balance(struct screen_view *view, const struct screen_balance *balance);
void screen_view_level(struct screen_view *view, const struct screen_level *level);
void screen_view_entry(struct screen_view *view, const char *typed);
void screen_view_progress(struct screen_view *view, const struct screen_progress *progress);

/* The job is closed, or put away: nothing is asked any more, the last sentence stands. */
void screen_view_finished(struct screen_view *view, bool closed);

/* The pad's keys for the eye instead of the ear: "310 minus thousandths" as "310- thousandths". */
void screen_keys_for_the_eye(const char *keys, char *out, size_t size);

#endif
