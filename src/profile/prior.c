/* What is known of the stem before the first turn: see profile_turn_prior in profile.h. */
#include <math.h>

#include "profile/default.h"
#include "profile/profile.h"

/* What the checks of a file let through lies within these; numbers filled in later may not. */
#define GAIN_LEAST_MM 1e-5
#define GAIN_MOST_MM 1e5
#define SHIFT_MOST_MM 25.4

/* A number from a profile that was checked, or filled in by hand: kept within what a prior may
 * hold. */
static double number_within(struct profile_number number, double otherwise, double low, double high)
{
    if (!number.known || !isfinite(number.value))
        return otherwise;
    return fmin(fmax(number.value, low), high);
}

static bool take_gain(const struct profile *profile, struct measure_turn_prior *prior)
{
    static const double two_pi = 6.283185307179586;
    if (!profile->stem_pitch.known || !profile->lever_ratio.known ||
        profile->stem == PROFILE_STEM_UNKNOWN)
        return false;
    bool eccentric = profile->stem == PROFILE_STEM_ECCENTRIC;
    double travel_mm = measure_length_mm(profile->stem_pitch.value) * (eccentric ? two_pi : 1.0);
    prior->gain_mm = travel_mm * profile->lever_ratio.value;
    prior->gain_relative_u = eccentric ? PROFILE_ECCENTRIC_RELATIVE_U : PROFILE_SCREW_RELATIVE_U;
    return prior->gain_mm >= GAIN_LEAST_MM && prior->gain_mm <= GAIN_MOST_MM;
}

static double lock_nut_mm(const struct profile *profile)
{
    if (!profile->lock_nut_shift.known)
        return PROFILE_DEFAULT_LOCK_NUT_MM;
    return fmin(fmax(0, measure_length_mm(profile->lock_nut_shift.value)), SHIFT_MOST_MM);
}

struct measure_turn_prior profile_turn_prior(const struct profile *profile)
{
    struct measure_turn_prior prior = {
        .sense = profile->sense,
        .sense_trust = profile->sense == MEASURE_SENSE_UNKNOWN ? 0.5 : PROFILE_SENSE_TRUST,
        .lock_nut_mm = lock_nut_mm(profile),
        .increment_turns = number_within(profile->increment_turns, PROFILE_DEFAULT_INCREMENT, 1e-3,
                                         nextafter(0.5, 0)),
        .rounds_max = (int)number_within(profile->rounds, PROFILE_DEFAULT_ROUNDS, 1, 23),
    };
    prior.step_turns =
        number_within(profile->step_turns, fmin(PROFILE_DEFAULT_STEP, prior.increment_turns), 1e-3,
                      prior.increment_turns);
    prior.total_turns =
        number_within(profile->total_turns, fmax(PROFILE_DEFAULT_TOTAL, prior.increment_turns),
                      prior.increment_turns, 20);
    struct measure_turn_prior with_gain = prior;
    with_gain.gain_known = take_gain(profile, &with_gain);
    return with_gain.gain_known ? with_gain : prior;
}
