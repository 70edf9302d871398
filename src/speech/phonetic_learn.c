/* Learning a person: see phonetic_learn.h. */
#include "speech/phonetic_learn.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "speech/layer.h"
#include "speech/phonetic_network.h"

/* In a prototype, four passes at this rate over four hearings of twenty sentences made of 62.9 % of
 * the frames of seven voices that the network was taught without, named right in quiet, 67.4. */
enum { PASSES = 5, SENTENCES = 96 };
static const float RATE = 0.02f, KEEP = 0.9f, KEEP_SQUARES = 0.999f, LITTLE = 1e-8f;

enum { LAST = PHONETIC_HIDDEN }; /* the layer of the sums */

struct sentence {
    size_t frames;
    float *first; /* phonetic_first's: nothing that is learned comes before it */
    unsigned char *sound;
};

struct phonetic_lesson {
    struct sentence sentence[SENTENCES];
    size_t count;
};

struct phonetic_lesson *phonetic_lesson_open(void)
{
    return calloc(1, sizeof(struct phonetic_lesson));
}

void phonetic_lesson_close(struct phonetic_lesson *lesson)
{
    for (size_t s = 0; lesson != NULL && s < lesson->count; s++) {
        free(lesson->sentence[s].first);
        free(lesson->sentence[s].sound);
    }
    free(lesson);
}

static size_t rows_of_first(size_t frames)
{
    return frames + phonetic_reach() - phonetic_shorter(&phonetic_table[0]);
}

bool phonetic_lesson_add(struct phonetic_lesson *lesson, const struct speech_phonetic *network,
                         const struct speech_seen *seen, const unsigned char *sound)
{
    if (lesson->count == SENTENCES || seen->frames == 0)
        return false;
    struct sentence *sentence = &lesson->sentence[lesson->count];
    sentence->frames = seen->frames;
    sentence->first = malloc(rows_of_first(seen->frames) * PHONETIC_UNITS * sizeof(float));
    sentence->sound = malloc(seen->frames);
    if (sentence->first == NULL || sentence->sound == NULL ||
        !phonetic_first(network, seen, sentence->first)) {
        free(sentence->first);
        free(sentence->sound);
        return false;
    }
    for (size_t f = 0; f < seen->frames; f++)
        sentence->sound[f] = (unsigned char)phonetic_answer_of(sound[f]);
    lesson->count++;
    return true;
}

/* ---- forwards ---- */

/* What a sentence makes of each layer. */
struct pass {
    size_t rows[PHONETIC_HIDDEN + 1];
    float *unit[PHONETIC_HIDDEN];    /* rectified, before they are weighed */
    float *weighed[PHONETIC_HIDDEN]; /* after it */
    float *sum;                      /* the last layer's; then the slope to each */
    float *back, *back_before;       /* the slope to a layer's weighed units, to the one before's */
};

static void pass_finish(struct pass *pass)
{
    for (size_t h = 0; h < PHONETIC_HIDDEN; h++) {
        free(pass->unit[h]);
        free(pass->weighed[h]);
    }
    free(pass->sum);
    free(pass->back);
    free(pass->back_before);
    *pass = (struct pass){0};
}

static bool pass_make(size_t frames, struct pass *pass)
{
    size_t most = rows_of_first(frames) * PHONETIC_UNITS * sizeof(float);
    *pass = (struct pass){.sum = malloc(frames * PHONETIC_SOUNDS * sizeof(float)),
                          .back = malloc(most),
                          .back_before = malloc(most)};
    bool made = pass->sum != NULL && pass->back != NULL && pass->back_before != NULL;
    size_t rows = rows_of_first(frames);
    for (size_t h = 0; made && h <= PHONETIC_HIDDEN; h++) {
        rows -= h > 0 ? phonetic_shorter(&phonetic_table[h]) : 0;
        pass->rows[h] = rows;
        if (h == LAST)
            break;
        pass->unit[h] = malloc(rows * PHONETIC_UNITS * sizeof(float));
        pass->weighed[h] = malloc(rows * PHONETIC_UNITS * sizeof(float));
        made = pass->unit[h] != NULL && pass->weighed[h] != NULL;
    }
    if (!made)
        pass_finish(pass);
    return made;
}

static void go_forwards(const struct speech_phonetic *network, const struct phonetic_person *person,
                        const struct sentence *sentence, struct pass *pass)
{
    for (size_t h = 0; h < PHONETIC_HIDDEN; h++) {
        size_t bytes = pass->rows[h] * PHONETIC_UNITS * sizeof(float);
        if (h == 0)
            memcpy(pass->unit[h], sentence->first, bytes);
        else
            phonetic_run(network, h, pass->weighed[h - 1], pass->rows[h], true, pass->unit[h]);
        memcpy(pass->weighed[h], pass->unit[h], bytes);
        phonetic_weigh(person, h, pass->weighed[h], pass->rows[h]);
    }
    phonetic_run(network, LAST, pass->weighed[LAST - 1], pass->rows[LAST], false, pass->sum);
}

