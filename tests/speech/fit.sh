#!/bin/sh
# Fits the score's weights: prints a table for src/speech/verdict_table.h.
#   fit.sh BUILD_DIR WORK_DIR [JOBS] [VOICE=BUILD_DIR ...] [from=DB to=DB]
# Voices and noises that may be tuned on (their tables are in voices.c and noises.c) say the same
# UTTERANCES every time, quiet and at 20, 10, 5 and 0 dB; a person says every other of her sentences
# that answer nothing; and for some minutes nobody says anything in those noises. bench-ear,
# bench-person and bench-nobody write the signs of each hearing to
# WORK_DIR/*-tune-*.tsv, and fit-verdict fits on all of them. Everything is seeded: the same build
# prints the same digits, with one process or with two. A quarter of an hour of processor time.
#
# A voice that the network of phonetic.h was taught on is heard better than anybody else: the verdict
# would learn to believe too much. Build the tree with a network that was taught without the voice
# (teach_phonetic.py leave=SPEAKER) and give that build as VOICE=BUILD_DIR.
set -eu
build=$1
work=$2
shift 2
jobs=1 awb=$build kal16=$build english=$build limits=
for word in "$@"; do
    case $word in
    awb=*) awb=${word#*=} ;;
    kal16=*) kal16=${word#*=} ;;
    en-us=*) english=${word#*=} ;;
    from=* | to=*) limits="$limits $word" ;;
    *) jobs=$word ;;
    esac
done

# ear BUILD VOICE [WORD]: what that voice says as that build hears it, or the names of those rows.
ear() {
    nice "$1/tests/speech/bench-ear" "$work/$2" ${3:-} set=tune stock=no utterances=300 \
        voice="$2" jobs="$jobs"
}
for word in '' rows; do
    ear "$awb" awb $word
    ear "$kal16" kal16 $word
    ear "$english" en-us $word
    nice "$build/tests/speech/bench-person" "$work" $word set=tune every=8 jobs="$jobs" |
        if [ "$word" ]; then cat; else cat >"$work/person.txt"; fi
    nice "$build/tests/speech/bench-nobody" "$work" $word minutes=3 every=8 jobs="$jobs"
done >"$work/rows.txt"
# shellcheck disable=SC2086 # one word a limit is meant
grep '\.tsv$' "$work/rows.txt" | xargs "$build/tests/speech/fit-verdict" $limits
