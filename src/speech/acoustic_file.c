/* The acoustic model's files: see acoustic_file.h. Formats after sphinxbase's bio.c and
 * PocketSphinx's ms_gauden.c, ptm_mgau.c and bin_mdef.c (5prealpha). Sizes are checked against the
 * file's length before anything is believed. */
#include "speech/acoustic_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "speech/acoustic.h"

enum { MOST = 1 << 28 }; /* bytes of a file worth reading; the stock model's largest has 3 MB */

struct bytes {
    unsigned char *at;
    size_t size, next;
};

static bool read_all(const char *path, struct bytes *bytes)
{
    *bytes = (struct bytes){0};
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return false;
    long size = fseek(file, 0, SEEK_END) == 0 ? ftell(file) : -1;
    if (size > 0 && size < MOST && fseek(file, 0, SEEK_SET) == 0)
        bytes->at = malloc((size_t)size);
    bytes->size = (size_t)size;
    if (bytes->at != NULL && fread(bytes->at, 1, bytes->size, file) != bytes->size) {
        free(bytes->at);
        bytes->at = NULL;
    }
    fclose(file);
    return bytes->at != NULL;
}

/* The next `size` bytes; NULL past the end. */
static const void *take(struct bytes *bytes, size_t size)
{
    if (size > bytes->size - bytes->next)
        return NULL;
    bytes->next += size;
    return bytes->at + bytes->next - size;
}

static bool take_number(struct bytes *bytes, size_t *number)
{
    int32_t value;
    const void *at = take(bytes, sizeof value);
    if (at == NULL)
        return false;
    memcpy(&value, at, sizeof value);
    *number = (size_t)value;
    return value >= 0;
}

/* Past "s3", its lines up to "endhdr", and the mark of the byte order. */
static bool skip_s3_head(struct bytes *bytes)
{
    static const char END[] = "endhdr\n";
    static const unsigned char ORDER[] = {0x44, 0x33, 0x22, 0x11};
    if (bytes->size < 3 || memcmp(bytes->at, "s3\n", 3) != 0)
        return false;
    for (bytes->next = 3; bytes->next + sizeof END - 1 < bytes->size; bytes->next++)
        if (memcmp(bytes->at + bytes->next, END, sizeof END - 1) == 0)
            break;
    const void *head = take(bytes, sizeof END - 1), *order = take(bytes, sizeof ORDER);
    return head != NULL && order != NULL && memcmp(order, ORDER, sizeof ORDER) == 0;
}

static bool take_gaussians(struct bytes *bytes, struct acoustic_gaussians *gaussians)
{
    size_t width, count;
    if (!skip_s3_head(bytes) || !take_number(bytes, &gaussians->phones) ||
        !take_number(bytes, &gaussians->streams) || !take_number(bytes, &gaussians->densities))
        return false;
    if (gaussians->phones > 255 || gaussians->streams > 8 || gaussians->densities > 4096)
        return false;
    for (size_t s = 0; s < gaussians->streams; s++)
        if (!take_number(bytes, &width) || width != SPEECH_CEPSTRA)
            return false;
    if (!take_number(bytes, &count) || count == 0 ||
        count != gaussians->phones * gaussians->streams * gaussians->densities * SPEECH_CEPSTRA)
        return false;
    const void *values = take(bytes, count * sizeof(float));
    gaussians->value = values == NULL ? NULL : malloc(count * sizeof(float));
    if (gaussians->value == NULL)
        return false;
    memcpy(gaussians->value, values, count * sizeof(float));
    return true;
}

bool acoustic_read_gaussians(const char *path, struct acoustic_gaussians *gaussians)
{
    struct bytes bytes;
    *gaussians = (struct acoustic_gaussians){0};
    bool read = read_all(path, &bytes) && take_gaussians(&bytes, gaussians);
    free(bytes.at);
    return read;
}

/* One string of the head: its length, the terminator counted, then itself. NULL: no more. The last
 * one fills up to a multiple of four, without a terminator: it is given as "". */
static const char *take_string(struct bytes *bytes)
{
    size_t length;
    if (!take_number(bytes, &length) || length == 0)
        return NULL;
    const char *text = take(bytes, length);
    return text == NULL || text[length - 1] == '\0' ? text : "";
}

