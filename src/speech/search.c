/* Searching scores: see search.h. */
#include "speech/search.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "speech/front.h"

/* So far under the words somebody else talks: of the tuning voices' answers over neighbours' talk
 * 10 dB under them 35 % are believed at once by this bound, 19 without one. */
static const double SOFTER_DB = 9;
static const float SILENT = 0.3f; /* the chance of silence, of a frame that is speech: less */
enum { REST_FRAMES = 5 };         /* fewer tell nothing of what is around the words */
static const double CHANCE_LEAST = 0.01; /* of a phone: the network never rules one out */

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

enum { PHONES_MOST = 32 }; /* of a word */

/* The word's phones in order; what no word of the dictionaries has more of is cut. */
static size_t phones_in(ps_decoder_t *decoder, const char *word, int phone[PHONES_MOST])
{
    char *phones = ps_lookup_word(decoder, word);
    size_t count = 0;
    for (const char *at = phones; at != NULL && *at != '\0' && count < PHONES_MOST;) {
        size_t length = strcspn(at, " ");
        if ((phone[count] = speech_phonetic_phone(at, length)) >= 0)
            count++;
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

enum place { IN_A_WORD, BY_A_WORD, ELSEWHERE };

static enum place place_of(const struct speech_path *path, int frame)
{
    enum place place = ELSEWHERE;
    for (size_t w = 0; w < path->count; w++) {
        const struct speech_word *word = &path->word[w];
        if (word->filler)
            continue;
        if (frame >= word->from && frame <= word->to)
            return IN_A_WORD;
        if (frame >= word->from - SPEECH_REACH && frame <= word->to + SPEECH_REACH)
            place = BY_A_WORD;
    }
    return place;
}

struct loudness {
    double words_db; /* mean of the words' frames */
    double over_db;  /* as in verdict.h */
};

static struct loudness loudness_of(const struct speech_path *path, const float *loud_db,
                                   size_t frames)
{
    double words_db = 0, words = 0, rest = 0, in_words = 0, in_rest = 0;
    for (size_t f = 0; f < frames; f++) {
        double loud = (double)loud_db[f];
        enum place place = place_of(path, (int)f);
        if (place == IN_A_WORD) {
            words_db += loud;
            words += pow(10, loud / 10);
            in_words++;
        } else if (place == ELSEWHERE && loud_db[f] > SPEECH_PADDED_DB) {
            rest += pow(10, loud / 10);
            in_rest++;
        }
    }
    bool known = in_words > 0 && in_rest >= REST_FRAMES;
    return (struct loudness){in_words > 0 ? words_db / in_words : 0,
                             known ? 10 * log10(words / in_words * in_rest / rest) : HUGE_VAL};
}

/* Nats that talk gains over silence, where it is about as loud as the words. */
static double left_out_of(const struct speech_word *silence, const double *talk,
                          const float *loud_db, size_t frames, double words_db)
{
    double gained = 0, nats = silence->nats / (silence->to - silence->from + 1);
    for (int f = silence->from; f <= silence->to && f < (int)frames; f++)
        if ((double)loud_db[f] >= words_db - SOFTER_DB)
            gained += talk[f] - nats;
    return gained;
}

/* Frames that are neither in the words nor beside them, about as loud as they are, and speech. By
 * the network that knows nobody: one that knows somebody learned to take others for silence. */
static size_t besides(const struct speech_path *path, const struct speech_scores *scores,
                      const float *loud_db, double words_db)
{
    float(*chance)[PHONETIC_PHONES] = scores->stranger != NULL ? scores->stranger : scores->chance;
    size_t frames = 0;
    for (size_t f = 0; f < scores->frames; f++)
        frames += place_of(path, (int)f) == ELSEWHERE &&
                  (double)loud_db[f] >= words_db - SOFTER_DB &&
                  chance[f][PHONETIC_SILENCE] < SILENT;
    return frames;
}

/* Goodness of pronunciation, summed over the word's frames: the log of the network's chances along
 * the best way through its phones, each in its turn and for a frame at least. */
static double goodness_of(const struct speech_word *word, const int *phone, size_t phones,
                          float (*chance)[PHONETIC_PHONES], size_t frames)
{
    double best[PHONES_MOST], least = (word->to - word->from + 1) * log(CHANCE_LEAST);
    for (size_t p = 0; p < phones; p++)
        best[p] = -HUGE_VAL;
    for (int f = word->from; f <= word->to && f < (int)frames; f++)
        for (size_t p = phones; p-- > 0;) {
            double before = f == word->from ? (p == 0 ? 0 : -HUGE_VAL) : best[p];
            if (f > word->from && p > 0)
                before = fmax(before, best[p - 1]);
            best[p] = before + log(fmax((double)chance[f][phone[p]], CHANCE_LEAST));
        }
    return phones > 0 ? fmax(best[phones - 1], least) : least;
}

void speech_path_weigh(ps_decoder_t *decoder, const struct speech_path *path, const double *talk,
                       const struct speech_scores *scores, const float *loud_db,
                       struct speech_signs *signs)
{
    struct loudness loudness = loudness_of(path, loud_db, scores->frames);
    double behind_all = 0, good = 0, to_a_stranger = 0;
    signs->worst = signs->least_good = HUGE_VAL;
    for (size_t w = 0; w < path->count; w++) {
        const struct speech_word *word = &path->word[w];
        int frames = word->to - word->from + 1, phone[PHONES_MOST];
        if (frames <= 0)
            continue;
        if (word->filler) {
            signs->left_out += left_out_of(word, talk, loud_db, scores->frames, loudness.words_db);
            continue;
        }
        double behind = behind_talk(word, talk);
        size_t phones = phones_in(decoder, word->text, phone);
        double goodness = goodness_of(word, phone, phones, scores->chance, scores->frames);
        if (scores->stranger != NULL)
            to_a_stranger += goodness_of(word, phone, phones, scores->stranger, scores->frames);
        behind_all += behind;
        good += goodness;
        signs->worst = fmin(signs->worst, behind / frames);
        signs->least_good = fmin(signs->least_good, goodness / frames);
        signs->frames += (size_t)frames;
        signs->phones += phones;
        signs->words++;
    }
    signs->over_db = loudness.over_db;
    signs->besides = besides(path, scores, loud_db, loudness.words_db);
    bool any = signs->frames > 0;
    signs->talk = any ? behind_all / (double)signs->frames : -HUGE_VAL;
    signs->good = any ? good / (double)signs->frames : log(CHANCE_LEAST);
    signs->familiar =
        any && scores->stranger != NULL ? (good - to_a_stranger) / (double)signs->frames : HUGE_VAL;
    signs->worst = any ? signs->worst : -HUGE_VAL;
    signs->least_good = any ? signs->least_good : log(CHANCE_LEAST);
}
