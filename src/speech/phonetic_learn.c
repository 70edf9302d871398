/* Learning a person: see phonetic_learn.h. */
#include "speech/phonetic_learn.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/random.h"
#include "speech/layer.h"
#include "speech/phonetic_network.h"

enum { PASSES = 3, SENTENCES = 160 };
static const float RATE = 2e-4f, KEEP = 0.9f, KEEP_SQUARES = 0.999f, LITTLE = 1e-8f;

struct sentence {
    size_t frames;
    float *in; /* phonetic_see's */
    float noise[PHONETIC_MEL];
    float (*aim)[PHONETIC_SOUNDS]; /* how likely each sound is to be */
};

struct phonetic_lesson {
    float as_before;
    struct sentence sentence[SENTENCES];
    size_t count;
};

struct phonetic_lesson *phonetic_lesson_open(float as_before)
{
    struct phonetic_lesson *lesson = calloc(1, sizeof *lesson);
    if (lesson != NULL)
        lesson->as_before = as_before;
    return lesson;
}

static void sentence_finish(struct sentence *sentence)
{
    free(sentence->in);
    free(sentence->aim);
    *sentence = (struct sentence){0};
}

void phonetic_lesson_close(struct phonetic_lesson *lesson)
{
    for (size_t s = 0; lesson != NULL && s < lesson->count; s++)
        sentence_finish(&lesson->sentence[s]);
    free(lesson);
}

/* ---- forwards ---- */

/* What a sentence makes of each layer. */
struct pass {
    size_t rows[PHONETIC_LAYERS_MOST];
    float *out[PHONETIC_LAYERS_MOST]; /* the last layer's are its sums, then how likely each is */
    float *slope, *slope_before; /* how the loss hangs on a layer's outputs, the one before's */
    float *turned;               /* a layer's weights of one tap */
};

static void pass_finish(struct pass *pass)
{
    for (size_t l = 0; l < phonetic_layers; l++)
        free(pass->out[l]);
    free(pass->slope);
    free(pass->slope_before);
    free(pass->turned);
    *pass = (struct pass){0};
}

static bool pass_make(size_t frames, struct pass *pass)
{
    size_t rows = frames + phonetic_reach(), most = rows * PHONETIC_WIDEST * sizeof(float);
    *pass =
        (struct pass){.slope = malloc(most),
                      .slope_before = malloc(most),
                      .turned = malloc((size_t)PHONETIC_WIDEST * PHONETIC_WIDEST * sizeof(float))};
    bool made = pass->slope != NULL && pass->slope_before != NULL && pass->turned != NULL;
    for (size_t l = 0; made && l < phonetic_layers; l++) {
        rows -= phonetic_shorter(&phonetic_table[l]);
        pass->rows[l] = rows;
        pass->out[l] = malloc(rows * phonetic_table[l].outputs * sizeof(float));
        made = pass->out[l] != NULL;
    }
    if (!made)
        pass_finish(pass);
    return made;
}

static float *answer_of(const struct pass *pass)
{
    return pass->out[phonetic_layers - 1];
}

/* From sums to how likely each is; the log of what they were divided by. */
static float soften(float sum[PHONETIC_SOUNDS])
{
    float most = -HUGE_VALF, whole = 0;
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        most = fmaxf(most, sum[s]);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        whole += sum[s] = expf(sum[s] - most);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        sum[s] /= whole;
    return most + logf(whole);
}

/* The mean cross entropy of a sentence. */
static double go_forwards(const struct speech_phonetic *network, const struct sentence *sentence,
                          struct pass *pass)
{
    const float *in = sentence->in;
    double loss = 0;
    for (size_t l = 0; l < phonetic_layers; l++) {
        phonetic_run(network, l, in, sentence->noise, pass->rows[l], pass->out[l]);
        in = pass->out[l];
    }
    for (size_t f = 0; f < sentence->frames; f++) {
        float *sum = answer_of(pass) + f * PHONETIC_SOUNDS;
        double right = 0, aims = 0;
        for (size_t s = 0; s < PHONETIC_SOUNDS; s++) {
            right += (double)(sentence->aim[f][s] * sum[s]);
            aims += (double)sentence->aim[f][s];
        }
        loss += aims * (double)soften(sum) - right;
    }
    return loss / (double)sentence->frames;
}

/* ---- what is learned from ---- */