/* The cross entropy of a frame; its sums become the slopes of it, a part of `share` each. */
static double frame_loss(float sum[PHONETIC_SOUNDS], const float added[PHONETIC_SOUNDS],
                         size_t truth, float share)
{
    float most = -HUGE_VALF, whole = 0;
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++) {
        sum[s] += added[s];
        most = fmaxf(most, sum[s]);
    }
    double right = (double)(sum[truth] - most);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        whole += sum[s] = expf(sum[s] - most);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        sum[s] = share * (sum[s] / whole - (s == truth ? 1 : 0));
    return log((double)whole) - right;
}

static double loss_of(const struct phonetic_person *person, const struct sentence *sentence,
                      struct pass *pass)
{
    double loss = 0;
    for (size_t f = 0; f < sentence->frames; f++)
        loss += frame_loss(pass->sum + f * PHONETIC_SOUNDS, person->sound, sentence->sound[f],
                           1 / (float)sentence->frames);
    return loss / (double)sentence->frames;
}

/* ---- backwards ---- */

/* The table's own order of the weights, an output's together, as floats: with it the sum over
 * outputs is speech_layer_add's. `tap` of layer `l`; [output][input]. */
static void weights_backwards(size_t l, size_t tap, float *weight)
{
    const struct phonetic_layer *layer = &phonetic_table[l];
    size_t width = layer->taps * layer->inputs;
    for (size_t o = 0; o < layer->outputs; o++)
        for (size_t i = 0; i < layer->inputs; i++)
            *weight++ = layer->step[o] * (float)layer->weight[o * width + tap * layer->inputs + i];
}

/* From the slopes to layer l's outputs to those to its inputs. */
static void go_back(size_t l, const float *weights, const float *slope, size_t rows, float *before,
                    size_t rows_before)
{
    const struct phonetic_layer *layer = &phonetic_table[l];
    size_t tap_size = layer->inputs * layer->outputs;
    memset(before, 0, rows_before * layer->inputs * sizeof *before);
    for (size_t t = 0; t < layer->taps; t++)
        for (size_t r = 0; r < rows; r++)
            speech_layer_add(weights + t * tap_size, slope + r * layer->outputs, layer->outputs,
                             layer->inputs, before + (r + t * layer->apart) * layer->inputs);
}

/* The slopes to how much each unit of a layer counts, from those to its weighed units; these become
 * the slopes to what goes into its rectifier. */
static void through_units(const float unit_weight[PHONETIC_UNITS], const float *unit, size_t rows,
                          float *slope, float to_weight[PHONETIC_UNITS])
{
    float factor[PHONETIC_UNITS];
    for (size_t u = 0; u < PHONETIC_UNITS; u++) {
        factor[u] = phonetic_factor(unit_weight[u]);
        to_weight[u] = 0;
    }
    for (size_t r = 0; r < rows; r++, slope += PHONETIC_UNITS, unit += PHONETIC_UNITS)
        for (size_t u = 0; u < PHONETIC_UNITS; u++) {
            to_weight[u] += slope[u] * unit[u];
            slope[u] = unit[u] > 0 ? slope[u] * factor[u] : 0;
        }
    for (size_t u = 0; u < PHONETIC_UNITS; u++)
        to_weight[u] *= factor[u] * (1 - factor[u] / 2);
}

struct backwards {
    float *weights[PHONETIC_HIDDEN + 1]; /* of layers 1 .. LAST, tap behind tap */
};

static void backwards_finish(struct backwards *backwards)
{
    for (size_t l = 0; l <= LAST; l++)
        free(backwards->weights[l]);
}

static bool backwards_make(struct backwards *backwards)
{
    *backwards = (struct backwards){0};
    for (size_t l = 1; l <= LAST; l++) {
        const struct phonetic_layer *layer = &phonetic_table[l];
        size_t tap_size = layer->inputs * layer->outputs;
        backwards->weights[l] = malloc(layer->taps * tap_size * sizeof(float));
        if (backwards->weights[l] == NULL) {
            backwards_finish(backwards);
            return false;
        }
        for (size_t t = 0; t < layer->taps; t++)
            weights_backwards(l, t, backwards->weights[l] + t * tap_size);
    }
    return true;
}

