/* What every part of the bench has at hand: the ear, stock PocketSphinx, and people for noises. */
#ifndef MIDTHROW_TESTS_SPEECH_STUDIO_H
#define MIDTHROW_TESTS_SPEECH_STUDIO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "noises.h"
#include "rows.h"
#include "speech/recogniser.h"
#include "stock.h"
#include "utterances.h"
#include "voices.h"

struct studio {
    enum utterances_set set;
    struct speech_recogniser *ear;
    struct stock *stock;          /* NULL: not wanted */
    struct noise_talkers talkers; /* the set's chatter, each line by one of the set's voices */
    const struct voice **by;      /* whose voice each of these is */
};

/* `stock`: how the stock recogniser is run, STOCK_WAYS for not at all. False, having said why. */
bool studio_open(struct studio *studio, enum utterances_set set, enum stock_way stock);
void studio_close(struct studio *studio);

/* What midthrow makes of a sound with that grammar: fills the row's grammar, verdict, heard, other,
 * score and signs. False, having said why. */
bool studio_hear(const struct studio *studio, const char *grammar, const int16_t *pcm,
                 size_t frames, struct row *row);

/* A person's sentences that answer nothing: Debian's asterisk-core-sounds-en-g722, all prompts but
 * the digits, letters and the like. None when it is not installed; false when memory ran out. */
bool studio_person(struct noise_talkers *person);
void studio_forget(struct noise_talkers *talkers);

/* So many frames of `kind` over a floor of pink noise at -65 dB; `level_db`: its root mean square,
 * in dB of overload. Somebody who answers is at about -26. `turn_s`: it is off for so many seconds,
 * on for as many, and so on; 0: always on. */
bool studio_shop(const struct noise_kind *kind, const struct noise_talkers *talkers, int level_db,
                 int turn_s, uint32_t seed, int16_t *pcm, size_t frames);

/* `kind` mixed in `snr_db` under the speech, once 300 ms of silence were put on either side, as the
 * live ear cuts an utterance. The speech itself is brought to -26 dB of overload first, P.56's
 * usual level, so that the peaks of blows at 0 dB have room. `speaker`: nobody talks under the
 * speech with the same voice; NULL: anybody may. */
bool studio_mix(const struct studio *studio, struct recording *said, const struct voice *speaker,
                const struct noise_kind *kind, int snr_db, uint32_t seed);

#endif
