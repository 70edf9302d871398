/* Words that midthrow said itself: see echoed.h. */
#include "station/echoed.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "language/language.h"
#include "speech/spoken.h"

enum { WORDS = 192, LETTERS = 4096 };

struct words {
    char text[LETTERS];
    const char *word[WORDS];
    size_t n;
};

/* "5 sixteenths, say:" is "five sixteenths say". */
static void spell(const char *from, struct text *out)
{
    while (*from != '\0') {
        size_t digits = strspn(from, "0123456789");
        if (digits > 0 && digits < 7) {
            char number[64];
            language_number_words(strtol(from, NULL, 10), number, sizeof number);
            text_addf(out, " %s ", number);
            from += digits;
            continue;
        }
        bool letter = isalpha((unsigned char)*from) || *from == '\'';
        text_addf(out, "%c", letter ? tolower((unsigned char)*from) : ' ');
        from++;
    }
}

static void cut_into_words(const char *from, struct words *words)
{
    struct text text = text_into(words->text, sizeof words->text);
    spell(from, &text);
    words->n = 0;
    for (char *at = words->text; words->n < WORDS;) {
        at += strspn(at, " ");
        if (*at == '\0')
            return;
        words->word[words->n++] = at;
        at += strcspn(at, " ");
        if (*at == '\0')
            return;
        *at++ = '\0';
    }
}

/* The longest common subsequence (Wagner and Fischer 1974), a row at a time. */
static size_t in_common(const struct words *a, const struct words *b)
{
    size_t row[WORDS + 1] = {0};
    for (size_t i = 0; i < a->n; i++) {
        size_t diagonal = 0;
        for (size_t j = 0; j < b->n; j++) {
            size_t above = row[j + 1];
            if (strcmp(a->word[i], b->word[j]) == 0)
                row[j + 1] = diagonal + 1;
            else if (row[j] > row[j + 1])
                row[j + 1] = row[j];
            diagonal = above;
        }
    }
    return row[b->n];
}

bool station_echoed(const char *sentence, const char *words)
{
    static const size_t OF = 3, AT_LEAST = 2;
    char spoken[LETTERS];
    struct words *said = calloc(2, sizeof *said);
    if (said == NULL)
        return true; /* when in doubt it was midthrow */
    struct words *heard = said + 1;
    if (!speech_spoken(sentence, spoken, sizeof spoken))
        text_copy(spoken, sizeof spoken, sentence);
    cut_into_words(spoken, said);
    cut_into_words(words, heard);
    bool echoed = heard->n > 0 && in_common(said, heard) * OF >= heard->n * AT_LEAST;
    free(said);
    return echoed;
}
