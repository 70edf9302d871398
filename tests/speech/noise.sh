#!/bin/sh
# How the ear does in noise: voices it was not tuned on say sentences of the grammars, at several
# levels of pink noise, mains hum and babble. Prints the tables; under three minutes on two cores.
#   noise.sh BUILD_DIR WORK_DIR [report|tune]
# report: rms slt kal and eSpeak NG en-gb. tune: kal16 and awb, other sentences, pink noise alone; with
# the signs in WORK_DIR/signs.
set -eu
build=$(cd "$1" && pwd)
work=$2
what=${3:-report}
here=$(cd "$(dirname "$0")" && pwd)
grammars=$here/../../grammars
mkdir -p "$work"
list=$work/list.tsv
: >"$list"
case $what in
tune) seed=100 voices='kal16 awb' ;;
*) seed=1 voices='rms slt kal espeak:en-gb' ;;
esac
for voice in $voices; do
    seed=$((seed + 1))
    for grammar in distance number; do
        case $grammar in distance) count=30 ;; *) count=10 ;; esac
        "$build/tests/speech/sample-grammar" "$grammars/$grammar.gram" 60 $seed |
            grep -E 'zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|teen|thirty|fifty|quarter|half|ninth' |
            awk '!seen[$0]++' | head -n $count | awk '{ printf "%d\t%s\n", NR, $0 }' >"$work/said"
        while IFS="$(printf '\t')" read -r number words; do
            file=$work/$voice-$grammar-$number.wav
            [ -f "$file" ] || "$here/voices.sh" "$voice" "$file" "$words" 2>"$work/voice.log"
            printf '%s\t%s\t%s\t%s\n' "$file" "$grammar" "$words" "$voice" >>"$list"
        done <"$work/said"
    done
done
bench="$build/tests/speech/bench-speech"
if [ "$what" = tune ]; then
    "$bench" "$grammars" pad=300 snr=clean,25,20,16,12,8,5,2 signs <"$list" >"$work/signs"
    exit
fi
