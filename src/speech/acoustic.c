/* The acoustic model at work: see acoustic.h. Laid out so that the inner loops run over 128
 * densities or hundreds of senones at a stride of one, which the compiler turns into vectors. */
#include "speech/acoustic.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "speech/acoustic_file.h"
#include "speech/vector.h"

enum { STREAMS = 3, DENSITIES = 128, PHONES = 48, BEST = 4, SENONES = 8192 };

static const float VARIANCE_FLOOR = 1e-4f; /* PocketSphinx's -varfloor */
static const float LEAST = 96 * 0.1024f;   /* nats under the frame's best that count at most */

/* By how much the Gaussians and the network are believed, as exponents of their likelihoods: of
 * anybody and of whom it knows, in quiet and in noise. */
static const struct trust {
    float gaussians, network;
} trust_in[2][2] = {{{0.6f, 0.65f}, {0.4f, 0.85f}}, {{0.45f, 0.85f}, {0.28f, 1.0f}}};

static const float SOUND_LEAST = 8; /* the most nats that the network may hold against a sound */

/* The Gaussians of one phone and stream, dimension by dimension. */
struct book {
    float mean[SPEECH_CEPSTRA][DENSITIES];
    float half_precision[SPEECH_CEPSTRA][DENSITIES]; /* 1 / (2 variance) */
    float peak[DENSITIES];                           /* log density at the mean */
};

/* The four Gaussians of a book that fit a frame best. */
struct best {
    int density[BEST];
    float nats[BEST];
};

struct speech_acoustic {
    size_t phones, senones;
    struct book (*book)[STREAMS]; /* of each phone */
    float *weight;                /* [stream][density][senone], linear */
    uint8_t *phone;               /* of each senone */
    uint8_t *sound;               /* of each senone: 3 x phone + state, as in phonetic.h */
    struct speech_prior prior;
    float *prior_store;
};

/* ---- reading ---- */

static void fill_book(struct book *book, const float *mean, const float *variance)
{
    for (size_t d = 0; d < DENSITIES; d++) {
        book->peak[d] = 0;
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++) {
            float spread = fmaxf(variance[d * SPEECH_CEPSTRA + c], VARIANCE_FLOOR);
            book->mean[c][d] = mean[d * SPEECH_CEPSTRA + c];
            book->half_precision[c][d] = 0.5f / spread;
            book->peak[d] -= 0.5f * logf(6.2831853f * spread);
        }
    }
}

static bool fill_books(struct speech_acoustic *model, const struct acoustic_gaussians *means,
                       const struct acoustic_gaussians *variances)
{
    if (means->phones != model->phones || variances->phones != model->phones ||
        means->streams != STREAMS || variances->streams != STREAMS ||
        means->densities != DENSITIES || variances->densities != DENSITIES ||
        model->phones > PHONES)
        return false;
    model->book = calloc(model->phones, sizeof *model->book);
    if (model->book == NULL)
        return false;
    for (size_t p = 0; p < model->phones; p++)
        for (size_t s = 0; s < STREAMS; s++) {
            size_t at = (p * STREAMS + s) * DENSITIES * SPEECH_CEPSTRA;
            fill_book(&model->book[p][s], means->value + at, variances->value + at);
        }
    return true;
}

static bool fill_weights(struct speech_acoustic *model, const struct acoustic_weights *weights)
{
    if (weights->streams != STREAMS || weights->densities != DENSITIES ||
        weights->senones != model->senones || model->senones > SENONES)
        return false;
    size_t count = STREAMS * DENSITIES * model->senones;
    model->weight = malloc(count * sizeof *model->weight);
    if (model->weight == NULL)
        return false;
    for (size_t i = 0; i < count; i++)
        model->weight[i] = expf(-(float)SPEECH_NATS * weights->weight[i]);
    return true;
}

/* A density's weight in its phone: the mean over the phone's senones. */
static float weight_of(const struct speech_acoustic *model, size_t phone, size_t density)
{
    double sum = 0, senones = 0;
    for (size_t s = 0; s < model->senones; s++)
        if (model->phone[s] == phone) {
            sum += (double)model->weight[density * model->senones + s];
            senones++;
        }
    return senones > 0 ? (float)(sum / senones) : 0;
}

static void fill_prior_of(struct speech_acoustic *model, size_t phone)
{
    struct speech_prior *prior = &model->prior;
    const struct book *book = &model->book[phone][0];
    for (size_t d = 0; d < DENSITIES; d++) {
        size_t k = phone * DENSITIES + d;
        prior->log_weight[k] = logf(weight_of(model, phone, d) + 1e-12f);
        for (size_t c = 0; c < SPEECH_CEPSTRA; c++) {
            prior->mean[c][k] = book->mean[c][d];
            prior->variance[c][k] = 0.5f / book->half_precision[c][d];
        }
    }
}

