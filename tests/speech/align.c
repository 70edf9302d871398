/* Aligning words with a recording of them: see align.h. */
#include "align.h"

#include <stdio.h>
#include <stdlib.h>

#include "parallel.h"
#include "speech/align.h"
#include "speech/lexicon.h"

struct align {
    struct parallel_cepstra cepstra;
    struct speech_lexicon lexicon;
};

struct align *align_open(void)
{
    struct fault fault = {0};
    struct align *align = calloc(1, sizeof *align);
    if (align != NULL && parallel_open(&align->cepstra)) {
        if (speech_lexicon_open(&align->lexicon, MODEL_DIR "/cmudict-en-us.dict",
                                GRAMMARS "/shop.dict", &fault))
            return align;
        fprintf(stderr, "%s\n", fault.sentence);
    }
    align_close(align);
    return NULL;
}

void align_close(struct align *align)
{
    if (align == NULL)
        return;
    parallel_close(&align->cepstra);
    speech_lexicon_close(&align->lexicon);
    free(align);
}

bool align_see(const struct align *align, const struct speech_front *front,
               struct speech_seen *seen)
{
    struct speech_scores scores;
    bool done = speech_cepstra_score_alone(align->cepstra.maker, front, &scores) &&
                speech_cepstra_see(align->cepstra.maker, front, &scores, seen);
    speech_scores_finish(&scores);
    return done;
}

bool align_best(const struct align *align, const struct speech_front *front, unsigned char **sound,
                size_t frames)
{
    struct speech_scores scores = {0};
    *sound = malloc(frames + 1);
    bool done = *sound != NULL &&
                speech_cepstra_score_alone(align->cepstra.maker, front, &scores) &&
                scores.frames == frames;
    for (size_t f = 0; done && f < frames; f++) {
        size_t best = 0;
        for (size_t s = 1; s < PHONETIC_SOUNDS; s++)
            best =
                speech_scores_cost(&scores, f, s) < speech_scores_cost(&scores, f, best) ? s : best;
        (*sound)[f] = (unsigned char)best;
    }
    speech_scores_finish(&scores);
    if (!done) {
        free(*sound);
        *sound = NULL;
    }
    return done;
}

bool align_words(struct align *align, const struct recording *recording, const char *words,
                 struct align_sounds *sounds)
{
    struct speech_front front;
    struct speech_scores scores = {0};
    struct fault fault = {0};
    *sounds = (struct align_sounds){0};
    if (!speech_front_make(recording->pcm, recording->frames, &front))
        return false;
    bool done =
        front.speech_steps > 0 && speech_cepstra_score_alone(align->cepstra.maker, &front, &scores);
    if (done) {
        sounds->frames = scores.frames;
        sounds->from = front.from / SPEECH_FRAME;
        sounds->sound = malloc(scores.frames + 1);
        done = sounds->sound != NULL && speech_align(align->cepstra.decoder, &align->lexicon,
                                                     &scores, words, sounds->sound, &fault);
        if (!done)
            fprintf(stderr, "%s\n", fault.sentence);
    }
    speech_scores_finish(&scores);
    speech_front_finish(&front);
    return done;
}