static double slope_of(const struct speech_phonetic *network, const struct backwards *backwards,
                       const struct phonetic_person *person, const struct sentence *sentence,
                       struct pass *pass, struct phonetic_person *slope)
{
    go_forwards(network, person, sentence, pass);
    double loss = loss_of(person, sentence, pass);
    memset(slope->sound, 0, sizeof slope->sound);
    for (size_t f = 0; f < sentence->frames; f++)
        for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
            slope->sound[s] += pass->sum[f * PHONETIC_SOUNDS + s];
    go_back(LAST, backwards->weights[LAST], pass->sum, pass->rows[LAST], pass->back,
            pass->rows[LAST - 1]);
    for (size_t h = PHONETIC_HIDDEN; h-- > 0;) {
        through_units(person->unit[h], pass->unit[h], pass->rows[h], pass->back, slope->unit[h]);
        if (h == 0)
            break;
        go_back(h, backwards->weights[h], pass->back, pass->rows[h], pass->back_before,
                pass->rows[h - 1]);
        float *swap = pass->back;
        pass->back = pass->back_before;
        pass->back_before = swap;
    }
    return loss;
}

/* ---- learning ---- */

enum { NUMBERS = sizeof(struct phonetic_person) / sizeof(float) };

struct adam {
    float mean[NUMBERS], square[NUMBERS];
    float kept, kept_squares; /* the rates of keeping, to the power of the steps so far */
};

static void step(struct adam *adam, const struct phonetic_person *slope,
                 struct phonetic_person *person)
{
    float to[NUMBERS], at[NUMBERS];
    memcpy(to, slope, sizeof to);
    memcpy(at, person, sizeof at);
    adam->kept *= KEEP;
    adam->kept_squares *= KEEP_SQUARES;
    for (size_t n = 0; n < NUMBERS; n++) {
        adam->mean[n] = KEEP * adam->mean[n] + (1 - KEEP) * to[n];
        adam->square[n] = KEEP_SQUARES * adam->square[n] + (1 - KEEP_SQUARES) * to[n] * to[n];
        float mean = adam->mean[n] / (1 - adam->kept);
        float square = adam->square[n] / (1 - adam->kept_squares);
        at[n] -= RATE * mean / (sqrtf(square) + LITTLE);
    }
    memcpy(person, at, sizeof at);
}

static bool learn_from(const struct speech_phonetic *network, const struct backwards *backwards,
                       const struct sentence *sentence, struct adam *adam,
                       struct phonetic_person *person)
{
    struct pass pass;
    struct phonetic_person slope;
    if (!pass_make(sentence->frames, &pass))
        return false;
    slope_of(network, backwards, person, sentence, &pass, &slope);
    step(adam, &slope, person);
    pass_finish(&pass);
    return true;
}

bool phonetic_lesson_learn(const struct phonetic_lesson *lesson,
                           const struct speech_phonetic *network, struct phonetic_person *person)
{
    struct backwards backwards;
    struct adam *adam = calloc(1, sizeof *adam);
    *person = (struct phonetic_person){0};
    if (adam == NULL || lesson->count == 0 || !backwards_make(&backwards)) {
        free(adam);
        return false;
    }
    adam->kept = adam->kept_squares = 1;
    bool learned = true;
    for (size_t pass = 0; pass < PASSES; pass++)
        for (size_t s = 0; learned && s < lesson->count; s++)
            learned = learn_from(network, &backwards, &lesson->sentence[s], adam, person);
    backwards_finish(&backwards);
    free(adam);
    return learned;
}

bool phonetic_lesson_loss(const struct phonetic_lesson *lesson,
                          const struct speech_phonetic *network,
                          const struct phonetic_person *person, double *nats)
{
    double frames = 0;
    *nats = 0;
    for (size_t s = 0; s < lesson->count; s++) {
        const struct sentence *sentence = &lesson->sentence[s];
        struct pass pass;
        if (!pass_make(sentence->frames, &pass))
            return false;
        go_forwards(network, person, sentence, &pass);
        *nats += loss_of(person, sentence, &pass) * (double)sentence->frames;
        frames += (double)sentence->frames;
        pass_finish(&pass);
    }
    *nats /= fmax(frames, 1);
    return true;
}

bool phonetic_lesson_slope(const struct phonetic_lesson *lesson,
                           const struct speech_phonetic *network,
                           const struct phonetic_person *person, size_t sentence,
                           struct phonetic_person *slope)
{
    struct backwards backwards;
    struct pass pass;
    if (!backwards_make(&backwards))
        return false;
    bool made = pass_make(lesson->sentence[sentence].frames, &pass);
    if (made)
        slope_of(network, &backwards, person, &lesson->sentence[sentence], &pass, slope);
    pass_finish(&pass);
    backwards_finish(&backwards);
    return made;
}
