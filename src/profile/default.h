/*
 * What is taken where a profile is silent: common practice, no source; the service manual wins.
 */
#ifndef MIDTHROW_PROFILE_DEFAULT_H
#define MIDTHROW_PROFILE_DEFAULT_H

#define PROFILE_DEFAULT_STEP (1.0 / 32)
#define PROFILE_DEFAULT_INCREMENT (1.0 / 8) /* half a turn is far too much */
#define PROFILE_DEFAULT_TOTAL 1.0
#define PROFILE_DEFAULT_ROUNDS 6

/* Judgement, no source. */
#define PROFILE_DEFAULT_LOCK_NUT_MM 0.1
#define PROFILE_SENSE_TRUST 0.95
#define PROFILE_SCREW_RELATIVE_U 0.25
#define PROFILE_ECCENTRIC_RELATIVE_U 0.40

#endif
