/* A bike's profile: taken whole, with numbers that the turn advice accepts and that survive the
 * journal's flat text; or refused with a sentence. The same bytes as flat text, too. */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "profile/profile.h"

static void check_profile(const struct profile *profile)
{
    static char flat[PROFILE_FLAT], again[PROFILE_FLAT];
    static struct profile back;
    struct measure_turn_prior prior = profile_turn_prior(profile);
    struct measure_turn turn;
    FUZZ_PROMISED(measure_turn_init(&turn, &prior, NULL));
    FUZZ_PROMISED(profile_to_text(profile, flat, sizeof flat));
    FUZZ_PROMISED(profile_from_text(flat, &back, NULL));
    FUZZ_PROMISED(profile_to_text(&back, again, sizeof again));
    FUZZ_PROMISED(strcmp(flat, again) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct profile profile;
    struct fault fault = {0};
    if (profile_load(fuzz_file(data, size), &profile, &fault))
        check_profile(&profile);
    else
        FUZZ_PROMISED(fault.sentence[0] != '\0');
    char *text = fuzz_text(data, size);
    if (!profile_from_text(text, &profile, &fault))
        FUZZ_PROMISED(fault.sentence[0] != '\0');
    else
        profile_turn_prior(&profile);
    free(text);
    return 0;
}