static void aim_at(const struct sentence *sentence, const struct pass *pass,
                   const unsigned char *sound, float as_before)
{
    for (size_t f = 0; f < sentence->frames; f++) {
        const float *before = answer_of(pass) + f * PHONETIC_SOUNDS;
        for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
            sentence->aim[f][s] = as_before * before[s];
        sentence->aim[f][phonetic_answer_of(sound[f])] += 1 - as_before;
    }
}

static bool sentence_make(const struct speech_phonetic *network, const struct speech_seen *seen,
                          struct pass *pass, struct sentence *sentence)
{
    *sentence = (struct sentence){
        .frames = seen->frames,
        .in = malloc((seen->frames + phonetic_reach()) * PHONETIC_SEEN * sizeof(float)),
        .aim = calloc(seen->frames, sizeof *sentence->aim),
    };
    if (sentence->in == NULL || sentence->aim == NULL) {
        sentence_finish(sentence);
        return false;
    }
    phonetic_see(seen, sentence->in, sentence->noise);
    go_forwards(network, sentence, pass);
    return true;
}

bool phonetic_lesson_add(struct phonetic_lesson *lesson, const struct speech_phonetic *network,
                         const struct speech_seen *seen, const unsigned char *sound)
{
    struct pass pass;
    if (lesson->count == SENTENCES || seen->frames == 0 || !pass_make(seen->frames, &pass))
        return false;
    struct sentence *sentence = &lesson->sentence[lesson->count];
    bool made = sentence_make(network, seen, &pass, sentence);
    if (made) {
        aim_at(sentence, &pass, sound, lesson->as_before);
        lesson->count++;
    }
    pass_finish(&pass);
    return made;
}

/* ---- backwards ---- */

/* How the loss hangs on layer l's weights, added to `weights`. */
static void to_weights(const struct sentence *sentence, const struct pass *pass, size_t l,
                       float *weights)
{
    const struct phonetic_layer *layer = &phonetic_table[l];
    const float *in = l > 0 ? pass->out[l - 1] : sentence->in;
    size_t tap = layer->inputs * layer->outputs, rows = pass->rows[l];
    for (size_t t = 0; t < layer->taps; t++)
        speech_layer_slope(in + t * layer->apart * layer->inputs, pass->slope, rows, layer->inputs,
                           layer->outputs, weights + t * tap);
    float *begins = weights + phonetic_inputs(l) * layer->outputs;
    for (size_t r = 0; r < rows; r++)
        for (size_t o = 0; o < layer->outputs; o++)
            begins[o] += pass->slope[r * layer->outputs + o];
    if (l == 0)
        speech_layer_slope(sentence->noise, begins, 1, PHONETIC_MEL, layer->outputs,
                           weights + layer->taps * tap);
}

/* From how it hangs on layer l's outputs to how it does on the layer's before it, through the
 * rectifier too. */
static void to_before(const struct speech_phonetic *network, struct pass *pass, size_t l)
{
    const struct phonetic_layer *layer = &phonetic_table[l];
    size_t tap = layer->inputs * layer->outputs, before = pass->rows[l - 1] * layer->inputs;
    memset(pass->slope_before, 0, before * sizeof(float));
    for (size_t t = 0; t < layer->taps; t++) {
        speech_layer_turn(network->weight[l] + t * tap, layer->inputs, layer->outputs,
                          pass->turned);
        for (size_t r = 0; r < pass->rows[l]; r++)
            speech_layer_add(pass->turned, pass->slope + r * layer->outputs, layer->outputs,
                             layer->inputs,
                             pass->slope_before + (r + t * layer->apart) * layer->inputs);
    }
    for (size_t u = 0; u < before; u++)
        if (pass->out[l - 1][u] <= 0)
            pass->slope_before[u] = 0;
    float *swap = pass->slope;
    pass->slope = pass->slope_before;
    pass->slope_before = swap;
}

/* `slope` all 0 before. */
static void slope_of(const struct speech_phonetic *network, const struct sentence *sentence,
                     struct pass *pass, struct speech_phonetic *slope)
{
    size_t last = phonetic_layers - 1;
    go_forwards(network, sentence, pass);
    for (size_t f = 0; f < sentence->frames; f++)
        for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
            pass->slope[f * PHONETIC_SOUNDS + s] =
                (answer_of(pass)[f * PHONETIC_SOUNDS + s] - sentence->aim[f][s]) /
                (float)sentence->frames;
    for (size_t l = last;; l--) {
        to_weights(sentence, pass, l, slope->weight[l]);
        if (l == 0)
            break;
        to_before(network, pass, l);
    }
}

