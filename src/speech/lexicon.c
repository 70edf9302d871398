/* The stock dictionary and the shop's, read word by word: see lexicon.h. */
#include "speech/lexicon.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"

enum { WORD = 64, PHONES = 256, STOCK_BYTES = 32 << 20, SHOP_BYTES = 1 << 20 };

bool speech_lexicon_open(struct speech_lexicon *lexicon, const char *stock, const char *shop,
                         struct fault *fault)
{
    *lexicon = (struct speech_lexicon){0};
    lexicon->stock = file_read(stock, STOCK_BYTES, &lexicon->stock_size, fault);
    if (lexicon->stock == NULL)
        return false;
    struct fault why = {.code = FAULT_NONE};
    if (shop != NULL)
        lexicon->shop = file_read(shop, SHOP_BYTES, &lexicon->shop_size, &why);
    if (lexicon->shop != NULL || why.code != FAULT_FAILED)
        return true; /* a shop need not have one */
    speech_lexicon_close(lexicon);
    return fault_set(fault, why.code, "%s", why.sentence);
}

void speech_lexicon_close(struct speech_lexicon *lexicon)
{
    free(lexicon->stock);
    free(lexicon->shop);
    *lexicon = (struct speech_lexicon){0};
}

/* One line, "forty(2)  F AO R D IY # why": its bare word and its phones, single-spaced. False for
 * comments and blank lines. */
static bool take_line(const char *line, const char *end, char *word, char *phones)
{
    size_t length = 0;
    while (line < end && *line != ' ' && *line != '\t' && *line != '(' && length < WORD - 1)
        word[length++] = *line++;
    word[length] = '\0';
    if (length == 0 || word[0] == '#')
        return false;
    while (line < end && *line != ' ' && *line != '\t')
        line++;
    size_t used = 0;
    while (line < end && *line != '#' && used < PHONES - 2) {
        bool space = *line == ' ' || *line == '\t' || *line == '\r';
        if (!space)
            phones[used++] = *line;
        else if (used > 0 && phones[used - 1] != ' ')
            phones[used++] = ' ';
        line++;
    }
    while (used > 0 && phones[used - 1] == ' ')
        used--;
    phones[used] = '\0';
    return used > 0;
}

struct wanted {
    const char *word;
    char *first;  /* its first pronunciation, to leave out repeats of it; NULL: none found yet */
    int variants; /* taught so far */
};

static int by_word(const void *a, const void *b)
{
    return strcmp(((const struct wanted *)a)->word, ((const struct wanted *)b)->word);
}

/* Words that are wanted twice lie together; the number of those that are left. */
static size_t keep_different(struct wanted *wanted, size_t count)
{
    size_t different = 0;
    for (size_t i = 0; i < count; i++)
        if (different == 0 || strcmp(wanted[different - 1].word, wanted[i].word) != 0)
            wanted[different++] = wanted[i];
    return different;
}

static bool teach_one(ps_decoder_t *decoder, struct wanted *wanted, const char *phones)
{
    char name[WORD + 16];
    if (wanted->first != NULL && strcmp(wanted->first, phones) == 0)
        return true; /* the shop's dictionary repeats the stock one */
    if (wanted->variants == 0)
        snprintf(name, sizeof name, "%s", wanted->word);
    else
        snprintf(name, sizeof name, "%s(%d)", wanted->word, wanted->variants + 1);
    if (ps_add_word(decoder, name, phones, FALSE) < 0)
        return false;
    if (wanted->first == NULL)
        wanted->first = strdup(phones);
    wanted->variants++;
    return true;
}

static bool teach_from(const char *text, size_t size, ps_decoder_t *decoder, struct wanted *wanted,
                       size_t count, struct fault *fault)
{
    const char *end = text + size;
    for (const char *line = text; line < end;) {
        const char *stop = memchr(line, '\n', (size_t)(end - line));
        stop = stop == NULL ? end : stop;
        char word[WORD], phones[PHONES];
        struct wanted *found = NULL;
        if (take_line(line, stop, word, phones)) {
            struct wanted key = {.word = word};
            found = bsearch(&key, wanted, count, sizeof *wanted, by_word);
        }
        if (found != NULL && !teach_one(decoder, found, phones))
            return fault_set(fault, FAULT_FAILED,
                             "the pronunciation '%s' of '%s' has a phone the acoustic model lacks.",
                             phones, word);
        line = stop + 1;
    }
    return true;
}

bool speech_lexicon_teach(const struct speech_lexicon *lexicon, ps_decoder_t *decoder,
                          const char *const *words, size_t count, struct fault *fault)
{
    struct wanted *wanted = calloc(count + 1, sizeof *wanted);
    if (wanted == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
    size_t unknown = 0;
    for (size_t i = 0; i < count; i++) {
        char *known = ps_lookup_word(decoder, words[i]);
        if (known == NULL)
            wanted[unknown++].word = words[i];
        ckd_free(known);
    }
    qsort(wanted, unknown, sizeof *wanted, by_word);
    unknown = keep_different(wanted, unknown);
    bool taught =
        unknown == 0 ||
        (teach_from(lexicon->stock, lexicon->stock_size, decoder, wanted, unknown, fault) &&
         (lexicon->shop == NULL ||
          teach_from(lexicon->shop, lexicon->shop_size, decoder, wanted, unknown, fault)));
    for (size_t i = 0; i < unknown; i++) {
        if (taught && wanted[i].variants == 0)
            taught = fault_set(fault, FAULT_FAILED,
                               "no pronunciation of '%s' is known: add it to shop.dict.",
                               wanted[i].word);
        free(wanted[i].first);
    }
    free(wanted);
    return taught;
}