static bool fill_prior(struct speech_acoustic *model)
{
    struct speech_prior *prior = &model->prior;
    prior->count = model->phones * DENSITIES;
    model->prior_store = malloc((2 * SPEECH_CEPSTRA + 1) * prior->count * sizeof(float));
    if (model->prior_store == NULL)
        return false;
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++) {
        prior->mean[c] = model->prior_store + 2 * c * prior->count;
        prior->variance[c] = prior->mean[c] + prior->count;
    }
    prior->log_weight = model->prior_store + 2 * SPEECH_CEPSTRA * prior->count;
    for (size_t p = 0; p < model->phones; p++)
        fill_prior_of(model, p);
    return true;
}

const struct speech_prior *speech_acoustic_prior(const struct speech_acoustic *model)
{
    return &model->prior;
}

static bool read_model(struct speech_acoustic *model, const char *dir)
{
    char path[4][1024];
    static const char *const names[] = {"mdef", "means", "variances", "sendump"};
    for (size_t i = 0; i < 4; i++)
        if (snprintf(path[i], sizeof path[i], "%s/%s", dir, names[i]) >= (int)sizeof path[i])
            return false;
    struct acoustic_definition definition = {0};
    struct acoustic_gaussians means = {0}, variances = {0};
    struct acoustic_weights weights = {0};
    bool read =
        acoustic_read_definition(path[0], &definition) && definition.phones == PHONETIC_PHONES &&
        definition.states == PHONETIC_STATES && definition.silence == PHONETIC_SILENCE &&
        acoustic_read_gaussians(path[1], &means) && acoustic_read_gaussians(path[2], &variances) &&
        acoustic_read_weights(path[3], &weights);
    model->phone = definition.phone;
    model->phones = definition.phones;
    model->senones = definition.senones;
    read = read && fill_books(model, &means, &variances) && fill_weights(model, &weights) &&
           fill_prior(model);
    model->sound = definition.state;
    for (size_t s = 0; read && s < model->senones; s++)
        model->sound[s] = (uint8_t)(PHONETIC_STATES * model->phone[s] + definition.state[s]);
    free(means.value);
    free(variances.value);
    free(weights.weight);
    return read;
}

struct speech_acoustic *speech_acoustic_open(const char *model_dir, struct fault *fault)
{
    struct speech_acoustic *model = calloc(1, sizeof *model);
    if (model != NULL && read_model(model, model_dir))
        return model;
    speech_acoustic_close(model);
    fault_set(fault, FAULT_MISSING,
              "'%s' is no acoustic model that can be used: install pocketsphinx-en-us.", model_dir);
    return NULL;
}

void speech_acoustic_close(struct speech_acoustic *model)
{
    if (model == NULL)
        return;
    free(model->book);
    free(model->weight);
    free(model->phone);
    free(model->sound);
    free(model->prior_store);
    free(model);
}

/* ---- one frame ---- */

/* The three streams of frame f: cepstra, c[f+2] - c[f-2], and the difference of the slopes at f+1
 * and f-1 (sphinxbase feat.c, 1s_c_d_dd); the ends are repeated. */
static void streams_of(const float (*cepstra)[SPEECH_CEPSTRA], size_t frames, size_t f,
                       float stream[STREAMS][SPEECH_CEPSTRA])
{
    const float *at[7]; /* frames f-3 .. f+3 */
    for (int k = -3; k <= 3; k++) {
        long frame = (long)f + k;
        frame = frame < 0 ? 0 : frame >= (long)frames ? (long)frames - 1 : frame;
        at[k + 3] = cepstra[frame];
    }
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++) {
        stream[0][c] = at[3][c];
        stream[1][c] = at[5][c] - at[1][c];
        stream[2][c] = (at[6][c] - at[2][c]) - (at[4][c] - at[0][c]);
    }
}

SPEECH_VECTORS
static void densities_of(const struct book *book, const float x[SPEECH_CEPSTRA],
                         float nats[DENSITIES])
{
    for (size_t d = 0; d < DENSITIES; d++)
        nats[d] = book->peak[d];
    for (size_t c = 0; c < SPEECH_CEPSTRA; c++)
        for (size_t d = 0; d < DENSITIES; d++) {
            float apart = x[c] - book->mean[c][d];
            nats[d] -= apart * apart * book->half_precision[c][d];
        }
}

