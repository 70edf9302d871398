/*
 * The files of an acoustic model as sphinxtrain writes them, read into plain arrays: means and
 * variances (s3 format), mixture weights (sendump), and from the model definition (bin_mdef) which
 * phone a senone belongs to. Little-endian machines only, as are all we run on.
 */
#ifndef MIDTHROW_SPEECH_ACOUSTIC_FILE_H
#define MIDTHROW_SPEECH_ACOUSTIC_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Gaussians: value[phone][stream][density][dimension], all streams SPEECH_CEPSTRA wide. */
struct acoustic_gaussians {
    float *value;
    size_t phones, streams, densities;
};

/* weight[stream][density][senone]: cost in steps of 0.1024 nats. */
struct acoustic_weights {
    uint8_t *weight;
    size_t streams, densities, senones;
};

struct acoustic_definition {
    size_t phones, senones, states; /* states: of each phone */
    size_t silence;                 /* which phone it is */
    uint8_t *phone;                 /* of each senone */
    uint8_t *state;                 /* ... and which third of it, from 0 */
};

/* Each is false when the file is not there, or is not of this kind; the arrays are the caller's to
 * free(). */
bool acoustic_read_gaussians(const char *path, struct acoustic_gaussians *gaussians);
bool acoustic_read_weights(const char *path, struct acoustic_weights *weights);
bool acoustic_read_definition(const char *path, struct acoustic_definition *definition);

#endif
