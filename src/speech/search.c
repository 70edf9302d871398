/* Searching scores: see search.h. */
#include "speech/search.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"

static bool is_filler(const char *word)
{
    return word == NULL || word[0] == '<' || word[0] == '[' || word[0] == '+' ||
           strcmp(word, "(NULL)") == 0;
}

static void add_word(struct speech_path *path, struct text *words, struct speech_word word)
{
    if (path->count == SPEECH_PATH_WORDS)
        return;
    path->word[path->count++] = word;
    if (word.filler)
        return;
    if (words->used > 0)
        text_add(words, " ");
    text_add_n(words, word.text, strcspn(word.text, "("));
}

bool speech_path_read(ps_decoder_t *decoder, struct speech_path *path)
{
    *path = (struct speech_path){0};
    struct text words = text_into(path->words, sizeof path->words);
    int32 best = 0;
    if (ps_get_hyp(decoder, &best) == NULL)
        return false;
    for (ps_seg_t *seg = ps_seg_iter(decoder); seg != NULL; seg = ps_seg_next(seg)) {
        struct speech_word word = {0};
        int32 acoustic = 0, transition = 0, back = 0;
        const char *name = ps_seg_word(seg);
        ps_seg_frames(seg, &word.from, &word.to);
        ps_seg_prob(seg, &acoustic, &transition, &back);
        word.filler = is_filler(name);
        word.nats = acoustic * SPEECH_NATS;
        if (name == NULL || strcmp(name, "(NULL)") == 0)
            continue;
        text_copy(word.text, sizeof word.text, name);
        add_word(path, &words, word);
    }
    path->nats = best * SPEECH_NATS;
    return path->words[0] != '\0';
}

bool speech_search(ps_decoder_t *decoder, const char *search, const struct speech_scores *scores)
{
    FILE *file = ps_set_search(decoder, search) == 0 ? speech_scores_open(scores) : NULL;
    if (file == NULL)
        return false;
    int searched = ps_decode_senscr(decoder, file);
    fclose(file);
    return searched == (int)scores->frames;
}

void speech_path_frames(ps_decoder_t *decoder, double *nats, size_t count)
{
    for (ps_seg_t *seg = ps_seg_iter(decoder); seg != NULL; seg = ps_seg_next(seg)) {
        int from = 0, to = 0;
        int32 acoustic = 0, transition = 0, back = 0;
        ps_seg_frames(seg, &from, &to);
        ps_seg_prob(seg, &acoustic, &transition, &back);
        if (from < 0 || to >= (int)count || to < from)
            continue;
        for (int f = from; f <= to; f++)
            nats[f] = acoustic * SPEECH_NATS / (to - from + 1);
    }
}

/* The word's phones, and which they are. */
static size_t phones_in(ps_decoder_t *decoder, const char *word, bool has[PHONETIC_PHONES])
{
    char *phones = ps_lookup_word(decoder, word);
    size_t count = 0;
    memset(has, 0, PHONETIC_PHONES * sizeof *has);
    for (const char *at = phones; at != NULL && *at != '\0'; count++) {
        size_t length = strcspn(at, " ");
        int phone = speech_phonetic_phone(at, length);
        if (phone >= 0)
            has[phone] = true;
        at += length + strspn(at + length, " ");
    }
    ckd_free(phones);
    return count;
}

/* How much worse the word's frames fit than talk fits there, in nats. */
static double behind_talk(const struct speech_word *word, const double *talk)
{
    double difference = word->nats;
    for (int f = word->from; f <= word->to; f++)
        difference -= talk[f];
    return difference;
}

/* Frames, by the network: of nobody's speech, and of speech that is a phone of the word. */
struct shares {
    double silence, own, frames;
};

static struct shares shares_of(const struct speech_word *word, const bool has[PHONETIC_PHONES],
                               const struct speech_scores *scores)
{
    struct shares shares = {0};
    for (int f = word->from; f <= word->to && f < (int)scores->frames; f++) {
        const float *chance = scores->chance[f];
        shares.silence += (double)chance[PHONETIC_SILENCE];
        for (size_t p = 0; p < PHONETIC_PHONES; p++)
            shares.own += has[p] ? (double)chance[p] : 0;
        shares.frames++;
    }
    return shares;
}

static double own_of(const struct shares *shares)
{
    double speech = shares->frames - shares->silence;
    return speech > 0 ? fmin(1, shares->own / speech) : 0;
}

void speech_path_weigh(ps_decoder_t *decoder, const struct speech_path *path, const double *talk,
                       const struct speech_scores *scores, struct speech_signs *signs)
{
    double sum = 0;
    struct shares all = {0};
    signs->worst = signs->least_own = HUGE_VAL;
    for (size_t w = 0; w < path->count; w++) {
        const struct speech_word *word = &path->word[w];
        int frames = word->to - word->from + 1;
        bool has[PHONETIC_PHONES];
        if (frames <= 0)
            continue;
        double behind = behind_talk(word, talk);
        if (word->filler) {
            signs->left_out -= behind;
            continue;
        }
        sum += behind;
        signs->worst = fmin(signs->worst, behind / frames);
        signs->frames += (size_t)frames;
        signs->phones += phones_in(decoder, word->text, has);
        signs->words++;
        struct shares shares = shares_of(word, has, scores);
        signs->least_own = fmin(signs->least_own, own_of(&shares));
        all.silence += shares.silence;
        all.own += shares.own;
        all.frames += shares.frames;
    }
    bool any = signs->frames > 0;
    signs->talk = any ? sum / (double)signs->frames : -HUGE_VAL;
    signs->silent = any ? all.silence / (double)signs->frames : 1;
    signs->own = own_of(&all);
    signs->worst = any ? signs->worst : -HUGE_VAL;
    signs->least_own = any ? signs->least_own : 0;
}
