/*
 * The noises of a shop, made by code: the same seed makes the same samples.
 *
 *     double *noise = malloc(frames * sizeof *noise);
 *     if (noise_make(noise_named("engine"), seed, NULL, noise, frames)) level_mix(&said, noise, 5);
 *
 * They are caricatures, built from what is known of their source (rates, decays, bands, each beside
 * its number in noises.c), not copies of recordings: they vary what a recogniser meets, and nobody
 * has measured a real shop here.
 */
#ifndef MIDTHROW_TESTS_SPEECH_NOISES_H
#define MIDTHROW_TESTS_SPEECH_NOISES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "recording.h"

/* What the noises with people in them are made of; anything of SPEECH_RATE_HZ somebody says. */
struct noise_talkers {
    const struct recording *said;
    size_t count;
};

struct noise_studio; /* random state and talkers, while one noise is made */

struct noise_kind {
    const char *name;  /* "pink", "engine" ... */
    const char *what;  /* a line for the reader of a table */
    bool under_speech; /* long enough without a pause to be put under an answer at a level */
    bool tune;         /* the recogniser may be tuned in it */
    bool report;       /* what it can do is reported in it */
    bool people;       /* needs talkers */
    void (*make)(struct noise_studio *studio, double *out, size_t frames);
};

size_t noise_count(void);
const struct noise_kind *noise_at(size_t index);
const struct noise_kind *noise_named(const char *name); /* NULL: none of that name */

/* Root mean square 1 over all of `out`, SPEECH_RATE_HZ. False: memory ran out, or it needs talkers
 * and there are none, or nothing sounds in so short a stretch. */
bool noise_make(const struct noise_kind *kind, uint32_t seed, const struct noise_talkers *talkers,
                double *out, size_t frames);

/* A noise without talkers, `snr_db` under what is said (level_mix). False as above. */
bool noise_put_under(struct recording *said, const char *name, uint32_t seed, double snr_db);

#endif