static void keep_best(const float nats[DENSITIES], struct best *best)
{
    for (int b = 0; b < BEST; b++)
        best->nats[b] = -HUGE_VALF;
    for (int d = 0; d < DENSITIES; d++) {
        if (!(nats[d] > best->nats[BEST - 1]))
            continue;
        int b = BEST - 1;
        for (; b > 0 && nats[d] > best->nats[b - 1]; b--) {
            best->nats[b] = best->nats[b - 1];
            best->density[b] = best->density[b - 1];
        }
        best->nats[b] = nats[d];
        best->density[b] = d;
    }
}

/* log2 by the exponent and a parabola through the mantissa: wrong by 0.01 at most, a fifteenth of a
 * score's step. */
static inline float rough_log2(float x)
{
    union {
        float value;
        int32_t bits;
    } u = {x};
    float exponent = (float)((u.bits >> 23) - 128);
    u.bits = (u.bits & 0x007fffff) | 0x3f800000;
    return exponent + ((-0.33582878f * u.value + 2.0f) * u.value - 0.65871759f);
}

/* Of all senones: minus the log2 of the three streams' likelihoods. A senone's phone's densities
 * weigh each of its streams; senones of one phone lie together, so each run is done at once. */
SPEECH_VECTORS
static void senones_of(const struct speech_acoustic *model, struct best (*best)[STREAMS],
                       float *cost)
{
    for (size_t from = 0, to; from < model->senones; from = to) {
        uint8_t phone = model->phone[from];
        for (to = from; to < model->senones && model->phone[to] == phone;)
            to++;
        for (size_t i = from; i < to; i++)
            cost[i] = 1;
        for (size_t s = 0; s < STREAMS; s++) {
            const float *row[BEST];
            float e[BEST];
            for (size_t b = 0; b < BEST; b++) {
                size_t density = (size_t)best[phone][s].density[b];
                row[b] = model->weight + (s * DENSITIES + density) * model->senones;
                e[b] = expf(best[phone][s].nats[b]);
            }
            for (size_t i = from; i < to; i++)
                cost[i] *=
                    e[0] * row[0][i] + e[1] * row[1][i] + e[2] * row[2][i] + e[3] * row[3][i];
        }
        for (size_t i = from; i < to; i++)
            cost[i] = -rough_log2(cost[i]);
    }
}

static const float STEPS = 0.69314718f / 0.1024f; /* of a score in one of log2 */

/* Costs (log2) as a score counts them, the frame's best 0. */
static void to_score(const float *cost, size_t senones, int16_t *score)
{
    float least = HUGE_VALF;
    for (size_t i = 0; i < senones; i++)
        least = cost[i] < least ? cost[i] : least;
    for (size_t i = 0; i < senones; i++)
        score[i] = (int16_t)((cost[i] - least) * STEPS + 0.5f);
}

/* Fills `score` with the senones' costs over the frame's best. */
static void score_frame(const struct speech_acoustic *model, float stream[STREAMS][SPEECH_CEPSTRA],
                        int16_t *score)
{
    struct best best[PHONES][STREAMS];
    float cost[SENONES], nats[DENSITIES];
    for (size_t s = 0; s < STREAMS; s++) {
        float most = -HUGE_VALF;
        for (size_t p = 0; p < model->phones; p++) {
            densities_of(&model->book[p][s], stream[s], nats);
            keep_best(nats, &best[p][s]);
            most = fmaxf(most, best[p][s].nats[0]);
        }
        for (size_t p = 0; p < model->phones; p++)
            for (size_t b = 0; b < BEST; b++)
                best[p][s].nats[b] = fmaxf(best[p][s].nats[b] - most, -LEAST);
    }
    senones_of(model, best, cost);
    to_score(cost, model->senones, score);
}

/* ---- the table ---- */

static const char HEAD[] = "s3\nversion 0.1\nn_sen %zu\nlogbase 1.000100\nendhdr\nD3\"\x11";

static size_t row_of(const struct speech_acoustic *model)
{
    return (1 + model->senones) * sizeof(int16_t); /* the number of senones goes before */
}

