#!/bin/sh
# Fits the score's weights: prints a table for src/speech/verdict_table.h.
#   fit.sh BUILD WORK_DIR BUILD_1 BUILD_2 [JOBS] [from=DB to=DB]
# Each voice that may be tuned on (voices.c, those for teaching, too) says its part of a list of
# sentences, quiet and at 20, 10, 5 and 0 dB; a person says every other of her sentences that answer
# nothing; and for some minutes nobody says anything in those noises. bench-ear, bench-person and
# bench-nobody write the signs of each hearing below WORK_DIR, and fit-verdict fits on all of them.
# Everything is seeded: the same builds print the same digits, with one process or with two. An
# hour of processor time.
#
# A voice that the network of phonetic.h was taught on is heard better than anybody else: the verdict
# would learn to believe too much. So two more networks are taught without half of the voices each
# (teach_phonetic.py leave=1,5,7 and leave=0,2,4,6), the tree is built with each, and every voice is
# heard by the build whose network never met it: BUILD_1 the first, BUILD_2 the second. The needs of
# teaching (teach.sh) are needed here, too.
set -eu
build=$1
work=$2
first=$3
second=$4
shift 4
jobs=1 limits=
for word in "$@"; do
    case $word in
    from=* | to=*) limits="$limits $word" ;;
    *) jobs=$word ;;
    esac
done

mkdir -p "$work"

# ear BUILD VOICE PART [WORD]: what that voice says as that build hears it, or the names of those rows.
ear() {
    nice "$1/tests/speech/bench-ear" "$work/$2" ${4:+"$4"} set=tune stock=no utterances=720 \
        instead="$2" part="$3/8" jobs="$jobs"
}
for word in '' rows; do
    part=0
    for voice in awb clb en-GB kal16 ked_diphone bdl en-US en-us; do
        case $voice in
        awb | clb | en-GB) by=$first ;;
        en-us) by=$build ;;
        *) by=$second ;;
        esac
        ear "$by" "$voice" $part $word
        part=$((part + 1))
    done
    nice "$build/tests/speech/bench-person" "$work" $word set=tune every=8 jobs="$jobs" |
        if [ "$word" ]; then cat; else cat >"$work/person.txt"; fi
    nice "$build/tests/speech/bench-nobody" "$work" $word minutes=3 every=8 jobs="$jobs"
done >"$work/rows.txt"
# shellcheck disable=SC2086 # one word a limit is meant
grep '\.tsv$' "$work/rows.txt" | xargs "$build/tests/speech/fit-verdict" $limits
