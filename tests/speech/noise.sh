#!/bin/sh
# How the ear does in noise: tables of voice by noise -> accepted right, asked, rejected, accepted wrong.
#   noise.sh BUILD_DIR WORK_DIR [report|tune]
# report: voices nothing was chosen on (rms slt kal, eSpeak NG en-gb) say what a shop says (noise.txt), in
# pink noise, mains hum and babble; two processes, some minutes on two cores.
# tune: kal16 and awb say random sentences of the grammars in pink noise; the hearings' signs go to
# WORK_DIR/signs. The rules for noise in src/speech/verdict.c were chosen on those.
# 0.3 s of silence is put on either side before the noise is added; levels are of the speech over it.
set -eu
build=$(cd "$1" && pwd)
work=$2
what=${3:-report}
here=$(cd "$(dirname "$0")" && pwd)
grammars=$here/../../grammars
bench=$build/tests/speech/bench-speech
mkdir -p "$work"

# Lines "NUMBER<tab>GRAMMAR<tab>WORDS" to recordings and a list of them.
say() {
    while IFS="$(printf '\t')" read -r number grammar words; do
        file=$work/$2-$1-$number.wav
        "$here/voices.sh" "$1" "$file" "$words" 2>"$work/voice.log"
        printf '%s\t%s\t%s\t%s\n' "$file" "$grammar" "$words" "$1"
    done
}

# Another quarter of the sentences is left out for each voice.
report() {
    list=$work/$1.tsv
    : >"$list"
    turn=$2
    shift 2
    for voice in "$@"; do
        turn=$((turn + 1))
        grep -v '^#' "$here/noise.txt" | awk -v t=$turn '(NR + t) % 4 { print NR "\t" $0 }' |
            say "$voice" report >>"$list"
    done
    "$bench" "$grammars" pad=300 snr=clean,20,12,8,5 <"$list" >"$list.pink"
    for noise in hum babble; do
        awk 'NR % 2' "$list" | "$bench" "$grammars" pad=300 snr=20,8 noise=$noise >"$list.$noise"
    done
}

if [ "$what" = tune ]; then
    seed=100
    : >"$work/list.tsv"
    for voice in kal16 awb; do
        seed=$((seed + 1))
        for grammar in distance number; do
            case $grammar in distance) count=30 ;; *) count=10 ;; esac
            "$build/tests/speech/sample-grammar" "$grammars/$grammar.gram" 60 $seed |
                awk '!seen[$0]++' | head -n $count |
                awk -v g=$grammar '{ print g NR "\t" g "\t" $0 }' |
                say "$voice" tune >>"$work/list.tsv"
        done
    done
    "$bench" "$grammars" pad=300 snr=clean,25,20,16,12,8,5,2 signs <"$work/list.tsv" >"$work/signs"
    exit
fi
report first 0 rms slt &
report second 2 kal espeak:en-gb
wait
for noise in pink hum babble; do
    echo "$noise noise:"
    cat "$work/first.tsv.$noise" "$work/second.tsv.$noise" |
        awk '!/^voice/ || !head++' | grep -v 'processor'
done