bool speech_acoustic_score(const struct speech_acoustic *model,
                           const float (*cepstra)[SPEECH_CEPSTRA], size_t frames,
                           struct speech_scores *scores)
{
    char head[sizeof HEAD + 16];
    size_t length = (size_t)snprintf(head, sizeof head, HEAD, model->senones);
    size_t row = row_of(model);
    int16_t *score = malloc(row);
    *scores = (struct speech_scores){.table = malloc(length + frames * row),
                                     .size = length + frames * row,
                                     .frames = frames,
                                     .head = length};
    if (scores->table == NULL || score == NULL) {
        free(score);
        speech_scores_finish(scores);
        return false;
    }
    memcpy(scores->table, head, length);
    score[0] = (int16_t)model->senones;
    for (size_t f = 0; f < frames; f++) {
        float stream[STREAMS][SPEECH_CEPSTRA];
        streams_of(cepstra, frames, f, stream);
        score_frame(model, stream, score + 1);
        memcpy(scores->table + length + f * row, score, row);
    }
    free(score);
    return true;
}

/* ---- joining the network ---- */

/* The table is a file's bytes: its rows begin at any of them. */
static void read_score(const struct speech_acoustic *model, const struct speech_scores *scores,
                       size_t f, int16_t score[SENONES])
{
    memcpy(score, scores->table + scores->head + f * row_of(model) + sizeof *score,
           model->senones * sizeof *score);
}

void speech_acoustic_fit(const struct speech_acoustic *model, const struct speech_scores *scores,
                         float (*fit)[PHONETIC_PHONES])
{
    int16_t score[SENONES], least[PHONES];
    for (size_t f = 0; f < scores->frames; f++) {
        read_score(model, scores, f, score);
        for (size_t p = 0; p < PHONES; p++)
            least[p] = INT16_MAX;
        for (size_t i = 0; i < model->senones; i++)
            if (score[i] < least[model->phone[i]])
                least[model->phone[i]] = score[i];
        for (size_t p = 0; p < PHONETIC_PHONES; p++)
            fit[f][p] = (float)(least[p] * SPEECH_NATS);
    }
}

/* Adds the network's answer, and how unlikely speech is there, to the Gaussians' scores. What it
 * holds for least likely is bounded: it has met few voices, and is as sure of itself with one that
 * it never met. */
static void join(const struct speech_acoustic *model, const struct trust *trust,
                 const float sounds[PHONETIC_SOUNDS], float hushed, int16_t score[SENONES])
{
    float most = sounds[0], of_sound[PHONETIC_SOUNDS], cost[SENONES];
    for (size_t s = 1; s < PHONETIC_SOUNDS; s++)
        most = fmaxf(most, sounds[s]);
    for (size_t s = 0; s < PHONETIC_SOUNDS; s++)
        of_sound[s] = 1.442695f * (trust->network * fminf(most - sounds[s], SOUND_LEAST) +
                                   (speech_phonetic_is_speech(s) ? hushed : 0));
    for (size_t i = 0; i < model->senones; i++)
        cost[i] = trust->gaussians / STEPS * (float)score[i] + of_sound[model->sound[i]];
    to_score(cost, model->senones, score);
}

bool speech_acoustic_chances(const float (*sounds)[PHONETIC_SOUNDS], size_t frames,
                             float (**chance)[PHONETIC_PHONES])
{
    *chance = malloc((frames + 1) * sizeof **chance);
    for (size_t f = 0; *chance != NULL && f < frames; f++)
        speech_phonetic_chances(sounds[f], (*chance)[f]);
    return *chance != NULL;
}

bool speech_acoustic_join(const struct speech_acoustic *model,
                          const float (*sounds)[PHONETIC_SOUNDS], const float *hushed,
                          bool is_noisy, bool is_known, struct speech_scores *scores)
{
    int16_t score[SENONES];
    if (!speech_acoustic_chances(sounds, scores->frames, &scores->chance))
        return false;
    for (size_t f = 0; f < scores->frames; f++) {
        read_score(model, scores, f, score);
        join(model, &trust_in[is_known][is_noisy], sounds[f], hushed[f], score);
        memcpy(scores->table + scores->head + f * row_of(model) + sizeof *score, score,
               model->senones * sizeof *score);
    }
    return true;
}

int speech_scores_cost(const struct speech_scores *scores, size_t frame, size_t senone)
{
    size_t row = (scores->size - scores->head) / scores->frames;
    int16_t cost;
    memcpy(&cost, scores->table + scores->head + frame * row + sizeof cost * (1 + senone),
           sizeof cost);
    return cost;
}

FILE *speech_scores_open(const struct speech_scores *scores)
{
    return fmemopen(scores->table, scores->size, "rb");
}

void speech_scores_finish(struct speech_scores *scores)
{
    free(scores->table);
    free(scores->chance);
    free(scores->stranger);
    *scores = (struct speech_scores){0};
}
