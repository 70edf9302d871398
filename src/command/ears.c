/* A session's microphone and speaker: see ears.h. */
#include "command/ears.h"
#include "base/plain.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "audio/portaudio.h"
#include "language/language.h"

enum { WORDS_PER_MINUTE = 165 };

static bool names_a_device(const struct session_options *options)
{
    return options->live || options->microphone != NULL || options->speaker != NULL;
}

bool session_wants_live(const struct session_options *options)
{
    if (options->hear_n > 0)
        return false;
    if (names_a_device(options))
        return true;
    return !options->typed && isatty(STDIN_FILENO) == 1 && !(options->pad && options->mute);
}

static bool open_recogniser(struct session_ears *ears, const char *grammars_dir,
                            struct fault *fault)
{
    struct speech_config config = {.grammar_dir = grammars_dir,
                                   .same_meaning = language_same_meaning,
                                   .is_command = language_is_command,
                                   .live = true};
    ears->recogniser = speech_recogniser_create(&config, fault);
    return ears->recogniser != NULL;
}

static bool open_voice(struct session_ears *ears, const struct station_mouth *mouth,
                       struct fault *fault)
{
    if (mouth->voice != NULL)
        return true;
    ears->voice = speech_voice_create(WORDS_PER_MINUTE, fault);
    return ears->voice != NULL;
}

bool session_ears_open(struct session_ears *ears, const struct session_options *options,
                       const char *grammars_dir, const struct station_mouth *mouth,
                       struct session_record *record, bool has_keys, struct fault *fault)
{
    bool listens = !options->pad;
    if ((listens && !open_recogniser(ears, grammars_dir, fault)) ||
        (!options->mute && !open_voice(ears, mouth, fault)))
        return false;
    struct station_live_config config = {
        .driver = &audio_live_portaudio,
        .audio = {.microphone = options->microphone,
                  .speaker = options->speaker,
                  .no_microphone = !listens,
                  .no_speaker = options->mute,
                  .rate_hz = SPEECH_RATE_HZ},
        .recogniser = ears->recogniser,
        .grammar_dir = grammars_dir,
        .voice = options->mute          ? NULL
                 : mouth->voice != NULL ? mouth->voice
                                        : ears->voice,
        .half_duplex = options->half_duplex,
        .push_to_talk = options->foot_talks,
    };
    if (record->recording != NULL) {
        config.tap = session_record_tap;
        config.told = session_record_told;
        config.tap_context = record;
    }
    struct fault missing = {0};
    ears->live = station_live_create(&config, &missing);
    if (ears->live != NULL)
        return true;
    if (missing.code == FAULT_MISSING && has_keys) {
        fputs("midthrow: ", stderr);
        plain_print(stderr, missing.sentence); /* a device's name, as it was asked for */
        fputs(" We go on by keys.\n", stderr);
        return true;
    }
    *fault = missing;
    return false;
}

void session_ears_close(struct session_ears *ears)
{
    station_live_destroy(ears->live);
    speech_voice_destroy(ears->voice);
    if (ears->recogniser != NULL)
        speech_recogniser_destroy(ears->recogniser);
    memset(ears, 0, sizeof *ears);
}
