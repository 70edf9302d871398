#!/bin/sh
# Fits the score's weights: prints a table for src/speech/verdict_table.h.
#   fit.sh BUILD_DIR WORK_DIR [JOBS [from=DB to=DB]]
# Voices and noises that may be tuned on (their tables are in voices.c and noises.c) say the same
# UTTERANCES every time, quiet and at 20, 10, 5 and 0 dB; a person says every other of her sentences
# that answer nothing; and for some minutes nobody says anything in those noises. bench-ear,
# bench-person and bench-nobody write the signs of each hearing to
# WORK_DIR/*-tune-*.tsv, and fit-verdict fits on all of them. Everything is seeded: the same build
# prints the same digits, with one process or with two. A quarter of an hour of processor time.
set -eu
build=$1
work=$2
jobs=${3:-1}
[ $# -gt 3 ] && shift 3 || shift $#
utterances=300
nice "$build/tests/speech/bench-ear" "$work" set=tune stock=no utterances=$utterances jobs="$jobs"
nice "$build/tests/speech/bench-person" "$work" set=tune every=8 jobs="$jobs" >/dev/null
nice "$build/tests/speech/bench-nobody" "$work" minutes=3 every=8 jobs="$jobs"
{
    "$build/tests/speech/bench-ear" "$work" rows set=tune
    "$build/tests/speech/bench-person" "$work" rows set=tune
    "$build/tests/speech/bench-nobody" "$work" rows
} | xargs "$build/tests/speech/fit-verdict" "$@"