static bool take_weights(struct bytes *bytes, struct acoustic_weights *weights)
{
    bool clustered = false;
    weights->streams = 1;
    for (const char *line = take_string(bytes); line != NULL; line = take_string(bytes)) {
        if (strncmp(line, "feature_count ", 14) == 0)
            weights->streams = strtoul(line + 14, NULL, 10);
        if (strncmp(line, "cluster_count ", 14) == 0)
            clustered = strtoul(line + 14, NULL, 10) != 0;
    }
    if (clustered || weights->streams > 8 || !take_number(bytes, &weights->densities) ||
        !take_number(bytes, &weights->senones) || weights->densities > 4096 ||
        weights->senones > INT16_MAX)
        return false;
    size_t size = weights->streams * weights->densities * weights->senones;
    const void *values = take(bytes, size);
    weights->weight = values == NULL ? NULL : malloc(size);
    if (weights->weight == NULL)
        return false;
    memcpy(weights->weight, values, size);
    return true;
}

bool acoustic_read_weights(const char *path, struct acoustic_weights *weights)
{
    struct bytes bytes;
    *weights = (struct acoustic_weights){0};
    bool read = read_all(path, &bytes) && take_weights(&bytes, weights);
    free(bytes.at);
    return read;
}

/* Which phone each senone belongs to. The first `phones` triphones are the phones themselves; those
 * in context keep their own phone in the second byte of their attributes. */
static bool map_senones(const unsigned char *entry, size_t entries, const unsigned char *sequence,
                        size_t sequences, size_t states, struct acoustic_definition *definition)
{
    for (size_t e = 0; e < entries; e++) {
        int32_t id;
        memcpy(&id, entry + 12 * e, sizeof id);
        uint8_t phone = (uint8_t)(e < definition->phones ? e : entry[12 * e + 9]);
        if (id < 0 || (size_t)id >= sequences || phone >= definition->phones)
            return false;
        for (size_t s = 0; s < states; s++) {
            uint16_t senone;
            memcpy(&senone, sequence + 2 * ((size_t)id * states + s), sizeof senone);
            if (senone >= definition->senones)
                return false;
            definition->phone[senone] = phone;
            definition->state[senone] = (uint8_t)s;
        }
    }
    return true;
}

static bool take_definition(struct bytes *bytes, struct acoustic_definition *definition)
{
    size_t version, length, entries, states, own, matrices, sequences, contexts, nodes;
    const char *mark = take(bytes, 4);
    if (mark == NULL || memcmp(mark, "BMDF", 4) != 0 || !take_number(bytes, &version) ||
        !take_number(bytes, &length) || take(bytes, length) == NULL ||
        !take_number(bytes, &definition->phones) || !take_number(bytes, &entries) ||
        !take_number(bytes, &states) || !take_number(bytes, &own) ||
        !take_number(bytes, &definition->senones) || !take_number(bytes, &matrices) ||
        !take_number(bytes, &sequences) || !take_number(bytes, &contexts) ||
        !take_number(bytes, &nodes) || !take_number(bytes, &definition->silence))
        return false;
    if (definition->phones > 255 || definition->senones > INT16_MAX || states == 0 || states > 8 ||
        entries > MOST / 12 || nodes > MOST / 8 || sequences > MOST / 16)
        return false;
    definition->states = states;
    size_t names = bytes->next;
    for (size_t p = 0; p < definition->phones; p++) {
        const unsigned char *end = memchr(bytes->at + bytes->next, '\0', bytes->size - bytes->next);
        if (end == NULL)
            return false;
        bytes->next = (size_t)(end - bytes->at) + 1;
    }
    bytes->next = names + (bytes->next - names + 3) / 4 * 4;
    if (bytes->next > bytes->size || take(bytes, nodes * 8) == NULL)
        return false;
    const unsigned char *entry = take(bytes, entries * 12);
    const unsigned char *count = take(bytes, 4);
    const unsigned char *sequence = take(bytes, sequences * states * 2);
    definition->phone = calloc(definition->senones + 1, 1);
    definition->state = calloc(definition->senones + 1, 1);
    return entry != NULL && count != NULL && sequence != NULL && definition->phone != NULL &&
           definition->state != NULL &&
           map_senones(entry, entries, sequence, sequences, states, definition);
}

bool acoustic_read_definition(const char *path, struct acoustic_definition *definition)
{
    struct bytes bytes;
    *definition = (struct acoustic_definition){0};
    bool read = read_all(path, &bytes) && take_definition(&bytes, definition);
    free(bytes.at);
    return read;
}
