/* Sound files: read whole, or refused with a sentence; what was read is bounded. */
#include <stdlib.h>
#include <string.h>

#include "audio/audio.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct fault fault = {0};
    int16_t *pcm = NULL;
    size_t frames = 0;
    const char *path = fuzz_file(data, size);
    if (audio_read_whole(path, 16000, &pcm, &frames, &fault)) {
        FUZZ_PROMISED(pcm != NULL && frames > 0);
        FUZZ_PROMISED(frames <= (size_t)AUDIO_SECONDS_MAX * 16000 + 16000);
        int16_t sum = 0;
        for (size_t i = 0; i < frames; i++)
            sum = (int16_t)(sum ^ pcm[i]); /* every one can be read */
        FUZZ_PROMISED(sum == sum);
    } else {
        FUZZ_PROMISED(fault.sentence[0] != '\0');
    }
    free(pcm);
    return 0;
}
