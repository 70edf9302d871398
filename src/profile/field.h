/*
 * The keys of a profile as one table: what the file, the checks and the journal's text all walk. A
 * new key is a member of struct profile and a row here.
 */
#ifndef MIDTHROW_PROFILE_FIELD_H
#define MIDTHROW_PROFILE_FIELD_H

#include "profile/profile.h"

enum profile_field_kind {
    PROFILE_FIELD_TEXT,   /* char[PROFILE_TEXT] at `offset` */
    PROFILE_FIELD_LENGTH, /* struct profile_length; `low` and `high` in millimetres */
    PROFILE_FIELD_NUMBER, /* struct profile_number */
    PROFILE_FIELD_WORD,   /* one of `words`, the first of them "unknown" */
};

enum { PROFILE_WORDS_MAX = 3 };

struct profile_field {
    const char *section;
    const char *key;
    enum profile_field_kind kind;
    size_t offset;
    double low, high;  /* what is believable, both ends included */
    const char *range; /* the same in words */
    bool whole;        /* a whole number */
    const char *words[PROFILE_WORDS_MAX];
    int (*word)(const struct profile *profile);
    void (*set_word)(struct profile *profile, int word);
};

extern const struct profile_field profile_fields[];
extern const size_t profile_fields_n;

/* Index of the row; profile_fields_n when there is none. */
size_t profile_field_find(const char *section, const char *key);

/* Index of the row whose name is nearest to one that does not exist. */
size_t profile_field_nearest(const char *section, const char *key);

/* 3, 0.125 or 1/8, at most nine digits a part: whatever the locale says. */
bool profile_number_parse(const char *text, double *number);

/* Letters to insert, delete or replace to get from one word to the other. */
size_t profile_letters_apart(const char *a, const char *b);

/* The member a row stands for; the row must be of that kind. */
char *profile_field_text(struct profile *profile, const struct profile_field *field);
struct profile_length *profile_field_length(struct profile *profile,
                                            const struct profile_field *field);
struct profile_number *profile_field_number(struct profile *profile,
                                            const struct profile_field *field);

/* Index of the word in `field->words`; -1 when it is none of them. */
int profile_field_word(const struct profile_field *field, const char *word);

#endif
