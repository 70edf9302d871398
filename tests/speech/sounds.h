/* gather-sounds' files, in the machine's own floats: what speech_phonetic is taught on. */
#ifndef MIDTHROW_TESTS_SPEECH_SOUNDS_H
#define MIDTHROW_TESTS_SPEECH_SOUNDS_H

#include "speech/phonetic.h"

/* Before the frames of each recording. */
struct sounds_head {
    float frames, utterance, speaker;
    float mixed_db; /* speech over noise, as it was mixed */
    float snr_db;   /* as the front end sees it */
};

struct sounds_frame {
    float kind;  /* enum speech_frame */
    float sound; /* number of the sound, 0 .. PHONETIC_SOUNDS - 1 */
    float mel[PHONETIC_MEL];
    float fit[PHONETIC_PHONES];
};

#endif
