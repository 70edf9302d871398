/* The same sentence with a noise and without: see parallel.h. */
#include "parallel.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <sphinxbase/err.h>

#include "base/random.h"

static const double DITHER = 6; /* as the front end has it */

bool parallel_open(struct parallel_cepstra *cepstra)
{
    struct fault fault = {0};
    *cepstra = (struct parallel_cepstra){0};
    err_set_logfp(NULL);
    cepstra->options = cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", MODEL_DIR "/en-us", "-dict",
                                   "/dev/null", "-remove_silence", "no", NULL);
    if (cepstra->options != NULL)
        cepstra->decoder = ps_init(cepstra->options); /* merges the model's own options into them */
    if (cepstra->decoder != NULL)
        cepstra->maker = speech_cepstra_open(cepstra->options, MODEL_DIR "/en-us", &fault);
    if (cepstra->maker != NULL)
        return true;
    fprintf(stderr, "no acoustic model: install pocketsphinx-en-us.\n");
    parallel_close(cepstra);
    return false;
}

void parallel_close(struct parallel_cepstra *cepstra)
{
    speech_cepstra_close(cepstra->maker);
    if (cepstra->decoder != NULL)
        ps_free(cepstra->decoder);
    if (cepstra->options != NULL)
        cmd_ln_free_r(cepstra->options);
    *cepstra = (struct parallel_cepstra){0};
}

double parallel_uniform(uint32_t *random)
{
    return (double)(random_next(random) >> 8) / 16777216.0;
}

/* The sentence without the noise, cut and levelled as the front end did it with the noise. */
static void cut_alike(const struct recording *quiet, const struct speech_front *front,
                      uint32_t *random, int16_t *pcm)
{
    for (size_t i = 0; i < front->frames; i++) {
        long at = front->from + (long)i;
        bool inside = at >= 0 && at < (long)quiet->frames;
        double flicker = -2;
        for (int d = 0; d < 4; d++)
            flicker += parallel_uniform(random);
        double sample = (inside ? front->gain * quiet->pcm[at] : 0) + DITHER * sqrt(3) * flicker;
        pcm[i] = (int16_t)lrint(fmax(-32768, fmin(32767, sample)));
    }
}

static bool compare(const struct speech_cepstra *maker, const struct recording *quiet,
                    const struct speech_front *front, uint32_t *random, struct parallel *made)
{
    int16_t *pcm = malloc(front->frames * sizeof *pcm);
    size_t frames = 0;
    if (pcm == NULL)
        return false;
    cut_alike(quiet, front, random, pcm);
    bool done = speech_cepstra_clean(maker, front, &made->noisy) &&
                speech_cepstra_take(maker, pcm, front->frames, &made->wanted, &frames);
    if (done)
        made->frames = frames < made->noisy.frames ? frames : made->noisy.frames;
    free(pcm);
    return done;
}

bool parallel_make(const struct speech_cepstra *maker, const struct recording *quiet,
                   const struct recording *noisy, uint32_t *random, struct parallel *made)
{
    struct speech_front front;
    *made = (struct parallel){0};
    if (!speech_front_make(noisy->pcm, noisy->frames, &front))
        return false;
    bool done = front.speech_steps == 0 || compare(maker, quiet, &front, random, made);
    speech_front_finish(&front);
    if (!done)
        parallel_finish(made);
    return done;
}

void parallel_finish(struct parallel *made)
{
    speech_cleaned_finish(&made->noisy);
    free(made->wanted);
    *made = (struct parallel){0};
}