/* ---- learning ---- */

struct learner {
    struct speech_phonetic *person, *slope, *mean, *square;
    float kept, kept_squares; /* the rates of keeping, to the power of the steps so far */
};

static void learner_finish(struct learner *learner)
{
    speech_phonetic_close(learner->slope);
    speech_phonetic_close(learner->mean);
    speech_phonetic_close(learner->square);
}

static bool learner_make(struct learner *learner)
{
    *learner = (struct learner){.person = speech_phonetic_open(),
                                .slope = phonetic_blank(),
                                .mean = phonetic_blank(),
                                .square = phonetic_blank(),
                                .kept = 1,
                                .kept_squares = 1};
    if (learner->person != NULL && learner->slope != NULL && learner->mean != NULL &&
        learner->square != NULL)
        return true;
    speech_phonetic_close(learner->person);
    learner_finish(learner);
    return false;
}

static void step(struct learner *learner, float rate)
{
    learner->kept *= KEEP;
    learner->kept_squares *= KEEP_SQUARES;
    for (size_t l = 0; l < phonetic_layers; l++) {
        float *weight = learner->person->weight[l], *to = learner->slope->weight[l];
        float *mean = learner->mean->weight[l], *square = learner->square->weight[l];
        for (size_t n = 0; n < phonetic_weights(l); n++) {
            mean[n] = KEEP * mean[n] + (1 - KEEP) * to[n];
            square[n] = KEEP_SQUARES * square[n] + (1 - KEEP_SQUARES) * to[n] * to[n];
            weight[n] -= rate * mean[n] / (1 - learner->kept) /
                         (sqrtf(square[n] / (1 - learner->kept_squares)) + LITTLE);
            to[n] = 0;
        }
    }
}

static bool learn_from(struct learner *learner, const struct sentence *sentence, float rate)
{
    struct pass pass;
    if (!pass_make(sentence->frames, &pass))
        return false;
    slope_of(learner->person, sentence, &pass, learner->slope);
    step(learner, rate);
    pass_finish(&pass);
    return true;
}

/* Another order in every pass (Fisher and Yates' shuffle). */
static void shuffle(size_t *order, size_t count, uint32_t *random)
{
    for (size_t left = count; left > 1; left--) {
        size_t pick = random_next(random) % left, swap = order[left - 1];
        order[left - 1] = order[pick];
        order[pick] = swap;
    }
}

struct speech_phonetic *phonetic_lesson_learn(const struct phonetic_lesson *lesson)
{
    struct learner learner;
    size_t order[SENTENCES], steps = PASSES * lesson->count, done = 0;
    uint32_t random = 1;
    if (lesson->count == 0 || !learner_make(&learner))
        return NULL;
    for (size_t s = 0; s < lesson->count; s++)
        order[s] = s;
    for (bool learned = true; learned && done < steps;) {
        shuffle(order, lesson->count, &random);
        for (size_t s = 0; learned && s < lesson->count; s++, done += learned)
            learned = learn_from(&learner, &lesson->sentence[order[s]],
                                 RATE * (1 - (float)done / (float)steps));
    }
    learner_finish(&learner);
    if (done == steps)
        return learner.person;
    speech_phonetic_close(learner.person);
    return NULL;
}

bool phonetic_lesson_loss(const struct phonetic_lesson *lesson,
                          const struct speech_phonetic *network, double *nats)
{
    double frames = 0;
    *nats = 0;
    for (size_t s = 0; s < lesson->count; s++) {
        const struct sentence *sentence = &lesson->sentence[s];
        struct pass pass;
        if (!pass_make(sentence->frames, &pass))
            return false;
        *nats += go_forwards(network, sentence, &pass) * (double)sentence->frames;
        frames += (double)sentence->frames;
        pass_finish(&pass);
    }
    *nats /= fmax(frames, 1);
    return true;
}

struct speech_phonetic *phonetic_lesson_slope(const struct phonetic_lesson *lesson,
                                              const struct speech_phonetic *network,
                                              size_t sentence)
{
    struct pass pass;
    if (!pass_make(lesson->sentence[sentence].frames, &pass))
        return NULL;
    struct speech_phonetic *slope = phonetic_blank();
    if (slope != NULL)
        slope_of(network, &lesson->sentence[sentence], &pass, slope);
    pass_finish(&pass);
    return slope;
}
