/*
 * The questions that make a profile out of a service manual, as one table, and what becomes of the
 * answers. Pure: who asks, in what voice and by which keys, is not known here.
 *
 *     struct profile_interview interview;
 *     profile_interview_begin(&interview);
 *     while ((question = profile_interview_question(&interview)) != NULL)
 *         ask(question->id, question->grammar), profile_interview_answer(&interview, &value, why);
 *
 * A number that is skipped stays unknown: it is asked for when a job first needs it.
 */
#ifndef MIDTHROW_PROFILE_INTERVIEW_H
#define MIDTHROW_PROFILE_INTERVIEW_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"
#include "language/language.h"
#include "profile/agree.h"
#include "profile/profile.h"

/* A row. Its sentence has the key "profile." and the id in prompts/, its help "help." before that.
 */
struct profile_question {
    const char *id;
    const char *section, *key; /* the field it fills; NULL: `take` does */
    const char *grammar;
    bool (*wanted)(const struct profile *profile); /* NULL: always */
    void (*take)(struct profile *profile, const struct language_value *value);
};

extern const struct profile_question profile_questions[];
extern const size_t profile_questions_n;

enum { PROFILE_QUESTIONS_MAX = 48 };

struct profile_interview {
    struct profile profile; /* as far as it is known */
    size_t at;              /* the row that is being asked; profile_questions_n: all are */
    size_t asked[PROFILE_QUESTIONS_MAX]; /* the rows that were answered or skipped, in order */
    size_t asked_n;
};

/* At the first question, with what the caller put into the profile before. */
void profile_interview_begin(struct profile_interview *interview);

/* NULL when all are asked. */
const struct profile_question *
profile_interview_question(const struct profile_interview *interview);

/* Takes an answer and goes on: "skip" and "don't know" leave the number unknown. False, and nothing
 * is changed, when the value is out of range or does not agree with an earlier one: `why` is a
 * sentence for the person who answers. */
bool profile_interview_answer(struct profile_interview *interview,
                              const struct language_value *value, char why[PROFILE_WHY]);

/* Goes to the question before and forgets its answer; false at the first. */
bool profile_interview_back(struct profile_interview *interview);

/* How many questions this profile asks in all as it stands, and which of them is being asked, from
 * 1. */
void profile_interview_where(const struct profile_interview *interview, size_t *which, size_t *of);

/* Numbers, words and texts of the table that are known; [bike] does not count. */
size_t profile_known(const struct profile *profile);

/* A draft: the profile so far and what was asked, as text and back, for going on after a kill. From
 * text fails for what is no draft of this version's questions. */
enum { PROFILE_DRAFT = PROFILE_FLAT + 512 };
bool profile_interview_save(const struct profile_interview *interview, char *out, size_t size);
bool profile_interview_restore(struct profile_interview *interview, const char *draft);

/* As a file (profile.h): every key of the table, what is not known as "unknown", which
 * profile_load reads back as the same. False when it does not fit. */
enum { PROFILE_FILE = 8192 };
bool profile_write(const struct profile *profile, char *out, size_t size);

#endif
